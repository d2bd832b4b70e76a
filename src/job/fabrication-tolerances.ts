import { FOOT, INCH } from '../units/factors.ts';

/*
 * Straightness tolerances of new steel as formulas of length, metres in and out. They are looser or tighter than what
 * an owner allows after straightening; the engineer picks the rule in force.
 */

/** Sweep and camber of W shapes with flanges 6 in and wider, and sweep of welded girders: 1/8 in per 10 ft. */
export function eighthPerTenFeet(length: number): number {
  return ((INCH / 8) * length) / (10 * FOOT);
}

/** Sweep of W shapes with flanges narrower than 6 in: 1/8 in per 5 ft. */
export function eighthPerFiveFeet(length: number): number {
  return ((INCH / 8) * length) / (5 * FOOT);
}

/** Welded columns and W shapes ordered as columns: up to 45 ft 1/8 in per 10 ft, not over 3/8 in; then 3/8 in and 1/8 in per further 10 ft. */
export function columnStraightness(length: number): number {
  const limit = (3 * INCH) / 8;
  if (length <= 45 * FOOT) return Math.min(limit, eighthPerTenFeet(length));
  return limit + eighthPerTenFeet(length - 45 * FOOT);
}

/** L/1000. */
export function thousandth(length: number): number {
  return length / 1000;
}

/** Rolled I sections by depth h: 0.30 % of length to 180 mm, 0.15 % to 360 mm, 0.10 % above. */
export function rolledSectionStraightness(length: number, depth: number): number {
  if (depth <= 0.18) return 0.003 * length;
  return depth <= 0.36 ? 0.0015 * length : 0.001 * length;
}

/** Combined warpage and tilt of a welded flange: the greater of b/100 and 1/4 in. */
export function flangeTilt(flangeWidth: number): number {
  return Math.max(flangeWidth / 100, INCH / 4);
}

/** Web without intermediate stiffeners: D/150. */
export function unstiffenedWebFlatness(webDepth: number): number {
  return webDepth / 150;
}
