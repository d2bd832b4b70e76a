import type { Line } from '../job/job.ts';

/**
 * How far a bend alone sets the steel off the string at its own station, the ends held: Δ = φ·a·b/(a + b), a and b the
 * distances to the bearings (plane geometry of a single bend). Near a bearing or outside, the quarter point's value.
 *
 * @param station m
 * @returns metres per radian
 */
export function crestPerRadian({ bearings: [from, to] }: Pick<Line, 'bearings'>, station: number): number {
  const span = to - from;
  const a = Math.min(Math.max(station - from, span / 4), (3 * span) / 4);
  return (a * (span - a)) / span;
}
