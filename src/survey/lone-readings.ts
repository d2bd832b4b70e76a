import { median } from '../maths/median.ts';

export interface NeighbourView {
  /** By station: the nearest of the neighbours' predictions; null where there are too few. */
  readonly expected: readonly (number | null)[];
  /** Sd of value − expected for a good reading, m. */
  readonly u: number;
}

/**
 * What the neighbours of every station say of it. Three straight predictions are made: between the two neighbours, onward
 * from the two before, back from the two after (at the ends the next pair too); the nearest to the value counts. A
 * kink or a smooth curve agrees with at least one of them, and a blunder next door spoils only some; a blunder
 * itself agrees with none.
 *
 * @param stations distinct, increasing, m
 * @param sd of one value, m
 */
export function neighbourView(
  stations: readonly number[],
  values: readonly number[],
  sd: number,
): NeighbourView {
  const n = stations.length;
  const expected = stations.map((station, i) => {
    let nearest: number | null = null;
    const tryPair = (a: number, b: number): void => {
      if (a < 0 || b >= n) return;
      const t = (station - stations[a]!) / (stations[b]! - stations[a]!);
      // Reaching further than twice the pair's own spacing magnifies its noise too much.
      if (t > 3 || t < -2) return;
      const prediction = values[a]! + t * (values[b]! - values[a]!);
      if (nearest === null || Math.abs(prediction - values[i]!) < Math.abs(nearest - values[i]!))
        nearest = prediction;
    };
    tryPair(i - 1, i + 1);
    tryPair(i - 2, i - 1);
    tryPair(i + 1, i + 2);
    if (i <= 1) tryPair(i + 2, i + 3);
    if (i >= n - 2) tryPair(i - 3, i - 2);
    return nearest as number | null;
  });
  const misfits = expected.flatMap((value, i) => (value === null ? [] : [Math.abs(values[i]! - value)]));
  // √6 sd is the noise of an evenly spaced extrapolation against its station (1² + 2² + 1²).
  return { expected, u: Math.max(Math.sqrt(6) * sd, 2 * 1.4826 * spread(misfits)) };
}

/**
 * The same for values that vary slowly along the line (a survey less the one before it): the median of the nearest
 * three on each side, itself left out. Quieter than a straight prediction, and unmoved by one blunder next door.
 */
export function smoothView(values: readonly number[], sd: number): NeighbourView {
  const n = values.length;
  const expected = values.map((_, i) => {
    const first = Math.max(0, Math.min(i - 3, n - 7));
    const around = values.slice(first, first + 7).filter((_, k) => first + k !== i);
    return around.length < 4 ? null : median(around);
  });
  const misfits = expected.flatMap((value, i) => (value === null ? [] : [Math.abs(values[i]! - value)]));
  // Variance of a median of six is about π/2/6 of one value's.
  return { expected, u: Math.max(Math.sqrt(1 + Math.PI / 12) * sd, 1.4826 * spread(misfits)) };
}

/** Median of the misfits; 0 where there are none. */
function spread(misfits: readonly number[]): number {
  return misfits.length === 0 ? 0 : median(misfits);
}

/** Times u beyond which a reading stands alone. */
export const LONE = 4.5;
