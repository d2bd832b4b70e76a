import { exp, log } from '../maths/portable.ts';

/**
 * Moment and curvature of a rectangular flange bent past yield, in units of first yield
 * (m = M/M_y, k = κ/κ_y), with linear strain hardening of ratio α:
 *
 *   m(k) = (1 − α)·(3/2 − 1/(2k²)) + α·k          k ≥ 1
 *
 * (α = 0: m = 3/2 − 1/(2k²), the textbook elastic-plastic rectangle, Gere & Timoshenko, Mechanics of
 * Materials, § 6.10, from memory; the second term is hardening added fibre by fibre.) Unloading is elastic, so
 * what is left at a point that once carried m is the plastic curvature k − m.
 */
export interface FlangeLaw {
  /** Tangent modulus after yield over the elastic modulus, α. */
  readonly hardening: number;
  /** Cube root of β/(2α), β = 1 − α: where a fit asks a hundred thousand times, worked out once. */
  readonly root: number;
}

/** Mild steel, from memory of common models (0.5–2 %). */
export const HARDENING = 0.01;

export function flangeLaw(hardening: number): FlangeLaw {
  return { hardening, root: exp(log((1 - hardening) / (2 * hardening)) / 3) };
}

export function momentAt(k: number, hardening = HARDENING): number {
  if (k <= 1) return k;
  return (1 - hardening) * (1.5 - 0.5 / (k * k)) + hardening * k;
}

/** Where `load` puts its answer: an object a call would cost more than the law itself. */
export const loaded = { k: 0, slope: 0 };

/** Curvature of steel never yielded before at moment m, and its slope dk/dm: the root above 1 of α·k³ − (m − 3β/2)·k² − β/2 = 0. */
export function load(m: number, { hardening, root }: FlangeLaw): void {
  const size = Math.abs(m);
  if (size <= 1) {
    loaded.k = m;
    loaded.slope = 1;
    return;
  }
  const beta = 1 - hardening;
  const q = (size - 1.5 * beta) / hardening;
  const p = beta / (2 * hardening);
  // From above the root, where the cubic is convex, Newton never overshoots.
  let k = q > 0 ? q + Math.min(p / (q * q), root) : Math.min(root, Math.sqrt(p / -q));
  for (let pass = 0; pass < 60; pass++) {
    const step = (k * k * (k - q) - p) / (k * (3 * k - 2 * q));
    k -= step;
    if (step < 1e-9 * k) break;
  }
  loaded.k = m < 0 ? -k : k;
  loaded.slope = 1 / (beta / (k * k * k) + hardening);
}

/** Curvature that brought the steel to moment m; |m| ≤ 1: elastic. */
export function curvatureAt(m: number, law: FlangeLaw): number {
  load(m, law);
  return loaded.k;
}
