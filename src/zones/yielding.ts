/**
 * Moment and curvature of a rectangular flange bent past yield, in units of first yield
 * (m = M/M_y, k = κ/κ_y), with linear strain hardening of ratio α:
 *
 *   m(k) = (1 − α)·(3/2 − 1/(2k²)) + α·k          k ≥ 1
 *
 * (α = 0: m = 3/2 − 1/(2k²), the textbook elastic-plastic rectangle, Gere & Timoshenko, Mechanics of
 * Materials, § 6.10, from memory; the second term is hardening added fibre by fibre.) Unloading is elastic, so
 * what is left at a point that once carried m is the plastic curvature k − m.
 *
 * Because the moment of a blow is linear between supports, plastic curvature along the steel is this function
 * of a linear m. Its integrals over m,
 *   F1(m) = ∫₁ᵐ (k − m) dm   and   F2(m) = ∫₁ᵐ F1 dm,
 * are the slope and the deflection of a yielded stretch; they are tabulated once and read by cubic Hermite.
 */
export interface Yielding {
  /** Tangent modulus after yield over the elastic modulus. */
  readonly hardening: number;
  /** Tables over m = 1 + i·step. */
  readonly step: number;
  readonly plastic: Float64Array;
  readonly first: Float64Array;
  readonly second: Float64Array;
}

/** Mild steel, from memory of common models (0.5–2 %). */
export const HARDENING = 0.01;

/** Largest k tabulated: three times the proven limit of 100. */
const LARGEST = 300;
const CELLS = 1024;

export function momentAt(k: number, hardening = HARDENING): number {
  if (k <= 1) return k;
  return (1 - hardening) * (1.5 - 0.5 / (k * k)) + hardening * k;
}

/** Curvature that brought the steel to moment m; m ≤ 1: elastic. */
export function curvatureAt(m: number, hardening = HARDENING): number {
  if (m <= 1) return m;
  // m(k) is concave, so Newton from below never overshoots; 1 is below.
  let k = 1;
  for (let pass = 0; pass < 200; pass++) {
    const step = (m - momentAt(k, hardening)) / ((1 - hardening) / (k * k * k) + hardening);
    k += step;
    if (Math.abs(step) < 1e-13 * k) break;
  }
  return k;
}

const known = new Map<number, Yielding>();

/** Tables for one hardening ratio (0.002 … 0.05); made once and kept. */
export function yieldingOf(hardening: number): Yielding {
  let made = known.get(hardening);
  if (!made) {
    made = tabulate(hardening);
    known.set(hardening, made);
  }
  return made;
}

/** Two-point Gauss–Legendre within each cell. */
function tabulate(hardening: number): Yielding {
  const step = (momentAt(LARGEST, hardening) - 1) / CELLS;
  const plastic = new Float64Array(CELLS + 1);
  const first = new Float64Array(CELLS + 1);
  const second = new Float64Array(CELLS + 1);
  const at = (m: number) => curvatureAt(m, hardening) - m;
  const g = 0.5 / Math.sqrt(3);
  for (let i = 0; i < CELLS; i++) {
    const m = 1 + i * step;
    const a = at(m + (0.5 - g) * step);
    const b = at(m + (0.5 + g) * step);
    first[i + 1] = first[i]! + ((a + b) * step) / 2;
    // ∫ (m₁ − m)·(k − m) dm over the cell
    second[i + 1] = second[i]! + first[i]! * step + ((a * (0.5 + g) + b * (0.5 - g)) * step * step) / 2;
    plastic[i + 1] = at(m + step);
  }
  return { hardening, step, plastic, first, second };
}

function hermite(values: Float64Array, slopes: Float64Array, step: number, m: number): number {
  if (!(m > 1)) return 0;
  const at = Math.min((m - 1) / step, CELLS);
  const i = Math.min(Math.floor(at), CELLS - 1);
  const t = at - i;
  const s = 1 - t;
  return (
    values[i]! * (1 + 2 * t) * s * s +
    values[i + 1]! * t * t * (3 - 2 * t) +
    step * (slopes[i]! * t * s * s - slopes[i + 1]! * t * t * s)
  );
}

/** k − m left where the moment reached m. */
export function plasticCurvature(steel: Yielding, m: number): number {
  if (!(m > 1)) return 0;
  const at = Math.min((m - 1) / steel.step, CELLS);
  const i = Math.min(Math.floor(at), CELLS - 1);
  return steel.plastic[i]! + (at - i) * (steel.plastic[i + 1]! - steel.plastic[i]!);
}

export function firstIntegral(steel: Yielding, m: number): number {
  return hermite(steel.first, steel.plastic, steel.step, m);
}

export function secondIntegral(steel: Yielding, m: number): number {
  return hermite(steel.second, steel.first, steel.step, m);
}

/** Largest m − 1 tabulated. */
export function largestOver(steel: Yielding): number {
  return steel.step * CELLS;
}
