import { EXPECTED, endsOf } from '../maths/coverage-level.ts';
import { log } from '../maths/portable.ts';
import { seededNormal, seededUniform } from '../maths/seeded.ts';
import { drawPooled } from '../past/pool.ts';
import { FIXED_WORK, learn, likenessOf, plainValue, type QuantityName, weigh } from '../past/quantities.ts';
import { linesOf, type PastLineWork, type PastRecord, saysAllLines } from '../past/record.ts';
import { closeBulge, type PlannedZone, SCATTER, workOff } from './forward.ts';
import { drawPrice, wholeDays } from './plan.ts';

/** How one forecast of a finished job came out. */
export interface Hindsight {
  readonly job: string;
  /** Share of the cycles done when it was made: 0 is before the first heat. */
  readonly at: number;
  readonly of: 'cycles' | 'days' | 'cost';
  readonly low: number;
  readonly median: number;
  readonly high: number;
  readonly actual: number;
  /** Share of the futures below what came, and share equal to it. */
  readonly below: number;
  readonly equal: number;
}

/**
 * How far an outcome lies inside an interval that leaves as much out on either side, 0 to 1. Counts come in steps, so what
 * came takes up a stretch of probability, from the futures below it to those not above it, and counts by the part of that
 * stretch that the interval claims: the mean over many is then the claim itself where forecasts are right (the
 * non-randomized form of the probability integral transform, Czado, Gneiting and Held 2009, Biometrics 65, from memory).
 */
export function coverOf({ below, equal }: Pick<Hindsight, 'below' | 'equal'>): number {
  const [low, high] = endsOf(EXPECTED);
  if (equal === 0) return below >= low && below <= high ? 1 : 0;
  return Math.max(0, Math.min(high, below + equal) - Math.max(low, below)) / equal;
}

const FUTURES = 600;
/** Expected of one vee where a record does not say, rad: 45° at full depth and half the plastic moment is 6 (references: published form, from memory), without jacks 2.3. */
const USUAL_VEE = 4e-3;

/**
 * Forecasts a finished job from the other records and what it was as found (and, at a third or two thirds of its
 * cycles, what its readings had shown by then). Empty where the record does not say how it ended.
 */
export function hindsight(record: PastRecord, others: readonly PastRecord[], at: number): Hindsight[] {
  const total = record.cycles;
  const parts = partsOf(record);
  if (total === null || total < 1 || parts.turned.length + parts.bulges.length === 0) return [];
  const done = Math.floor(at * total);
  // How many days it came to is what is forecast: the past alone may say.
  const here = { ...likenessOf(record), days: null };
  const money = { currency: record.cost?.currency ?? null, gasUnit: null };
  const names: QuantityName[] = [
    'ratio',
    'deadShare',
    'veesPerCycle',
    'daysPerCycle',
    ...(parts.bulges.length > 0 ? (['bulgeShare'] as const) : []),
    ...FIXED_WORK.map((kind): QuantityName => `days: ${kind}`),
  ];
  const weighed = weigh(others, here);
  const learnt = names.flatMap((name) => {
    const each = learn(name, weighed, here, null, money);
    return each === null ? [] : [each];
  });
  const span = Math.max(...record.spans);
  const shown = done === 0 ? null : paceShown(parts.turned, done);
  const uniform = seededUniform(57_003);
  const normal = seededNormal(uniform);
  const worked = Array.from({ length: FUTURES }, () => {
    const value = (name: QuantityName, none: number) => {
      const each = learnt.find((one) => one.name === name);
      return each === undefined ? none : plainValue(each.name, drawPooled(each.pooled, uniform, normal));
    };
    const ratio = value('ratio', 1);
    const veesPerCycle = value('veesPerCycle', 4);
    const deadShare = value('deadShare', 0);
    const future = workOff(
      parts.turned.map((line) => ({
        zones: zonesOf(line, span, line.limit === null || shown === null ? 1 : leftOf(line, done)),
        bearings: [0, span],
        aim: aimOf(line),
      })),
      // What the job has shown of its own pace outweighs what vees are expected to do.
      { ratio, deadShare, veesPerCycle, scatter: SCATTER },
      uniform,
      normal,
    );
    // Bulges come after the other heats, all at the same time, as in a plan.
    const share = value('bulgeShare', 1);
    const closed = parts.bulges.map((line) =>
      closeBulge(
        { now: line.largest * leftOf(line, done), found: line.largest },
        aimOf(line),
        { share, deadShare, scatter: SCATTER },
        uniform,
        normal,
      ),
    );
    const cycles = done + future.cycles + Math.max(0, ...closed);
    const heating = wholeDays(cycles, value('daysPerCycle', 1));
    const days = FIXED_WORK.reduce((sum, kind) => sum + Math.round(value(`days: ${kind}`, 0)), heating);
    // A future counts by how well it explains what the first cycles did (importance weights, normal on the logarithm).
    const weight = shown === null ? 1 : likelihoodOf(shown, ratio * veesPerCycle * (1 - deadShare));
    return { weight, cycles, days };
  });
  const usual = weightedPoint(
    worked.map(({ days, weight }) => [days, weight]),
    0.5,
  );
  const price = learn('costPerDay', weighed, { ...here, days: usual }, null, money);
  const futures = worked.map((future) => ({
    ...future,
    cost:
      price === null
        ? Number.NaN
        : future.days *
          (Number.isFinite(future.days) ? drawPrice(price, future.days, usual, uniform, normal) : 1),
  }));
  const told = (of: Hindsight['of'], actual: number | null | undefined) =>
    actual == null || futures.some((future) => Number.isNaN(future[of]))
      ? []
      : [
          {
            job: record.job,
            at,
            of,
            ...weighted(
              futures.map((f) => [f[of], f.weight]),
              actual,
            ),
            actual,
          },
        ];
  return [...told('cycles', total), ...told('days', record.days.all), ...told('cost', record.cost?.total)];
}

