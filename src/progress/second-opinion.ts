import { SimpleLinearRegression } from 'ml-regression';
import { cusum } from '../maths/cusum.ts';
import { mannKendall } from '../maths/mann-kendall.ts';
import { hypot } from '../maths/portable.ts';
import type { TimedValue } from '../maths/regimes.ts';
import { theilSen } from '../maths/theil-sen.ts';

export interface SecondOpinion {
  /** Slope of the plain least-squares line through the regime, per cycle. */
  readonly leastSquares: number;
  /** Median of all pairwise slopes, per cycle: one wild survey cannot carry it away. */
  readonly theilSen: number;
  /** Two-sided p of no trend at all (Mann–Kendall). */
  readonly trendP: number;
}

/**
 * Three textbook answers on the same cycles, none of which knows of regimes, scatter or uncertainty. They are shown
 * beside the rate and never judged on: a reader who gets −0.21 from a ruler and −0.22 here can trust the machinery.
 *
 * The straight line is `ml-regression`'s; cycles are small whole numbers, where its raw sums are well conditioned.
 * Its Theil–Sen is not used: it takes the lower middle value for even counts.
 *
 * @param points of the regime, at least three, at different times
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

/** Half the shift worth noticing and the decision interval, in standard deviations (Montgomery 9.1.2: K = ½, H = 5). */
const SLACK = 0.5;
const INTERVAL = 5;

/**
 * Movements that fall short of the regime's rate one after the other, each too little to be seen alone: a tabular CUSUM
 * of the movements since the regime began. Two neighbouring movements share a reading with opposite sign, which
 * makes the sum steadier than its limits assume: it signals late rather than falsely.
 *
 * @param points of the regime, in cycle order
 * @param rate of the regime, per cycle (negative = closing)
 * @returns for how many movements the shortfall has run, or null
 */
export function fallingOff(points: readonly TimedValue[], rate: number): number | null {
  const shortfalls = points.slice(1).map((p, i) => {
    const before = points[i]!;
    const step = p.at - before.at;
    return (p.value - before.value - rate * step) / hypot(p.u, before.u);
  });
  const { signal, upper } = cusum(shortfalls, 0, SLACK, INTERVAL);
  if (signal === null || signal.side !== 'upper' || upper.at(-1)! <= INTERVAL) return null;
  const lastZero = upper.lastIndexOf(0);
  return upper.length - 1 - lastZero;
}
