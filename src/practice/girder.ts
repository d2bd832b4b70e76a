/**
 * The struck flange of a girder: an elastic-plastic beam on bearings and diaphragm springs, pushed sideways by
 * one or two blows and let go. What is left is the truth the estimator is judged by: its shape, where it yielded,
 * and the elastic moments it stays locked in with. Nothing here knows the estimator's formulas. SI throughout.
 */
import {
  assemble,
  createGrid,
  curvatureOf,
  factorize,
  type Grid,
  internalForces,
  type PointSpring,
  springForces,
  unitLoad,
  valueAt,
} from './beam.ts';
import { bend, createSection, fibreCount, type Section, yieldCurvature } from './section.ts';

interface Impact {
  readonly station: number;
  /** Width the blow is spread over, m. */
  readonly patch: number;
  /** Deflection left at the blow after it is over, m; its sign is the direction. */
  readonly set: number;
}

export interface GirderOptions {
  /** Length of steel modelled, 0 to span, m. */
  readonly span: number;
  /** Bearing stations, m. Default: both ends. */
  readonly bearings?: readonly [number, number];
  /** Bearings between those two, as stiff as they are. Default none. */
  readonly piers?: readonly number[];
  readonly flangeWidth: number;
  readonly flangeThickness: number;
  /** Part of the web that bends with the flange. */
  readonly web?: { readonly thickness: number; readonly depth: number };
  readonly yieldStress: number;
  /** Default 29000 ksi. */
  readonly elasticModulus?: number;
  /** Tangent modulus after yield over the elastic modulus. Default 0.01. */
  readonly hardening?: number;
  /** N/m. Default: rigid for practical purposes. */
  readonly bearingStiffness?: number;
  readonly diaphragms: readonly PointSpring[];
  /** Lateral stiffness the web gives the flange along its length, N/m². Default 0. */
  readonly bedding?: number;
  /** Deflection at which that hold yields, m; it goes on with a fiftieth of its stiffness. Default: never. */
  readonly beddingYields?: number;
  /** One after the other, each let go before the next. */
  readonly impacts: readonly Impact[];
  /** Shape before the blow, m at a station. Default straight. */
  readonly sweep?: (station: number) => number;
  /** Wished node spacing, m. Default 1.5 in. */
  readonly grid?: number;
}

/** A stretch that yielded in one direction. */
export interface TrueZone {
  /** First and last yielded point, m. */
  readonly from: number;
  readonly to: number;
  /** Total curvature across the zone in the shape left, rad (+ when the slope increases with station). */
  readonly rotation: number;
  /** Plastic part of it, rad. */
  readonly plasticRotation: number;
  /** Largest |total curvature| × extreme fibre ÷ yield strain. */
  readonly strainRatio: number;
  /** The same from the mean curvature. */
  readonly meanStrainRatio: number;
  /** Centroid of the plastic curvature, m. */
  readonly centre: number;
  /**
   * The zone without the barely yielded tails that hold 2 % of its plastic rotation at each end, and the total
   * curvature across this core: where the moment hardly passes yield, a zone's edge is far from where it bends.
   */
  readonly core: { readonly from: number; readonly to: number; readonly rotation: number };
}

export interface GirderTruth {
  readonly options: GirderOptions;
  readonly section: Section;
  readonly grid: Grid;
  readonly springs: readonly PointSpring[];
  /** Shape before the blow at the nodes, m. */
  readonly baseline: readonly number[];
  /** Shape left at the nodes, baseline included, m. */
  readonly profile: readonly number[];
  /** profile − baseline, m. */
  readonly displacement: readonly number[];
  /** Of the displacement: total, and its plastic part, 1/m. */
  readonly curvature: readonly number[];
  readonly plasticCurvature: readonly number[];
  /** Elastic moments locked in, N·m. */
  readonly moment: readonly number[];
  readonly zones: readonly TrueZone[];
  /** Force on the beam at each bearing and diaphragm, N; bearings first. */
  readonly reactions: readonly { readonly station: number; readonly force: number }[];
  /** Force of each blow at its height, N. */
  readonly peakForces: readonly number[];
}

interface State {
  w: Float64Array;
  /** Plastic strain of every fibre, node by node. */
  plastic: Float64Array;
  /** Where each node's bedding would hold nothing of its yielding part, m. */
  bed: Float64Array;
}

/** Sideways hold along the flange. */
interface Bedding {
  readonly stiffness: number;
  readonly yields: number;
}

/** Stiffness of the hold past yield over the elastic one. */
const BED_AFTER = 0.02;

const INCH = 0.0254;

