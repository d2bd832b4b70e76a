import type { Qr } from '../maths/qr.ts';
import type { Design, FixedFactor } from './model.ts';

/** Readings of the as-found survey less a fitted shape. */
export interface Residuals {
  /** Weighted. */
  readonly residual: Float64Array;
  /** Share of each reading's own variance left in its residual. */
  readonly share: Float64Array;
}

/** Weighted readings, less a shape given over them, with 0 for every prior row. */
export function readingsLess(fixed: FixedFactor, shape: ArrayLike<number> | null): Float64Array {
  const right = fixed.qr.applyInverse(fixed.right.slice());
  if (shape !== null) for (let i = 0; i < shape.length; i++) right[i]! -= shape[i]! * fixed.weight[i]!;
  return right;
}

/** Weighted residuals after the columns in `qr`, and after a shape besides where there is one. */
export function residualOf(fixed: FixedFactor, qr: Qr, shape: ArrayLike<number> | null = null): Float64Array {
  const residual = qr.apply(readingsLess(fixed, shape));
  residual.fill(0, 0, qr.rank);
  qr.applyInverse(residual);
  return residual.slice(0, fixed.x.length);
}

/** Share of each reading's own variance left in its residual, whatever was read; `qr` may have more rows than the design. */
export function shareLeft(design: Design, qr: Qr): Float64Array {
  const n = design.x.length;
  const share = new Float64Array(n).fill(1);
  const unit = new Float64Array(qr.rows);
  for (let k = 0; k < qr.rank; k++) {
    unit.fill(0);
    unit[k] = 1;
    qr.applyInverse(unit);
    for (let i = 0; i < n; i++) share[i]! -= unit[i]! * unit[i]!;
  }
  return share;
}

/** Offset less the fit of every reading, left out or not, m: everything linear fitted to the readings less the shape. */
export function readingErrors(fixed: FixedFactor, y: Float64Array, shape: ArrayLike<number>): Float64Array {
  const coefficients = fixed.qr.solve(fixed.qr.apply(readingsLess(fixed, shape)));
  return y.map((value, i) => {
    let error = value - shape[i]!;
    fixed.raw.forEach((column, j) => {
      error -= column[i]! * coefficients[j]!;
    });
    return error;
  });
}
