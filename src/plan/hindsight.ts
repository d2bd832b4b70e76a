import { EXPECTED, endsOf } from '../maths/coverage-level.ts';
import { log } from '../maths/portable.ts';
import { seededNormal, seededUniform } from '../maths/seeded.ts';
import { drawPooled } from '../past/pool.ts';
import { FIXED_WORK, learn, likenessOf, plainValue, type QuantityName, weigh } from '../past/quantities.ts';
import type { PastRecord } from '../past/record.ts';
import { type PlannedZone, SCATTER, workOff } from './forward.ts';
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
  if (total === null || total < 1 || record.damage.zones.length === 0) return [];
  const done = Math.floor(at * total);
  // How many days it came to is what is forecast: the past alone may say.
  const here = { ...likenessOf(record), days: null };
  const money = { currency: record.cost?.currency ?? null, gasUnit: null };
  const names: QuantityName[] = [
    'ratio',
    'deadShare',
    'veesPerCycle',
    'daysPerCycle',
    ...FIXED_WORK.map((kind): QuantityName => `days: ${kind}`),
  ];
  const weighed = weigh(others, here);
  const learnt = names.flatMap((name) => {
    const each = learn(name, weighed, here, null, money);
    return each === null ? [] : [each];
  });
  const shown = done === 0 ? null : paceShown(record, done);
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
    const left = record.damage.limit === null || shown === null ? 1 : shown.left;
    const future = workOff(
      [
        {
          zones: zonesOf(record, left),
          bearings: [0, Math.max(...record.spans)],
          aim: record.damage.limit ?? record.damage.largest / 20,
        },
      ],
      // What the job has shown of its own pace outweighs what vees are expected to do.
      { ratio, deadShare, veesPerCycle, scatter: SCATTER },
      uniform,
      normal,
    );
    const cycles = done + future.cycles;
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

function zonesOf(record: PastRecord, left: number): PlannedZone[] {
  const span = Math.max(...record.spans);
  return record.damage.zones.map((zone, i) => ({
    station: zone.station ?? (span * (i + 1)) / (record.damage.zones.length + 1),
    rotation: zone.rotation * left,
    rotationU: 0.03 * zone.rotation,
    expectedVee: zone.expectedVee ?? USUAL_VEE,
  }));
}

/** Share of the bend left, and the pace of the vees so far, after the first cycles. */
function paceShown(record: PastRecord, done: number): { left: number; pace: number; u: number } | null {
  const first = record.largestByCycle[0];
  const now = record.largestByCycle.filter((each) => each.cycle <= done).at(-1);
  if (first === undefined || now === undefined || now.cycle <= first.cycle || now.largest >= first.largest)
    return null;
  const left = now.largest / first.largest;
  const rotation = record.damage.zones.reduce((sum, zone) => sum + zone.rotation, 0);
  const expected =
    record.damage.zones.reduce((sum, zone) => sum + (zone.expectedVee ?? USUAL_VEE), 0) /
    record.damage.zones.length;
  const cycles = now.cycle - first.cycle;
  return {
    left,
    pace: ((1 - left) * rotation) / (expected * cycles),
    u: Math.max(0.15, 0.45 / Math.sqrt(cycles)),
  };
}

function likelihoodOf(shown: { pace: number; u: number }, pace: number): number {
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

/** Every record forecast from the others, before the first heat, at a third and at two thirds of its cycles. */
export function calibrate(records: readonly PastRecord[]): { told: Hindsight[]; table: Calibration[] } {
  const told = records.flatMap((record, i) =>
    [0, 1 / 3, 2 / 3].flatMap((at) =>
      hindsight(
        record,
        records.filter((_, j) => j !== i),
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
  return { told, table };
}