export function simulateGirder(options: GirderOptions): GirderTruth {
  const grid = createGrid(options.span, options.grid ?? 1.5 * INCH);
  const steel = {
    elasticModulus: options.elasticModulus ?? 199.947961e9,
    yieldStress: options.yieldStress,
    hardening: options.hardening ?? 0.01,
  };
  const flange = { width: options.flangeWidth, thickness: options.flangeThickness };
  const web = options.web ? [{ width: options.web.thickness, thickness: options.web.depth }] : [];
  const section = createSection([flange, ...web], steel);
  const EI = steel.elasticModulus * section.inertia;
  const springs = supports(options, EI, grid);
  const bedding: Bedding = {
    stiffness: options.bedding ?? 0,
    yields: options.beddingYields ?? Number.POSITIVE_INFINITY,
  };
  const elastic = factorize(
    assemble(
      grid,
      grid.stations.map(() => EI),
      springs,
      bedding.stiffness,
    ),
  );

  const n = grid.stations.length;
  let state: State = {
    w: new Float64Array(n),
    plastic: new Float64Array(n * fibreCount(section)),
    bed: new Float64Array(n),
  };
  const peakForces: number[] = [];
  for (const impact of options.impacts) {
    const load = unitLoad(grid, impact.station, impact.patch);
    const give = elastic(load);
    const flexibility = dot(load, give);
    // Where the springs bend it back beyond yield the release is not quite elastic: aim again by what was missing.
    const start = state;
    let aim = impact.set;
    let force = 0;
    for (let tries = 0; tries < 6; tries++) {
      const struck = push(section, grid, springs, bedding, start, load, { ...impact, set: aim }, flexibility);
      force = struck.force;
      state = release(section, grid, springs, bedding, struck.state, load, force);
      const missing = impact.set - dot(load, state.w);
      if (Math.abs(missing) < 0.01 * Math.abs(impact.set)) break;
      aim += missing;
    }
    peakForces.push(force);
  }
  return describe(options, section, grid, springs, state, peakForces);
}

/** Bearings (rigid unless said otherwise) and diaphragms. */
function supports(options: GirderOptions, EI: number, grid: Grid): PointSpring[] {
  const [first, last] = options.bearings ?? [0, options.span];
  // As stiff as one cell of the beam itself: no movement that matters, no harm to the conditioning.
  const stiffness = options.bearingStiffness ?? EI / grid.spacing ** 3;
  return [
    { station: first, stiffness },
    { station: last, stiffness },
    ...(options.piers ?? []).map((station) => ({ station, stiffness })),
    ...options.diaphragms,
  ];
}

/** Pushes until the deflection that will be left after an elastic release reaches the wished set. */
function push(
  section: Section,
  grid: Grid,
  springs: readonly PointSpring[],
  bedding: Bedding,
  start: State,
  load: Float64Array,
  impact: Impact,
  flexibility: number,
): { state: State; force: number } {
  const direction = Math.sign(impact.set);
  const wished = Math.abs(impact.set);
  const before = direction * dot(load, start.w);
  let state = start;
  let force = 0;
  let left = before;
  let step = wished / 12;
  // Push per unit of set won: above 1 while the beam mostly bends elastically.
  let ratio = 1;
  for (let count = 0; count < 2000; count++) {
    const missing = wished - left;
    if (missing <= 0.002 * wished) return { state, force };
    const reached = direction * dot(load, state.w);
    const move = Math.min(step, Math.max(missing * ratio, 0.002 * wished));
    const next = newton(section, grid, springs, bedding, state, load, force, direction * (reached + move));
    if (next === null) {
      step /= 2;
      if (step < 1e-7) break;
      continue;
    }
    state = next.state;
    force = next.force;
    const won = direction * (dot(load, state.w) - force * flexibility) - left;
    left += won;
    ratio = won > 0.1 * move ? move / won : 10;
  }
  throw new Error(`blow at ${impact.station} m did not reach a set of ${impact.set} m`);
}

/** Takes the blow's force off; the springs go on holding. */
function release(
  section: Section,
  grid: Grid,
  springs: readonly PointSpring[],
  bedding: Bedding,
  start: State,
  load: Float64Array,
  force: number,
): State {
  let state = start;
  let at = force;
  let step = force / 4;
  while (at !== 0) {
    const next = Math.abs(at) <= Math.abs(step) * 1.001 ? 0 : at - step;
    const reached = newton(section, grid, springs, bedding, state, load, next, null);
    if (reached === null) {
      step /= 2;
      if (Math.abs(step) < 1e-3 * Math.abs(force)) throw new Error('release did not converge');
      continue;
    }
    state = reached.state;
    at = next;
  }
  return state;
}

