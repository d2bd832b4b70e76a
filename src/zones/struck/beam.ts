import { exp } from '../../maths/portable.ts';
import { loaded } from '../flange-law.ts';
import { type Cells, createCells } from './cells.ts';
import { branch, commit, createSteel, type Steel } from './steel.ts';

/**
 * The flange while it is struck and let go: an elastic-plastic beam on rigid bearings and on diaphragms that give
 * like springs, by the force method. What is unknown at any moment is the force of the blow and the force at each
 * diaphragm; they fix the moment everywhere by statics, the steel's law turns moment into curvature, and virtual
 * work turns curvature into the deflections that must agree with the push and with the springs:
 *
 *   ∫ g_P κ dx = push,   ∫ g_j κ dx + c_j ρ_j = 0     (g: simple-beam moment of a unit force; c = EI/spring)
 *
 * solved at a few steps along the push (moments shift between sections as they yield) by Newton's method; the
 * complementary energy is convex, so a step past its least is halved. Moments over M_y, curvatures over
 * κ_y, lengths in m: forces ρ are 1/m, deflections m².
 */
export interface Blow {
  /** m */
  readonly station: number;
  /** Length it is spread over, m. */
  readonly patch: number;
  /** How far the steel was pushed at the patch (its mean) from where it lay, signed, over κ_y, m². */
  readonly push: number;
}

export interface Supports {
  readonly from: number;
  readonly to: number;
  readonly diaphragms: readonly number[];
}

export interface StruckState {
  readonly blows: readonly Blow[];
  /** ln of EI over the spring stiffness, common to all diaphragms, EI/k in m³. */
  readonly softness: number;
  /** The same of each diaphragm less the common one. */
  readonly uneven: readonly number[];
  /** How far each diaphragm stands from where the model has it, m; 0 where the job gives its place. */
  readonly shift: readonly number[];
  /** Tangent modulus after yield over the elastic modulus. */
  readonly hardening: number;
}

/** What a blow or two left. Values over cells are at their midpoints. */
export interface Struck {
  readonly cells: Cells;
  /** Curvature less moment, over κ_y. */
  readonly plastic: Float64Array;
  /** Largest |moment| ever carried, over M_y: above 1 the steel yielded. */
  readonly reached: Float64Array;
  /** Moment left, over M_y. */
  readonly moment: Float64Array;
  /** Force left at each diaphragm: its moments over M_y are this times `unitMoment`. */
  readonly forces: Float64Array;
  /** Forces at every step of the way: a start for a state a little different. */
  readonly path: readonly Float64Array[];
}

/** Shares of the push at which equilibrium is found on the way. */
const STEPS = [0.1, 0.25, 0.5, 1];
/** Share of the largest force below which a correction is none. */
const CLOSE = 2e-4;

/** `near`: the path of a state a little different (as many blows, the same supports). `bay`: cells between supports. */
export function strike(
  supports: Supports,
  state: StruckState,
  near: readonly Float64Array[] | null = null,
  bay?: number,
): Struck {
  const cells = createCells(supports, state.blows, bay);
  const n = cells.middle.length;
  const count = supports.diaphragms.length;
  const steel = createSteel(n, state.hardening);
  const compliance = state.uneven.map((own) => exp(state.softness + own));
  const supportShapes = supports.diaphragms.map((at) => unitMoment(supports, cells.middle, at, 0));
  const path: Float64Array[] = [];
  let z: Float64Array = new Float64Array(count + 1);
  for (const blow of state.blows) {
    const shapes = [unitMoment(supports, cells.middle, blow.station, blow.patch), ...supportShapes];
    const beam = createBeam(cells, shapes, compliance);
    const lay = dot3(cells.width, shapes[0]!, steel.k);
    let before = z;
    let done = 0;
    let last = 0;
    for (const share of STEPS) {
      // Start where the forces would be if they went on as they went.
      const ahead = last > 0 ? (share - done) / last : 0;
      const start = near?.[path.length] ?? z.map((force, a) => force + ahead * (force - before[a]!));
      before = z;
      last = share - done;
      done = share;
      z = equilibrium(beam, steel, start, { push: lay + share * blow.push });
      path.push(z);
    }
    z = equilibrium(beam, steel, near?.[path.length] ?? z, { force: 0 });
    path.push(z);
  }
  const plastic = new Float64Array(n);
  for (let i = 0; i < n; i++) plastic[i] = steel.reached[i]! > 1 ? steel.k[i]! - steel.m[i]! : 0;
  return {
    cells,
    plastic,
    reached: steel.reached,
    moment: steel.m,
    forces: z.slice(1),
    path,
  };
}

/** Simple-beam moment (m) at each x of a unit force at `at`, spread over `patch`. */
export function unitMoment(
  { from, to }: Supports,
  x: ArrayLike<number>,
  at: number,
  patch: number,
): Float64Array {
  const length = to - from;
  const half = patch / 2;
  const out = new Float64Array(x.length);
  for (let i = 0; i < x.length; i++) {
    const s = x[i]!;
    const point = s <= at ? ((s - from) * (to - at)) / length : ((at - from) * (to - s)) / length;
    const off = half - Math.abs(s - at);
    // Within the patch the two straight lines are rounded by a parabola.
    out[i] = off > 0 ? point - (off * off) / (4 * half) : point;
  }
  return out;
}

