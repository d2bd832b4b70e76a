/**
 * Moment and curvature of a rectangular flange bent past yield, in units of first yield
 * (m = M/M_y, k = κ/κ_y), with linear strain hardening of ratio α:
 *
 *   m(k) = (1 − α)·(3/2 − 1/(2k²)) + α·k          k ≥ 1
 *
 * (α = 0: m = 3/2 − 1/(2k²), the textbook elastic-plastic rectangle, Gere & Timoshenko, Mechanics of
 * Materials, § 6.10; the second term is hardening added fibre by fibre.) Unloading is elastic, so what is
 * left at a point that once carried m is the plastic curvature k − m.
 *
 * Because the moment of a blow is linear between supports, plastic curvature along the steel is this function
 * of a linear m. Its integrals over m,
 *   F1(m) = ∫₁ᵐ (k − m) dm   and   F2(m) = ∫₁ᵐ F1 dm,
 * are the slope and the deflection of a yielded stretch; they are tabulated once and read by cubic Hermite.
 */

/** Tangent modulus after yield over the elastic modulus. From memory of common models of mild steel (0.5–2 %). */
export const HARDENING = 0.01;

/** Largest k tabulated: three times the published limit of 100. */
const LARGEST = 300;
const CELLS = 2048;

export function momentAt(k: number): number {
  if (k <= 1) return k;
  return (1 - HARDENING) * (1.5 - 0.5 / (k * k)) + HARDENING * k;
}

/** Curvature that brought the steel to moment m; m ≤ 1: elastic. */
export function curvatureAt(m: number): number {
  if (m <= 1) return m;
  // Newton from the hardening line, which bounds k from above: m is concave, so the steps cannot cross.
  let k = Math.max(
    1,
    Math.min(1 / Math.sqrt(Math.max(1e-9, 3 - 2 * m)), (m - 1.5 * (1 - HARDENING)) / HARDENING + 40),
  );
  for (let pass = 0; pass < 60; pass++) {
    const slope = (1 - HARDENING) / k ** 3 + HARDENING;
    const step = (momentAt(k) - m) / slope;
    k = Math.max(1, k - step);
    if (Math.abs(step) < 1e-12 * k) break;
  }
  return k;
}

export const LARGEST_MOMENT = momentAt(LARGEST);
const STEP = (LARGEST_MOMENT - 1) / CELLS;

interface Table {
  readonly plastic: Float64Array;
  readonly first: Float64Array;
  readonly second: Float64Array;
}

let table: Table | null = null;

/** Gauss–Legendre on two points within each cell. */
function tabulate(): Table {
  const plastic = new Float64Array(CELLS + 1);
  const first = new Float64Array(CELLS + 1);
  const second = new Float64Array(CELLS + 1);
  const at = (m: number) => curvatureAt(m) - m;
  const g = 0.5 / Math.sqrt(3);
  for (let i = 0; i < CELLS; i++) {
    const m = 1 + i * STEP;
    const a = at(m + (0.5 - g) * STEP);
    const b = at(m + (0.5 + g) * STEP);
    first[i + 1] = first[i]! + ((a + b) * STEP) / 2;
    // ∫ (m₁ − m)·(k − m) dm over the cell
    second[i + 1] = second[i]! + first[i]! * STEP + ((a * (0.5 + g) + b * (0.5 - g)) * STEP * STEP) / 2;
    plastic[i + 1] = at(m + STEP);
  }
  return { plastic, first, second };
}

function read(values: Float64Array, slopes: Float64Array, m: number): number {
  if (m <= 1) return 0;
  const at = Math.min((m - 1) / STEP, CELLS);
  const i = Math.min(Math.floor(at), CELLS - 1);
  const t = at - i;
  const s = 1 - t;
  return (
    values[i]! * (1 + 2 * t) * s * s +
    values[i + 1]! * t * t * (3 - 2 * t) +
    STEP * (slopes[i]! * t * s * s - slopes[i + 1]! * t * t * s)
  );
}

/** k − m where the moment reached m. */
export function plasticCurvature(m: number): number {
  return m <= 1 ? 0 : curvatureAt(m) - m;
}

export function firstIntegral(m: number): number {
  table ??= tabulate();
  return read(table.first, table.plastic, m);
}

export function secondIntegral(m: number): number {
  table ??= tabulate();
  return read(table.second, table.first, m);
}

/**
 * How far the peak moment passed yield (m − 1), from the mean plastic curvature of the zone in units of κ_y,
 * F1(m)/(m − 1). Increasing, so bisection finds it; at most the table's end.
 */
export function overMoment(meanPlastic: number): number {
  let low = 1e-4;
  let high = LARGEST_MOMENT - 1;
  if (!(meanPlastic > firstIntegral(1 + low) / low)) return low;
  if (meanPlastic >= firstIntegral(1 + high) / high) return high;
  for (let pass = 0; pass < 40; pass++) {
    const middle = (low + high) / 2;
    if (firstIntegral(1 + middle) / middle < meanPlastic) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
