import type { Qr } from '../../maths/qr.ts';
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
  /** By how much each free number is moved for a derivative. */
  readonly steps: readonly number[];
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
  const right = new Float64Array(fixed.rows);
  right.set(readingsLess(fixed, stateDeflection(model, state, x)));
  const coefficients = fixed.qr.solve(fixed.qr.apply(right));

  const moved = (p: number, by: number): StruckState => free[p]!.set(state, free[p]!.get(state) + by);
  /** Everything in one factor, with the derivatives by each free number taken over so much either way. */
  const factor = (steps: readonly number[]): Qr => {
    const qr = stackFixed(fixed, free.length + extra);
    for (let p = 0; p < free.length; p++) {
      const { flat, sd } = free[p]!;
      const step = steps[p]!;
      const above = moved(p, step);
      const below = moved(p, -step);
      const a = stateDeflection(model, above, x, state);
      const b = stateDeflection(model, below, x, state);
      const slope = a.map((value, i) => (value - b[i]!) / (2 * step));
      const full = weighted(fixed, slope, qr.rows);
      full[fixed.rows + p] = flat ? Math.sqrt(2 * Math.PI) / (model.to - model.from) : 1 / sd;
      if (extra > 0) {
        const left = otherResiduals(model, others, below);
        let at = fixed.rows + free.length;
        otherResiduals(model, others, above).forEach((part, s) => {
          part.forEach((value, i) => {
            full[at + i] = (value - left[s]![i]!) / (2 * step);
          });
          at += part.length;
        });
      }
      qr.push(full);
    }
    return qr;
  };
  const linear = coefficients.length;
  const first = factor(free.map(() => STEP)).unscaledCovariance();
  // What is said of the zones is followed over the same steps: else a slope that changes within them is no slope of both.
  const steps = free.map((_, p) => stepFor(Math.sqrt(first[linear + p]?.[linear + p] ?? 0)));
  return { coefficients, state, covariance: factor(steps).unscaledCovariance(), moved, steps };
}

/** Step of a free number (a logarithm, or metres) for a derivative while its sd is not known. */
const STEP = 0.01;

/** A part of an sd, and never so much that what bends is another thing. */
function stepFor(sd: number): number {
  return sd === 0 ? STEP : Math.min(0.3 * sd, 0.1);
}

/** Functions of the unknowns with their joint covariance, by central differences of a part of one sd each. */
export function propagateStruck(
  estimate: StruckEstimate,
  values: (coefficients: Float64Array, state: StruckState) => number[],
): { values: number[]; covariance: number[][] } {
  const { coefficients, covariance, steps, state } = estimate;
  const linear = coefficients.length;
  const centre = values(coefficients, state);
  const gradients = Array.from({ length: linear + steps.length }, (_, p) => {
    const sd = Math.sqrt(covariance[p]?.[p] ?? 0);
    if (sd === 0) return centre.map(() => 0);
    const step = p < linear ? 0.3 * sd : steps[p - linear]!;
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
