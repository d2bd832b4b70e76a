import { guardedDecision } from '../acceptance/guarded.ts';
import type { LineAnalysis, PanelSurvey } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Cited, CoverPlate, CutOut, Job, Line } from '../job/job.ts';
import { hypot } from '../maths/portable.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { boxText } from '../survey/panel-map.ts';
import { formatLength, formatLimit } from '../units/format-length.ts';
import { chooseFill, type Fill } from './fillers.ts';
import {
  type Box,
  boxAround,
  grown,
  inOpening,
  openingArea,
  type PanelPoint,
  type Sides,
  sides,
} from './opening.ts';
import { DEFAULT_GAP_LIMIT } from './plate-fit.ts';
import { type SupportPlane, supportPlane } from './support-plane.ts';

export interface Bolt extends PanelPoint {
  /** `1` and on, row by row from the opening, each around from its lower near corner. */
  readonly name: string;
  readonly row: number;
}

/** Gap under the plate at one place, m. */
export interface CoverGap extends PanelPoint {
  /** Null where the steel was not read. */
  readonly gap: number | null;
  readonly u: number | null;
}

export interface BoltGap extends CoverGap {
  readonly name: string;
  readonly fill: Fill | null;
  /** Gap left after filling against the limit; `unread` where the steel was not read. */
  readonly result: 'within' | 'undetermined' | 'outside' | 'unread';
}

/** The plate on one face. */
export interface CoverSide {
  readonly face: 'positive' | 'negative';
  /** Where it rests; null where the steel read does not surround its middle. */
  readonly contacts: readonly PanelPoint[] | null;
  /** It rests on a crown, or on two places across its middle: it rocks, and its gaps can be shared from side to side. */
  readonly rocks: boolean;
  readonly bolts: readonly BoltGap[];
  /** Largest gap along each edge of the plate. */
  readonly edges: readonly (CoverGap & { readonly edge: keyof Box })[];
}

/** An opening of a panel and the plate over it, on the last judged map. Lengths in m, areas in m². */
export interface CoverPlateFit {
  readonly line: string;
  readonly cycle: number | null;
  readonly opening: CutOut & { readonly box: Box; readonly area: number };
  /** Null where the job states no plate. */
  readonly plate: CoverPlate | null;
  readonly gapLimit: Cited;
  /** Outline of the plate as stated. */
  readonly outline: Box | null;
  readonly bolts: readonly Bolt[];
  readonly on: readonly CoverSide[];
  /** Of the thickness of the plate around it, in the opening; null where that is not known. */
  readonly filler: number | null;
  /**
   * Least plate, in half inches or centimetres from the stated one, whose bolts all sit on read steel with a gap inside the
   * limit by the readings, clear of what stands in the way; null where there is none.
   */
  readonly smallest: { readonly outline: Box; readonly bolts: readonly Bolt[]; readonly more: Sides } | null;
  readonly clashes: readonly string[];
  readonly findings: readonly Finding[];
}

/** Every opening of the job, laid on the last judged map of its panel. */
export function coverPlatesOf(job: Job, lines: readonly LineAnalysis[]): CoverPlateFit[] {
  return lines.flatMap((entry) => {
    const cutOut = entry.line.panel?.cutOut;
    return cutOut === undefined ? [] : [coverPlate(job, entry, cutOut)];
  });
}

function coverPlate(job: Job, { line, fit }: LineAnalysis, cutOut: CutOut): CoverPlateFit {
  const survey = judgedSurveys(fit).findLast((each) => each.panel !== undefined);
  const panel = survey?.panel ?? null;
  const { plate } = cutOut;
  const box = boxAround(cutOut.corners);
  const opening = { ...cutOut, box, area: openingArea(cutOut) };
  const gapLimit = plate?.gapLimit ?? DEFAULT_GAP_LIMIT[job.units];
  const outline = plate === null ? null : plateOutline(plate, box, sides(0));
  const bolts = plate === null ? [] : boltsOf(plate, box, sides(0));
  const on =
    plate === null || panel === null || outline === null
      ? []
      : facesOf(plate).map((face) => laidOn(panel, cutOut, plate, outline, bolts, face, gapLimit.value));
  const clashes = plate === null || outline === null ? [] : clashesOf(job, line, plate, outline, bolts);
  const smallest =
    plate === null || panel === null
      ? null
      : smallestPlate(job, line, panel, cutOut, plate, box, gapLimit.value);
  return {
    line: line.name,
    cycle: survey?.cycle ?? null,
    opening,
    plate,
    gapLimit,
    outline,
    bolts,
    on,
    filler: line.panel!.thickness,
    smallest,
    clashes,
    findings: findingsOf(job, line, cutOut, panel, { outline, on, clashes, smallest, gapLimit }),
  };
}

