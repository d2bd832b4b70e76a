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

/** Flanges out of square of W shapes: 1/4 in for depths to 12 in, 5/16 in above. */
export function flangeSquareness(depth: number): number {
  return depth <= 12 * INCH + 1e-9 ? INCH / 4 : (5 * INCH) / 16;
}

export interface WebPanel {
  /** Clear depth D between flanges, thickness t and least panel dimension d, m. */
  readonly depth: number;
  readonly thickness: number;
  readonly least: number;
  readonly stiffeners: 'none' | 'one side' | 'both sides';
}

/** Divisors of d by stiffening, under and from the D/t where they change. */
const WEB = {
  'd1.1': { 'both sides': [100, 80], 'one side': [100, 67], noneFrom: 100 },
  'd1.5-interior': { 'both sides': [115, 92], 'one side': [100, 67], noneFrom: 0 },
  'd1.5-fascia': { 'both sides': [130, 105], 'one side': [120, 80], noneFrom: 0 },
} as const;

/**
 * Flatness of a web panel, m: d over a divisor that depends on stiffening and on D/t (150 with stiffeners on both sides,
 * 100 on one); D/150 without. Null where the code has no limit for so stocky a web without stiffeners.
 */
export function webFlatness(code: keyof typeof WEB, panel: WebPanel): number | null {
  const slenderness = panel.depth / panel.thickness;
  const rule = WEB[code];
  if (panel.stiffeners === 'none') return slenderness < rule.noneFrom ? null : panel.depth / 150;
  const change = panel.stiffeners === 'both sides' ? 150 : 100;
  return panel.least / rule[panel.stiffeners][slenderness < change ? 0 : 1];
}
