import { exp } from '../../maths/portable.ts';
import { loaded } from '../flange-law.ts';
import { type Cells, createCells } from './cells.ts';
import { branch, commit, commitOn, copySteel, createSteel, type Steel, seen, unstrained } from './steel.ts';

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
  const web: Web = { offset: new Float64Array(0), yields: supports.webYields ?? Number.POSITIVE_INFINITY };
  let steel: Steel | null = null;
  let cells: Cells | null = null;
  for (let b = 0; b < state.blows.length; b++) {
    const blow = state.blows[b]!;
    const frame = frameOf(supports, state.blows, b, bay, state.bed !== null);
    cells = frame.cells;
    const beam = createBeam(frame, compliance, state.bed === null ? null : exp(state.bed), web);
    if (z.length < frame.size) z = new Float64Array(frame.size);
    steel ??= freshSteel(frame.cells.middle.length, state.hardening);
    const key = rough && b === 0 && state.blows.length > 1 ? firstKey(frame, supports, state) : null;
    const known = key && firsts.find((first) => sameKey(first.key, key));
    if (known) {
      copySteel(known.steel, steel);
      web.offset = known.offset.slice();
      path.push(...known.path);
      z = known.path.at(-1)!;
      continue;
    }
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
    if (key) rememberFirst({ key, steel, offset: web.offset.slice(), path: path.slice() });
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

/**
 * Where the last evaluation found each cell that yields: its moment, curvature, slope and branch; and, one after the other, those
 * that yield: where their shapes begin, what they add to the deflections, how much softer they are, and room.
 */
interface Looked {
  /** Moment of every cell, whether it yields or not. */
  now: Float64Array;
  m: Float64Array;
  k: Float64Array;
  slope: Float64Array;
  depth: Uint8Array;
  way: Int8Array;
  yields: Uint8Array;
  base: Int32Array;
  over: Float64Array;
  softer: Float64Array;
  left: Float64Array;
}

function createLooked(n: number): Looked {
  return {
    now: new Float64Array(n),
    m: new Float64Array(n),
    k: new Float64Array(n),
    slope: new Float64Array(n),
    depth: new Uint8Array(n),
    way: new Int8Array(n),
    yields: new Uint8Array(n),
    base: new Int32Array(n),
    over: new Float64Array(n),
    softer: new Float64Array(n),
    left: new Float64Array(n),
  };
}

let looked = createLooked(256);

/** Room for one search of an equilibrium by so many forces. Made anew for each, these and the moments were a sixth of a fit over several spans. */
interface Room {
  readonly gradient: Float64Array;
  readonly hessian: Float64Array;
  readonly lies: Float64Array;
  readonly step: Float64Array;
}

function createRoom(size: number): Room {
  return {
    gradient: new Float64Array(size),
    hessian: new Float64Array(size * size),
    lies: new Float64Array(size),
    step: new Float64Array(size),
  };
}

let room = createRoom(16);

/** How the web, in pieces, has given way: the deflection over κ_y at which each would hold nothing. */
interface Web {
  offset: Float64Array;
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

/** Where the first of two blows left the steel, the web and the forces. */
interface First {
  readonly key: readonly number[];
  readonly steel: Steel;
  readonly offset: Float64Array;
  readonly path: readonly Float64Array[];
}

/**
 * First blows of rough looks: those at a pair of places try a second blow of every force after each, a quarter of all the work. What
 * is kept depends on its key alone.
 */
const firsts: First[] = [];
const FIRSTS = 24;

function firstKey(frame: Frame, { webYields }: Supports, state: StruckState): number[] {
  const { blows, softness, uneven, hardening, bed } = state;
  return [
    blows[0]!.push,
    softness,
    hardening,
    bed ?? Number.NaN,
    webYields ?? Number.NaN,
    ...uneven,
    ...frame.key,
  ];
}

function rememberFirst(first: First): void {
  const steel = createSteel(first.steel.m.length, first.steel.hardening);
  copySteel(first.steel, steel);
  firsts.push({ ...first, steel });
  if (firsts.length > FIRSTS) firsts.shift();
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
  readonly gives: Float64Array;
  readonly web: Web;
}

/** `bed`: the web's hold over EI, 1/m⁴; null where it holds nothing. */
function createBeam(frame: Frame, compliance: readonly number[], bed: number | null, web: Web): Beam {
  const elastic = frame.flexibility.slice();
  const { size } = frame;
  const webFrom = 1 + compliance.length;
  const gives = Float64Array.from(bed === null ? [] : frame.pieces, (over) => 1 / (bed! * over));
  for (let a = 1; a < size; a++)
    elastic[a * size + a]! += a < webFrom ? compliance[a - 1]! : gives[a - webFrom]!;
  if (web.offset.length < gives.length) web.offset = new Float64Array(gives.length);
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
  if (looked.m.length < n) looked = createLooked(2 * n);
  if (room.gradient.length < size) room = createRoom(2 * size);
  const at = looked;
  const { gradient, hessian, lies } = room;
  const m = at.now;
  at.yields.fill(0);
  // Deflections that the steel's plastic curvature makes as it is, less what they must be.
  lies.fill(0, 0, size);
  if (pushed) lies[0] = -control.push;
  for (let i = 0; i < n; i++) {
    if (bent[i] === 0) continue;
    const over = width[i]! * bent[i]!;
    for (let a = first; a < size; a++) lies[a]! += over * shapes[i * size + a]!;
  }
  const moments = (forces: Float64Array): void => {
    let i = 0;
    // Four cells at once: each of their sums waits for its own last addition only.
    for (; i + 3 < n; i += 4) {
      let [sum0, sum1, sum2, sum3] = [0, 0, 0, 0];
      const [s0, s1, s2, s3] = [i * size, (i + 1) * size, (i + 2) * size, (i + 3) * size];
      for (let a = 0; a < size; a++) {
        const force = forces[a]!;
        sum0 += force * shapes[s0 + a]!;
        sum1 += force * shapes[s1 + a]!;
        sum2 += force * shapes[s2 + a]!;
        sum3 += force * shapes[s3 + a]!;
      }
      m[i] = sum0;
      m[i + 1] = sum1;
      m[i + 2] = sum2;
      m[i + 3] = sum3;
    }
    for (; i < n; i++) {
      let sum = 0;
      for (let a = 0; a < size; a++) sum += forces[a]! * shapes[i * size + a]!;
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
    let yielding = 0;
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
      at.base[yielding] = i * size;
      at.over[yielding] = w * (loaded.k - moment - bent[i]!);
      at.softer[yielding] = w * (loaded.slope - 1);
      yielding++;
    }
    // Cell by cell within each entry, four entries at once: written back after every cell, this was half of a fit over several spans.
    const { base, over, softer, left } = at;
    for (let a = first; a < size; a++) {
      let slope = gradient[a]!;
      for (let j = 0; j < yielding; j++) {
        const shape = shapes[base[j]! + a]!;
        slope += over[j]! * shape;
        left[j] = softer[j]! * shape;
      }
      gradient[a] = slope;
      const row = a * size;
      let b = first;
      for (; b + 3 <= a; b += 4) {
        let h0 = hessian[row + b]!;
        let h1 = hessian[row + b + 1]!;
        let h2 = hessian[row + b + 2]!;
        let h3 = hessian[row + b + 3]!;
        for (let j = 0; j < yielding; j++) {
          const times = left[j]!;
          const s = base[j]! + b;
          h0 += times * shapes[s]!;
          h1 += times * shapes[s + 1]!;
          h2 += times * shapes[s + 2]!;
          h3 += times * shapes[s + 3]!;
        }
        hessian[row + b] = h0;
        hessian[row + b + 1] = h1;
        hessian[row + b + 2] = h2;
        hessian[row + b + 3] = h3;
      }
      for (; b <= a; b++) {
        let h = hessian[row + b]!;
        for (let j = 0; j < yielding; j++) h += left[j]! * shapes[base[j]! + b]!;
        hessian[row + b] = h;
      }
    }
  };
  let z = start.slice();
  if (!pushed) z[0] = control.force;
  if (first === size) moments(z);
  else evaluate(z);
  for (let pass = 0; pass < 40 && first < size; pass++) {
    const move = descend(room, size, first);
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

/** Newton's step −H⁻¹g by Cholesky; H lower, rows and columns from `first`, overwritten by its factor. */
function descend({ hessian: l, gradient: g, step: x }: Room, size: number, first: number): Float64Array {
  for (let a = first; a < size; a++) {
    const row = a * size;
    for (let b = first; b < a; b++) {
      const value = l[row + b]! / l[b * size + b]!;
      l[row + b] = value;
      // Taken off all that is left of the row at once, so that no sum waits for itself.
      for (let c = b + 1; c <= a; c++) l[row + c]! -= value * (c === a ? value : l[c * size + b]!);
    }
    l[row + a] = Math.sqrt(Math.max(l[row + a]!, 1e-300));
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
