import type { SurveyFit } from '../analysis.ts';
import type { Member } from '../job/job.ts';
import { type Place, type PlacedLine, type SectionLines, type ValueAt, valueAt } from './lines-of-section.ts';
import { upward } from './sides.ts';

/** How a number of a section came about; only `read` and `worked-out` rest on readings. */
export type How = 'read' | 'worked-out' | 'assumed';

/** One number of a section: m or rad, positive toward the section's positive side, up, or that side's edge high. */
export interface Part {
  readonly value: number;
  /** Standard uncertainty; null where the number is assumed: then nothing is known of it. */
  readonly u: number | null;
  readonly how: How;
  /** Lines it rests on. */
  readonly lines: readonly string[];
  /** Cycle of the oldest reading in it; null where assumed. */
  readonly cycle: number | null;
}

/**
 * A cross-section at one station. `across` and `rise` against where the part stood undamaged, `turn` against the level
 * (where the section stood upright undamaged).
 */
export interface Section {
  readonly station: number;
  readonly bottom: { readonly across: Part; readonly turn: Part };
  readonly top: { readonly across: Part; readonly turn: Part };
  /** Bottom of the web against its top, over the depth, m. */
  readonly lean: Part;
  /** Of the bottom flange, m. */
  readonly rise: Part;
}

export type Moment = 'found' | 'now';

const NOTHING: Part = { value: 0, u: null, how: 'assumed', lines: [], cycle: null };

/**
 * The section at a station, as found or by the last judged survey of every line (which may be older for one line than for
 * another: every part carries its cycle). A part no line reads is worked out from the others where rigid plates allow it,
 * and else assumed undamaged and marked so:
 *
 * - bottom flange across = top flange across + lean of the web, any two of which give the third;
 * - a flange of which no tilt is read stands square to the web (bottom) or level (top, under a deck);
 * - tilt read square to the web plus the lean of the web is tilt against the level, small angles;
 * - with no line on the top flange and no plumb, the top flange is taken as held.
 *
 * u² adds where parts add (JCGM 100:2008, 5.1.2, independent inputs).
 *
 * @returns null where no line reads anything here
 */
export function sectionAt(
  lines: SectionLines,
  member: Pick<Member, 'depth' | 'flangeWidth'>,
  station: number,
  moment: Moment,
): Section | null {
  const read = (place: Place) => readAt(lines.placed[place], station, moment);
  const bottomSweep = read('bottomSweep');
  const topSweep = read('topSweep');
  const plumb = scaled(read('plumb'), overDepth(lines.placed.plumb, member.depth));
  const camber = read('camber');
  const bottomTilt = scaled(read('bottomTilt'), 1 / member.flangeWidth);
  const topTilt = scaled(read('topTilt'), 1 / member.flangeWidth);
  if ([bottomSweep, topSweep, plumb, camber, bottomTilt, topTilt].every((part) => part === null)) return null;

  const top =
    topSweep ?? (bottomSweep !== null && plumb !== null ? difference(bottomSweep, plumb) : { ...NOTHING });
  const bottom = bottomSweep ?? (plumb === null ? { ...NOTHING } : sum(top, plumb));
  const lean = plumb ?? difference(bottom, top);
  const leanAngle = scaled(lean, member.depth === null ? 0 : 1 / member.depth)!;
  return {
    station,
    bottom: { across: bottom, turn: turnOf(bottomTilt, lines.placed.bottomTilt, leanAngle, true) },
    top: { across: top, turn: turnOf(topTilt, lines.placed.topTilt, leanAngle, false) },
    lean,
    rise: camber ?? NOTHING,
  };
}

/** The survey a line shows at a moment. */
export function surveyAt(placed: PlacedLine, moment: Moment): SurveyFit {
  return moment === 'found' ? placed.surveys[0]! : placed.surveys.at(-1)!;
}

function readAt(placed: PlacedLine | undefined, station: number, moment: Moment): Part | null {
  if (placed === undefined) return null;
  const survey = surveyAt(placed, moment);
  const at = valueAt(survey, station);
  return at === null ? null : partOf(at, placed, survey);
}

function partOf(at: ValueAt, { item, sign }: PlacedLine, survey: SurveyFit): Part {
  const up = item.line.kind === 'camber' ? upward(item.line) : sign;
  return {
    value: up * at.value,
    u: at.u,
    how: 'read',
    lines: [item.line.name],
    cycle: survey.cycle,
  };
}

