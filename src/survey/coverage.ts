import type { LineFit, PanelSurvey, SurveyFit } from '../analysis.ts';
import type { JobUnits, Line } from '../job/job.ts';
import { INCH } from '../units/factors.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import { judgedSurveys } from './judged.ts';
import { boxText, seenAt } from './panel-map.ts';

/**
 * A survey keyed in half-way, or half lost, says nothing of the steel it did not reach: what it did read may look
 * straight. It speaks for the line only where it was read about as near as the first judged survey read its widest gap.
 */
export function readsNear(fit: LineFit, survey: SurveyFit, station: number): boolean {
  const gap = widestGap(judgedSurveys(fit)[0]);
  return keptStations(survey).some((at) => Math.abs(at - station) <= gap + 1e-6);
}

/**
 * The first place that matters and that a survey did not read: where the line was worst as found and in the judged
 * survey before, and the centre of the bend of every zone. Null where it read them all.
 */
export function unreadPlace(fit: LineFit, survey: SurveyFit): number | null {
  const judged = judgedSurveys(fit);
  const [first] = judged;
  if (first === undefined || first === survey) return null;
  const before = judged[judged.indexOf(survey) - 1] ?? first;
  const places = [
    first.largest.station,
    before.largest.station,
    ...fit.zones.map((zone) => zone.core.centre),
  ];
  return places.find((place) => !readsNear(fit, survey, place)) ?? null;
}

/** Why a survey cannot carry a number for its line. */
export type Shortfall =
  /** A place that matters has no reading near, m. */
  | { readonly why: 'place'; readonly station: number }
  /** The crest of a panel's bulge, as found or in the survey before, has no reading near, m. */
  | { readonly why: 'crest'; readonly station: number; readonly height: number }
  /** A large part of a panel has no reading: the largest piece not read, m. */
  | {
      readonly why: 'part';
      readonly box: Pick<PanelSurvey['unseen'][number], 'from' | 'to' | 'low' | 'high'>;
    }
  /** A long stretch that was read as found has no reading, m. */
  | { readonly why: 'stretch'; readonly from: number; readonly to: number }
  /** The readings leave the string so loose that the number is known to no use; standard uncertainty, m. */
  | { readonly why: 'loose'; readonly u: number };

/** A survey may leave out up to this share of the length read as found, in one piece; of a panel of its area. Common practice, no source. */
const MOST_UNREAD = 0.25;
/** The same of the first survey, as a share of the line between its bearings; and the fewest stations of one. */
const MOST_UNREAD_AS_FOUND = 1 / 3;
const FEWEST = 3;
/** How many times the uncertainty of the first judged survey makes a number useless. */
const TOO_LOOSE = 5;
/** A doubt (two standard uncertainties) below this is never called useless, m. */
const FINE_ENOUGH = 0.5 * INCH;

/**
 * Whether a survey can carry a number for its line, by one rule for verdict, acceptance, movement, springback and every
 * screen. Null: it can. A sparser survey spread over the whole line can; one of the middle alone, of one half, or of a
 * single station cannot.
 */
export function shortfall(line: Line, fit: LineFit, survey: SurveyFit): Shortfall | null {
  const [asFound] = judgedSurveys(fit);
  const first = asFound === survey ? undefined : asFound;
  if (line.panel !== undefined) {
    const place = survey.state === 'released' ? unseenCrest(fit, survey) : null;
    if (place !== null) return { why: 'crest', ...place };
    const box = unreadPart(first?.panel, survey.panel);
    if (box !== null) return { why: 'part', box };
  } else if (first !== undefined) {
    const station = survey.state === 'released' ? unreadPlace(fit, survey) : null;
    if (station !== null) return { why: 'place', station };
    const stretch = unreadStretch(first, survey);
    if (stretch !== null) return stretch;
  } else if (line.kind === 'sweep' || line.kind === 'camber') {
    const stretch = unreadOfLine(line, survey);
    if (stretch !== null) return stretch;
  }
  const { u, deviation } = survey.largest;
  const usual = first === undefined || first.cycle > survey.cycle ? null : first.largest.u;
  const loose = usual === null ? 2 * u > Math.abs(deviation) : u > TOO_LOOSE * usual;
  return loose && 2 * u > FINE_ENOUGH ? { why: 'loose', u } : null;
}

