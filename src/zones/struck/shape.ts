import { USUAL_GIVE } from '../../job/diaphragm-give.ts';
import { clamp } from '../../maths/clamp.ts';
import { exp, log } from '../../maths/portable.ts';
import { isBearing, type LineModel } from '../model.ts';
import { type Blow, type StruckState, type Supports, strike, type Way } from './beam.ts';
import { deflectionAt, integrate } from './cells.ts';

/** Bearings and diaphragms. */
export function supportsOf(model: LineModel, state: StruckState): Supports {
  return {
    from: model.nodes.stations[0]!,
    to: model.nodes.stations.at(-1)!,
    diaphragms: model.nodes.stations.slice(1, -1).map((at, j) => at + state.shift[j]!),
    read: [model.from, model.to],
    ...(model.web?.yields == null ? {} : { webYields: model.web.yields }),
  };
}

/** The numbers of a state the fit may change, in the scale it changes them in, with their priors. */
export interface Parameter {
  readonly mean: number;
  readonly sd: number;
  /** Uniform rather than normal: its sd only keeps a step finite. */
  readonly flat: boolean;
  /** Change by which derivatives are taken where there is no formula for them: what surveys after the as-found one leave unexplained. */
  readonly step: number;
  readonly get: (state: StruckState) => number;
  readonly set: (state: StruckState, value: number) => StruckState;
}

/** Sd of ln of a push about a quarter of the square of the distance between supports (over κ_y). */
const LOG_PUSH_SD = 1.5;
const LOG_PATCH_SD = 0.45;
/** The diaphragms of one girder are alike (common practice, no source). */
const UNEVEN_SD = 0.3;
const LOG_HARDENING_MEAN = log(0.008);
const LOG_HARDENING_SD = 0.5;

/** Station of a stated blow, or null; one a blow. */
export type BlowHints = readonly (number | null)[];

/** Push at which a bay first yields, about: a fixed end beam's L²/12 and some more, over κ_y, m². */
export function usualPush(model: LineModel): number {
  return model.panel ** 2 / 4;
}

export function usualSoftness(model: LineModel): number {
  return USUAL_GIVE.log + 3 * log(model.panel);
}

/** `bedded`: with the web's hold among them. */
export function parametersOf(model: LineModel, hints: BlowHints, bedded: boolean): Parameter[] {
  if (hints.length === 0) return [];
  const length = model.to - model.from;
  const change = (state: StruckState, b: number, blow: Partial<Blow>): StruckState => ({
    ...state,
    blows: state.blows.map((one, i) => (i === b ? { ...one, ...blow } : one)),
  });
  const blows = hints.flatMap((hint, b): Parameter[] => [
    {
      mean: log(usualPush(model)),
      sd: LOG_PUSH_SD,
      flat: false,
      step: 0.01,
      get: (state) => log(Math.abs(state.blows[b]!.push)),
      set: (state, value) =>
        change(state, b, { push: Math.sign(state.blows[b]!.push) * exp(clamp(value, 8)) }),
    },
    {
      mean: hint ?? (model.from + model.to) / 2,
      sd: hint === null ? length / 2 : model.impactSd,
      flat: hint === null,
      step: 0.003,
      get: (state) => state.blows[b]!.station,
      set: (state, value) =>
        change(state, b, {
          station: Math.max(model.from + 0.01 * length, Math.min(model.to - 0.01 * length, value)),
        }),
    },
    {
      mean: log(model.patch),
      sd: LOG_PATCH_SD,
      flat: false,
      step: 0.01,
      get: (state) => log(state.blows[b]!.patch),
      set: (state, value) => change(state, b, { patch: exp(Math.max(-4, Math.min(1, value))) }),
    },
  ]);
  const inner = model.nodes.stations.slice(1, -1);
  const diaphragms = inner.flatMap((at, i) => (isBearing(model, at) ? [] : [i]));
  // Of diaphragms beyond what is read nothing can be told one by one.
  const own = diaphragms.filter((i) => inner[i]! > model.from && inner[i]! < model.to);
  return [
    ...blows,
    {
      mean: LOG_HARDENING_MEAN,
      sd: LOG_HARDENING_SD,
      flat: false,
      step: 0.01,
      get: (state) => log(state.hardening),
      set: (state, value) => ({ ...state, hardening: exp(Math.max(-7, Math.min(-2.5, value))) }),
    },
    ...(diaphragms.length === 0
      ? []
      : [
          {
            mean: usualSoftness(model),
            sd: USUAL_GIVE.sd,
            flat: false,
            step: 0.01,
            get: (state: StruckState) => state.softness,
            set: (state: StruckState, value: number) => ({ ...state, softness: clamp(value, 12) }),
          },
        ]),
    ...(bedded && model.web !== null
      ? [
          {
            mean: model.web.mean,
            sd: model.web.sd,
            flat: false,
            step: 0.01,
            get: (state: StruckState) => state.bed!,
            set: (state: StruckState, value: number) => ({ ...state, bed: clamp(value, 14) }),
          },
        ]
      : []),
    ...own.map(
      (i): Parameter => ({
        mean: 0,
        sd: UNEVEN_SD,
        flat: false,
        step: 0.01,
        get: (state) => state.uneven[i]!,
        set: (state, value) => ({
          ...state,
          uneven: state.uneven.map((was, j) => (j === i ? clamp(value, 3) : was)),
        }),
      }),
    ),
    ...(model.placeSd === 0
      ? []
      : own.map(
          (i): Parameter => ({
            mean: 0,
            sd: model.placeSd,
            flat: false,
            step: 0.003,
            get: (state) => state.shift[i]!,
            set: (state, value) => ({
              ...state,
              // Two neighbours never change places.
              shift: state.shift.map((was, j) => (j === i ? clamp(value, 0.4 * model.panel) : was)),
            }),
          }),
        )),
  ];
}