/** Largest deviation at which work on a line stopped, m. */
function aimOf({ limit, largest }: PastLineWork): number {
  return limit ?? largest / 20;
}

/**
 * What had to be done, as a plan counts it (`work.ts`): lines of one part share heats, counted by the one furthest outside its
 * limit; a lean of web or flange comes in with them; a panel has heats of its own. Beside the line that was furthest out, only
 * lines outside a limit count.
 */
function partsOf(record: PastRecord): { turned: PastLineWork[]; bulges: PastLineWork[] } {
  const [first, ...others] = linesOf(record);
  const outside = others.filter(({ limit, largest }) => limit !== null && largest > limit);
  const ordered = [first!, ...outside].sort((a, b) => b.largest / aimOf(b) - a.largest / aimOf(a));
  const turned: PastLineWork[] = [];
  for (const line of ordered)
    if (line.zones.length > 0 && !turned.some(({ part }) => part === line.part)) turned.push(line);
  return { turned, bulges: ordered.filter(({ kind, largest }) => kind === 'bulge' && largest > 0) };
}

function zonesOf({ zones }: PastLineWork, span: number, left: number): PlannedZone[] {
  return zones.map((zone, i) => ({
    station: zone.station ?? (span * (i + 1)) / (zones.length + 1),
    rotation: zone.rotation * left,
    rotationU: 0.03 * zone.rotation,
    expectedVee: zone.expectedVee ?? USUAL_VEE,
  }));
}

/** As found, and as last read in the first cycles; null where it was not read twice by then. */
function readBy({ largestByCycle }: PastLineWork, done: number) {
  const first = largestByCycle[0];
  const now = largestByCycle.filter((each) => each.cycle <= done).at(-1);
  return first === undefined || now === undefined || now.cycle <= first.cycle || first.largest <= 0
    ? null
    : { first, now };
}

/** Share of a bend or a bulge left after the first cycles; 1 where its readings do not say. */
function leftOf(line: PastLineWork, done: number): number {
  const read = readBy(line, done);
  return read === null ? 1 : Math.min(1, read.now.largest / read.first.largest);
}

