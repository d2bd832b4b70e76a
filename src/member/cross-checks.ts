import type { SurveyFit } from '../analysis.ts';
import type { Job } from '../job/job.ts';
import { normalQuantile } from '../maths/distributions.ts';
import { solveLeastSquares } from '../maths/least-squares.ts';
import { Qr } from '../maths/qr.ts';
import { INCH } from '../units/factors.ts';
import { type PlacedLine, type SectionLines, valueAt } from './lines-of-section.ts';
import { overDepth } from './section.ts';
import { upward } from './sides.ts';

/**
 * Lines of one member held against each other. Three facts of one section, each a difference that is nothing but doubt
 * where all is well, at the stations both lines were read at in the same cycle:
 *
 * - `sweep-plumb`: bottom flange − top flange − lean of the web over its depth. Where no line reads the top flange it is taken as
 *   held, unless the job says that no deck holds it: then it may have gone along by any share of the bow, and only what does
 *   not go with the bow counts;
 * - `tilt-plumb`: a flange turns with the web: tilt − λ·lean·width/depth, λ between 0 (a web that folds leaves the flange
 *   level) and 3/2 (a plate clamped at the top and pushed at the bottom: slope 3/2 of the chord's), and 1 at a stiffener fitted to
 *   the flange, which holds it square to the web;
 * - `camber-lift`: a web that swings by p lifts the bottom flange by d − √(d² − p²): camber − lift, downward only; what
 *   stands higher is bent about the strong axis and no contradiction.
 *
 * Where no plumb is read, the last two take the lean from the sweeps: bottom less top flange, or the bottom flange alone under a
 * composite deck, which holds the top one.
 *
 * Every likely cause is a pattern of that difference: one station, one end more than the other, all alike, in proportion to
 * the bow. Each pattern's size is fitted by itself over the errors the stations share (as-built lean, string set-up) and
 * held against k times its standard uncertainty (Baarda 1968, data snooping, with patterns beside single readings). k comes
 * from the number of patterns tried in the whole job, so that a job without a fault is called wrong at most once in two
 * hundred (Bonferroni).
 */
export type CheckName = 'sweep-plumb' | 'tilt-plumb' | 'camber-lift';

export type Cause =
  /** One station: a reading. */
  | 'misread'
  /** Grows toward one end. */
  | 'string-end'
  /** The same everywhere. */
  | 'zero'
  /** In proportion to the bow: the top flange went along, by a share of it. */
  | 'top-flange'
  /** The flange turned by itself along the bend, or the web folds. */
  | 'flange-by-itself'
  /** In proportion to the bow and about twice it: the positive side is the other one. */
  | 'other-side'
  /** The bottom flange stands lower than its own swing lifts it. */
  | 'below-lift';

export interface Disagreement {
  readonly check: CheckName;
  readonly cycle: number;
  /** True: not in the readings themselves, but in what changed since as found. */
  readonly since: boolean;
  readonly cause: Cause;
  /** Where it shows most, m. */
  readonly station: number;
  /** Size of the pattern there, m, with its standard uncertainty. */
  readonly size: number;
  readonly u: number;
  readonly k: number;
  /** What the two lines say there, m: the first's own value, and what it should be by the other. */
  readonly says: number;
  readonly expected: number;
  readonly lines: readonly [string, string];
  /** Of `misread`: the line to look at first; null where nothing favours one. */
  readonly suspect: string | null;
}

/** A job without a fault is called wrong at most so often. */
const FALSE_ALARM = 0.005;
/** Webs and flanges stand out of true as built by up to this, as a rectangle; common practice, no source. */
const AS_BUILT = INCH / 4 / Math.sqrt(3);
/** The part of that which changes from station to station; common practice, no source. */
const AS_BUILT_LOCAL = INCH / 16;
/**
 * Both flanges are rolled or fabricated with up to this share of the length as sweep, in which no web leans, as a rectangle:
 * 1/8 in for each 10 ft (ASTM A6, from memory).
 */
