import { Qr } from './qr.ts';

export interface LeastSquares {
  /** One per column; 0 where a column depends on earlier ones. */
  readonly coefficients: readonly number[];
  /** Σ w·residual² */
  readonly rss: number;
  /** √(rss / (n − rank)); 0 where nothing is left to judge by. */
  readonly residualSd: number;
  readonly rank: number;
  readonly residuals: readonly number[];
  /** (XᵀWX)⁻¹, columns × columns; times a variance it is the covariance of the coefficients. */
  readonly unscaledCovariance: readonly (readonly number[])[];
  /** Diagonal of the hat matrix. */
  readonly leverages: readonly number[];
}

/**
 * Weighted linear least squares by Householder QR on columns scaled to unit length, with one step of
 * iterative refinement. Never forms XᵀX.
 * Rows of weight 0 are left out of the fit and still get a residual.
 */
export function solveLeastSquares(
  columns: readonly ArrayLike<number>[],
  y: ArrayLike<number>,
  weights?: ArrayLike<number>,
): LeastSquares {
  const n = y.length;
  const p = columns.length;
  const root = new Float64Array(n);
  for (let i = 0; i < n; i++) root[i] = weights ? Math.sqrt(weights[i]!) : 1;
  const scale = columns.map((column) => {
    let largest = 0;
    for (let i = 0; i < n; i++) largest = Math.max(largest, Math.abs(column[i]! * root[i]!));
    if (largest === 0) return 1;
    let sum = 0;
    for (let i = 0; i < n; i++) sum += ((column[i]! * root[i]!) / largest) ** 2;
    return largest * Math.sqrt(sum);
  });
  const qr = new Qr(n);
  columns.forEach((column, j) => {
    const scaled = new Float64Array(n);
    for (let i = 0; i < n; i++) scaled[i] = (column[i]! * root[i]!) / scale[j]!;
    qr.push(scaled, 1e-13);
  });
  const coefficients = new Array<number>(p).fill(0);
  let residuals = Array.from({ length: n }, (_, i) => y[i]!);
  for (let pass = 0; pass < 2; pass++) {
    const right = Float64Array.from(residuals, (r, i) => r * root[i]!);
    const change = qr.solve(qr.apply(right));
    for (let j = 0; j < p; j++) coefficients[j]! += change[j]! / scale[j]!;
    residuals = Array.from({ length: n }, (_, i) => {
      let r = y[i]!;
      for (let j = 0; j < p; j++) r -= coefficients[j]! * columns[j]![i]!;
      return r;
    });
  }
  let rss = 0;
  let used = 0;
  for (let i = 0; i < n; i++) {
    rss += (residuals[i]! * root[i]!) ** 2;
    if (root[i]! > 0) used++;
  }
  const leverages = new Array<number>(n).fill(0);
  for (let k = 0; k < qr.rank; k++) {
    const unit = new Float64Array(n);
    unit[k] = 1;
    qr.applyInverse(unit);
    for (let i = 0; i < n; i++) leverages[i]! += unit[i]! ** 2;
  }
  return {
    coefficients,
    rss,
    residualSd: used > qr.rank ? Math.sqrt(rss / (used - qr.rank)) : 0,
    rank: qr.rank,
    residuals,
    unscaledCovariance: qr
      .unscaledCovariance()
      .map((row, a) => row.map((c, b) => c / (scale[a]! * scale[b]!))),
    leverages,
  };
}