/** Deflection (elastic and plastic, m, about the chord) that the blows left at `x`, and the way there. */
interface Shape {
  readonly deflection: Float64Array;
  readonly path: readonly Float64Array[] | null;
  /** d(deflection)/d(each free number), worked out when first asked for. */
  slopes: Float64Array[] | null;
}

/** One state is looked at many times while readings come and go: what it is at `x` is kept as long as the state is. */
const shapes = new WeakMap<StruckState, { x: ArrayLike<number>; model: LineModel; shape: Shape }>();

function shapeOf(
  model: LineModel,
  state: StruckState,
  x: ArrayLike<number>,
  near: StruckState | null,
): Shape {
  const known = shapes.get(state);
  if (known && known.x === x && known.model === model) return known.shape;
  const path = (near && shapes.get(near)?.shape.path) ?? null;
  const shape: Shape = { ...deflectionAndPath(model, state, x, { near: path }), slopes: null };
  shapes.set(state, { x, model, shape });
  return shape;
}

/** `near`: a state a little different already looked at, where the search for equilibrium starts. */
export function stateDeflection(
  model: LineModel,
  state: StruckState,
  x: ArrayLike<number>,
  near: StruckState | null = null,
): Float64Array {
  return shapeOf(model, state, x, near).deflection;
}

/** Derivatives of the deflection at `x` by every free number of `parametersOf`, by forward differences. */
export function stateSlopes(
  model: LineModel,
  state: StruckState,
  x: ArrayLike<number>,
  parameters: readonly Parameter[],
): readonly Float64Array[] {
  const shape = shapeOf(model, state, x, null);
  shape.slopes ??= parameters.map((p) => {
    const at = p.get(state);
    const moved = p.set(state, at + p.step);
    const width = p.get(moved) - at;
    const column = new Float64Array(x.length);
    // At a bound nothing moves.
    if (Math.abs(width) < 0.1 * p.step) return column;
    const next = deflectionAndPath(model, moved, x, { near: shape.path, once: true }).deflection;
    for (let i = 0; i < column.length; i++) column[i] = (next[i]! - shape.deflection[i]!) / width;
    return column;
  });
  return shape.slopes;
}

/** Deflection good enough to rank starts by, nothing kept. */
export function roughDeflection(model: LineModel, state: StruckState, x: ArrayLike<number>): Float64Array {
  return deflectionAndPath(model, state, x, { rough: true }).deflection;
}

function deflectionAndPath(
  model: LineModel,
  state: StruckState,
  x: ArrayLike<number>,
  way: Way,
): { deflection: Float64Array; path: readonly Float64Array[] | null } {
  if (state.blows.length === 0) return { deflection: new Float64Array(x.length), path: null };
  const { cells, plastic, moment, path } = strike(supportsOf(model, state), state, way);
  const curvature = new Float64Array(plastic.length);
  for (let i = 0; i < curvature.length; i++)
    curvature[i] = -(plastic[i]! + moment[i]!) * model.yieldCurvature;
  return { deflection: deflectionAt(cells, integrate(cells, curvature), x, [model.from, model.to]), path };
}
