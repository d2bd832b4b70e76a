import { normalCdf } from './distributions.ts';

export interface MannKendall {
  /** Sum of the signs of all later-minus-earlier differences. */
  readonly s: number;
  /** Kendall's tau-a, s over the number of pairs. */
  readonly tau: number;
  /** Variance of s under no trend, corrected for ties. */
  readonly variance: number;
  /** Normal score with continuity correction. */
  readonly z: number;
  /** Two-sided p: exact for up to 10 readings without ties, else from z. */
  readonly p: number;
}

/**
 * Mann–Kendall test of a monotone trend.
 * Var S = [n(n−1)(2n+5) − Σ t(t−1)(2t+5)]/18 over tie groups of size t (Kendall; Gilbert 1987 eq. 16.3).
 * With four readings the smallest one-sided p is 1/24: three heats can never show a trend at 5 %.
 *
 * @param y at least two values in time order
 */
export function mannKendall(y: readonly number[]): MannKendall {
  const n = y.length;
  if (n < 2) throw new RangeError('mannKendall requires at least 2 values');
  let s = 0;
  for (let i = 0; i < n; i++) for (let j = i + 1; j < n; j++) s += Math.sign(y[j]! - y[i]!);
  const ties = [...tally(y).values()].filter((t) => t > 1);
  const variance =
    (n * (n - 1) * (2 * n + 5) - ties.reduce((sum, t) => sum + t * (t - 1) * (2 * t + 5), 0)) / 18;
  const { z, p } = mannKendallFromS(s, n, variance);
  const exact = n <= 10 && ties.length === 0;
  return {
    s,
    tau: s / ((n * (n - 1)) / 2),
    variance,
    z,
    p: exact ? Math.min(1, 2 * kendallUpperTail(Math.abs(s), n)) : p,
  };
}

/** z with continuity correction and its two-sided normal p, from S alone. */
export function mannKendallFromS(
  s: number,
  n: number,
  variance = (n * (n - 1) * (2 * n + 5)) / 18,
): { z: number; p: number } {
  const z = variance === 0 ? 0 : (s - Math.sign(s)) / Math.sqrt(variance);
  return { z, p: 2 * normalCdf(-Math.abs(z)) };
}

/**
 * Exact P(S ≥ s) without ties, by counting permutations by their number of inversions
 * (n values have n(n−1)/2 pairs; S = pairs − 2·inversions).
 */
export function kendallUpperTail(s: number, n: number): number {
  let counts = [1];
  for (let size = 2; size <= n; size++) {
    const next = new Array<number>(counts.length + size - 1).fill(0);
    counts.forEach((count, inversions) => {
      for (let add = 0; add < size; add++) next[inversions + add]! += count;
    });
    counts = next;
  }
  const pairs = (n * (n - 1)) / 2;
  const total = counts.reduce((sum, count) => sum + count, 0);
  const tail = counts.reduce(
    (sum, count, inversions) => (pairs - 2 * inversions >= s ? sum + count : sum),
    0,
  );
  return tail / total;
}

function tally(values: readonly number[]): Map<number, number> {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  return counts;
}
