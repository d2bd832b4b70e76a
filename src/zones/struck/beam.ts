import { exp } from '../../maths/portable.ts';
import { loaded } from '../flange-law.ts';
import { type Cells, createCells } from './cells.ts';
import { branch, commit, commitOn, createSteel, type Steel, seen, unstrained } from './steel.ts';

/**
 * The flange while it is struck and let go: an elastic-plastic beam on rigid bearings and on diaphragms that give
 * like springs, by the force method. What is unknown at any moment is the force of the blow and the force at each
 * diaphragm; they fix the moment everywhere by statics, the steel's law turns moment into curvature, and virtual
 * work turns curvature into the deflections that must agree with the push and with the springs:
 *
 *   ∫ g_P κ dx = push,   ∫ g_j κ dx + c_j ρ_j = 0     (g: simple-beam moment of a unit force; c = EI/spring)
 *
 * The web that holds the flange along its length is cut into pieces, each a spring of even reaction over its length
 * with c = EI/(k·length), k its stiffness by length; past its yield deflection a piece gives on a tenth of that.
 *
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
  /** Diaphragms, and piers between the two bearings at the ends. */
  readonly diaphragms: readonly number[];
  /** Deflection (over κ_y, m²) past which the web gives way plastically. Left out: never. */
  readonly webYields?: number;
  /** The part that is read, m; bays beyond it are taken in few cells. Left out: all. */
  readonly read?: readonly [number, number];
}

/** ln of how much more than the others a pier gives: nothing. */
export const RIGID = Number.NEGATIVE_INFINITY;