const MILL_SWEEP = 1 / 960 / Math.sqrt(3);
/** As one bow over the length, and as an S; 1 at the largest. */
const MILL_WAVES: readonly ((share: number) => number)[] = [
  (s) => 4 * s * (1 - s),
  (s) => (12 * Math.sqrt(3) * s * (1 - s) * (1 - 2 * s)) / 2,
];
/** λ of the tilt: 0 to 3/2. With k of 3 or more, k·u reaches over the whole of it, and no λ beyond passes as doubt. */
const TURN = { middle: 0.75, u: 0.25 } as const;
/** λ at a stiffener fitted to the flange, which stays square to the web there; this near it, m (common practice, no source). */
const SQUARE = 1;
const AT_STIFFENER = 6 * INCH;
/** λ wanders along the member with folds by this share, elsewhere. */
const TURN_LOCAL = 0.25;
/** The original camber is a parabola the chord does not know, at mid-length up to this; common practice, no source. */
const CAMBER_UNKNOWN = 3 * INCH;
/** Two stations closer than this are the same mark on the steel, m. */
const SAME_MARK = 1e-3;
/** Stations below which a pattern says nothing. */
const FEWEST = 4;

/** A difference at stations, with its independent doubt, and the patterns all stations share with their prior doubt. */
interface Difference {
  readonly check: CheckName;
  readonly cycle: number;
  readonly since: boolean;
  readonly lines: readonly [string, string];
  readonly stations: readonly number[];
  readonly difference: readonly number[];
  readonly u: readonly number[];
  readonly shared: readonly { readonly column: readonly number[]; readonly u: number }[];
  readonly patterns: readonly {
    readonly of: 'zero' | 'from' | 'to' | 'bow';
    readonly column: readonly number[];
  }[];
  /** Only patterns of negative size count. */
  readonly oneSided: boolean;
  readonly spikes: boolean;
  /** The bow the difference is held against, m; the flange's own value and what the other line makes of it. */
  readonly bow: readonly number[];
  readonly says: readonly number[];
  readonly expected: readonly number[];
  readonly suspect: (i: number) => string | null;
}

/** Every disagreement of the job, the clearest of each check and cycle; oldest cycle first. */
export function crossChecks(lines: SectionLines, job: Pick<Job, 'member'>): Disagreement[] {
  const differences = [
    ...sweepAgainstPlumb(lines, job.member),
    ...tiltAgainstLean(lines, job.member),
    ...camberAgainstLift(lines, job.member),
  ];
  const tried = differences.reduce(
    (count, d) => count + d.patterns.length + (d.spikes ? d.stations.length : 0),
    0,
  );
  if (tried === 0) return [];
  const k = normalQuantile(1 - FALSE_ALARM / (2 * tried));
  const found = differences.flatMap((each) => clearest(each, k) ?? []);
  const [first] = differences.map(({ cycle }) => cycle).sort((a, b) => a - b);
  // What changed since as found only repeats what the readings themselves say, then or now.
  return found
    .filter(
      (one) =>
        !one.since ||
        !found.some(
          (other) =>
            !other.since && other.check === one.check && (other.cycle === one.cycle || other.cycle === first),
        ),
    )
    .sort((a, b) => a.cycle - b.cycle);
}

