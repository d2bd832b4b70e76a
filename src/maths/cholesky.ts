/** A symmetric positive definite matrix as L·Lᵀ, for the few unknowns of one fit. Golub & Van Loan (4th ed.), algorithm 4.2.1. */
export interface Cholesky {
  solve(right: ArrayLike<number>): Float64Array;
  /** L⁻¹ times a vector: its squared length is the quadratic form of the inverse. */
  forward(right: ArrayLike<number>): Float64Array;
  /** Of L: the sum of its logarithms is half that of the determinant. */
  readonly diagonal: Float64Array;
}

/** @param rows the matrix, row by row; null where it is not positive definite */
export function cholesky(rows: Float64Array, n: number): Cholesky | null {
  const l = rows.slice();
  for (let i = 0; i < n; i++) {
    for (let k = 0; k <= i; k++) {
      let sum = rows[i * n + k]!;
      for (let m = 0; m < k; m++) sum -= l[i * n + m]! * l[k * n + m]!;
      if (i === k) {
        if (!(sum > 1e-14 * rows[i * n + i]!)) return null;
        l[i * n + i] = Math.sqrt(sum);
      } else l[i * n + k] = sum / l[k * n + k]!;
    }
  }
  const forward = (right: ArrayLike<number>): Float64Array => {
    const out = new Float64Array(n);
    for (let i = 0; i < n; i++) {
      let sum = right[i]!;
      for (let m = 0; m < i; m++) sum -= l[i * n + m]! * out[m]!;
      out[i] = sum / l[i * n + i]!;
    }
    return out;
  };
  return {
    forward,
    solve(right) {
      const out = forward(right);
      for (let i = n - 1; i >= 0; i--) {
        let sum = out[i]!;
        for (let m = i + 1; m < n; m++) sum -= l[m * n + i]! * out[m]!;
        out[i] = sum / l[i * n + i]!;
      }
      return out;
    },
    diagonal: Float64Array.from({ length: n }, (_, i) => l[i * n + i]!),
  };
}
