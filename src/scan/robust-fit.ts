import { Matrix, SVD } from 'ml-matrix';
import { median } from '../maths/median.ts';

/** Result of a linear least-squares fit: coefficients, their covariance, standard deviation of one observation. */
export interface LinearFit {
  readonly coefficients: readonly number[];
  readonly covariance: readonly (readonly number[])[];
  /** Robust standard deviation of an observation of unit weight. */
  readonly scatter: number;
  /** Whether each observation kept more than half its weight. */
  readonly agrees: readonly boolean[];
}

/**
 * Least squares by singular values, with Tukey's biweight (4.685, 95 % efficiency for normal scatter; Beaton and
 * Tukey 1974) from a least-squares start. Good against a minority of outliers that do not hold a lever alone.
 *
 * @param rows one row a observation
 * @param sds standard deviation of each observation, to scale
 * @param passes of reweighting; 1 is plain least squares
 * @returns null where the rows do not determine the coefficients
 */
export function robustLinearFit(
  rows: readonly (readonly number[])[],
  values: readonly number[],
  sds: readonly number[],
  passes = 8,
): LinearFit | null {
  const width = rows[0]?.length ?? 0;
  if (rows.length < width || width === 0) return null;
  let weights = values.map(() => 1);
  let coefficients: number[] = [];
  let covariance: number[][] = [];
  let scatter = 1;
  for (let pass = 0; pass < passes; pass++) {
    const root = weights.map((w, i) => Math.sqrt(w) / sds[i]!);
    const svd = new SVD(new Matrix(rows.map((row, i) => row.map((v) => v * root[i]!))), {
      autoTranspose: true,
    });
    if (svd.rank < width) return null;
    coefficients = svd.solve(Matrix.columnVector(values.map((v, i) => v * root[i]!))).to1DArray();
    const v = svd.rightSingularVectors;
    const s = svd.diagonal;
    covariance = Array.from({ length: width }, (_, i) =>
      Array.from({ length: width }, (_, j) => {
        let sum = 0;
        for (let k = 0; k < width; k++) sum += (v.get(i, k) * v.get(j, k)) / (s[k]! * s[k]!);
        return sum;
      }),
    );
    const z = values.map((value, i) => Math.abs(value - predict(rows[i]!, coefficients)) / sds[i]!);
    if (rows.length === width) break;
    // 1.4826: median absolute deviation to standard deviation for normal scatter; (n)/(n-p) for the fitted terms.
    const next = 1.4826 * median(z) * Math.sqrt(rows.length / Math.max(1, rows.length - width));
    const settled = pass > 1 && Math.abs(next - scatter) < 1e-4 * scatter;
    scatter = next;
    if (scatter < 1e-12 || settled) break;
    weights = z.map((each) => {
      const t = each / (4.685 * scatter);
      return t < 1 ? (1 - t * t) ** 2 : 0;
    });
  }
  return {
    coefficients,
    covariance: covariance.map((row) => row.map((v) => v * scatter * scatter)),
    scatter,
    agrees: weights.map((w) => w > 0.5),
  };
}

export function predict(row: readonly number[], coefficients: readonly number[]): number {
  let sum = 0;
  for (let k = 0; k < row.length; k++) sum += row[k]! * coefficients[k]!;
  return sum;
}

/** Variance of a prediction. */
export function predictionVariance(
  row: readonly number[],
  covariance: readonly (readonly number[])[],
): number {
  let sum = 0;
  for (let i = 0; i < row.length; i++) {
    for (let j = 0; j < row.length; j++) sum += row[i]! * row[j]! * covariance[i]![j]!;
  }
  return Math.max(0, sum);
}