/** The same as one clause a crew can act on: `cycle 4 of bottom-flange was read near neither end: …`. */
export function shortfallText(lack: Shortfall, line: string, survey: SurveyFit, units: JobUnits): string {
  const cycle = `cycle ${survey.cycle}${survey.state === 'restrained' ? ', jacks on,' : ''}`;
  // To the inch or centimetre: a place to read at, not a reading.
  const at = (metres: number) =>
    formatLength(units === 'us' ? Math.round(metres / INCH) * INCH : metres, {
      units,
      as: 'station',
      digits: 2,
    });
  switch (lack.why) {
    case 'place':
      return `${cycle} reads nothing of ${line} near ${at(lack.station)}, where it was bent: read the remaining stations`;
    case 'crest':
      return `${cycle} reads nothing of ${line} near ${at(lack.station)} at height ${formatLength(lack.height, { units, as: 'offset', fraction: 2 })}, where it stood out furthest: read the whole panel`;
    case 'part':
      return `${cycle} reads nothing of ${line} at ${boxText(lack.box, units)}: read the whole panel${survey.cycle === 0 ? ', or give the corners of the part that can be read' : ''}`;
    case 'stretch':
      return `${cycle} reads nothing of ${line} from ${at(lack.from)} to ${at(lack.to)}: read the bend and both ends`;
    case 'loose':
      return `the readings of ${line} in ${cycle} leave the string loose by ± ${formatUncertainty(2 * lack.u, units)}: read both ends`;
  }
}

/** Where a panel stood out furthest, as found and in the judged survey before, if this survey does not see it. */
function unseenCrest(fit: LineFit, survey: SurveyFit): { station: number; height: number } | null {
  const judged = judgedSurveys(fit);
  const before = judged[judged.indexOf(survey) - 1];
  for (const other of [judged[0], before]) {
    if (other?.panel === undefined || other === survey || survey.panel === undefined) continue;
    const { station, height } = other.panel.crest;
    if (!seenAt(survey.panel, station, height)) return { station, height };
  }
  return null;
}

/**
 * The largest piece of a panel that a survey did not read, where too much of the panel was not. Steel up to most of a grid space from a
 * reading counts as read: a quarter unread by this count is about a third without a reading. A first survey is held against the panel;
 * a later one against what the first read, so that a hole of the first day is not asked for again.
 */
function unreadPart(first: PanelSurvey | undefined, now: PanelSurvey | undefined) {
  const [largest] = now?.unseen ?? [];
  if (now === undefined || largest === undefined) return null;
  const { from, to, low, high, seen } = now.map;
  if (first === undefined) return largest.area > MOST_UNREAD * (to - from) * (high - low) ? largest : null;
  const before = first.map.seen.filter((each) => each).length;
  const lost = first.map.seen.filter((each, i) => each && !seen[i]).length;
  return lost > MOST_UNREAD * before ? largest : null;
}

/** Of a first survey there is none to compare with: it is held against the line between its bearings. */
function unreadOfLine({ bearings: [from, to] }: Line, survey: SurveyFit): Shortfall | null {
  const inside = keptStations(survey).filter((at) => at > from - 1e-6 && at < to + 1e-6);
  const [start, end] = longestGap([from, ...inside, to]);
  const short = inside.length < FEWEST || end - start > MOST_UNREAD_AS_FOUND * (to - from) + 1e-6;
  return short ? { why: 'stretch', from: start, to: end } : null;
}

/** The longest run without a reading, ends included, where it is long against the line and against the first survey's own. */
function unreadStretch(first: SurveyFit, survey: SurveyFit): Shortfall | null {
  const asFound = keptStations(first);
  const [from, to] = [asFound[0]!, asFound.at(-1)!];
  const stations = keptStations(survey).filter((at) => at >= from - 1e-6 && at <= to + 1e-6);
  const [start, end] = longestGap([from, ...stations, to]);
  if (stations.length < 2 && asFound.length > 2) return { why: 'stretch', from, to };
  const share = MOST_UNREAD * (to - from);
  // Between readings every other station may be left out; toward an end only what the first survey left out.
  const inside = start > from && end < to;
  const most = Math.max(share, (inside ? 2 : 1) * widestGap(first)) + 1e-6;
  return end - start > most ? { why: 'stretch', from: start, to: end } : null;
}

function longestGap(stops: readonly number[]): readonly [number, number] {
  let longest: readonly [number, number] = [stops[0]!, stops[0]!];
  for (let i = 1; i < stops.length; i++) {
    if (stops[i]! - stops[i - 1]! > longest[1] - longest[0]) longest = [stops[i - 1]!, stops[i]!];
  }
  return longest;
}

function widestGap(survey: SurveyFit | undefined): number {
  const stations = survey === undefined ? [] : keptStations(survey);
  let widest = 0;
  for (let i = 1; i < stations.length; i++) widest = Math.max(widest, stations[i]! - stations[i - 1]!);
  return widest;
}

function keptStations(survey: SurveyFit): number[] {
  return survey.stations.filter((each) => !each.setAside).map((each) => each.station);
}
