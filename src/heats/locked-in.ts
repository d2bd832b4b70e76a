import type { ElasticReaction } from '../analysis.ts';

/** Bending moment that the blow left locked in between the supports, N·m, signed as `Bending.momentAt` is. */
export interface LockedIn {
  readonly momentAt: (station: number) => number;
  /** Standard uncertainty, N·m, of the readings by way of the fit. */
  readonly uAt: (station: number) => number;
  /** Stations between which it is straight, m. */
  readonly stations: readonly number[];
}

/**
 * The struck member, let go, is still held by its diaphragms: each presses with EI times the kink of M/EI that the fit
 * found there, on a beam held at the two bearings (src/zones/MODEL.md). As found: heat lets some of it go, and readings
 * taken since do not say how much.
 *
 * @param stiffness EI of the part that bends, N·m²
 * @returns null where the fit found no reaction (no diaphragms given, or no zones)
 */
export function lockedInMoment(
  elastic: readonly ElasticReaction[],
  bearings: readonly [number, number],
  stiffness: number,
): LockedIn | null {
  if (elastic.length === 0) return null;
  const [from, to] = bearings;
  const unit = (at: number, x: number) =>
    x <= from || x >= to ? 0 : (Math.min(x - from, at - from) * Math.min(to - x, to - at)) / (to - from);
  return {
    momentAt: (x) => stiffness * elastic.reduce((sum, e) => sum + e.coefficient * unit(e.station, x), 0),
    uAt: (x) => {
      const weights = elastic.map((e) => unit(e.station, x));
      const variance = elastic.reduce(
        (sum, e, i) => sum + e.covariance.reduce((part, c, j) => part + weights[i]! * weights[j]! * c, 0),
        0,
      );
      return stiffness * Math.sqrt(Math.max(0, variance));
    },
    stations: [from, ...elastic.map((e) => e.station), to],
  };
}