/** The patterns of the fit as columns over the stations and one row for each prior. */
function clearest(d: Difference, k: number): Disagreement | null {
  const n = d.stations.length;
  const rows = [...d.difference, ...d.shared.map(() => 0)];
  const weights = [...d.u.map((u) => 1 / u ** 2), ...d.shared.map(({ u }) => 1 / u ** 2)];
  const shared = d.shared.map(({ column }, j) => [...column, ...d.shared.map((_, i) => (i === j ? 1 : 0))]);
  const hits: { of: 'spike' | 'zero' | 'from' | 'to' | 'bow'; size: number; u: number; at: number }[] = [];
  // What the shared errors leave of the differences and of each pattern: one factor for all patterns.
  const weighted = (values: readonly number[]) =>
    Float64Array.from(weights, (weight, i) => Math.sqrt(weight) * (values[i] ?? 0));
  const qr = new Qr(rows.length);
  const told = shared.every((column) => qr.push(weighted(column)));
  const left = qr.apply(weighted(rows)).subarray(qr.rank);
  for (const { of, column } of told ? d.patterns : []) {
    const whole = qr.apply(weighted(column));
    const own = whole.subarray(qr.rank);
    const size2 = dot(own, own);
    if (!(size2 > 1e-22 * dot(whole, whole))) continue;
    hits.push({ of, size: dot(own, left) / size2, u: 1 / Math.sqrt(size2), at: largestAt(column) });
  }
  if (d.spikes) {
    const fit = solveLeastSquares(shared, rows, weights);
    for (let i = 0; i < n; i++) {
      const free = 1 - fit.leverages[i]!;
      if (free < 0.05) continue;
      hits.push({ of: 'spike', size: fit.residuals[i]! / free, u: d.u[i]! / Math.sqrt(free), at: i });
    }
  }
  const beyond = hits.filter(({ size, u }) => (d.oneSided ? -size : Math.abs(size)) > k * u);
  const best = beyond.reduce<(typeof beyond)[number] | null>(
    (a, b) => (a === null || Math.abs(b.size) / b.u > Math.abs(a.size) / a.u ? b : a),
    null,
  );
  if (best === null) return null;
  return {
    check: d.check,
    cycle: d.cycle,
    since: d.since,
    cause: causeOf(d, best.of, best.size, best.at),
    station: d.stations[best.at]!,
    size: best.size,
    u: best.u,
    k,
    says: d.says[best.at]!,
    expected: d.expected[best.at]!,
    lines: d.lines,
    suspect: best.of === 'spike' ? d.suspect(best.at) : null,
  };
}

function causeOf(
  d: Difference,
  of: 'spike' | 'zero' | 'from' | 'to' | 'bow',
  size: number,
  at: number,
): Cause {
  if (of === 'spike') return 'misread';
  if (of === 'zero') return 'zero';
  if (of === 'from' || of === 'to') return d.check === 'tilt-plumb' ? 'zero' : 'string-end';
  if (d.check === 'camber-lift') return 'below-lift';
  // The whole of the expected value is missing and as much again on the other side.
  const share = -size / d.bow[at]!;
  if (d.check === 'tilt-plumb') return share > 0.3 ? 'other-side' : 'flange-by-itself';
  return share < -1.6 && share > -2.4 ? 'other-side' : 'top-flange';
}

function dot(a: Float64Array, b: Float64Array): number {
  return a.reduce((sum, value, i) => sum + value * b[i]!, 0);
}

function largestAt(values: readonly number[]): number {
  return values.reduce((best, v, i) => (Math.abs(v) > Math.abs(values[best]!) ? i : best), 0);
}

