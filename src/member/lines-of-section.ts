import type { LineAnalysis, SurveyFit } from '../analysis.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { sameSide } from './sides.ts';

/** What the lines of a job can say about a cross-section. */
export const PLACES = ['bottomSweep', 'topSweep', 'plumb', 'bottomTilt', 'topTilt', 'camber'] as const;
export type Place = (typeof PLACES)[number];

/** A line put in its place, with the sign that turns its values to the side of the section. */
export interface PlacedLine {
  readonly item: LineAnalysis;
  /** Its judged surveys, by cycle. */
  readonly surveys: readonly SurveyFit[];
  /** Its value times this is positive toward the section's positive side. */
  readonly sign: 1 | -1;
  /** `words`: the job says which side; `readings`: it does not, and the readings fit only this way or better this way. */
  readonly signFrom: 'words' | 'readings';
}

export interface SectionLines {
  /** The line whose positive side is the right-hand side of every section; null: no line says anything of the section. */
  readonly reference: LineAnalysis | null;
  readonly placed: Readonly<Partial<Record<Place, PlacedLine>>>;
  /** Lines of a place that another line has already. */
  readonly beside: readonly LineAnalysis[];
}

/** Where a line belongs: what the job says, else its name, else what its kind most often reads (common practice, no source). */
export function placeOf({ line }: LineAnalysis): Place | null {
  const top =
    line.part === undefined
      ? /\b(?:top|upper)\b/i.test(line.name.replace(/[-_]/g, ' '))
      : line.part === 'top-flange';
  switch (line.kind) {
    case 'sweep':
      return line.part === 'web' ? null : top ? 'topSweep' : 'bottomSweep';
    case 'tilt':
      return line.part === 'web' ? null : top ? 'topTilt' : 'bottomTilt';
    case 'camber':
      return top ? null : 'camber';
    case 'plumb':
      return 'plumb';
    case 'bulge':
      return null;
  }
}

/** Lines of one flange share its heats; a camber, a web's sweep and every bulge have heats of their own. */
export function partOf(entry: LineAnalysis): string {
  switch (placeOf(entry)) {
    case 'bottomSweep':
    case 'bottomTilt':
      return 'bottom flange';
    case 'topSweep':
    case 'topTilt':
      return 'top flange';
    case 'plumb':
      return 'web';
    case 'camber':
      return 'whole member';
    case null:
      return entry.line.name;
  }
}

const ORDER: readonly Place[] = ['bottomSweep', 'topSweep', 'plumb', 'bottomTilt', 'topTilt'];

/** Puts the lines of a job together. Lines that were never read with jacks off and steel cooled are left out. */
export function linesOfSection(lines: readonly LineAnalysis[]): SectionLines {
  const chosen = new Map<Place, LineAnalysis>();
  const beside: LineAnalysis[] = [];
  for (const item of lines) {
    const place = placeOf(item);
    if (place === null || judgedSurveys(item.fit).length === 0) continue;
    if (chosen.has(place)) beside.push(item);
    else chosen.set(place, item);
  }
  const reference = ORDER.map((place) => chosen.get(place)).find((item) => item !== undefined) ?? null;
  const placed: Partial<Record<Place, PlacedLine>> = {};
  for (const [place, item] of chosen) {
    const surveys = judgedSurveys(item.fit);
    if (place === 'camber' || reference === null || item === reference) {
      placed[place] = { item, surveys, sign: 1, signFrom: 'words' };
      continue;
    }
    const said = sameSide(reference.line, item.line);
    placed[place] = {
      item,
      surveys,
      sign: said ?? signOfReadings(reference, surveys),
      signFrom: said === null ? 'readings' : 'words',
    };
  }
  return { reference, placed, beside };
}

/** A struck flange takes web and tilt along: the sign by which the as-found readings go the same way. */
function signOfReadings(reference: LineAnalysis, surveys: readonly SurveyFit[]): 1 | -1 {
  const [first] = judgedSurveys(reference.fit);
  let together = 0;
  for (const point of first?.stations ?? []) {
    const value = valueAt(surveys[0]!, point.station);
    if (!point.setAside && value !== null) together += point.deviation * value.value;
  }
  return together < 0 ? -1 : 1;
}

/** Deviation of one survey at any station between its readings. */
export interface ValueAt {
  readonly value: number;
  readonly u: number;
  /** True where it was read here, not between two readings. */
  readonly read: boolean;
}

/** Two stations closer than this are the same mark on the steel, m. */
const SAME_MARK = 1e-3;

/**
 * Straight between the readings kept on either side; null beyond the first and last of them. Between readings the shape may
 * bow off the straight: an allowance of up to |difference|/√12 at mid-way is in `u` (half the difference as a rectangular
 * half-width at the middle; common practice, no source).
 */
export function valueAt(survey: SurveyFit, station: number): ValueAt | null {
  const kept = survey.stations.filter((point) => !point.setAside);
  const here = kept.find((point) => Math.abs(point.station - station) <= SAME_MARK);
  if (here !== undefined) return { value: here.deviation, u: here.u, read: true };
  const right = kept.findIndex((point) => point.station > station);
  if (right <= 0) return null;
  const [a, b] = [kept[right - 1]!, kept[right]!];
  const share = (station - a.station) / (b.station - a.station);
  const bow = (4 * share * (1 - share) * (b.deviation - a.deviation)) / Math.sqrt(12);
  return {
    value: a.deviation * (1 - share) + b.deviation * share,
    u: Math.sqrt(((1 - share) * a.u) ** 2 + (share * b.u) ** 2 + bow ** 2),
    read: false,
  };
}
