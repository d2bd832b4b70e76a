import { log } from './portable.ts';

/** Least squares with a prior sd for each coefficient, by QR of the triangle over the diagonal of 1/sd. */
export interface Damped {
  readonly coefficients: Float64Array;
  /** Sum of squares of what is left, prior terms included. */
  readonly misfit: number;
  /** log |det R|. */
  readonly logDeterminant: number;
  /** R⁻¹, row i = entries i… (upper triangle, as rows): covariance = R⁻¹·R⁻ᵀ. */
  inverseUpper(): Float64Array[];
}

/**
 * min |R·x − q|² + Σ (xⱼ/sdⱼ)², R upper triangular. Householder on the stacked [R; diag(1/sd)], using that column j has
 * entries only in row j of R and in the first j + 1 rows below (Golub & Van Loan, Matrix Computations, 4th ed., 6.1.4 and
 * 5.2; a fifth of the work of the full factorization).
 *
 * @param upper columns of R: column j has j + 1 entries
 * @param right q, as long as R is wide
 */
export function dampedQr(
  upper: readonly Float64Array[],
  right: Float64Array,
  sds: readonly number[],
): Damped {
  const m = upper.length;
  const top = upper.map((column) => Float64Array.from(column));
  const below = sds.map((sd, j) => {
    const column = new Float64Array(j + 1);
    column[j] = 1 / sd;
    return column;
  });
  const q = right.slice();
  const low = new Float64Array(m);
  const v = new Float64Array(m);
  for (let j = 0; j < m; j++) {
    const head = top[j]!;
    const under = below[j]!;
    let square = head[j]! * head[j]!;
    for (let i = 0; i <= j; i++) square += under[i]! * under[i]!;
    const size = Math.sqrt(square);
    const alpha = head[j]! > 0 ? -size : size;
    const first = head[j]! - alpha;
    let norm = first * first;
    for (let i = 0; i <= j; i++) {
      v[i] = under[i]!;
      norm += v[i]! * v[i]!;
    }
    head[j] = alpha;
    if (norm === 0) continue;
    const scale = 2 / norm;
    for (let c = j + 1; c < m; c++) {
      const [a, b] = [top[c]!, below[c]!];
      let dot = first * a[j]!;
      for (let i = 0; i <= j; i++) dot += v[i]! * b[i]!;
      if (dot === 0) continue;
      dot *= scale;
      a[j]! -= dot * first;
      for (let i = 0; i <= j; i++) b[i]! -= dot * v[i]!;
    }
    let dot = first * q[j]!;
    for (let i = 0; i <= j; i++) dot += v[i]! * low[i]!;
    dot *= scale;
    q[j]! -= dot * first;
    for (let i = 0; i <= j; i++) low[i]! -= dot * v[i]!;
  }
  const coefficients = q.slice();
  for (let k = m - 1; k >= 0; k--) {
    const column = top[k]!;
    coefficients[k]! /= column[k]!;
    for (let i = 0; i < k; i++) coefficients[i]! -= column[i]! * coefficients[k]!;
  }
  return {
    coefficients,
    misfit: low.reduce((sum, r) => sum + r * r, 0),
    logDeterminant: top.reduce((sum, column, j) => sum + log(Math.abs(column[j]!)), 0),
    inverseUpper: () => inverseOf(top),
  };
}

function inverseOf(top: readonly Float64Array[]): Float64Array[] {
  const m = top.length;
  // Column by column, so that the inner loops run along what is stored together.
  const columns = top.map((_, j) => {
    const x = new Float64Array(j + 1);
    x[j] = 1 / top[j]![j]!;
    for (let k = j; k > 0; k--) {
      const column = top[k]!;
      if (k < j) x[k]! /= column[k]!;
      for (let i = 0; i < k; i++) x[i]! -= column[i]! * x[k]!;
    }
    if (j > 0) x[0]! /= top[0]![0]!;
    return x;
  });
  return top.map((_, i) => {
    const row = new Float64Array(m);
    for (let j = i; j < m; j++) row[j] = columns[j]![i]!;
    return row;
  });
}
