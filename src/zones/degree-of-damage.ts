import { atan } from '../maths/portable.ts';
/**
 * Published angle of bend (degree of damage) from two offsets on each straight reach beside the bend:
 *   φ_d = atan((y₂ − y₁)/L₁₂) + atan((y₃ − y₄)/L₃₄)
 * y₁, y₂ on the left reach and y₃, y₄ on the right one, in the order of their stations.
 * FHWA-IF-99-004 / FHWA-IF-08-999, damage assessment (from memory).
 * Positive for a bend toward +offset, which is a *negative* rotation in this project's sign (slope decreases).
 */
export function degreeOfDamage(
  left: { readonly y1: number; readonly y2: number; readonly length: number },
  right: { readonly y3: number; readonly y4: number; readonly length: number },
): number {
  return atan((left.y2 - left.y1) / left.length) + atan((right.y3 - right.y4) / right.length);
}

/** Standard uncertainty of the angle for small slopes; `u` of the four offsets, independent. */
export function degreeOfDamageU(
  u: readonly [number, number, number, number],
  leftLength: number,
  rightLength: number,
): number {
  return Math.sqrt((u[0] ** 2 + u[1] ** 2) / leftLength ** 2 + (u[2] ** 2 + u[3] ** 2) / rightLength ** 2);
}
