import { clamp } from '../../maths/clamp.ts';
import { log } from '../../maths/portable.ts';
import { Qr } from '../../maths/qr.ts';
import { blowDensity, type Design, type FixedFactor, type LineModel, leftOver } from '../model.ts';
import type { StruckState } from './beam.ts';
import { type BlowHints, type Parameter, parametersOf, stateDeflection, stateSlopes } from './shape.ts';
import { runsOf } from './stretches.ts';

/** Log prior of a second blow. */
const SECOND_BLOW = -2;

export interface StruckFit {
  readonly state: StruckState;
  readonly objective: number;
  readonly logDeterminant: number;
  readonly logPrior: number;
}

/**
 * Levenberg–Marquardt on the blows, everything linear projected out.
 *
 * @param hope objective that the fit must come below to be of use: given up where its steps no longer promise that
 */
export function fitStruck(
  fixed: FixedFactor,
  hints: BlowHints,
  start: StruckState,
  iterations = 25,
  others: readonly FixedFactor[] = [],
  hope = Number.POSITIVE_INFINITY,
): StruckFit {
  const { model, x } = fixed;
  const parameters = parametersOf(model, hints, start.bed !== null);
  const look = (state: StruckState, near: StruckState | null): Look => {
    const r = leftOver(fixed, stateDeflection(model, state, x, near));
    for (let i = 0; i < r.length; i++) r[i] = fixed.left[i]! - r[i]!;
    const residual = others.length === 0 ? r : concatenate([r, ...otherResiduals(model, others, state)]);
    const prior = parameters.map((p) => (p.mean - p.get(state)) / p.sd);
    return { state, residual, prior, objective: squares(residual, prior, parameters) };
  };
  const jacobianAt = (here: Look): Float64Array[] => {
    const own = stateSlopes(model, here.state, x, parameters).map((slope) => leftOver(fixed, slope));
    return others.length === 0 ? own : otherJacobian(model, here, own, parameters, others);
  };

  let here = look(start, null);
  let jacobian = jacobianAt(here);
  // Derivatives are kept while they foretell well what a step gains.
  let fresh = true;
  let damping = 0.3;
  for (let pass = 0; pass < iterations; pass++) {
    const step = solveStep(jacobian, here, parameters, damping).map((by, i) =>
      clamp(by, 0.8 * stepLimit(parameters[i]!)),
    );
    const next = look(
      parameters.reduce((s, p, i) => p.set(s, p.get(s) + step[i]!), here.state),
      here.state,
    );
    const gain = here.objective - next.objective;
    if (gain > 0) {
      const foretold = here.objective - foretell(jacobian, here, step, parameters);
      here = next;
      // What is left to win shrinks from step to step.
      if (pass >= 2 && here.objective - PROMISE * gain > hope) break;
      damping = Math.max(1e-4, damping / 4);
      if (gain < ENOUGH && fresh) {
        fresh = false;
        break;
      }
      fresh = gain >= ENOUGH && gain < 0.75 * foretold;
      if (gain < ENOUGH) fresh = true;
      if (fresh) jacobian = jacobianAt(here);
    } else if (!fresh) {
      jacobian = jacobianAt(here);
      fresh = true;
    } else {
      damping *= 5;
      if (damping > 1e6) break;
    }
  }
  if (!fresh) jacobian = jacobianAt(here);
  const count = here.residual.length;
  const qr = new Qr(count + parameters.length);
  jacobian.forEach((column, p) => {
    const full = new Float64Array(count + parameters.length);
    full.set(column);
    // A flat parameter the readings say nothing of integrates to 1, like one with a normal prior.
    const { flat, sd } = parameters[p]!;
    full[count + p] = flat ? Math.sqrt(2 * Math.PI) / (model.to - model.from) : 1 / sd;
    qr.push(full);
  });
  let logPrior = (hints.length - 1) * SECOND_BLOW;
  for (const p of parameters)
    logPrior += p.flat ? log(Math.sqrt(2 * Math.PI) * blowDensity(model, p.get(here.state))) : -log(p.sd);
  return {
    state: here.state,
    objective: here.objective,
    logDeterminant: fixed.qr.logDeterminant() + qr.logDeterminant(),
    logPrior,
  };
}

interface Look {
  readonly state: StruckState;
  readonly residual: Float64Array;
  /** Each free number's distance from its mean in sd, toward the mean. */
  readonly prior: readonly number[];
  readonly objective: number;
}