/**
 * Equilibrium by Newton's method: under a given force (`target` null), or at a given deflection of the loaded
 * patch with the force unknown. The step of a hardening material is the least of a convex energy, so a search
 * along each correction for the point where the energy stops falling makes it converge from anywhere near.
 * Null where it does not.
 */
function newton(
  section: Section,
  grid: Grid,
  springs: readonly PointSpring[],
  bedding: Bedding,
  start: State,
  load: Float64Array,
  startForce: number,
  target: number | null,
): { state: State; force: number } | null {
  const n = grid.stations.length;
  const fibres = fibreCount(section);
  const plastic = new Float64Array(start.plastic.length);
  const bed = new Float64Array(n);
  const bedTangent = new Float64Array(n).fill(bedding.stiffness);
  const moments = new Float64Array(n);
  const stiffness = new Float64Array(n);
  const out = { moment: 0, stiffness: 0 };
  /** Forces the beam and its springs call up at w; leaves the plastic strains and stiffnesses there behind. */
  const forcesAt = (w: Float64Array): Float64Array => {
    const curvature = curvatureOf(grid, w);
    for (let i = 1; i < n - 1; i++) {
      bend(section, curvature[i]!, start.plastic, plastic, i * fibres, out);
      moments[i] = out.moment;
      stiffness[i] = out.stiffness;
    }
    const forces = internalForces(grid, moments);
    const held = springForces(grid, w, springs, 0);
    for (let i = 0; i < n; i++) {
      // An elastic part, and one that slips when it is stretched past yield.
      const stretch = w[i]! - start.bed[i]!;
      const kept = Math.max(-bedding.yields, Math.min(bedding.yields, stretch));
      bed[i] = w[i]! - kept;
      const slips = kept !== stretch;
      bedTangent[i] = bedding.stiffness * (slips ? BED_AFTER : 1);
      const length = grid.spacing * (i === 0 || i === n - 1 ? 0.5 : 1);
      forces[i]! += held[i]! + bedding.stiffness * length * (BED_AFTER * w[i]! + (1 - BED_AFTER) * kept);
    }
    return forces;
  };

  // The first step goes by the elastic stiffness: at the end of a push every yielded fibre sits on the edge of its
  // yield surface, and whether the next move loads or unloads it is not known yet.
  const EI = section.steel.elasticModulus * section.inertia;
  let w = Float64Array.from(start.w);
  let force = startForce;
  let forces = forcesAt(w);
  stiffness.fill(EI);
  bedTangent.fill(bedding.stiffness);
  for (let pass = 0; pass < 80; pass++) {
    const solve = factorize(assemble(grid, stiffness, springs, bedTangent));
    const residual = new Float64Array(n);
    for (let i = 0; i < n; i++) residual[i] = force * load[i]! - forces[i]!;
    const move = solve(residual);
    if (target !== null) {
      const unit = solve(load);
      const extra = (target - dot(load, w) - dot(load, move)) / dot(load, unit);
      force += extra;
      for (let i = 0; i < n; i++) move[i]! += extra * unit[i]!;
    }
    const slopeAt = () => force * dot(load, move) - dot(forces, move);
    const first = slopeAt();
    const from = w;
    let share = 1;
    let low = 0;
    let high = 1;
    for (let search = 0; search < 25; search++) {
      w = new Float64Array(n);
      for (let i = 0; i < n; i++) w[i] = from[i]! + share * move[i]!;
      forces = forcesAt(w);
      const slope = slopeAt();
      if ((pass === 0 && target !== null) || slope >= -0.5 * first) {
        if (share === 1 || slope <= 0.5 * first) break;
        low = share;
      } else high = share;
      share = (low + high) / 2;
    }
    if (share * largest(move) < 1e-9) return { state: { w, plastic, bed }, force };
  }
  return null;
}