function sweepAgainstPlumb(lines: SectionLines, member: Job['member']): Difference[] {
  const { bottomSweep, topSweep, plumb } = lines.placed;
  if (bottomSweep === undefined || plumb === undefined) return [];
  const over = overDepth(plumb, member.depth);
  const free = topSweep === undefined && member.deck !== undefined && member.deck !== 'composite';
  const pairs = sameCycles(bottomSweep, plumb).map(([sweep, lean]) => {
    const top = topSweep?.surveys.find(({ cycle }) => cycle === sweep.cycle);
    const stations = lean.stations.flatMap((point) => {
      if (point.setAside) return [];
      const s = valueAt(sweep, point.station);
      const t = top === undefined ? { value: 0, u: 0 } : valueAt(top, point.station);
      if (s === null || t === null) return [];
      const says = bottomSweep.sign * s.value;
      const expected = plumb.sign * over * point.deviation + (topSweep?.sign ?? 1) * t.value;
      return [
        { station: point.station, says, expected, variance: s.u ** 2 + (over * point.u) ** 2 + t.u ** 2 },
      ];
    });
    return { cycle: sweep.cycle, sweep, stations, setUp: setUpDoubt(sweep) };
  });
  const [first] = pairs;
  const ends = bottomSweep.item.line.bearings;
  const make = (
    cycle: number,
    since: boolean,
    stations: (typeof pairs)[number]['stations'],
    endDoubt: number,
    local: number,
    sweep: SurveyFit,
  ): Difference[] => {
    if (stations.length < FEWEST) return [];
    const x = stations.map(({ station }) => station);
    const [from, to] = [
      x.map((s) => (ends[1] - s) / (ends[1] - ends[0])),
      x.map((s) => (s - ends[0]) / (ends[1] - ends[0])),
    ];
    // Of what changed, the as-found bow: a change near nothing is noise, and noise would fit itself.
    const bow = stations.map(({ station, says }) =>
      since ? first!.stations.find((was) => Math.abs(was.station - station) < SAME_MARK)!.says : says,
    );
    const crest = Math.max(...bow.map(Math.abs));
    const withBow = crest > 0 ? [bow.map((b) => b / signedLargest(bow))] : [];
    return [
      {
        check: 'sweep-plumb',
        cycle,
        since,
        lines: [bottomSweep.item.line.name, plumb.item.line.name],
        stations: x,
        difference: stations.map(({ says, expected }) => says - expected),
        u: stations.map(({ variance }) => Math.sqrt(variance + local ** 2)),
        shared: [
          ...[from, to].map((column) => ({ column, u: endDoubt })),
          ...(since
            ? []
            : MILL_WAVES.map((wave) => ({ column: to.map(wave), u: MILL_SWEEP * (ends[1] - ends[0]) }))),
          ...(free ? withBow.map((column) => ({ column, u: crest })) : []),
        ],
        patterns: [
          { of: 'zero', column: x.map(() => 1) },
          { of: 'from', column: from },
          { of: 'to', column: to },
          ...(free ? [] : withBow.map((column) => ({ of: 'bow' as const, column }))),
        ],
        oneSided: false,
        spikes: true,
        bow,
        says: stations.map(({ says }) => says),
        expected: stations.map(({ expected }) => expected),
        suspect: (i) => (ownOutlier(sweep, x[i]!) ? bottomSweep.item.line.name : plumb.item.line.name),
      },
    ];
  };
  return pairs.flatMap((pair) => {
    const own = make(
      pair.cycle,
      false,
      pair.stations,
      Math.sqrt(AS_BUILT ** 2 + pair.setUp ** 2),
      AS_BUILT_LOCAL,
      pair.sweep,
    );
    if (pair === first) return own;
    const changed = pair.stations.flatMap((now) => {
      const was = first!.stations.find(({ station }) => Math.abs(station - now.station) < SAME_MARK);
      return was === undefined
        ? []
        : [
            {
              station: now.station,
              says: now.says - was.says,
              expected: now.expected - was.expected,
              variance: now.variance + was.variance,
            },
          ];
    });
    return [
      ...own,
      ...make(pair.cycle, true, changed, Math.sqrt(pair.setUp ** 2 + first!.setUp ** 2), 0, pair.sweep),
    ];
  });
}

/** How far the web leans over its depth, toward the section's positive side, by the line that tells it. */
interface Lean {
  readonly line: string;
  readonly cycle: number;
  readonly points: readonly { readonly station: number; readonly value: number; readonly u: number }[];
  /** What its stations share, as columns over them, m. */
  readonly sharedAt: (stations: readonly number[]) => Difference['shared'];
}

