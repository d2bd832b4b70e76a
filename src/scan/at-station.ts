import { Matrix, QrDecomposition } from 'ml-matrix';
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

function robustPolynomial(points: readonly SlicePoint[], about: number, degree: number) {
  const width = degree + 1;
  const rows = points.map((p) => Array.from({ length: width }, (_, k) => (p.at - about) ** k));
  // A slice is never trusted to better than 0.01 mm.
  const sds = points.map((p) => Math.max(1e-5, p.u));
  let weights = sds.map((sd) => 1 / sd);
  let coefficients: number[] = [];
  let upper = Matrix.eye(width);
  for (let pass = 0; pass < 4; pass++) {
    const a = new Matrix(rows.map((row, i) => row.map((v) => v * weights[i]!)));
    const qr = new QrDecomposition(a);
    if (!qr.isFullRank()) break;
    coefficients = qr.solve(Matrix.columnVector(points.map((p, i) => p.value * weights[i]!))).to1DArray();
    upper = qr.upperTriangularMatrix;
    if (points.length <= width) break;
    weights = sds.map((sd, i) => {
      const fitted = rows[i]!.reduce((sum, v, k) => sum + v * coefficients[k]!, 0);
      const z = Math.abs(points[i]!.value - fitted) / sd;
      return Math.sqrt(z > 2 ? 2 / z : 1) / sd;
    });
  }
  const inverse = new QrDecomposition(upper).solve(Matrix.eye(width));
  const u = Array.from({ length: width }, (_, k) => Math.hypot(...inverse.getRow(k)));
  return { coefficients, u, at: { value: coefficients[0]!, u: u[0]! } };
}