/** Times its last gain that a fit may still win. */
const PROMISE = 4;

/** Gain in the sum of squares below which the fit has arrived. */
const ENOUGH = 5e-3;

function squares(residual: Float64Array, prior: readonly number[], parameters: readonly Parameter[]): number {
  let sum = 0;
  for (let i = 0; i < residual.length; i++) sum += residual[i]! ** 2;
  prior.forEach((value, i) => {
    if (!parameters[i]!.flat) sum += value ** 2;
  });
  return sum;
}

/** Objective a step would leave if everything were linear. */
function foretell(
  jacobian: readonly Float64Array[],
  { residual, prior }: Look,
  step: Float64Array,
  parameters: readonly Parameter[],
): number {
  const r = residual.slice();
  jacobian.forEach((column, p) => {
    for (let i = 0; i < r.length; i++) r[i]! -= column[i]! * step[p]!;
  });
  return squares(
    r,
    prior.map((value, p) => value - step[p]! / parameters[p]!.sd),
    parameters,
  );
}

function stepLimit(p: Parameter): number {
  return p.flat ? 0.5 : Math.max(p.sd, 0.3);
}

/**
 * What surveys other than the as-found one leave unexplained when every bent stretch may turn by any amount in each
 * of them but keeps its shape: their say in where the zones are.
 */
export function otherResiduals(
  model: LineModel,
  others: readonly FixedFactor[],
  state: StruckState,
): Float64Array[] {
  if (others.length === 0) return [];
  const runs = runsOf(model, state).runs.filter((run) => Math.abs(run.rotation) > 1e-3);
  // One factor serves all surveys read alike.
  const factors = new Map<Design, Qr>();
  return others.map((survey) => {
    const tail = survey.left.length;
    let qr = factors.get(survey.design);
    if (!qr) {
      qr = new Qr(tail + runs.length);
      for (const [j, run] of runs.entries()) {
        const column = new Float64Array(tail + runs.length);
        column.set(leftOver(survey, run.column(survey.x)));
        column[tail + j] = 1 / model.rotationSd;
        qr.push(column);
      }
      factors.set(survey.design, qr);
    }
    const right = new Float64Array(tail + runs.length);
    right.set(survey.left);
    qr.apply(right);
    // Back in the rows of the readings, so that a change of shape is a smooth change of these numbers.
    right.fill(0, 0, qr.rank);
    return qr.applyInverse(right).slice(0, tail);
  });
}

function concatenate(parts: readonly Float64Array[]): Float64Array {
  const out = new Float64Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    out.set(part, at);
    at += part.length;
  }
  return out;
}

/** The Jacobian with the other surveys' rows below, by forward differences. */
function otherJacobian(
  model: LineModel,
  here: Look,
  own: readonly Float64Array[],
  parameters: readonly Parameter[],
  others: readonly FixedFactor[],
): Float64Array[] {
  return parameters.map((p, k) => {
    const at = p.get(here.state);
    const moved = p.set(here.state, at + p.step);
    const width = p.get(moved) - at;
    const first = own[k]!.length;
    const column = new Float64Array(here.residual.length);
    column.set(own[k]!);
    if (Math.abs(width) < 0.1 * p.step) return column;
    const next = concatenate(otherResiduals(model, others, moved));
    for (let i = 0; i < next.length; i++) column[first + i] = (here.residual[first + i]! - next[i]!) / width;
    return column;
  });
}

function solveStep(
  jacobian: readonly Float64Array[],
  { residual, prior }: Look,
  parameters: readonly Parameter[],
  damping: number,
): Float64Array {
  const n = residual.length;
  const count = parameters.length;
  const qr = new Qr(n + 2 * count);
  jacobian.forEach((column, p) => {
    const full = new Float64Array(n + 2 * count);
    full.set(column);
    if (!parameters[p]!.flat) full[n + p] = 1 / parameters[p]!.sd;
    full[n + count + p] = Math.sqrt(damping) / stepLimit(parameters[p]!);
    qr.push(full);
  });
  const right = new Float64Array(n + 2 * count);
  right.set(residual);
  prior.forEach((value, p) => {
    if (!parameters[p]!.flat) right[n + p] = value;
  });
  return qr.solve(qr.apply(right));
}

/** Log posterior but for the readings' own normalisation. */
export function scoreOfStruck(fit: StruckFit): number {
  return -fit.objective / 2 - fit.logDeterminant + fit.logPrior;
}