/** A plumb read at a height on the web tells the lean from there to the top; taken on to the bottom as one straight line. */
export function overDepth(placed: PlacedLine | undefined, depth: number | null): number {
  const height = placed?.item.line.height;
  return height === undefined || depth === null || height >= depth ? 1 : depth / (depth - height);
}

function turnOf(tilt: Part | null, placed: PlacedLine | undefined, lean: Part, bottom: boolean): Part {
  const baseline = placed?.item.line.baseline;
  const squareToWeb = baseline?.method === 'absolute' && baseline.against === 'square-to-web';
  if (tilt === null) return bottom ? { ...lean, how: 'assumed', u: null, cycle: null } : NOTHING;
  return squareToWeb ? sum(tilt, lean) : tilt;
}

function scaled(part: Part | null, factor: number): Part | null {
  if (part === null) return null;
  return { ...part, value: part.value * factor, u: part.u === null ? null : part.u * Math.abs(factor) };
}

function sum(a: Part, b: Part): Part {
  return combined(a, b, 1);
}

function difference(a: Part, b: Part): Part {
  return combined(a, b, -1);
}

function combined(a: Part, b: Part, sign: 1 | -1): Part {
  const assumed = a.how === 'assumed' || b.how === 'assumed';
  return {
    value: a.value + sign * b.value,
    u: a.u === null || b.u === null ? null : Math.sqrt(a.u ** 2 + b.u ** 2),
    how: assumed ? 'assumed' : 'worked-out',
    lines: [...a.lines, ...b.lines],
    cycle: a.cycle === null || b.cycle === null ? null : Math.min(a.cycle, b.cycle),
  };
}

/** What the job lacks for a whole section, and what each would settle; in the order of what is worth most. */
export interface Missing {
  readonly what: string;
  readonly settles: string;
}

export function missingParts(
  { placed }: SectionLines,
  member: Pick<Member, 'depth' | 'webThickness'>,
): Missing[] {
  const missing: Missing[] = [];
  const need = (missingHere: boolean, what: string, settles: string) => {
    if (missingHere) missing.push({ what, settles });
  };
  need(placed.bottomSweep === undefined, 'the sweep of the bottom flange', 'how far it stands off sideways');
  need(
    placed.plumb === undefined && placed.topSweep === undefined,
    'the plumb of the web, or the sweep of the top flange',
    'whether the top flange moved too, or the section turned about it',
  );
  need(
    placed.bottomTilt === undefined,
    'the tilt of the bottom flange',
    'whether the flange is still square to the web or turned by itself',
  );
  need(
    placed.camber === undefined,
    'the camber',
    'whether the member is bent up or down as well as sideways',
  );
  need(
    member.depth === null,
    'the depth of the member ("depth" in job.json)',
    'the scale of the section and the angle of the web',
  );
  need(member.webThickness === null, 'the thickness of the web ("webThickness")', 'the web’s own scale');
  return missing;
}

/** Stations worth a section: ends, where the lines are furthest off, and the middle of every bend; m, increasing. */
export interface ChosenStation {
  readonly station: number;
  readonly why: string;
}

/** Closer than this share of the member two sections show the same. */
const APART = 0.04;

/**
 * At most `most` stations to draw, the crest first in rank, then bends, then bearings; in the order of the member.
 *
 * @param most at least 1
 */
export function chosenStations(lines: SectionLines, most: number): ChosenStation[] {
  const all: ChosenStation[] = [];
  const placed = Object.values(lines.placed);
  const leading = lines.placed.bottomSweep ?? placed[0];
  if (leading === undefined) return [];
  for (const { item, surveys } of [leading, ...placed.filter((each) => each !== leading)]) {
    all.push({
      station: surveys[0]!.largest.station,
      why: item === leading.item ? 'furthest out' : `most ${item.line.kind}`,
    });
    if (item !== leading.item) continue;
    all.push({ station: surveys.at(-1)!.largest.station, why: 'furthest out now' });
    for (const zone of item.fit.zones.filter((z) => z.class === 'plastic'))
      all.push({ station: zone.core.centre, why: `bend ${zone.zone}` });
    for (const bearing of item.line.bearings) all.push({ station: bearing, why: 'bearing' });
  }
  const [from, to] = leading.item.line.bearings;
  const chosen: ChosenStation[] = [];
  for (const each of all) {
    if (chosen.length >= most) break;
    const near = chosen.some((other) => Math.abs(other.station - each.station) < APART * (to - from));
    if (!near) chosen.push(each);
  }
  return chosen.sort((a, b) => a.station - b.station);
}
