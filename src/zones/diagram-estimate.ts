import { exp, log } from '../maths/portable.ts';
import { Qr } from '../maths/qr.ts';
import {
  type BlowHints,
  type DiagramState,
  HARDENINGS,
  LOG_HARDENING_SD,
  otherResiduals,
  parametersOf,
  stateDeflection,
} from './diagram-fit.ts';
import type { FixedFactor } from './model.ts';
import type { DiagramFrame } from './moment-diagram.ts';

/** Everything unknown about the as-found survey under the moment diagram, with the covariance of all of it. */
export interface DiagramEstimate {
  /** Chord (2), sweep (2), elastic node curvatures. */
  readonly coefficients: Float64Array;
  readonly state: DiagramState;
  /** (coefficients + free numbers of the diagram) square; hardening last. */
  readonly covariance: readonly (readonly number[])[];
  /** The state with one free number moved by so much. */
  readonly moved: (parameter: number, by: number) => DiagramState;
  readonly parameters: number;
}

/** Coefficients and joint covariance at the optimum. `others`: rows from other surveys over the free numbers. */
export function estimateDiagram(
  fixed: FixedFactor,
  frame: DiagramFrame,
  hints: BlowHints,
  state: DiagramState,
  others: readonly FixedFactor[] = [],
): DiagramEstimate {
  const { model, x } = fixed;
  const n = x.length;
  const extra = others.reduce((sum, survey) => sum + survey.left.length, 0);
  const free = parametersOf(model, frame, hints);
  const parameters = free.length > 0 ? free.length + 1 : 0;
  const rows = fixed.rows + parameters + extra;
  const qr = new Qr(rows);
  fixed.raw.forEach((column, j) => {
    const full = new Float64Array(rows);
    for (let i = 0; i < n; i++) full[i] = column[i]! * fixed.weight[i]!;
    fixed.priors.forEach((row, r) => {
      full[n + r] = row[j]!;
    });
    qr.push(full);
  });
  const right = new Float64Array(rows);
  right.set(fixed.qr.applyInverse(fixed.right.slice()));
  const deflection = stateDeflection(model, frame, state, x);
  for (let i = 0; i < n; i++) right[i]! -= deflection[i]! * fixed.weight[i]!;
  const coefficients = qr.solve(qr.apply(right));

  const moved = (p: number, by: number): DiagramState => {
    if (p < free.length) return free[p]!.set(state, free[p]!.get(state) + by);
    return { ...state, hardening: state.hardening * exp(by) };
  };
  for (let p = 0; p < parameters; p++) {
    const hardening = p === free.length;
    const { up, down } = hardening ? hardeningStep(state.hardening) : { up: 0.01, down: -0.01 };
    const a = stateDeflection(model, frame, moved(p, up), x);
    const b = stateDeflection(model, frame, moved(p, down), x);
    const full = new Float64Array(rows);
    for (let i = 0; i < n; i++) full[i] = ((a[i]! - b[i]!) / (up - down)) * fixed.weight[i]!;
    const flat = !hardening && free[p]!.flat;
    full[fixed.rows + p] = hardening
      ? 1 / LOG_HARDENING_SD
      : flat
        ? Math.sqrt(2 * Math.PI) / (model.to - model.from)
        : 1 / free[p]!.sd;
    if (extra > 0) {
      const above = otherResiduals(others, frame, moved(p, up));
      const below = otherResiduals(others, frame, moved(p, down));
      let at = fixed.rows + parameters;
      above.forEach((part, s) => {
        part.forEach((value, i) => {
          full[at + i] = (value - below[s]![i]!) / (up - down);
        });
        at += part.length;
      });
    }
    qr.push(full);
  }
  return { coefficients, state, covariance: qr.unscaledCovariance(), moved, parameters };
}

/** Log distances to the neighbouring tabulated hardenings, so that no new table is made for a derivative. */
function hardeningStep(hardening: number): { up: number; down: number } {
  const i = Math.max(0, HARDENINGS.indexOf(hardening as (typeof HARDENINGS)[number]));
  const up = log(HARDENINGS[Math.min(HARDENINGS.length - 1, i + 1)]! / hardening);
  const down = log(HARDENINGS[Math.max(0, i - 1)]! / hardening);
  return { up, down };
}

/**
 * Values and standard uncertainties of several functions of the unknowns at once, by central differences of a
 * part of one sd each.
 */
export function propagateDiagram(
  estimate: DiagramEstimate,
  values: (coefficients: Float64Array, state: DiagramState) => number[],
): { values: number[]; u: number[] } {
  const { coefficients, covariance, parameters, state } = estimate;
  const linear = coefficients.length;
  const centre = values(coefficients, state);
  const gradients: number[][] = [];
  for (let p = 0; p < linear + parameters; p++) {
    const sd = Math.sqrt(covariance[p]?.[p] ?? 0);
    if (sd === 0) {
      gradients.push(centre.map(() => 0));
      continue;
    }
    let up: number[];
    let down: number[];
    let width: number;
    if (p < linear) {
      const step = 0.3 * sd;
      const c = coefficients.slice();
      c[p] = coefficients[p]! + step;
      up = values(c, state);
      c[p] = coefficients[p]! - step;
      down = values(c, state);
      width = 2 * step;
    } else if (p === linear + parameters - 1) {
      const h = hardeningStep(state.hardening);
      up = values(coefficients, estimate.moved(p - linear, h.up));
      down = values(coefficients, estimate.moved(p - linear, h.down));
      width = h.up - h.down;
    } else {
      const step = Math.min(0.3 * sd, 0.1);
      up = values(coefficients, estimate.moved(p - linear, step));
      down = values(coefficients, estimate.moved(p - linear, -step));
      width = 2 * step;
    }
    gradients.push(centre.map((_, v) => (up[v]! - down[v]!) / width));
  }
  const u = centre.map((_, v) => {
    let variance = 0;
    for (let a = 0; a < gradients.length; a++) {
      const g = gradients[a]![v]!;
      if (g === 0) continue;
      for (let b = 0; b < gradients.length; b++)
        variance += g * gradients[b]![v]! * (covariance[a]?.[b] ?? 0);
    }
    return Math.sqrt(Math.max(0, variance));
  });
  return { values: centre, u };
}