function facesOf({ sides: on }: CoverPlate): ('positive' | 'negative')[] {
  return on === 'both' ? ['positive', 'negative'] : [on];
}

/** Outer edge of the plate: opening, first row, rows, edge distance. */
function plateOutline(plate: CoverPlate, box: Box, more: Sides): Box {
  const reach = plate.fromOpening + (plate.rows - 1) * plate.gauge + plate.edgeDistance;
  return grown(grown(box, sides(reach)), more);
}

/** Rows of bolts around the opening, equally spaced along each side at no more than the pitch, one in every corner. */
function boltsOf(plate: CoverPlate, box: Box, more: Sides): Bolt[] {
  const bolts: Bolt[] = [];
  for (let row = 0; row < plate.rows; row++) {
    const ring = grown(grown(box, sides(plate.fromOpening + row * plate.gauge)), more);
    const spaces = (length: number) => Math.max(1, Math.ceil(length / plate.pitch - 1e-9));
    const [nx, ny] = [spaces(ring.to - ring.from), spaces(ring.high - ring.low)];
    const at = (i: number, n: number, from: number, to: number) => from + (i / n) * (to - from);
    const places = [
      ...Array.from({ length: nx }, (_, i) => [at(i, nx, ring.from, ring.to), ring.low] as const),
      ...Array.from({ length: ny }, (_, i) => [ring.to, at(i, ny, ring.low, ring.high)] as const),
      ...Array.from({ length: nx }, (_, i) => [at(i, nx, ring.to, ring.from), ring.high] as const),
      ...Array.from({ length: ny }, (_, i) => [ring.from, at(i, ny, ring.high, ring.low)] as const),
    ];
    for (const [station, height] of places)
      bolts.push({ name: String(bolts.length + 1), row: row + 1, station, height });
  }
  return bolts;
}

/** Steel at a place between the nodes of the map, by straight lines, and its u; null where a corner was not read. */
function steelAt(
  { map, takenOff }: PanelSurvey,
  { station, height }: PanelPoint,
): { value: number; u: number } | null {
  const share = (t: number, from: number, to: number, count: number) => {
    const all = ((t - from) / (to - from)) * (count - 1);
    if (all < -1e-6 || all > count - 1 + 1e-6) return null;
    const i = Math.max(0, Math.min(count - 2, Math.floor(all)));
    return { i, part: all - i };
  };
  const x = share(station, map.from, map.to, map.columns);
  const y = share(height, map.low, map.high, map.rows);
  if (x === null || y === null) return null;
  let [value, u] = [0, 0];
  for (const [dc, dr] of [
    [0, 0],
    [1, 0],
    [0, 1],
    [1, 1],
  ] as const) {
    const weight = (dc === 1 ? x.part : 1 - x.part) * (dr === 1 ? y.part : 1 - y.part);
    if (weight < 1e-9) continue;
    const i = (y.i + dr) * map.columns + x.i + dc;
    if (!map.seen[i]) return null;
    value += weight * (takenOff.shape[i]! + map.deviation[i]!);
    u += weight * map.u[i]!;
  }
  return { value, u };
}

interface Resting {
  readonly plane: SupportPlane;
  readonly centre: { readonly along: number; readonly across: number };
  readonly points: readonly {
    readonly along: number;
    readonly across: number;
    readonly height: number;
    readonly u: number;
  }[];
}