export interface StruckState {
  readonly blows: readonly Blow[];
  /** ln of EI over the spring stiffness, common to all diaphragms, EI/k in m³. */
  readonly softness: number;
  /** The same of each diaphragm less the common one; `RIGID` at a pier. */
  readonly uneven: readonly number[];
  /** How far each diaphragm stands from where the model has it, m; 0 where the job gives its place. */
  readonly shift: readonly number[];
  /** Tangent modulus after yield over the elastic modulus. */
  readonly hardening: number;
  /** ln of the web's sideways hold over EI, 1/m⁴ (force by length and deflection, over EI); null: it does not hold. */
  readonly bed: number | null;
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
/**
 * Where a web holds the flange, shares of the blow's force at which it is found on the way back: what holds the flange bends it
 * back past yield while it is let go, and not everywhere at once. In one step the shape left was off by 6 to 11 mm on girders hit hard.
 */
const RELEASE = [2 / 3, 1 / 3, 0];
const AT_ONCE = [0];
/** Share of the largest force below which a correction leaves no error to speak of: the next one would be about its square. */
const CLOSE = 1e-3;
/** The same where a web holds the flange: with ten times as many forces, derivatives taken between looser states were wrong by their own size. */
const CLOSER = 1e-4;

/** How closely a blow is followed. */
export interface Way {
  /** The path of a state a little different (as many blows, the same supports), where the search for equilibrium starts. */
  readonly near?: readonly Float64Array[] | null;
  /**
   * From that path one step of Newton's method and no more: enough for a derivative, since the error is of second order. Where a web
   * holds the flange it is not: cells that turn as it is let go throw the step off many times over, and equilibrium is found.
   */
  readonly once?: boolean;
  /** Few cells and few steps: enough to tell which of many starts is near. */
  readonly rough?: boolean;
}

/** Steps and cells a bay of a rough look. */
const ROUGH_STEPS = [0.3, 1];
const ROUGH_BAY = 6;

export function strike(supports: Supports, state: StruckState, { near, once, rough }: Way = {}): Struck {
  const count = supports.diaphragms.length;
  const bay = rough ? ROUGH_BAY : undefined;
  const compliance = state.uneven.map((own) => exp(state.softness + own));
  const oneStep = once === true && state.bed === null;
  const path: Float64Array[] = [];
  let z: Float64Array = new Float64Array(count + 1);
  const web: Web = { offset: [], yields: supports.webYields ?? Number.POSITIVE_INFINITY };
  let steel: Steel | null = null;
  let cells: Cells | null = null;
  for (let b = 0; b < state.blows.length; b++) {
    const blow = state.blows[b]!;
    const frame = frameOf(supports, state.blows, b, bay, state.bed !== null);
    cells = frame.cells;
    const beam = createBeam(frame, compliance, state.bed === null ? null : exp(state.bed), web);
    if (z.length < frame.size) z = new Float64Array(frame.size);
    steel ??= freshSteel(frame.cells.middle.length, state.hardening);
    const lay = deflectionOfPatch(frame, steel.k);
    let before = z;
    let done = 0;
    let last = 0;
    for (const share of rough ? ROUGH_STEPS : STEPS) {
      // Start where the forces would be if they went on as they went.
      const ahead = last > 0 ? (share - done) / last : 0;
      const start = near?.[path.length] ?? z.map((force, a) => force + ahead * (force - before[a]!));
      before = z;
      last = share - done;
      done = share;
      z = equilibrium(beam, steel, start, { push: lay + share * blow.push }, oneStep);
      path.push(z);
    }
    const peak = z[0]!;
    const peakAt = path.length - 1;
    for (const share of rough || state.bed === null ? AT_ONCE : RELEASE) {
      const start = state.bed === null ? near?.[path.length] : released(path, near, peakAt);
      z = equilibrium(beam, steel, start ?? z, { force: share * peak }, oneStep);
      path.push(z);
    }
  }
  cells ??= createCells(supports, [], bay);
  steel ??= freshSteel(cells.middle.length, state.hardening);
  const n = cells.middle.length;
  const plastic = new Float64Array(n);
  for (let i = 0; i < n; i++) plastic[i] = steel.reached[i]! > 1 ? steel.k[i]! - steel.m[i]! : 0;
  return {
    cells,
    plastic,
    reached: steel.reached.slice(),
    moment: steel.m.slice(),
    forces: z.slice(1, 1 + count),
    path,
  };
}

/** Where the path nearby went as it was let go, from this one's own peak on and as much more as this blow's force was larger. */
function released(
  path: readonly Float64Array[],
  near: readonly Float64Array[] | null | undefined,
  peak: number,
): Float64Array | null {
  const next = near?.[path.length];
  if (!next) return null;
  const own = path[peak]!;
  const other = near![peak]!;
  const ratio = own[0]! / other[0]!;
  return next.map((force, a) => own[a]! + ratio * (force - other[a]!));
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

/** Arrays for so many cells, used again by the next beam of as many: making them took a tenth of a fit. */
const steels = new Map<number, Steel>();

function freshSteel(n: number, hardening: number): Steel {
  const used = steels.get(n);
  if (used) return unstrained(used, hardening);
  if (steels.size > 40) steels.clear();
  const steel = createSteel(n, hardening);
  steels.set(n, steel);
  return steel;
}

/** Where the last evaluation found each cell that yields: its moment, curvature, slope and branch. */
interface Looked {
  m: Float64Array;
  k: Float64Array;
  slope: Float64Array;
  depth: Uint8Array;
  way: Int8Array;
  yields: Uint8Array;
}

function createLooked(n: number): Looked {
  return {
    m: new Float64Array(n),
    k: new Float64Array(n),
    slope: new Float64Array(n),
    depth: new Uint8Array(n),
    way: new Int8Array(n),
    yields: new Uint8Array(n),
  };
}

let looked = createLooked(256);

/** How the web, in pieces, has given way: the deflection over κ_y at which each would hold nothing. */
interface Web {
  offset: number[];
  readonly yields: number;
}

/** Of a web piece past yield, tangent stiffness over the elastic one: a plate strip goes on stiffening a little. */
const WEB_HARDENING = 0.1;

/** What the places of supports and blows settle alone. */
interface Frame {
  readonly key: readonly number[];
  readonly cells: Cells;
  /** Forces: that of the blow, then of each diaphragm, then of each piece of web. */
  readonly size: number;
  /** Lengths of the pieces of web, m. */
  readonly pieces: readonly number[];
  /** Moment at each cell of the unit forces, cell by cell. */
  readonly shapes: Float64Array;
  /** ∫ g_a g_b dx. */
  readonly flexibility: Float64Array;
}

/**
 * The frames made last: a fit changes places and steel by turns, and most states it looks at share theirs with the one
 * before. What is kept depends on its key alone.
 */
const frames: Frame[] = [];
const KEPT = 6;

function frameOf(
  supports: Supports,
  blows: readonly Blow[],
  b: number,
  bay: number | undefined,
  bedded: boolean,
): Frame {
  const { from, to, diaphragms, read } = supports;
  const key = [from, to, b, bay ?? 0, bedded ? 1 : 0, ...diaphragms, Number.NaN, ...(read ?? []), Number.NaN];
  for (const { station, patch } of blows) key.push(station, patch);
  const at = frames.findIndex((frame) => sameKey(frame.key, key));
  if (at === 0) return frames[0]!;
  const frame = at > 0 ? frames.splice(at, 1)[0]! : createFrame(supports, blows, b, bay, bedded, key);
  frames.unshift(frame);
  if (frames.length > KEPT) frames.pop();
  return frame;
}

function sameKey(a: readonly number[], b: readonly number[]): boolean {
  if (a.length !== b.length) return false;
  for (let i = 0; i < a.length; i++) if (!Object.is(a[i], b[i])) return false;
  return true;
}

function createFrame(
  supports: Supports,
  blows: readonly Blow[],
  b: number,
  bay: number | undefined,
  bedded: boolean,
  key: readonly number[],
): Frame {
  const cells = createCells(supports, blows, bay);
  const n = cells.middle.length;
  const web = bedded ? webPieces(supports, bay !== undefined) : [];
  const blow = blows[b]!;
  const forces = [
    { at: blow.station, over: blow.patch },
    ...supports.diaphragms.map((at) => ({ at, over: 0 })),
    ...web,
  ];
  const size = forces.length;
  const shapes = new Float64Array(n * size);
  for (let a = 0; a < size; a++) {
    const moment = unitMoment(supports, cells.middle, forces[a]!.at, forces[a]!.over);
    for (let i = 0; i < n; i++) shapes[i * size + a] = moment[i]!;
  }
  const flexibility = flexibilityOf(cells.width, shapes, size);
  return { key, cells, size, pieces: web.map(({ over }) => over), shapes, flexibility };
}

/** ∫ g_a g_b dx of the unit forces' moments. */
function flexibilityOf(width: Float64Array, shapes: Float64Array, size: number): Float64Array {
  const flexibility = new Float64Array(size * size);
  for (let i = 0; i < width.length; i++) {
    const w = width[i]!;
    const base = i * size;
    for (let a = 0; a < size; a++) {
      const weighted = w * shapes[base + a]!;
      for (let c = 0; c <= a; c++) flexibility[a * size + c]! += weighted * shapes[base + c]!;
    }
  }
  for (let a = 0; a < size; a++)
    for (let c = 0; c < a; c++) flexibility[c * size + a] = flexibility[a * size + c]!;
  return flexibility;
}

/** Pieces of web between two supports, at least, at most and about so long (m), and beyond what is read: over each its hold is taken as even. */
const PIECES = { least: 4, most: 8, length: 1.2 };
const FAR_PIECES = 2;

function webPieces({ from, to, diaphragms, read }: Supports, rough: boolean): { at: number; over: number }[] {
  const supports = [from, ...diaphragms, to];
  return supports.slice(1).flatMap((b, j) => {
    const a = supports[j]!;
    const far = read !== undefined && (a >= read[1] - 1e-9 || b <= read[0] + 1e-9);
    const count =
      far || rough
        ? FAR_PIECES
        : Math.max(PIECES.least, Math.min(PIECES.most, Math.round((b - a) / PIECES.length)));
    const over = (b - a) / count;
    return Array.from({ length: count }, (_, i) => ({ at: a + (i + 0.5) * over, over }));
  });
}

/** Mean deflection of the blow's patch under curvatures k. */
function deflectionOfPatch({ cells, shapes, size }: Frame, k: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < k.length; i++) sum += cells.width[i]! * shapes[i * size]! * k[i]!;
  return sum;
}

/** What does not change while one force pushes: the frame, and the elastic part of Newton's matrix. */
interface Beam {
  readonly frame: Frame;
  /** ∫ g_a g_b dx, and the springs. */
  readonly elastic: Float64Array;
  /** First force of the web, what each of its pieces gives under a unit force, and how they stand. */
  readonly webFrom: number;
  readonly gives: readonly number[];
  readonly web: Web;
}

/** `bed`: the web's hold over EI, 1/m⁴; null where it holds nothing. */
function createBeam(frame: Frame, compliance: readonly number[], bed: number | null, web: Web): Beam {
  const elastic = frame.flexibility.slice();
  const { size } = frame;
  const webFrom = 1 + compliance.length;
  const gives = bed === null ? [] : frame.pieces.map((over) => 1 / (bed * over));
  for (let a = 1; a < size; a++)
    elastic[a * size + a]! += a < webFrom ? compliance[a - 1]! : gives[a - webFrom]!;
  if (web.offset.length < gives.length) web.offset = gives.map(() => 0);
  return { frame, elastic, webFrom, gives, web };
}

/** Plastic give of a piece of web under a force, and its slope. Kinematic hardening: force = yield force + H·offset. */
const webGives = { offset: 0, slope: 0 };

function webAt({ gives, web, webFrom }: Beam, a: number, force: number): void {
  const j = a - webFrom;
  const elastic = gives[j]!;
  // H of the plastic give alone, so that elastic and plastic give together have the tangent wanted.
  const h = WEB_HARDENING / ((1 - WEB_HARDENING) * elastic);
  const limit = web.yields / elastic;
  const was = web.offset[j]!;
  const up = (force - limit) / h;
  const down = (force + limit) / h;
  webGives.slope = up > was || down < was ? 1 / h : 0;
  webGives.offset = up > was ? up : Math.min(down, was);
}

/**
 * Forces at which the mean deflection of the patch is `push`, or under a blow of `force`; the steel is left in that
 * state.
 */
function equilibrium(
  beam: Beam,
  steel: Steel,
  start: Float64Array,
  control: { readonly push: number } | { readonly force: number },
  once: boolean,
): Float64Array {
  const { frame, elastic, webFrom, web } = beam;
  const { size, shapes } = frame;
  const gives = Number.isFinite(web.yields);
  const { width } = frame.cells;
  const n = width.length;
  const pushed = 'push' in control;
  const bedded = beam.gives.length > 0;
  const first = pushed ? 0 : 1;
  const { low, high, bent } = steel;
  const gradient = new Float64Array(size);
  const hessian = new Float64Array(size * size);
  const m = new Float64Array(n);
  if (looked.m.length < n) looked = createLooked(2 * n);
  const at = looked;
  at.yields.fill(0);
  // Deflections that the steel's plastic curvature makes as it is, less what they must be.
  const lies = new Float64Array(size);
  if (pushed) lies[0] = -control.push;
  for (let i = 0; i < n; i++) {
    if (bent[i] === 0) continue;
    const over = width[i]! * bent[i]!;
    for (let a = first; a < size; a++) lies[a]! += over * shapes[i * size + a]!;
  }
  const moments = (forces: Float64Array): void => {
    for (let i = 0, s = 0; i < n; i++) {
      let sum = 0;
      for (let a = 0; a < size; a++, s++) sum += forces[a]! * shapes[s]!;
      m[i] = sum;
    }
  };
  /** Deflections less what they must be, and their derivatives by the forces: elastic all over, and what yields more. */
  const evaluate = (forces: Float64Array): void => {
    moments(forces);
    hessian.set(elastic);
    for (let a = first; a < size; a++) {
      let sum = lies[a]!;
      for (let b = 0; b < size; b++) sum += elastic[a * size + b]! * forces[b]!;
      gradient[a] = sum;
    }
    for (let a = gives ? webFrom : size; a < size; a++) {
      webAt(beam, a, forces[a]!);
      gradient[a]! += webGives.offset;
      hessian[a * size + a]! += webGives.slope;
    }
    for (let i = 0; i < n; i++) {
      const moment = m[i]!;
      if (moment >= low[i]! && moment <= high[i]!) {
        at.yields[i] = 0;
        continue;
      }
      branch(steel, i, moment);
      at.yields[i] = 1;
      at.m[i] = moment;
      at.k[i] = loaded.k;
      at.slope[i] = loaded.slope;
      at.depth[i] = seen.depth;
      at.way[i] = seen.way;
      const w = width[i]!;
      const over = w * (loaded.k - moment - bent[i]!);
      const softer = w * (loaded.slope - 1);
      const base = i * size;
      for (let a = first; a < size; a++) {
        const shape = shapes[base + a]!;
        gradient[a]! += over * shape;
        const left = softer * shape;
        for (let b = first; b <= a; b++) hessian[a * size + b]! += left * shapes[base + b]!;
      }
    }
  };
  let z = start.slice();
  if (!pushed) z[0] = control.force;
  if (first === size) moments(z);
  else evaluate(z);
  for (let pass = 0; pass < 40 && first < size; pass++) {
    const move = descend(hessian, gradient, size, first);
    let most = 0;
    let scale = 1e-6;
    for (let a = first; a < size; a++) most = Math.max(most, Math.abs(move[a]!));
    for (let a = 0; a < size; a++) scale = Math.max(scale, Math.abs(z[a]! + move[a]!));
    if (once || most < (bedded ? CLOSER : CLOSE) * scale) {
      z = z.slice();
      for (let a = first; a < size; a++) z[a]! += move[a]!;
      moments(z);
      break;
    }
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
  }
  for (let a = gives ? webFrom : size; a < size; a++) {
    webAt(beam, a, z[a]!);
    web.offset[a - webFrom] = webGives.offset;
  }
  for (let i = 0; i < n; i++) {
    const moment = m[i]!;
    // The last step is small: a cell that yields is taken along its tangent.
    if (at.yields[i] === 1 && (moment < low[i]! || moment > high[i]!)) {
      const k = at.k[i]! + at.slope[i]! * (moment - at.m[i]!);
      commitOn(steel, i, moment, k, at.depth[i]!, at.way[i]!);
    } else commit(steel, i, moment);
  }
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
