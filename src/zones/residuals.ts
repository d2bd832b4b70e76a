import type { Qr } from '../maths/qr.ts';
import type { Design, FixedFactor } from './model.ts';

/** A column over the readings as the factor takes it: weighted, zero in the prior rows. */
export function weighted(design: Design, column: ArrayLike<number>): Float64Array {
  const full = new Float64Array(design.rows);
  for (let i = 0; i < column.length; i++) full[i] = column[i]! * design.weight[i]!;
  return full;
}

/** Weighted residuals of the readings and the share of each reading's own variance left in its residual. */
export function residualsOf(fixed: FixedFactor, qr: Qr): { residual: Float64Array; freedom: Float64Array } {
  return { residual: residualOf(fixed, qr), freedom: freedomLeft(fixed, qr) };
}

export function residualOf(fixed: FixedFactor, qr: Qr): Float64Array {
  const residual = qr.apply(fixed.qr.applyInverse(fixed.right.slice()));
  residual.fill(0, 0, qr.rank);
  qr.applyInverse(residual);
  return residual.slice(0, fixed.x.length);
}

/** Share of each reading's own variance left in its residual: whatever was read. */
export function freedomLeft(design: Design, qr: Qr): Float64Array {
  const n = design.x.length;
  const freedom = new Float64Array(n).fill(1);
  const unit = new Float64Array(design.rows);
  for (let k = 0; k < qr.rank; k++) {
    unit.fill(0);
    unit[k] = 1;
    qr.applyInverse(unit);
    for (let i = 0; i < n; i++) freedom[i]! -= unit[i]! * unit[i]!;
  }
  return freedom;
}