/** The pace of the vees so far, all parts together, after the first cycles. */
function paceShown(turned: readonly PastLineWork[], done: number): { pace: number; u: number } | null {
  const read = turned.map((line) => readBy(line, done)).filter((each) => each !== null);
  if (read.length === 0) return null;
  // In vees as expected.
  const worth = turned.reduce((sum, line) => {
    const rotation = line.zones.reduce((all, zone) => all + zone.rotation, 0);
    const expected =
      line.zones.reduce((all, zone) => all + (zone.expectedVee ?? USUAL_VEE), 0) / line.zones.length;
    return sum + ((1 - leftOf(line, done)) * rotation) / expected;
  }, 0);
  const cycles = Math.max(...read.map(({ first, now }) => now.cycle - first.cycle));
  if (worth <= 0) return null;
  return { pace: worth / cycles, u: Math.max(0.15, 0.45 / Math.sqrt(cycles)) };
}

function likelihoodOf(shown: { readonly pace: number; readonly u: number }, pace: number): number {
  const z = log(shown.pace / Math.max(1e-6, pace)) / shown.u;
  return Math.max(1e-12, 1 / (1 + z ** 2 / 4) ** 2.5);
}

/** The value that a share p of the weight lies at or below. */
function weightedPoint(values: readonly (readonly [number, number])[], p: number): number {
  const sorted = [...values].sort((a, b) => a[0] - b[0]);
  let left = p * sorted.reduce((sum, [, weight]) => sum + weight, 0);
  for (const [value, weight] of sorted) {
    left -= weight;
    if (left <= 0) return value;
  }
  return sorted.at(-1)![0];
}

function weighted(
  values: readonly (readonly [number, number])[],
  actual: number,
): Pick<Hindsight, 'low' | 'median' | 'high' | 'below' | 'equal'> {
  const [low, high] = endsOf(EXPECTED);
  const total = values.reduce((sum, [, weight]) => sum + weight, 0);
  const share = (of: (value: number) => boolean) =>
    values.reduce((sum, [value, weight]) => (of(value) ? sum + weight : sum), 0) / total;
  return {
    low: weightedPoint(values, low),
    median: weightedPoint(values, 0.5),
    high: weightedPoint(values, high),
    ...{ below: share((value) => value < actual), equal: share((value) => value === actual) },
  };
}

/** Coverage of the intervals and middle error, by what was forecast and when. */
export interface Calibration {
  readonly at: number;
  readonly of: Hindsight['of'];
  readonly jobs: number;
  /** Of them inside their interval, counted as `coverOf` does. */
  readonly inside: number;
  /** Median of |forecast − actual| / actual. */
  readonly error: number;
}

export interface Hindsights {
  readonly told: readonly Hindsight[];
  readonly table: readonly Calibration[];
  /** Jobs that ended before the girder was done: how long it would have taken nobody knows. */
  readonly cutShort: number;
  /** Jobs forecast by the line that was furthest out, because their records do not say whether there were others. */
  readonly oneLine: number;
}

/**
 * Every finished job forecast from all others, before the first heat, at a third and at two thirds of its cycles. What was stopped
 * or replaced teaches the others, and is not held against a forecast of the whole work.
 */
export function calibrate(records: readonly PastRecord[]): Hindsights {
  const ended = records.filter(({ outcome }) => outcome === 'within' || outcome === 'plated');
  const told = ended.flatMap((record) =>
    [0, 1 / 3, 2 / 3].flatMap((at) =>
      hindsight(
        record,
        records.filter((other) => other !== record),
        at,
      ),
    ),
  );
  const table: Calibration[] = [];
  for (const at of [0, 1 / 3, 2 / 3]) {
    for (const of of ['cycles', 'days', 'cost'] as const) {
      const mine = told.filter((each) => each.at === at && each.of === of);
      if (mine.length === 0) continue;
      const errors = mine
        .map((each) => Math.abs(each.median - each.actual) / each.actual)
        .sort((a, b) => a - b);
      table.push({
        at,
        of,
        jobs: mine.length,
        inside: mine.reduce((sum, each) => sum + coverOf(each), 0),
        error: errors[Math.floor(errors.length / 2)]!,
      });
    }
  }
  return {
    told,
    table,
    cutShort: records.length - ended.length,
    oneLine: ended.filter((record) => !saysAllLines(record)).length,
  };
}
