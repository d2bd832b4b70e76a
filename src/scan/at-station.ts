import { Qr } from '../maths/qr.ts';
import type { SlicePoint } from './continuous.ts';

/** Curvature this many standard errors from none is followed; below, a straight line has less noise. */
const BENT = 3;

/**
 * The value at a station from the slices around it. The slope comes from a slightly wider window than the
 * slice itself; where the steel is plainly curved within that window, a parabola is used. Weights are cut
 * back for slices far off (Huber 1964, 2 standard deviations), so that one half-covered slice cannot pull it.
 *
 * @param slice length of steel averaged for a station, m
 * @param thickness of one slice, m
 */
export function atStation(
  series: readonly SlicePoint[],
  station: number,
  slice: number,
  thickness: number,
): { readonly value: number; readonly u: number } {
  const inside = series.filter((p) => Math.abs(p.at - station) <= slice / 2 + 1e-9);
  const wide = series.filter((p) => Math.abs(p.at - station) <= slice / 2 + 2 * thickness + 1e-9);
  if (wide.length >= 5) {
    const parabola = robustPolynomial(wide, station, 2);
    if (Math.abs(parabola.coefficients[2]!) > BENT * parabola.u[2]!) {
      return { value: parabola.coefficients[0]!, u: parabola.u[0]! };
    }
  }
  if (wide.length < 3) return robustPolynomial(inside, station, 0).at;
  const straight = robustPolynomial(wide, station, 1);
  const level = robustPolynomial(
    inside.map((p) => ({ ...p, value: p.value - straight.coefficients[1]! * (p.at - station) })),
    station,
    0,
  ).at;
  const lever = Math.abs(inside.reduce((sum, p) => sum + p.at - station, 0) / inside.length);
  return { value: level.value, u: Math.hypot(level.u, lever * straight.u[1]!) };
}

/** Polynomial of degree 0 to 2 about a station; `u` of its coefficients from the weights of the last pass. */
function robustPolynomial(points: readonly SlicePoint[], about: number, degree: 0 | 1 | 2) {
  const n = points.length;
  const t = Float64Array.from(points, (p) => p.at - about);
  const value = Float64Array.from(points, (p) => p.value);
  // A slice is never trusted to better than 0.01 mm.
  const sd = Float64Array.from(points, (p) => Math.max(1e-5, p.u));
  const weight = sd.map((each) => 1 / each);
  let qr = new Qr(n);
  let coefficients: ArrayLike<number> = [];
  for (let pass = 0; pass < 4; pass++) {
    qr = new Qr(n);
    const column = weight.slice();
    for (let k = 0; k <= degree; k++) {
      qr.push(column.slice());
      for (let i = 0; i < n; i++) column[i]! *= t[i]!;
    }
    const right = weight.slice();
    for (let i = 0; i < n; i++) right[i]! *= value[i]!;
    coefficients = qr.solve(qr.apply(right));
    if (n <= degree + 1) break;
    let changed = false;
    for (let i = 0; i < n; i++) {
      let fitted = 0;
      for (let k = degree; k >= 0; k--) fitted = fitted * t[i]! + coefficients[k]!;
      const z = Math.abs(value[i]! - fitted) / sd[i]!;
      const next = Math.sqrt(z > 2 ? 2 / z : 1) / sd[i]!;
      if (next !== weight[i]) changed = true;
      weight[i] = next;
    }
    if (!changed) break;
  }
  const u = qr.inverseUpper().map((row) => Math.sqrt(row.reduce((sum, v) => sum + v * v, 0)));
  return { coefficients, u, at: { value: coefficients[0]!, u: u[0]! } };
}