/** Where a flat rigid plate rests on the steel read around the opening; null where that does not surround its middle. */
function restingOn(
  panel: PanelSurvey,
  cutOut: CutOut,
  outline: Box,
  face: CoverSide['face'],
): Resting | null {
  const { map, takenOff } = panel;
  const sign = face === 'positive' ? 1 : -1;
  const points: Resting['points'][number][] = [];
  for (let i = 0; i < map.seen.length; i++) {
    if (!map.seen[i]) continue;
    const station = map.from + ((i % map.columns) / (map.columns - 1)) * (map.to - map.from);
    const height = map.low + (Math.floor(i / map.columns) / (map.rows - 1)) * (map.high - map.low);
    if (station < outline.from || station > outline.to || height < outline.low || height > outline.high)
      continue;
    if (inOpening(cutOut, { station, height })) continue;
    points.push({
      along: station,
      across: height,
      height: sign * (takenOff.shape[i]! + map.deviation[i]!),
      u: map.u[i]!,
    });
  }
  // The plate's own edge and the rim of the opening lie between nodes, and are where it often rests.
  const rims = [
    [
      { station: outline.from, height: outline.low },
      { station: outline.to, height: outline.low },
      { station: outline.to, height: outline.high },
      { station: outline.from, height: outline.high },
    ],
    cutOut.corners,
  ];
  for (const rim of rims)
    rim.forEach((a, k) => {
      const b = rim[(k + 1) % rim.length]!;
      for (let i = 0; i < EDGE_STOPS; i++) {
        const t = i / EDGE_STOPS;
        const place = {
          station: a.station + t * (b.station - a.station),
          height: a.height + t * (b.height - a.height),
        };
        const steel = steelAt(panel, place);
        if (steel !== null)
          points.push({ along: place.station, across: place.height, height: sign * steel.value, u: steel.u });
      }
    });
  if (points.length < 3) return null;
  const centre = { along: (outline.from + outline.to) / 2, across: (outline.low + outline.high) / 2 };
  const plane = supportPlane(points, centre);
  return plane === null ? null : { plane, centre, points };
}

/** Gap from the plate to the steel, m; null where either is not known. */
function gapAt(
  panel: PanelSurvey,
  resting: Resting | null,
  face: CoverSide['face'],
  place: PanelPoint,
): number | null {
  const steel = steelAt(panel, place);
  if (steel === null || resting === null) return null;
  return Math.max(
    0,
    levelOf(resting.plane, resting.centre, place) - (face === 'positive' ? 1 : -1) * steel.value,
  );
}

/** Height of a plate that was laid by its middle at a place of it, m. */
function levelOf(plane: SupportPlane, centre: Resting['centre'], place: PanelPoint): number {
  return (
    plane.level +
    plane.alongSlope * (place.station - centre.along) +
    plane.acrossSlope * (place.height - centre.across)
  );
}

/**
 * The same with its u, which counts contacts and place as if their errors were apart: neighbouring places of a map share some
 * of it, so this errs to the large side. Where the plate rocks, an error of a contact tips it, but no further than until it rests
 * drawn down here, or on the other side of its middle: anywhere between is as likely (JCGM 100, 4.3.7).
 */
function gapWithU(
  panel: PanelSurvey,
  resting: Resting | null,
  rocks: boolean,
  face: CoverSide['face'],
  place: PanelPoint,
): CoverGap {
  const at = { station: place.station, height: place.height };
  const gap = gapAt(panel, resting, face, place);
  if (gap === null || resting === null) return { ...at, gap: null, u: null };
  const { plane, points } = resting;
  const weights = plane.weightsAt(place.station, place.height);
  const own = plane.contacts.map((index) => points[index]!.u);
  const linear = Math.sqrt(own.reduce((sum, u, k) => sum + (weights[k]! * u) ** 2, 0));
  const contact = rocks ? Math.min(linear, Math.max(...own, tipping(resting, place) / Math.sqrt(3))) : linear;
  return { ...at, gap, u: hypot(contact, steelAt(panel, place)!.u) };
}

const INSIDE = 0.97;

/** How far a plate that rocks can go up or down at a place from where it lies drawn by its middle, m. */
function tipping({ plane, centre, points }: Resting, place: PanelPoint): number {
  const now = levelOf(plane, centre, place);
  // A little inside, where steel lies all around the pull.
  const pulls = [INSIDE, -INSIDE].map((share) => ({
    along: centre.along + share * (place.station - centre.along),
    across: centre.across + share * (place.height - centre.across),
  }));
  return pulls.reduce((most, pull) => {
    const tipped = supportPlane(points, pull);
    // Steel does not surround the pull: nothing holds it there.
    if (tipped === null) return Number.POSITIVE_INFINITY;
    return Math.max(most, Math.abs(levelOf(tipped, pull, place) - now));
  }, 0);
}

