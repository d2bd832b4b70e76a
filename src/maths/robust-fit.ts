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
    const before = residuals;
    residuals = y.map(
      (value, i) => value - columns.reduce((sum, column, j) => sum + column[i]! * coefficients[j]!, 0),
    );
    // Standing still: go on to the biweight, or be done.
    if (step > 0 && residuals.every((r, i) => Math.abs(r - before[i]!) < 1e-6 * floor)) {
      if (step > 25) {
        scale = Math.max(floor, 1.4826 * median(residuals.map(Math.abs)));
        break;
      }
      if (step < 24) step = 24;
    }
    scale = Math.max(floor, 1.4826 * median(residuals.map(Math.abs)));
    weights = residuals.map((r) => {
      if (step < 25) return 1 / Math.max(Math.abs(r), 0.1 * floor);
      const t = Math.abs(r) / scale;
      return t >= 4.685 ? 0 : (1 - (t / 4.685) ** 2) ** 2;
    });
  }
  return { coefficients, residuals, scale };
}

/**
 * Weighted least squares by modified Gram–Schmidt on columns of length one (Björck, *Numerical Methods for Least Squares
 * Problems*, 2.4, from memory): as safe as Householder for the two or three columns used here, and free of the many
 * small matrices that made this the slowest part of an analysis. Null where a column depends on those before it.
 */
function weightedFit(
  columns: readonly (readonly number[])[],
  y: readonly number[],
  weights: readonly number[],
): number[] | null {
  const n = y.length;
  const p = columns.length;
  const right = new Float64Array(n);
  for (let i = 0; i < n; i++) right[i] = y[i]! * Math.sqrt(weights[i]!);
  const q: Float64Array[] = [];
  const upper: Float64Array[] = [];
  const norms = new Float64Array(p);
  const projected = new Float64Array(p);
  for (let j = 0; j < p; j++) {
    const v = new Float64Array(n);
    let size = 0;
    for (let i = 0; i < n; i++) {
      v[i] = columns[j]![i]! * Math.sqrt(weights[i]!);
      size += v[i]! * v[i]!;
    }
    norms[j] = Math.sqrt(size);
    if (!(norms[j]! > 0)) return null;
    for (let i = 0; i < n; i++) v[i]! /= norms[j]!;
    const r = new Float64Array(p);
    for (let k = 0; k < j; k++) {
      r[k] = dot(q[k]!, v);
      subtract(v, q[k]!, r[k]!);
    }
    r[j] = Math.sqrt(dot(v, v));
    if (r[j]! < 1e-8) return null;
    for (let i = 0; i < n; i++) v[i]! /= r[j]!;
    q.push(v);
    upper.push(r);
    projected[j] = dot(v, right);
    subtract(right, v, projected[j]!);
  }
  const solved = new Array<number>(p);
  for (let j = p - 1; j >= 0; j--) {
    let sum = projected[j]!;
    for (let k = j + 1; k < p; k++) sum -= upper[k]![j]! * solved[k]!;
    solved[j] = sum / upper[j]![j]!;
  }
  return solved.map((value, j) => value / norms[j]!);
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

function subtract(from: Float64Array, what: Float64Array, times: number): void {
  for (let i = 0; i < from.length; i++) from[i]! -= times * what[i]!;
}
