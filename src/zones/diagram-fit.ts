import { asinh, exp, log, sinh } from '../maths/portable.ts';
import { Qr } from '../maths/qr.ts';
import { runsOf } from './diagram-stretches.ts';
import { type Design, type FixedFactor, type LineModel, leftOver } from './model.ts';
import { type Blow, type DiagramFrame, diagramDeflection, plasticDiagram } from './moment-diagram.ts';
import { type Yielding, yieldingOf } from './yielding.ts';

/** Blows and steel: everything nonlinear about one line. */
export interface DiagramState {
  readonly blows: readonly Blow[];
  readonly hardening: number;
  /** Moments over M_y the steel stays locked in with at the diaphragms; follows from the linear part of the fit. */
  readonly release: readonly number[];
}

/** The numbers of a state the fit may change, in the scale it changes them in, with their priors. */
interface Parameter {
  readonly mean: number;
  readonly sd: number;
  /** Uniform rather than normal: its sd only keeps a step finite. */
  readonly flat: boolean;
  readonly get: (state: DiagramState) => number;
  readonly set: (state: DiagramState, value: number) => DiagramState;
}

/** Sd of asinh(k) at a diaphragm, and at the blow: 40 and 100 times yield are within two of them. */
const SUPPORT_SD = 2.2;
const PEAK_SD = 3.5;
const LOG_PATCH_SD = 0.45;
export const HARDENINGS = [0.004, 0.006, 0.009, 0.0135, 0.02] as const;
const LOG_HARDENING_MEAN = log(0.01);
export const LOG_HARDENING_SD = 0.5;
/** Log prior of a second blow. */
const SECOND_BLOW = -2;

export interface DiagramFit {
  readonly state: DiagramState;
  readonly objective: number;
  readonly logDeterminant: number;
  readonly logPrior: number;
}

/** Station of a stated blow, or null; one a blow. */
export type BlowHints = readonly (number | null)[];

export function parametersOf(model: LineModel, frame: DiagramFrame, hints: BlowHints): Parameter[] {
  const change = (state: DiagramState, b: number, blow: Partial<Blow>): DiagramState => ({
    ...state,
    blows: state.blows.map((one, i) => (i === b ? { ...one, ...blow } : one)),
  });
  return hints.flatMap((hint, b): Parameter[] => [
    ...frame.diaphragms.map(
      (_, i): Parameter => ({
        mean: 0,
        sd: SUPPORT_SD,
        flat: false,
        get: (state) => asinh(state.blows[b]!.supports[i]!),
        set: (state, value) =>
          change(state, b, {
            supports: state.blows[b]!.supports.map((k, j) => (j === i ? sinh(clamp(value, 6.3)) : k)),
          }),
      }),
    ),
    {
      mean: 0,
      sd: PEAK_SD,
      flat: false,
      get: (state) => asinh(state.blows[b]!.peak),
      set: (state, value) => change(state, b, { peak: sinh(clamp(value, 6.3)) }),
    },
    {
      mean: hint ?? (model.from + model.to) / 2,
      sd: hint === null ? (model.to - model.from) / 2 : model.impactSd,
      flat: hint === null,
      get: (state) => state.blows[b]!.station,
      set: (state, value) =>
        change(state, b, {
          station: Math.max(
            model.from + 0.01 * (model.to - model.from),
            Math.min(model.to - 0.01 * (model.to - model.from), value),
          ),
        }),
    },
    {
      mean: log(model.patch),
      sd: LOG_PATCH_SD,
      flat: false,
      get: (state) => log(state.blows[b]!.patch),
      set: (state, value) => change(state, b, { patch: exp(Math.max(-4, Math.min(1, value))) }),
    },
  ]);
}

function clamp(value: number, limit: number): number {
  return Math.max(-limit, Math.min(limit, value));
}

/** Deflection of the plastic curvature at `x`, m, about the chord. */
export function stateDeflection(
  model: LineModel,
  frame: DiagramFrame,
  state: DiagramState,
  x: ArrayLike<number>,
  steel: Yielding = yieldingOf(state.hardening),
): Float64Array {
  const deflection = diagramDeflection(frame, plasticDiagram(frame, state.blows, state.release, steel), x);
  for (let i = 0; i < deflection.length; i++) deflection[i]! *= model.yieldCurvature;
  return deflection;
}