function laidOn(
  panel: PanelSurvey,
  cutOut: CutOut,
  plate: CoverPlate,
  outline: Box,
  bolts: readonly Bolt[],
  face: CoverSide['face'],
  limit: number,
): CoverSide {
  const resting = restingOn(panel, cutOut, outline, face);
  const gaps = bolts.map((bolt) => gapAt(panel, resting, face, bolt) ?? 0);
  // On flat steel every place carries it, and there is nothing to share.
  const rocks = resting !== null && Math.max(...gaps) > limit / 8 && rocksOn(resting, outline);
  const along = (edge: keyof Box): CoverGap => {
    const upright = edge === 'from' || edge === 'to';
    const gaps = Array.from({ length: EDGE_STOPS + 1 }, (_, i) => {
      const t = i / EDGE_STOPS;
      return gapWithU(panel, resting, rocks, face, {
        station: upright ? outline[edge] : outline.from + t * (outline.to - outline.from),
        height: upright ? outline.low + t * (outline.high - outline.low) : outline[edge],
      });
    });
    return gaps.reduce((worst, each) => ((each.gap ?? -1) > (worst.gap ?? -1) ? each : worst));
  };
  const onBolts = bolts.map((bolt): BoltGap => {
    const gap = gapWithU(panel, resting, rocks, face, bolt);
    if (gap.gap === null) return { ...gap, name: bolt.name, fill: null, result: 'unread' };
    const fill = chooseFill(gap.gap, plate.fillers, plate.maxPlies);
    return { ...gap, name: bolt.name, fill, result: guardedDecision(fill.left, gap.u ?? 0, limit) };
  });
  return {
    face,
    contacts:
      resting === null
        ? null
        : resting.plane.contacts.map((i) => ({
            station: resting.points[i]!.along,
            height: resting.points[i]!.across,
          })),
    rocks,
    bolts: onBolts,
    edges: (['low', 'high', 'from', 'to'] as const).map((edge) => ({ edge, ...along(edge) })),
  };
}

/** As `plate-fit.ts` has it for plates on lines: contacts close together, or the middle between two of them. */
function rocksOn({ plane, centre, points }: Resting, outline: Box): boolean {
  const at = plane.contacts.map((i) => points[i]!);
  const spread = Math.max(
    ...at.map((a) => Math.max(...at.map((b) => hypot(a.along - b.along, a.across - b.across)))),
  );
  if (spread < Math.min(outline.to - outline.from, outline.high - outline.low) / 3) return true;
  return plane.weightsAt(centre.along, centre.across).some((weight) => Math.abs(weight) < 0.02);
}

/** Places looked at along an edge. */
const EDGE_STOPS = 16;

/** What the plate or its bolts run into, and panel edges it passes, in words. */
function clashesOf(job: Job, line: Line, plate: CoverPlate, outline: Box, bolts: readonly Bolt[]): string[] {
  const panel = line.panel!;
  const { units } = job;
  const place = (m: number) => formatLength(m, { units, as: 'station', digits: 2 });
  const small = (m: number) => formatLength(m, { units, as: 'offset' });
  const [low, high] = panel.heights;
  const [from, to] = line.bearings;
  const hits = (box: Box) =>
    box.from < outline.to && box.to > outline.from && box.low < outline.high && box.high > outline.low;
  const clashes: string[] = [];
  const margin = (side: 'bottom' | 'top' | 'from' | 'to') => (panel.held.includes(side) ? plate.fillet : 0);
  const past = [
    [low + margin('bottom') - outline.low, 'bottom'],
    [outline.high - high + margin('top'), 'top'],
    [from + margin('from') - outline.from, 'from'],
    [outline.to - to + margin('to'), 'to'],
  ] as const;
  for (const [by, side] of past) {
    if (by <= 1e-6) continue;
    const what =
      margin(side) > 0
        ? `the fillet along the ${EDGE[side]} (${small(plate.fillet)})`
        : `the ${EDGE[side]} of the panel`;
    clashes.push(`${what}, by ${small(by)}`);
  }
  for (const { what, stations, heights } of plate.obstacles) {
    const box = { from: stations[0], to: stations[1], low: heights?.[0] ?? low, high: heights?.[1] ?? high };
    if (hits(box)) clashes.push(`${what} at ${place(stations[0])} to ${place(stations[1])}`);
  }
  const { diaphragms, stiffeners } = job.member;
  const onWeb = [
    ...(diaphragms ?? []).map((station) => ({ what: 'diaphragm', station })),
    ...(stiffeners ?? []).map(({ station }) => ({ what: 'stiffener', station })),
  ];
  for (const { what, station } of panel.element === 'web' ? onWeb : [])
    if (station > outline.from && station < outline.to) clashes.push(`the ${what} at ${place(station)}`);
  // A bolt head needs room of its own beside what stands up; its own radius is the least.
  for (const { what, stations, heights } of plate.obstacles)
    for (const bolt of bolts) {
      const dx = Math.max(0, stations[0] - bolt.station, bolt.station - stations[1]);
      const dy = Math.max(0, (heights?.[0] ?? low) - bolt.height, bolt.height - (heights?.[1] ?? high));
      const apart = hypot(dx, dy);
      if (apart > 0 && apart < plate.boltDiameter)
        clashes.push(`bolt ${bolt.name}, ${small(apart)} from ${what}`);
    }
  return clashes;
}