function leansOf({ placed: { plumb, bottomSweep, topSweep } }: SectionLines, member: Job['member']): Lean[] {
  if (plumb !== undefined) {
    const over = overDepth(plumb, member.depth);
    return plumb.surveys.map(({ cycle, stations }) => ({
      line: plumb.item.line.name,
      cycle,
      points: stations
        .filter(({ setAside }) => !setAside)
        .map(({ station, deviation, u }) => ({
          station,
          value: plumb.sign * over * deviation,
          u: over * u,
        })),
      sharedAt: () => [],
    }));
  }
  if (bottomSweep === undefined || (topSweep === undefined && member.deck !== 'composite')) return [];
  const [from, to] = bottomSweep.item.line.bearings;
  return bottomSweep.surveys.flatMap((survey): Lean[] => {
    const top = topSweep?.surveys.find(({ cycle }) => cycle === survey.cycle);
    if (topSweep !== undefined && top === undefined) return [];
    const endDoubt = Math.sqrt(AS_BUILT ** 2 + setUpDoubt(survey) ** 2 + (top ? setUpDoubt(top) ** 2 : 0));
    return [
      {
        line: bottomSweep.item.line.name,
        cycle: survey.cycle,
        points: survey.stations.flatMap(({ station, deviation, u, setAside }) => {
          const t = top === undefined ? { value: 0, u: 0 } : valueAt(top, station);
          if (setAside || t === null) return [];
          const value = bottomSweep.sign * deviation - (topSweep?.sign ?? 1) * t.value;
          return [{ station, value, u: Math.sqrt(u ** 2 + t.u ** 2 + AS_BUILT_LOCAL ** 2) }];
        }),
        // Neither flange's own sweep, nor the height of a string at its ends, leans the web.
        sharedAt: (stations) => {
          const share = stations.map((s) => (s - from) / (to - from));
          return [
            { column: share.map((s) => 1 - s), u: endDoubt },
            { column: share, u: endDoubt },
            ...MILL_WAVES.map((wave) => ({ column: share.map(wave), u: MILL_SWEEP * (to - from) })),
          ];
        },
      },
    ];
  });
}

function tiltAgainstLean(lines: SectionLines, member: Job['member']): Difference[] {
  const { bottomTilt } = lines.placed;
  const { depth, flangeWidth } = member;
  if (bottomTilt === undefined || depth === null) return [];
  const { baseline } = bottomTilt.item.line;
  const toWeb = baseline.method === 'absolute' && baseline.against === 'square-to-web';
  const heldSquare = (at: number) =>
    (member.stiffeners ?? []).some(
      ({ station, holds }) =>
        (holds === 'both-flanges' || holds === 'bottom-flange') && Math.abs(station - at) <= AT_STIFFENER,
    );
  return inSameCycle(bottomTilt, leansOf(lines, member)).flatMap(([tilt, lean]) => {
    const stations = lean.points.flatMap((point) => {
      const t = valueAt(tilt, point.station);
      if (t === null) return [];
      const along = (point.value * flangeWidth) / depth;
      const says = bottomTilt.sign * t.value + (toWeb ? along : 0);
      const square = heldSquare(point.station);
      const turn = square ? SQUARE : TURN.middle;
      const doubt = (turn + (square ? 0 : TURN.u)) * ((point.u * flangeWidth) / depth);
      const local = square ? 0 : TURN_LOCAL * along;
      return [
        { station: point.station, along, says, turn, square, variance: t.u ** 2 + doubt ** 2 + local ** 2 },
      ];
    });
    if (stations.length < FEWEST) return [];
    const x = stations.map(({ station }) => station);
    const along = stations.map((each) => each.along);
    const largest = signedLargest(along);
    return [
      {
        check: 'tilt-plumb' as const,
        cycle: tilt.cycle,
        since: false,
        lines: [bottomTilt.item.line.name, lean.line] as const,
        stations: x,
        difference: stations.map((each) => each.says - each.turn * each.along),
        u: stations.map(({ variance }) => Math.sqrt(variance + AS_BUILT_LOCAL ** 2)),
        shared: [
          { column: x.map(() => 1), u: AS_BUILT },
          { column: stations.map((each) => (each.square ? 0 : each.along)), u: TURN.u },
          ...lean
            .sharedAt(x)
            .map(({ column, u }) => ({ column, u: (TURN.middle * u * flangeWidth) / depth })),
        ],
        patterns: [
          { of: 'zero' as const, column: x.map(() => 1) },
          ...(largest === 0 ? [] : [{ of: 'bow' as const, column: along.map((a) => a / largest) }]),
        ],
        oneSided: false,
        spikes: true,
        bow: along,
        says: stations.map((each) => each.says),
        expected: along,
        suspect: () => bottomTilt.item.line.name,
      },
    ];
  });
}

