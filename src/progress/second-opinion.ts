import { SimpleLinearRegression } from 'ml-regression';
import { cusum } from '../maths/cusum.ts';
import { mannKendall } from '../maths/mann-kendall.ts';
import { hypot } from '../maths/portable.ts';
import { theilSen } from '../maths/theil-sen.ts';
import type { TimedValue } from './movement.ts';

export interface SecondOpinion {
  /** Slope of the plain least-squares line, per cycle that moved. */
  readonly leastSquares: number;
  /** Median of all pairwise slopes, per cycle: one wild survey cannot carry it away. */
  readonly theilSen: number;
  /** Two-sided p of no trend at all (Mann–Kendall). */
  readonly trendP: number;
}

/**
 * Three textbook answers on the same cycles, none of which knows of the model of movement, scatter or uncertainty. They are shown
 * beside the rate and never judged on: a reader who gets −0.21 from a ruler and −0.22 here can trust the machinery.
 *
 * The straight line is `ml-regression`'s; cycles are small whole numbers, where its raw sums are well conditioned.
 * Its Theil–Sen is not used: it takes the lower middle value for even counts.
 *
 * @param points the rate is read from, at least two different times; `moving` gives them
 */
export function secondOpinion(points: readonly TimedValue[]): SecondOpinion {
  const x = points.map((p) => p.at);
  const y = points.map((p) => p.value);
  return {
    leastSquares: new SimpleLinearRegression(x, y).slope,
    theilSen: theilSen(x, y).slope,
    trendP: mannKendall(y).p,
  };
}

/**
 * The readings a rate is quoted from with the cycles that stood still taken out of the count: a reading after such a cycle stands
 * at the same place as the one before it. So the plain line through them is a rate on cycles that move.
 *
 * @param points the rate is quoted from, in cycle order
 * @param still for each movement between them, whether it stood still
 */
export function moving(points: readonly TimedValue[], still: readonly boolean[]): TimedValue[] {
  let at = 0;
  return points.map((point, i) => {
    if (i > 0 && !still[i - 1]) at += point.at - points[i - 1]!.at;
    return { ...point, at };
  });
}

/** Half the shift worth noticing and the decision interval, in standard deviations (Montgomery 9.1.2: K = ½, H = 5). */
const SLACK = 0.5;
const INTERVAL = 5;

/**
 * Movements that fall short of the rate one after the other, each too little to be seen alone: a tabular CUSUM
 * of the movements it is read from, those that stood still left out. Two neighbouring movements share a reading with opposite sign, which
 * makes the sum steadier than its limits assume: it signals late rather than falsely.
 *
 * @param points the rate is read from, in cycle order, as `moving` gives them
 * @param rate per cycle (negative = closing)
 * @returns for how many movements the shortfall has run, or null
 */
export function fallingOff(points: readonly TimedValue[], rate: number): number | null {
  const shortfalls = points.slice(1).flatMap((p, i) => {
    const before = points[i]!;
    const step = p.at - before.at;
    return step === 0 ? [] : [(p.value - before.value - rate * step) / hypot(p.u, before.u)];
  });
  const { signal, upper } = cusum(shortfalls, 0, SLACK, INTERVAL);
  if (signal === null || signal.side !== 'upper' || upper.at(-1)! <= INTERVAL) return null;
  const lastZero = upper.lastIndexOf(0);
  return upper.length - 1 - lastZero;
}