const EDGE = { bottom: 'bottom edge', top: 'top edge', from: 'near end', to: 'far end' } as const;

/** Steps the smallest plate is looked for in, m. */
const STEP = { us: 0.0254 / 2, si: 0.01 } as const;
/** A foot on each side: beyond it is another design. */
const MOST_STEPS = 24;

function smallestPlate(
  job: Job,
  line: Line,
  panel: PanelSurvey,
  cutOut: CutOut,
  plate: CoverPlate,
  box: Box,
  limit: number,
): CoverPlateFit['smallest'] {
  const step = STEP[job.units];
  const fits = (more: Sides): boolean => {
    const outline = plateOutline(plate, box, more);
    const bolts = boltsOf(plate, box, more);
    if (clashesOf(job, line, plate, outline, bolts).length > 0) return false;
    return facesOf(plate).every((face) => {
      const resting = restingOn(panel, cutOut, outline, face);
      return (
        resting !== null &&
        bolts.every((bolt) => {
          const gap = gapAt(panel, resting, face, bolt);
          return gap !== null && gap <= limit;
        })
      );
    });
  };
  // Out by the same step on one side or several, until all bolts sit; then each back in as far as they still do; the least
  // area of all that. Bolts move with the sides, so the search is over steps and not over places.
  const room = (side: keyof Box, by: number): number => {
    const outline = plateOutline(plate, box, { ...sides(0), [side]: by });
    return clashesOf(job, line, plate, outline, []).length === 0 ? by : -1;
  };
  const most = (side: keyof Box): number => {
    let by = 0;
    while (by < MOST_STEPS && room(side, (by + 1) * step) >= 0) by++;
    return by;
  };
  if (room('from', 0) < 0) return null;
  const limits = { from: most('from'), to: most('to'), low: most('low'), high: most('high') };
  const at = (counts: Sides): Sides => ({
    from: counts.from * step,
    to: counts.to * step,
    low: counts.low * step,
    high: counts.high * step,
  });
  const nothing = sides(0);
  const area = (more: Sides) => {
    const outline = plateOutline(plate, box, more);
    return (outline.to - outline.from) * (outline.high - outline.low);
  };
  let best: Sides | null = fits(nothing) ? nothing : null;
  for (const group of best === null ? GROUPS : []) {
    const out = (k: number): Sides => ({
      from: group.includes('from') ? Math.min(k, limits.from) : 0,
      to: group.includes('to') ? Math.min(k, limits.to) : 0,
      low: group.includes('low') ? Math.min(k, limits.low) : 0,
      high: group.includes('high') ? Math.min(k, limits.high) : 0,
    });
    const farthest = Math.max(...group.map((side) => limits[side]));
    for (let k = 1; k <= farthest; k++) {
      let counts = out(k);
      if (best !== null && area(at(counts)) >= area(best) - 1e-9) break;
      if (!fits(at(counts))) continue;
      for (const side of group)
        while (counts[side] > 0 && fits(at({ ...counts, [side]: counts[side] - 1 })))
          counts = { ...counts, [side]: counts[side] - 1 };
      best = at(counts);
      break;
    }
  }
  return best === null
    ? null
    : { outline: plateOutline(plate, box, best), bolts: boltsOf(plate, box, best), more: best };
}

