import { clamp } from '../../maths/clamp.ts';
import { exp, log } from '../../maths/portable.ts';
import { Qr } from '../../maths/qr.ts';
import { type Design, type FixedFactor, type LineModel, leftOver } from '../model.ts';
import { type LengthPrior, lengthPriors } from './length-prior.ts';
import { withRotation, type ZoneShape, zoneColumn } from './shape.ts';

/** A set of disjoint zones fitted to one survey or jointly to several. */
export interface ZoneFit {
  readonly zones: readonly ZoneShape[];
  /** Plastic rotation of each zone in each survey, rad: rotations[survey][zone]. */
  readonly rotations: readonly (readonly number[])[];
  /** Σ weighted residual² + priors. */
  readonly objective: number;
  /** log |det| of the posterior precision's root, over rotations and edges, fixed part included. */
  readonly logDeterminant: number;
  /** Prior log density of the edges at the optimum (normalised), nats. */
  readonly logPrior: number;
}

/** One free number of the geometry. */
export interface FreeNumber {
  readonly zone: number;
  readonly what: 'peak' | 'left' | 'right';
}

const ITERATIONS = 12;

/**
 * Variable projection (Golub & Pereyra 1973, Kaufman's step): rotations are solved linearly at every geometry,
 * the geometry (peak, log side lengths) by Gauss–Newton with step halving. Surveys share the geometry and have
 * rotations, elastic reactions and string of their own.
 */
export function fitZones(
  surveys: readonly FixedFactor[],
  start: readonly ZoneShape[],
  iterations = ITERATIONS,
): ZoneFit {
  const model = surveys[0]!.model;
  const first = start.slice().sort((a, b) => a.peak - b.peak);
  let here = evaluate(surveys, separate(first));
  // Once more with the directions and moments the first solution shows.
  here = evaluate(
    surveys,
    here.zones.map((zone, j) => consistent(model, zone, here.rotations, j)),
  );
  for (let pass = 0; pass < iterations && first.length > 0; pass++) {
    const step = gaussNewton(surveys, here);
    let size = 1;
    let next: Evaluation | null = null;
    for (let halving = 0; halving < 6; halving++, size /= 2) {
      const moved = separate(move(model, here, step, size));
      const trial = evaluate(surveys, moved);
      if (trial.objective < here.objective) {
        next = trial;
        break;
      }
    }
    if (!next) break;
    const gain = here.objective - next.objective;
    here = next;
    if (gain < 1e-4) break;
  }
  return finish(surveys, here);
}

interface Evaluation {
  readonly zones: readonly ZoneShape[];
  readonly rotations: readonly (readonly number[])[];
  readonly objective: number;
  /** Per survey: factor of the zone columns, what is left of the readings after them. */
  readonly factors: readonly { readonly qr: Qr; readonly left: Float64Array }[];
}

function evaluate(surveys: readonly FixedFactor[], zones: readonly ZoneShape[]): Evaluation {
  const model = surveys[0]!.model;
  const count = zones.length;
  let objective = 0;
  const factors: { qr: Qr; left: Float64Array }[] = [];
  const rotations: number[][] = [];
  // One factor serves all surveys read alike.
  const made = new Map<Design, Qr>();
  for (const survey of surveys) {
    const tail = survey.left.length;
    let qr = made.get(survey.design);
    if (!qr) {
      qr = new Qr(tail + count);
      for (const [j, zone] of zones.entries()) {
        const column = new Float64Array(tail + count);
        column.set(leftOver(survey, zoneColumn(model, survey.x, zone)));
        column[tail + j] = 1 / model.rotationSd;
        qr.push(column);
      }
      made.set(survey.design, qr);
    }
    const right = new Float64Array(tail + count);
    right.set(survey.left);
    qr.apply(right);
    rotations.push(Array.from(qr.solve(right)));
    const left = right.slice(qr.rank);
    objective += squares(left);
    factors.push({ qr, left });
  }
  const priors = lengthPriors(model, zones);
  zones.forEach((zone, j) => {
    const prior = priors[j]!;
    objective += ((log(zone.left) - prior.left) / prior.leftSd) ** 2;
    objective += ((log(zone.right) - prior.right) / prior.rightSd) ** 2;
    objective += ((zone.peak - zone.about) / peakSd(model, zone)) ** 2;
  });
  return { zones, rotations, objective, factors };
}

