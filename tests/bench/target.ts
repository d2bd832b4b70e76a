/** A score beside its target: met, missed by no more than chance, or not met. */

/** Of one campaign: how many of how many. */
export type Part = readonly [count: number, of: number];

/**
 * Share over campaigns with its standard error. Verdicts of one campaign go together, so campaigns are what is counted, not verdicts: the
 * error of a ratio of sums (Cochran 1977, Sampling Techniques, eq. 2.46; from memory), no smaller than for one more case in all.
 */
export function shareOf(parts: readonly Part[]): { share: number; error: number; count: number; of: number } {
  const counted = parts.filter(([, of]) => of > 0);
  const [count, of] = [sum(counted, 0), sum(counted, 1)];
  if (of === 0) return { share: Number.NaN, error: Number.NaN, count, of };
  const share = count / of;
  const m = counted.length;
  const squares = counted.reduce((total, [n, all]) => total + (n - share * all) ** 2, 0);
  const error = m > 1 ? Math.sqrt((squares * m) / (m - 1)) / of : 1;
  return { share, error: Math.max(error, 1 / of), count, of };
}

/** Misses of up to so many standard errors are within chance. */
const CHANCE = 2;

/** @param target in words, as printed: "≤ 1 %", "≥ 90 % at 1/16 in", "75–85 %"; anything else is no target */
export function targetWord(target: string, { share, error }: { share: number; error: number }): string {
  const bounds = boundsOf(target);
  if (bounds === null || Number.isNaN(share)) return '';
  const [low, high] = bounds;
  const missed = Math.max(low - share, share - high, 0);
  return missed === 0 ? 'met' : missed <= CHANCE * error ? 'within chance' : 'NOT MET';
}

function boundsOf(target: string): readonly [number, number] | null {
  const most = /≤ ([\d.]+) %/.exec(target)?.[1];
  const least = /≥ ([\d.]+) %/.exec(target)?.[1];
  const between = /([\d.]+)–([\d.]+) %/.exec(target);
  if (most !== undefined) return [0, Number(most) / 100];
  if (least !== undefined) return [Number(least) / 100, 1];
  if (between !== null) return [Number(between[1]) / 100, Number(between[2]) / 100];
  return null;
}

function sum(parts: readonly Part[], i: 0 | 1): number {
  return parts.reduce((total, part) => total + part[i], 0);
}