const SIDES = ['from', 'to', 'low', 'high'] as const;
/** Every choice of sides, the fewest first. */
const GROUPS = Array.from({ length: 15 }, (_, i) => SIDES.filter((_side, k) => ((i + 1) >> k) & 1)).sort(
  (a, b) => a.length - b.length,
);

function findingsOf(
  job: Job,
  line: Line,
  cutOut: CutOut,
  panel: PanelSurvey | null,
  laid: Pick<CoverPlateFit, 'outline' | 'on' | 'clashes' | 'smallest' | 'gapLimit'>,
): Finding[] {
  const { units } = job;
  const { plate } = cutOut;
  const findings: Finding[] = [];
  const say = (severity: Finding['severity'], code: string, message: string) =>
    findings.push({ severity, code, message: `Panel ${line.name}: ${message}`, line: line.name });
  const small = (m: number) => formatLimit(m, units);
  const box = boxAround(cutOut.corners);
  const [low, high] = line.panel!.heights;
  const [from, to] = line.bearings;
  if (box.from < from || box.to > to || box.low < low || box.high > high)
    say('caution', 'opening-past-panel', 'the opening reaches past the panel, where nothing was read.');
  if (cutOut.radius === 0)
    say(
      'note',
      'opening-sharp-corners',
      'the opening is drawn with sharp corners, where cracks start; state their radius (cutOut.radius).',
    );
  const outside = (panel?.unseen ?? []).filter(
    (hole) =>
      !inOpening(cutOut, { station: (hole.from + hole.to) / 2, height: (hole.low + hole.high) / 2 }) ||
      hole.from < box.from ||
      hole.to > box.to ||
      hole.low < box.low ||
      hole.high > box.high,
  );
  for (const hole of outside.slice(0, 3))
    say(
      'caution',
      'unread-outside-opening',
      `${boxText(hole, units)} was not read and lies outside the opening. If it is a tear, the opening does not take it out: find the ends of every crack first.`,
    );
  if (plate === null) return findings;
  const { leastEdge } = plate;
  if (leastEdge === null)
    say(
      'note',
      'no-edge-rule',
      'no least edge distance is cited (plate.leastEdge, leastEdgeSource), so that of the bolts is not checked.',
    );
  else
    for (const [distance, what] of [
      [plate.edgeDistance, 'the edge of the plate'],
      [plate.fromOpening, 'the edge of the opening'],
    ] as const)
      if (distance < leastEdge.value - 1e-6)
        say(
          'caution',
          'edge-distance',
          `bolts stand ${small(distance)} from ${what}; the least is ${small(leastEdge.value)} (${leastEdge.source}).`,
        );
  for (const clash of laid.clashes) say('caution', 'plate-clash', `the plate runs into ${clash}.`);
  const bolts = laid.on.flatMap((side) => side.bolts);
  const count = (result: BoltGap['result']) => bolts.filter((bolt) => bolt.result === result).length;
  const places = (n: number) => `${n} of ${bolts.length} bolt places`;
  if (laid.on.some((side) => side.contacts === null))
    say('caution', 'plate-not-laid', 'the steel read around the opening does not carry the plate all round.');
  if (laid.on.some((side) => side.rocks))
    say(
      'note',
      'plate-can-rock',
      'the plate can rock on the steel it rests on: its gaps are those of one side and can be shared between both. Settle how it is to lie before fillers are cut.',
    );
  if (count('unread') > 0)
    say('caution', 'bolt-on-unread-steel', `${places(count('unread'))} stand where the steel was not read.`);
  if (count('outside') > 0)
    say(
      'caution',
      'bolt-gap-outside',
      `at ${places(count('outside'))} the gap left after filling is outside ${small(laid.gapLimit.value)} (${laid.gapLimit.source}).`,
    );
  if (count('undetermined') > 0)
    say(
      'note',
      'bolt-gap-undetermined',
      `at ${places(count('undetermined'))} the readings cannot tell whether the gap left is inside ${small(laid.gapLimit.value)}. Try the plate and use feeler gauges before the fillers are cut.`,
    );
  if (panel !== null && laid.smallest === null)
    say(
      'note',
      'no-smallest-plate',
      'no plate inside the panel, clear of what stands in the way, has all its bolts on read steel flat within the limit without fillers.',
    );
  return findings;
}
