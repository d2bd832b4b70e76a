import { median } from './median.ts';

/**
 * Theil–Sen line: slope = median of all pairwise slopes, intercept = median(y) − slope·median(x)
 * (Sen 1968; intercept as in Conover). Pairs with equal x are left out.
 * One wild survey cannot carry it away, which is why it stands beside the model of movement as a second opinion.
 *
 * All pairs are held in memory: meant for cycles (tens), not for clouds.
 *
 * @param x at least two different values
 * @param y same length, any unit; the slope is in y per x
 */
export function theilSen(x: readonly number[], y: readonly number[]): { slope: number; intercept: number } {
  const slopes: number[] = [];
  for (let i = 0; i < x.length; i++) {
    for (let j = i + 1; j < x.length; j++) {
      const run = x[j]! - x[i]!;
      if (run !== 0) slopes.push((y[j]! - y[i]!) / run);
    }
  }
  if (slopes.length === 0) throw new RangeError('theilSen requires two different x');
  const slope = median(slopes);
  return { slope, intercept: median(y) - slope * median(x) };
}
