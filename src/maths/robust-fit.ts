import { Matrix, QrDecomposition } from 'ml-matrix';
import { median } from './median.ts';

export interface RobustFit {
  readonly coefficients: readonly number[];
  readonly residuals: readonly number[];
  /** Robust standard deviation of the residuals (1.4826·MAD), not below `floor`. */
  readonly scale: number;
}

/**
 * Robust linear fit of y on the given columns: least absolute deviations first (weights 1/|r|), because blunders that all lie on one
 * side drag a squared start with them; then Tukey's biweight (tuning 4.685, 95 % efficiency; Huber & Ronchetti,
 * *Robust Statistics*, from memory). Each step by QR. Null where the columns do not determine a fit. Used to compare
 * a survey with the one before, not for reported numbers.
 */
export function robustFit(
  columns: readonly (readonly number[])[],
  y: readonly number[],
  floor: number,
): RobustFit | null {
  const n = y.length;
  const p = columns.length;
  if (n < p + 2) return null;
  let weights = new Array<number>(n).fill(1);
  let coefficients: number[] = [];
  let residuals: number[] = [];
  let scale = floor;
  for (let step = 0; step < 45; step++) {
    const solved = weightedFit(columns, y, weights);
    if (solved === null) return coefficients.length === 0 ? null : { coefficients, residuals, scale };
    coefficients = solved;
    residuals = y.map(
      (value, i) => value - columns.reduce((sum, column, j) => sum + column[i]! * coefficients[j]!, 0),
    );
    scale = Math.max(floor, 1.4826 * median(residuals.map(Math.abs)));
    weights = residuals.map((r) => {
      if (step < 25) return 1 / Math.max(Math.abs(r), 0.1 * floor);
      const t = Math.abs(r) / scale;
      return t >= 4.685 ? 0 : (1 - (t / 4.685) ** 2) ** 2;
    });
  }
  return { coefficients, residuals, scale };
}

function weightedFit(
  columns: readonly (readonly number[])[],
  y: readonly number[],
  weights: readonly number[],
): number[] | null {
  const roots = weights.map(Math.sqrt);
  const norms = columns.map((column) =>
    Math.sqrt(column.reduce((sum, v, i) => sum + v * v * weights[i]!, 0)),
  );
  if (norms.some((norm) => !(norm > 0))) return null;
  const a = new Matrix(y.map((_, i) => columns.map((column, j) => (column[i]! * roots[i]!) / norms[j]!)));
  const qr = new QrDecomposition(a);
  const diagonal = columns.map((_, j) => Math.abs(qr.upperTriangularMatrix.get(j, j)));
  if (Math.min(...diagonal) < 1e-8) return null;
  const b = Matrix.columnVector(y.map((value, i) => value * roots[i]!));
  return qr
    .solve(b)
    .getColumn(0)
    .map((value, j) => value / norms[j]!);
}