/** How loosely a peak is held, m. */
export function peakSd(model: LineModel, zone: ZoneShape): number {
  return zone.anchor === 'impact' ? model.impactSd : model.peakSd;
}

export function freeNumbers(zones: readonly ZoneShape[]): FreeNumber[] {
  return zones.flatMap((zone, j): FreeNumber[] => [
    ...(zone.anchor === 'diaphragm' ? [] : [{ zone: j, what: 'peak' } as FreeNumber]),
    { zone: j, what: 'left' },
    { zone: j, what: 'right' },
  ]);
}

/** Derivative of a zone's column by a free number (peak: per metre; sides: per unit of log length). */
export function derivativeColumn(
  model: LineModel,
  x: Float64Array,
  zone: ZoneShape,
  what: FreeNumber['what'],
): Float64Array {
  const change = 1e-3;
  const shift = (sign: number): ZoneShape =>
    what === 'peak'
      ? { ...zone, peak: zone.peak + sign * change * (zone.left + zone.right) }
      : { ...zone, [what]: zone[what] * exp(sign * change) };
  const up = zoneColumn(model, x, shift(1));
  const down = zoneColumn(model, x, shift(-1));
  const width = what === 'peak' ? 2 * change * (zone.left + zone.right) : 2 * change;
  for (let i = 0; i < up.length; i++) up[i] = (up[i]! - down[i]!) / width;
  return up;
}

interface Linearised {
  readonly qr: Qr;
  readonly right: Float64Array;
}

/** Geometry block after rotations: all surveys stacked, then one prior row a free number. */
function linearise(
  surveys: readonly FixedFactor[],
  here: Evaluation,
  priors: readonly LengthPrior[],
  free: readonly FreeNumber[],
  withPriors = true,
): Linearised {
  const model = surveys[0]!.model;
  const count = here.zones.length;
  const heights = here.factors.map((f) => f.left.length);
  const rows = heights.reduce((sum, h) => sum + h, 0) + free.length;
  const qr = new Qr(rows);
  const priorOf = free.map(({ zone, what }) => {
    const z = here.zones[zone]!;
    if (what === 'peak') return { sd: peakSd(model, z), off: z.about - z.peak };
    const prior = priors[zone]!;
    return what === 'left'
      ? { sd: prior.leftSd, off: prior.left - log(z.left) }
      : { sd: prior.rightSd, off: prior.right - log(z.right) };
  });
  free.forEach(({ zone, what }, f) => {
    const column = new Float64Array(rows);
    const derivatives = new Map<Design, Float64Array>();
    let at = 0;
    surveys.forEach((survey, s) => {
      const { qr: inner } = here.factors[s]!;
      const full = new Float64Array(survey.left.length + count);
      let derivative = derivatives.get(survey.design);
      if (!derivative) {
        derivative = leftOver(survey, derivativeColumn(model, survey.x, here.zones[zone]!, what));
        derivatives.set(survey.design, derivative);
      }
      const rotation = here.rotations[s]![zone]!;
      for (let i = 0; i < derivative.length; i++) full[i] = derivative[i]! * rotation;
      inner.apply(full);
      column.set(full.subarray(inner.rank), at);
      at += heights[s]!;
    });
    if (withPriors) column[at + f] = 1 / priorOf[f]!.sd;
    qr.push(column);
  });
  const right = new Float64Array(rows);
  let at = 0;
  here.factors.forEach(({ left }) => {
    right.set(left, at);
    at += left.length;
  });
  priorOf.forEach(({ sd, off }, f) => {
    right[at + f] = off / sd;
  });
  return { qr, right };
}

function gaussNewton(
  surveys: readonly FixedFactor[],
  here: Evaluation,
): { free: FreeNumber[]; step: Float64Array } {
  const free = freeNumbers(here.zones);
  const { qr, right } = linearise(surveys, here, lengthPriors(surveys[0]!.model, here.zones), free);
  return { free, step: qr.solve(qr.apply(right)) };
}

