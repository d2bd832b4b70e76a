import { type FixedFactor, stackFixed, weighted } from '../model.ts';
import { readingsLess } from '../residuals.ts';
import type { StruckState } from './beam.ts';
import { otherResiduals } from './fit.ts';
import { type BlowHints, parametersOf, stateDeflection } from './shape.ts';

/** Everything unknown about the as-found survey under the struck beam, with the covariance of all of it. */
export interface StruckEstimate {
  /** Chord (2), sweep (2), elastic node curvatures beyond those of the struck beam. */
  readonly coefficients: Float64Array;
  readonly state: StruckState;
  /** (coefficients + free numbers of the state) square. */
  readonly covariance: readonly (readonly number[])[];
  /** The state with one free number moved by so much. */
  readonly moved: (parameter: number, by: number) => StruckState;
  readonly parameters: number;
}

/** Coefficients and joint covariance at the optimum. `others`: rows from other surveys over the free numbers. */
export function estimateStruck(
  fixed: FixedFactor,
  hints: BlowHints,
  state: StruckState,
  others: readonly FixedFactor[] = [],
): StruckEstimate {
  const { model, x } = fixed;
  const extra = others.reduce((sum, survey) => sum + survey.left.length, 0);
  const free = parametersOf(model, hints, state.bed !== null);
  const qr = stackFixed(fixed, free.length + extra);
  const right = new Float64Array(qr.rows);
  right.set(readingsLess(fixed, stateDeflection(model, state, x)));
  const coefficients = qr.solve(qr.apply(right));

  const moved = (p: number, by: number): StruckState => free[p]!.set(state, free[p]!.get(state) + by);
  for (let p = 0; p < free.length; p++) {
    const { flat, sd } = free[p]!;
    const above = moved(p, STEP);
    const below = moved(p, -STEP);
    const a = stateDeflection(model, above, x, state);
    const b = stateDeflection(model, below, x, state);
    const slope = a.map((value, i) => (value - b[i]!) / (2 * STEP));
    const full = weighted(fixed, slope, qr.rows);
    full[fixed.rows + p] = flat ? Math.sqrt(2 * Math.PI) / (model.to - model.from) : 1 / sd;
    if (extra > 0) {
      const left = otherResiduals(model, others, below);
      let at = fixed.rows + free.length;
      otherResiduals(model, others, above).forEach((part, s) => {
        part.forEach((value, i) => {
          full[at + i] = (value - left[s]![i]!) / (2 * STEP);
        });
        at += part.length;
      });
    }
    qr.push(full);
  }
  return { coefficients, state, covariance: qr.unscaledCovariance(), moved, parameters: free.length };
}

/** Step of a free number (a logarithm, or metres) for a derivative. */
const STEP = 0.01;

/** Functions of the unknowns with their joint covariance, by central differences of a part of one sd each. */
export function propagateStruck(
  estimate: StruckEstimate,
  values: (coefficients: Float64Array, state: StruckState) => number[],
): { values: number[]; covariance: number[][] } {
  const { coefficients, covariance, parameters, state } = estimate;
  const linear = coefficients.length;
  const centre = values(coefficients, state);
  const gradients = Array.from({ length: linear + parameters }, (_, p) => {
    const sd = Math.sqrt(covariance[p]?.[p] ?? 0);
    if (sd === 0) return centre.map(() => 0);
    const step = p < linear ? 0.3 * sd : Math.min(0.3 * sd, 0.1);
    const at = (side: number): number[] => {
      if (p >= linear) return values(coefficients, estimate.moved(p - linear, side * step));
      const c = coefficients.slice();
      c[p] = coefficients[p]! + side * step;
      return values(c, state);
    };
    const up = at(1);
    const down = at(-1);
    return centre.map((_, v) => (up[v]! - down[v]!) / (2 * step));
  });
  // Σ = G C Gᵀ, one factor at a time.
  const half = gradients.map((_, a) =>
    centre.map((_, v) => gradients.reduce((sum, g, b) => sum + (covariance[a]?.[b] ?? 0) * g[v]!, 0)),
  );
  return {
    values: centre,
    covariance: centre.map((_, v) =>
      centre.map((_, w) => gradients.reduce((sum, g, a) => sum + g[v]! * half[a]![w]!, 0)),
    ),
  };
}