/** What does not change while one force pushes: shapes, and the elastic part of Newton's matrix. */
interface Beam {
  readonly cells: Cells;
  /** Moment of the blow's unit force, then of each diaphragm's. */
  readonly shapes: readonly Float64Array[];
  readonly compliance: readonly number[];
  /** ∫ g_a g_b dx, and the springs. */
  readonly elastic: Float64Array;
}

function createBeam(cells: Cells, shapes: readonly Float64Array[], compliance: readonly number[]): Beam {
  const size = shapes.length;
  const elastic = new Float64Array(size * size);
  for (let a = 0; a < size; a++)
    for (let b = 0; b <= a; b++) {
      let sum = a === b && a > 0 ? compliance[a - 1]! : 0;
      for (let i = 0; i < cells.width.length; i++) sum += cells.width[i]! * shapes[a]![i]! * shapes[b]![i]!;
      elastic[a * size + b] = sum;
      elastic[b * size + a] = sum;
    }
  return { cells, shapes, compliance, elastic };
}

/**
 * Forces at which the mean deflection of the patch is `push`, or under a blow of `force`; the steel is left in that
 * state.
 */
function equilibrium(
  { cells, shapes, elastic }: Beam,
  steel: Steel,
  start: Float64Array,
  control: { readonly push: number } | { readonly force: number },
): Float64Array {
  const n = cells.middle.length;
  const size = shapes.length;
  const pushed = 'push' in control;
  const first = pushed ? 0 : 1;
  const { low, high, bent } = steel;
  const gradient = new Float64Array(size);
  const hessian = new Float64Array(size * size);
  const m = new Float64Array(n);
  /** Deflections less what they must be, and their derivatives by the forces: elastic all over, and what yields more. */
  const evaluate = (at: Float64Array): void => {
    hessian.set(elastic);
    m.fill(0);
    for (let a = 0; a < size; a++) {
      let sum = a === 0 && pushed ? -control.push : 0;
      for (let b = 0; b < size; b++) sum += elastic[a * size + b]! * at[b]!;
      gradient[a] = sum;
      const shape = shapes[a]!;
      const force = at[a]!;
      if (force !== 0) for (let i = 0; i < n; i++) m[i]! += force * shape[i]!;
    }
    for (let i = 0; i < n; i++) {
      const moment = m[i]!;
      let over = bent[i]!;
      let softer = 0;
      if (moment < low[i]! || moment > high[i]!) {
        branch(steel, i, moment);
        over = loaded.k - moment;
        softer = loaded.slope - 1;
      }
      if (over === 0) continue;
      const w = cells.width[i]!;
      for (let a = first; a < size; a++) gradient[a]! += w * over * shapes[a]![i]!;
      if (softer !== 0)
        for (let a = first; a < size; a++) {
          const left = w * softer * shapes[a]![i]!;
          for (let b = first; b <= a; b++) hessian[a * size + b]! += left * shapes[b]![i]!;
        }
    }
  };
  let z = start.slice();
  if (!pushed) z[0] = control.force;
  evaluate(z);
  for (let pass = 0; pass < 40 && first < size; pass++) {
    const move = descend(hessian, gradient, size, first);
    let along = 0;
    for (let a = first; a < size; a++) along += move[a]! * gradient[a]!;
    let share = 1;
    let next = z;
    for (let search = 0; search < 12; search++) {
      next = z.slice();
      for (let a = first; a < size; a++) next[a]! += share * move[a]!;
      evaluate(next);
      let slope = 0;
      for (let a = first; a < size; a++) slope += move[a]! * gradient[a]!;
      if (slope <= -0.5 * along) break;
      share /= 2;
    }
    z = next;
    let most = 0;
    let scale = 1e-6;
    for (let a = first; a < size; a++) most = Math.max(most, Math.abs(share * move[a]!));
    for (let a = 0; a < size; a++) scale = Math.max(scale, Math.abs(z[a]!));
    if (most < CLOSE * scale) break;
  }
  for (let i = 0; i < n; i++) commit(steel, i, m[i]!);
  return z;
}

/** Newton's step −H⁻¹g by Cholesky; H lower, rows and columns from `first`. */
function descend(h: Float64Array, g: Float64Array, size: number, first: number): Float64Array {
  const l = h.slice();
  const x = new Float64Array(size);
  for (let a = first; a < size; a++) {
    for (let b = first; b <= a; b++) {
      let sum = l[a * size + b]!;
      for (let c = first; c < b; c++) sum -= l[a * size + c]! * l[b * size + c]!;
      l[a * size + b] = a === b ? Math.sqrt(Math.max(sum, 1e-300)) : sum / l[b * size + b]!;
    }
    let right = -g[a]!;
    for (let c = first; c < a; c++) right -= l[a * size + c]! * x[c]!;
    x[a] = right / l[a * size + a]!;
  }
  for (let a = size - 1; a >= first; a--) {
    let right = x[a]!;
    for (let c = a + 1; c < size; c++) right -= l[c * size + a]! * x[c]!;
    x[a] = right / l[a * size + a]!;
  }
  return x;
}

function dot3(a: ArrayLike<number>, b: ArrayLike<number>, c: ArrayLike<number>): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]! * c[i]!;
  return sum;
}