function camberAgainstLift(lines: SectionLines, member: Job['member']): Difference[] {
  const { camber } = lines.placed;
  const { depth } = member;
  if (camber === undefined || depth === null) return [];
  const up = upward(camber.item.line);
  const ends = camber.item.line.bearings;
  const chord = camber.item.fit.baseline.method === 'bearings';
  return inSameCycle(camber, leansOf(lines, member)).flatMap(([level, lean]) => {
    const stations = lean.points.flatMap(({ station, value: p, u }) => {
      const c = valueAt(level, station);
      if (c === null || Math.abs(p) >= depth) return [];
      const lift = depth - Math.sqrt(depth ** 2 - p ** 2);
      return [
        { station, says: up * c.value, lift, slope: p / depth, variance: c.u ** 2 + ((p / depth) * u) ** 2 },
      ];
    });
    const lift = stations.map((each) => each.lift);
    const most = Math.max(0, ...lift);
    if (stations.length < FEWEST || most === 0) return [];
    const x = stations.map(({ station }) => station);
    const share = x.map((s) => (s - ends[0]) / (ends[1] - ends[0]));
    const doubt = setUpDoubt(level);
    return [
      {
        check: 'camber-lift' as const,
        cycle: level.cycle,
        since: false,
        lines: [camber.item.line.name, lean.line] as const,
        stations: x,
        difference: stations.map((each) => each.says - each.lift),
        u: stations.map(({ variance }) => Math.sqrt(variance + AS_BUILT_LOCAL ** 2)),
        shared: [
          { column: share.map((s) => 1 - s), u: Math.max(doubt, 1e-6) },
          { column: share, u: Math.max(doubt, 1e-6) },
          { column: share.map((s) => 4 * s * (1 - s)), u: chord ? CAMBER_UNKNOWN : AS_BUILT },
          ...lean
            .sharedAt(x)
            .map(({ column, u }) => ({ column: column.map((c, i) => c * stations[i]!.slope), u })),
        ],
        patterns: [{ of: 'bow' as const, column: lift.map((l) => l / most) }],
        oneSided: true,
        spikes: false,
        bow: lift,
        says: stations.map((each) => each.says),
        expected: lift,
        suspect: () => null,
      },
    ];
  });
}

/** Judged surveys of a line with the lean of their cycle. */
function inSameCycle(a: PlacedLine, leans: readonly Lean[]): (readonly [SurveyFit, Lean])[] {
  return a.surveys.flatMap((one) => {
    const other = leans.find(({ cycle }) => cycle === one.cycle);
    return other === undefined ? [] : [[one, other] as const];
  });
}

/** Judged surveys of both lines in the same cycle. */
function sameCycles(a: PlacedLine, b: PlacedLine): (readonly [SurveyFit, SurveyFit])[] {
  return a.surveys.flatMap((one) => {
    const other = b.surveys.find(({ cycle }) => cycle === one.cycle);
    return other === undefined ? [] : [[one, other] as const];
  });
}

/** What the string's own set-up leaves open at its ends, m: the part of u the stations share. */
function setUpDoubt(survey: SurveyFit): number {
  const ends = [survey.stations[0], survey.stations.at(-1)];
  return Math.max(
    0,
    ...ends.map((point) =>
      point === undefined ? 0 : Math.sqrt(Math.max(0, point.u ** 2 - point.uReading ** 2)),
    ),
  );
}

/** Whether the line's own shape already finds the reading odd. */
function ownOutlier(survey: SurveyFit, station: number): boolean {
  const point = survey.stations.find((each) => Math.abs(each.station - station) < SAME_MARK);
  if (point === undefined || point.fitted === null) return false;
  return Math.abs(point.deviation - point.fitted) > 3 * point.uReading;
}

function signedLargest(values: readonly number[]): number {
  return values[largestAt(values)] ?? 0;
}
