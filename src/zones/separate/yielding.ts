import { curvatureAt, flangeLaw, momentAt } from '../flange-law.ts';

/**
 * Plastic curvature k − m along a stretch of linear moment, and its integrals over m (`flange-law.ts`):
 *   F1(m) = ∫₁ᵐ (k − m) dm   and   F2(m) = ∫₁ᵐ F1 dm,
 * the slope and the deflection of a yielded stretch; tabulated once and read by cubic Hermite.
 */
export interface Yielding {
  /** Tables over m = 1 + i·step. */
  readonly step: number;
  readonly plastic: Float64Array;
  readonly first: Float64Array;
  readonly second: Float64Array;
}

/** Largest k tabulated: three times the proven limit of 100. */
const LARGEST = 300;
const CELLS = 1024;

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
  const law = flangeLaw(hardening);
  const at = (m: number) => curvatureAt(m, law) - m;
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
  return { step, plastic, first, second };
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
