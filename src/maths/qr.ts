import { log } from './portable.ts';
/**
 * Householder QR built one column at a time, so that a common block of columns can be factored once
 * and continued with many different further columns.
 * Golub & Van Loan, Matrix Computations (4th ed.), algorithms 5.1.1 and 5.2.1.
 */
export class Qr {
  readonly rows: number;
  /** Unit-length reflectors; reflector k acts on rows k… */
  private readonly reflectors: Float64Array[];
  /** Upper part (k + 1 entries) of each independent column. */
  readonly upper: Float64Array[];
  /** For each pushed column: its place among the independent ones, or −1 where it depends on earlier columns. */
  readonly place: number[];

  constructor(rows: number, from?: Qr) {
    this.rows = rows;
    this.reflectors = from ? from.reflectors.slice() : [];
    this.upper = from ? from.upper.slice() : [];
    this.place = from ? from.place.slice() : [];
  }

  /** A copy that can be continued without touching this one. */
  fork(): Qr {
    return new Qr(this.rows, this);
  }

  get rank(): number {
    return this.upper.length;
  }

  /** Overwrites `vector` with Qᵀ·vector. */
  apply(vector: Float64Array): Float64Array {
    for (let k = 0; k < this.reflectors.length; k++) {
      const v = this.reflectors[k]!;
      let dot = 0;
      for (let i = 0; i < v.length; i++) dot += v[i]! * vector[k + i]!;
      if (dot === 0) continue;
      dot *= 2;
      for (let i = 0; i < v.length; i++) vector[k + i]! -= dot * v[i]!;
    }
    return vector;
  }

  /** Overwrites `vector` with Q·vector. */
  applyInverse(vector: Float64Array): Float64Array {
    for (let k = this.reflectors.length - 1; k >= 0; k--) {
      const v = this.reflectors[k]!;
      let dot = 0;
      for (let i = 0; i < v.length; i++) dot += v[i]! * vector[k + i]!;
      dot *= 2;
      for (let i = 0; i < v.length; i++) vector[k + i]! -= dot * v[i]!;
    }
    return vector;
  }

  /**
   * Takes one more column (overwritten). Returns false, and leaves the factor as it was, when what is
   * left of the column after the earlier ones is below `tolerance` of its length.
   */
  push(column: Float64Array, tolerance = 1e-11): boolean {
    const length = norm(column, 0);
    this.apply(column);
    const k = this.rank;
    const left = k < this.rows ? norm(column, k) : 0;
    if (!(left > tolerance * length) || left === 0) {
      this.place.push(-1);
      return false;
    }
    const v = column.slice(k);
    const alpha = v[0]! > 0 ? -left : left;
    v[0]! -= alpha;
    const size = norm(v, 0);
    for (let i = 0; i < v.length; i++) v[i]! /= size;
    const upper = column.slice(0, k + 1);
    upper[k] = alpha;
    this.place.push(k);
    this.reflectors.push(v);
    this.upper.push(upper);
    return true;
  }

  /** Coefficients of the pushed columns (0 for dependent ones) for a right-hand side already multiplied by Qᵀ. */
  solve(transformed: Float64Array): Float64Array {
    const x = transformed.slice(0, this.rank);
    for (let k = this.rank - 1; k >= 0; k--) {
      const column = this.upper[k]!;
      x[k]! /= column[k]!;
      for (let i = 0; i < k; i++) x[i]! -= column[i]! * x[k]!;
    }
    const coefficients = new Float64Array(this.place.length);
    this.place.forEach((k, j) => {
      if (k >= 0) coefficients[j] = x[k]!;
    });
    return coefficients;
  }

  /** R⁻¹ of the independent columns, row k = entries k… of row k (upper triangle, as rows). */
  inverseUpper(): Float64Array[] {
    const r = this.rank;
    const inverse: Float64Array[] = [];
    for (let k = 0; k < r; k++) inverse.push(new Float64Array(r));
    for (let j = 0; j < r; j++) {
      inverse[j]![j] = 1 / this.upper[j]![j]!;
      for (let i = j - 1; i >= 0; i--) {
        let sum = 0;
        for (let k = i + 1; k <= j; k++) sum += this.upper[k]![i]! * inverse[k]![j]!;
        inverse[i]![j] = -sum / this.upper[i]![i]!;
      }
    }
    return inverse;
  }

  /** (AᵀA)⁻¹ for all pushed columns; rows and columns of dependent ones are 0. */
  unscaledCovariance(): number[][] {
    const inverse = this.inverseUpper();
    const p = this.place.length;
    const covariance = Array.from({ length: p }, () => new Array<number>(p).fill(0));
    for (let a = 0; a < p; a++) {
      const i = this.place[a]!;
      if (i < 0) continue;
      for (let b = 0; b <= a; b++) {
        const j = this.place[b]!;
        if (j < 0) continue;
        let sum = 0;
        for (let k = Math.max(i, j); k < this.rank; k++) sum += inverse[i]![k]! * inverse[j]![k]!;
        covariance[a]![b] = sum;
        covariance[b]![a] = sum;
      }
    }
    return covariance;
  }

  /** log |det R| = ½ log det AᵀA over the independent columns. */
  logDeterminant(): number {
    let sum = 0;
    for (let k = 0; k < this.rank; k++) sum += log(Math.abs(this.upper[k]![k]!));
    return sum;
  }
}

function norm(vector: Float64Array, from: number): number {
  let largest = 0;
  for (let i = from; i < vector.length; i++) {
    const size = Math.abs(vector[i]!);
    if (!(size <= largest)) largest = size;
  }
  if (largest === 0 || !Number.isFinite(largest)) return largest;
  let sum = 0;
  for (let i = from; i < vector.length; i++) {
    // A product, not `** 2`: the same to the last bit, and cheap before the compiler has seen the loop.
    const share = vector[i]! / largest;
    sum += share * share;
  }
  return largest * Math.sqrt(sum);
}