function describe(
  options: GirderOptions,
  section: Section,
  grid: Grid,
  springs: readonly PointSpring[],
  state: State,
  peakForces: readonly number[],
): GirderTruth {
  const n = grid.stations.length;
  const fibres = fibreCount(section);
  const EI = section.steel.elasticModulus * section.inertia;
  const curvature = curvatureOf(grid, state.w);
  const scratch = new Float64Array(state.plastic.length);
  const out = { moment: 0, stiffness: 0 };
  const moment = new Array<number>(n).fill(0);
  const plasticCurvature = new Array<number>(n).fill(0);
  const yielded = new Array<boolean>(n).fill(false);
  for (let i = 1; i < n - 1; i++) {
    bend(section, curvature[i]!, state.plastic, scratch, i * fibres, out);
    moment[i] = out.moment;
    // The edge fibre is the last one: it yields first.
    yielded[i] = state.plastic[(i + 1) * fibres - 1] !== 0;
    plasticCurvature[i] = yielded[i] ? curvature[i]! - out.moment / EI : 0;
  }
  const sweep = options.sweep ?? (() => 0);
  const baseline = grid.stations.map(sweep);
  return {
    options,
    section,
    grid,
    springs,
    baseline,
    profile: baseline.map((value, i) => value + state.w[i]!),
    displacement: Array.from(state.w),
    curvature: Array.from(curvature),
    plasticCurvature,
    moment,
    zones: findZones(grid, section, curvature, plasticCurvature, yielded),
    reactions: springs.map(({ station, stiffness }) => ({
      station,
      force: -stiffness * valueAt(grid, state.w, station),
    })),
    peakForces,
  };
}

/**
 * Runs of yielded nodes bent one way. A run ends half a cell beyond its last node. Runs with next to no plastic
 * rotation (reversed yield at the edge of the blow) are left out: nobody could find them or would miss them.
 */
function findZones(
  grid: Grid,
  section: Section,
  curvature: ArrayLike<number>,
  plastic: readonly number[],
  yielded: readonly boolean[],
): TrueZone[] {
  const zones: TrueZone[] = [];
  let i = 0;
  while (i < plastic.length) {
    const start = i;
    const sign = Math.sign(plastic[i]!);
    while (i < plastic.length && yielded[i] && Math.sign(plastic[i]!) === sign) i++;
    if (i === start) i++;
    else {
      const zone = zoneOf(grid, section, curvature, plastic, start, i - 1);
      if (Math.abs(zone.plasticRotation) >= SMALLEST_ROTATION) zones.push(zone);
    }
  }
  return zones;
}

/** rad */
const SMALLEST_ROTATION = 2e-4;
/** Share of a zone's plastic rotation cut off at each end of its core. */
const TAIL = 0.02;

function zoneOf(
  grid: Grid,
  section: Section,
  curvature: ArrayLike<number>,
  plastic: readonly number[],
  first: number,
  last: number,
): TrueZone {
  const h = grid.spacing;
  const total = (from: number, to: number, values: ArrayLike<number>) => {
    let sum = 0;
    for (let i = from; i <= to; i++) sum += h * values[i]!;
    return sum;
  };
  const plasticRotation = total(first, last, plastic);
  let [coreFirst, coreLast, weighted, peak] = [first, last, 0, 0];
  while (coreFirst < last && total(first, coreFirst, plastic) / plasticRotation < TAIL) coreFirst++;
  while (coreLast > coreFirst && total(coreLast, last, plastic) / plasticRotation < TAIL) coreLast--;
  for (let i = first; i <= last; i++) {
    weighted += h * plastic[i]! * grid.stations[i]!;
    peak = Math.max(peak, Math.abs(curvature[i]!));
  }
  const [from, to] = [grid.stations[first]! - h / 2, grid.stations[last]! + h / 2];
  const rotation = total(first, last, curvature);
  return {
    from,
    to,
    rotation,
    plasticRotation,
    strainRatio: peak / yieldCurvature(section),
    meanStrainRatio: Math.abs(rotation) / (to - from) / yieldCurvature(section),
    centre: weighted / plasticRotation,
    core: {
      from: grid.stations[coreFirst]! - h / 2,
      to: grid.stations[coreLast]! + h / 2,
      rotation: total(coreFirst, coreLast, curvature),
    },
  };
}

/**
 * The girder between heats, when it is elastic: its displacement (m, at the nodes) with plastic curvature given at the
 * nodes (1/m), and what forces at the nodes (N) add to it.
 */
export function solveElastic({ grid, section, springs, options }: GirderTruth): {
  readonly afterPlastic: (curvature: readonly number[]) => Float64Array;
  readonly underLoad: (forces: ArrayLike<number>) => Float64Array;
} {
  const EI = section.steel.elasticModulus * section.inertia;
  const bending = grid.stations.map(() => EI);
  const solve = factorize(assemble(grid, bending, springs, options.bedding ?? 0));
  const moments = (curvature: readonly number[]) => curvature.map((k) => EI * k);
  return {
    afterPlastic: (curvature) => solve(internalForces(grid, moments(curvature))),
    underLoad: solve,
  };
}

function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

function largest(values: ArrayLike<number>): number {
  let most = 0;
  for (let i = 0; i < values.length; i++) most = Math.max(most, Math.abs(values[i]!));
  return most;
}