type Moving = { -readonly [K in keyof ZoneShape]: ZoneShape[K] };

function move(
  model: LineModel,
  here: Evaluation,
  { free, step }: { free: FreeNumber[]; step: Float64Array },
  size: number,
): ZoneShape[] {
  const moved: Moving[] = here.zones.map((zone) => ({ ...zone }));
  free.forEach(({ zone, what }, f) => {
    const z = moved[zone]!;
    if (what === 'peak') {
      const reach = here.zones[zone]!.left + here.zones[zone]!.right;
      z.peak += size * clamp(step[f]!, 0.5 * reach);
    } else z[what] *= exp(size * clamp(step[f]!, 0.7));
  });
  return moved.map((zone, j) => consistent(model, zone, here.rotations, j));
}

/** The zone with the moment that its rotation asks for: the largest of all surveys, as found, set the strain. */
function consistent(
  model: LineModel,
  zone: ZoneShape,
  rotations: readonly (readonly number[])[],
  j: number,
): ZoneShape {
  let rotation = 0;
  for (const r of rotations) if (Math.abs(r[j]!) > Math.abs(rotation)) rotation = r[j]!;
  return withRotation(zone, rotation, model.yieldCurvature);
}

/** Keeps zones disjoint and inside the bearings: neighbours that overlap are cut back in proportion. */
function separate(zones: readonly ZoneShape[]): ZoneShape[] {
  const kept: Moving[] = zones.map((zone) => ({ ...zone }));
  for (let j = 0; j + 1 < kept.length; j++) {
    const a = kept[j]!;
    const b = kept[j + 1]!;
    const room = b.peak - a.peak;
    const need = a.right + b.left;
    if (room <= 0) {
      const middle = (a.peak + b.peak) / 2;
      a.peak = middle - 1e-3;
      b.peak = middle + 1e-3;
      a.right = Math.min(a.right, 1e-3);
      b.left = Math.min(b.left, 1e-3);
    } else if (need > room) {
      a.right *= room / need;
      b.left *= room / need;
    }
  }
  return kept;
}

function finish(surveys: readonly FixedFactor[], here: Evaluation): ZoneFit {
  const { model } = surveys[0]!;
  const priors = lengthPriors(model, here.zones);
  const free = freeNumbers(here.zones);
  let logDeterminant = 0;
  surveys.forEach((survey, s) => {
    logDeterminant += survey.qr.logDeterminant() + here.factors[s]!.qr.logDeterminant();
  });
  let logPrior = 0;
  if (free.length > 0) {
    const { qr } = linearise(surveys, here, priors, free);
    logDeterminant += qr.logDeterminant();
    for (const { zone, what } of free) {
      const prior = priors[zone]!;
      if (what === 'left') logPrior -= log(prior.leftSd);
      if (what === 'right') logPrior -= log(prior.rightSd);
      if (what === 'peak' && here.zones[zone]!.anchor === 'impact') logPrior -= log(model.impactSd);
    }
  }
  logPrior -= surveys.length * here.zones.length * log(surveys[0]!.model.rotationSd);
  return {
    zones: here.zones,
    rotations: here.rotations,
    objective: here.objective,
    logDeterminant,
    logPrior,
  };
}

/**
 * What surveys other than the as-found one know of the geometry: rows of a triangular factor over the free
 * numbers, to be appended to the as-found fit.
 */
export function geometryRows(surveys: readonly FixedFactor[], zones: readonly ZoneShape[]): Float64Array[] {
  if (surveys.length === 0 || zones.length === 0) return [];
  const priors = lengthPriors(surveys[0]!.model, zones);
  const free = freeNumbers(zones);
  const here = evaluate(surveys, zones);
  const { qr } = linearise(surveys, here, priors, free, false);
  return Array.from({ length: qr.rank }, (_, i) =>
    Float64Array.from(free, (_f, f) => {
      const k = qr.place[f]!;
      return k >= i ? qr.upper[k]![i]! : 0;
    }),
  );
}

function squares(vector: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < vector.length; i++) sum += vector[i]! * vector[i]!;
  return sum;
}