/** Levenberg–Marquardt on the blows, everything linear projected out. */
export function fitDiagram(
  fixed: FixedFactor,
  frame: DiagramFrame,
  hints: BlowHints,
  start: DiagramState,
  iterations = 25,
  others: readonly FixedFactor[] = [],
): DiagramFit {
  const { model } = fixed;
  const parameters = parametersOf(model, frame, hints);
  const steel = yieldingOf(start.hardening);
  const residualAt = (state: DiagramState): Float64Array => {
    const r = leftOver(fixed, stateDeflection(model, frame, state, fixed.x, steel));
    for (let i = 0; i < r.length; i++) r[i] = fixed.left[i]! - r[i]!;
    return others.length === 0 ? r : concatenate([r, ...otherResiduals(others, frame, state)]);
  };
  const priorOf = (state: DiagramState) => parameters.map((p) => (p.mean - p.get(state)) / p.sd);
  const objectiveOf = (r: Float64Array, prior: readonly number[]) => {
    let sum = 0;
    for (let i = 0; i < r.length; i++) sum += r[i]! ** 2;
    parameters.forEach((p, i) => {
      if (!p.flat) sum += prior[i]! ** 2;
    });
    return sum;
  };

  let state = start;
  let residual = residualAt(state);
  let prior = priorOf(state);
  let objective = objectiveOf(residual, prior);
  let damping = 0.3;
  let jacobian = jacobianAt(state, residual, parameters, residualAt);
  for (let pass = 0; pass < iterations; pass++) {
    const step = solveStep(jacobian, residual, prior, parameters, damping);
    const next = parameters.reduce(
      (s, p, i) => p.set(s, p.get(s) + clamp(step[i]!, 0.8 * stepLimit(p))),
      state,
    );
    const nextResidual = residualAt(next);
    const nextPrior = priorOf(next);
    const nextObjective = objectiveOf(nextResidual, nextPrior);
    if (nextObjective < objective) {
      const gain = objective - nextObjective;
      state = next;
      residual = nextResidual;
      prior = nextPrior;
      objective = nextObjective;
      damping = Math.max(1e-4, damping / 4);
      if (gain < 5e-3) break;
      jacobian = jacobianAt(state, residual, parameters, residualAt);
    } else {
      damping *= 5;
      if (damping > 1e6) break;
    }
  }
  const qr = new Qr(residual.length + parameters.length);
  jacobian.forEach((column, p) => {
    const full = new Float64Array(residual.length + parameters.length);
    full.set(column);
    // A flat parameter the readings say nothing of integrates to 1, like one with a normal prior.
    const { flat, sd } = parameters[p]!;
    full[residual.length + p] = flat ? Math.sqrt(2 * Math.PI) / (model.to - model.from) : 1 / sd;
    qr.push(full);
  });
  let logPrior =
    -(((log(state.hardening) - LOG_HARDENING_MEAN) / LOG_HARDENING_SD) ** 2) / 2 +
    (hints.length - 1) * SECOND_BLOW;
  for (const p of parameters)
    logPrior += p.flat ? log(Math.sqrt(2 * Math.PI) / (model.to - model.from)) : -log(p.sd);
  return { state, objective, logDeterminant: fixed.qr.logDeterminant() + qr.logDeterminant(), logPrior };
}

function stepLimit(p: Parameter): number {
  return p.flat ? 0.5 : Math.max(p.sd, 0.3);
}

/**
 * What surveys other than the as-found one leave unexplained when every bent stretch may turn by any amount in each
 * of them but keeps its shape: their say in where the zones are.
 */
export function otherResiduals(
  others: readonly FixedFactor[],
  frame: DiagramFrame,
  state: DiagramState,
): Float64Array[] {
  if (others.length === 0) return [];
  const { model } = others[0]!;
  const runs = runsOf(frame, state, model.yieldCurvature).filter((run) => Math.abs(run.rotation) > 1e-3);
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

/** d(residual's model)/d(parameter), one column each, by forward differences. */
function jacobianAt(
  state: DiagramState,
  residual: Float64Array,
  parameters: readonly Parameter[],
  residualAt: (state: DiagramState) => Float64Array,
): Float64Array[] {
  return parameters.map((p) => {
    const at = p.get(state);
    // Away from a bound, toward a larger |k|: below yield there is nothing to see.
    const h = (at < 0 ? -1 : 1) * (p.flat || p.sd < 0.3 ? 0.003 : 0.01);
    const moved = p.set(state, at + h);
    const width = p.get(moved) - at;
    const column = new Float64Array(residual.length);
    if (Math.abs(width) > 1e-6) {
      const next = residualAt(moved);
      for (let i = 0; i < column.length; i++) column[i] = (residual[i]! - next[i]!) / width;
    }
    return column;
  });
}

function solveStep(
  jacobian: readonly Float64Array[],
  residual: Float64Array,
  prior: readonly number[],
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

/** The fit at its likeliest hardening. */
export function fitHardening(
  fixed: FixedFactor,
  frame: DiagramFrame,
  hints: BlowHints,
  start: DiagramState,
): DiagramFit {
  let best = fitDiagram(fixed, frame, hints, start);
  for (const direction of [-1, 1]) {
    let at = HARDENINGS.indexOf(best.state.hardening as (typeof HARDENINGS)[number]) + direction;
    while (at >= 0 && at < HARDENINGS.length) {
      const trial = fitDiagram(fixed, frame, hints, { ...best.state, hardening: HARDENINGS[at]! }, 10);
      if (scoreOfDiagram(trial) <= scoreOfDiagram(best)) break;
      best = trial;
      at += direction;
    }
  }
  return best;
}

/** Log posterior but for the readings' own normalisation. */
export function scoreOfDiagram(fit: DiagramFit): number {
  return -fit.objective / 2 - fit.logDeterminant + fit.logPrior;
}
