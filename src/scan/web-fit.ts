import { type Cholesky, cholesky } from '../maths/cholesky.ts';
import { median } from '../maths/median.ts';
import { Qr } from '../maths/qr.ts';

/**
 * What the points of one slice, seen from one place, say of the web: sums for least squares, and no shape yet. Sums, because slices
 * side by side are put together many times over; Legendre polynomials, because sums of those may be solved: over the least
 * share of a height that is read (SPANNED) their condition is some 10⁷, and what QR gives differs by less than 10⁻⁸ m at the end
 * that is not seen (`tests/maths/cholesky.test.ts`).
 */

/** Steps of height in which the web is looked for before it is fitted. */
const BINS = 16;
/** Cells the points of a step are counted in across the web, m, and candidates kept of them. */
const CELL = 0.006;
const CANDIDATES = 4;
/** Steps of height in which it is looked at what a fit leaves. */
const LAYERS = 32;
/** The web leans no more than this between two steps, rad. */
const STEEPEST = 0.6;
/** Share of the steps the web must be seen in, and of the band they must span. */
const SEEN = 0.45;
const SPANNED = 0.68;
const LEAST_POINTS = 24;
/**
 * The web's slope along the member within a slice is told by the slice's columns of points, but hardly by one alone: held
 * as if every point had this to say for no slope, m along the member (a slice's own points spread by less).
 */
const LEVEL = 0.02;
const BIWEIGHT = 4.685;
/** Of normal scatter these weights leave 0.828 of the variance (its moments up to the sixth): the root of its inverse. */
const SPREAD = 1.099;
/** A web is a cubic over its height, a strip of plate bent at its ends, and what polynomials up to the seventh order add. */
export const CUBIC = 4;
export const TERMS = 8;
/** The last column is the slope along the member. */
export const COLUMNS = TERMS + 1;
/** In a slice by itself they add no more than about this, m. */
const LOOSE = 0.02;
/** Points that scatter by more than this, m, are of both faces. */
const ONE_FACE = 0.0035;
/** Where something hides the web's end, spots that lie on both reach so far along the web, m. */
const HALF_HIDDEN = 0.012;
/** It is hidden where it is seen no nearer to the end of what was searched, m. */
const HIDDEN = 0.02;

/** Where a web stands on its flange, in the axes of the web's line: m toward and across. */
export interface WebFoot {
  readonly at: number;
  readonly toward: number;
  readonly across: number;
  readonly u: number;
}

/** Heights of a web, m across: what was searched, and the stretch polynomials run over, -1 to 1. */
export interface WebRange {
  readonly band: readonly [number, number];
  readonly middle: number;
  readonly half: number;
}

export interface WebPoints {
  readonly along: Float32Array;
  readonly toward: Float32Array;
  readonly across: Float32Array;
}

/** Sums of one slice, in units of the points' scatter: `gram` (rows of COLUMNS) times the coefficients is `right`. */
export interface WebSums {
  readonly at: number;
  readonly gram: Float64Array;
  readonly right: Float64Array;
  /** Of a point, m. */
  readonly scatter: number;
  readonly used: number;
  /** Lowest and highest point, m across, but for a few. */
  readonly seen: readonly [number, number];
  /** What the slice's own fit leaves, by steps of height: sums of the residuals, m, and of their weights. */
  readonly left: Float64Array;
  readonly weights: Float64Array;
}

/** Of both faces in one, no place tells which is which, or where it stands on its flange. */
export const hasBothFaces = ({ scatter }: WebSums): boolean => scatter > ONE_FACE;

/** By how much less a polynomial is expected to add, the higher its order: as of a curve whose slope may break. */
export const wane = (k: number): number => (CUBIC / k) ** 2;

/** Legendre polynomials from the first on, by their recurrence (Abramowitz and Stegun 22.7.10). */
export function legendre(t: number, terms: number): number[] {
  const out = [1, t];
  for (let n = 1; n + 1 < terms; n++) out.push(((2 * n + 1) * t * out[n]! - n * out[n - 1]!) / (n + 1));
  return out;
}

/** The web in one slice by Tukey's biweight (4.685; Beaton and Tukey 1974) from the likeliest run of cells; null where it is not told. */
export function fitWeb(points: WebPoints, at: number, range: WebRange, foot: WebFoot | null): WebSums | null {
  if (points.toward.length < LEAST_POINTS) return null;
  const run = likeliestRun(points, range, foot);
  if (run === null) return null;
  const { clear, seen } = withoutHalfHidden(points, range.band, run);
  const n = clear.toward.length;
  if (n < LEAST_POINTS) return null;
  const columns = columnsOf(clear, range);
  const [gram, right] = [new Float64Array(COLUMNS * COLUMNS), new Float64Array(COLUMNS)];
  const [weight, residual, weighed] = [new Float64Array(n), new Float64Array(n), new Float64Array(n)];
  const start = cubicThrough(run, range);
  let c: ArrayLike<number> = Array.from({ length: COLUMNS }, (_, k) => start[k] ?? 0);
  let scatter = 0.005;
  for (let pass = 0; pass < 12; pass++) {
    residual.set(clear.toward);
    columns.forEach((column, k) => {
      const ck = c[k]!;
      for (let i = 0; i < n; i++) residual[i]! -= ck * column[i]!;
    });
    let [used, all, squares] = [0, 0, 0];
    weight.fill(0);
    for (let i = 0; i < n; i++) {
      const z = residual[i]! / (BIWEIGHT * scatter);
      if (z >= 1 || z <= -1) continue;
      const w = (1 - z * z) * (1 - z * z);
      weight[i] = w;
      all += w;
      squares += w * residual[i]! * residual[i]!;
      used++;
    }
    if (used < LEAST_POINTS) return null;
    sumUp(columns, clear.toward, weight, weighed, gram, right);
    // A single column of a scan, of which a slice may have no other, lies in a plane of its own whatever the web does, noise
    // and all, so its own scatter must not weigh against what holds the slope along the member.
    gram[COLUMNS * COLUMNS - 1]! += LEVEL * LEVEL * n;
    const held = gram.slice();
    for (let k = CUBIC; k < TERMS; k++) held[k * COLUMNS + k]! += (scatter / (LOOSE * wane(k))) ** 2;
    const factor: Cholesky | null = cholesky(held, COLUMNS);
    if (factor === null) return null;
    const next = factor.solve(right);
    const moved = Math.hypot(...next.map((v, k) => v - c[k]!));
    c = next;
    const spread = Math.min(0.005, Math.max(1e-5, SPREAD * Math.sqrt(squares / all)));
    const settled = Math.abs(spread - scatter) < 2e-3 * scatter && moved < 1e-5;
    scatter = spread;
    if (pass === 11 || settled) {
      const unit = 1 / (scatter * scatter);
      return {
        at,
        gram: gram.map((v) => v * unit),
        right: right.map((v) => v * unit),
        scatter,
        used,
        seen,
        ...leftBy(clear.across, residual, weight, range.band),
      };
    }
  }
  return null;
}

function leftBy(
  across: Float32Array,
  residual: Float64Array,
  weight: Float64Array,
  [low, high]: readonly [number, number],
): Pick<WebSums, 'left' | 'weights'> {
  const [left, weights] = [new Float64Array(LAYERS), new Float64Array(LAYERS)];
  for (let i = 0; i < across.length; i++) {
    const layer = Math.min(LAYERS - 1, Math.max(0, Math.floor(((across[i]! - low) / (high - low)) * LAYERS)));
    left[layer]! += weight[i]! * residual[i]!;
    weights[layer]! += weight[i]!;
  }
  return { left, weights };
}

/** Sums of the weighed products of all columns with each other, and with what is fitted. */
function sumUp(
  columns: readonly Float64Array[],
  values: Float32Array,
  weight: Float64Array,
  weighed: Float64Array,
  gram: Float64Array,
  right: Float64Array,
): void {
  const n = values.length;
  for (let a = 0; a < COLUMNS; a++) {
    const column = columns[a]!;
    let sum = 0;
    for (let i = 0; i < n; i++) {
      const v = weight[i]! * column[i]!;
      weighed[i] = v;
      sum += v * values[i]!;
    }
    right[a] = sum;
    for (let b = 0; b <= a; b++) {
      const other = columns[b]!;
      let product = 0;
      for (let i = 0; i < n; i++) product += weighed[i]! * other[i]!;
      gram[a * COLUMNS + b] = product;
      gram[b * COLUMNS + a] = product;
    }
  }
}

/** The polynomials at every point, a column each, and how far along it lies. */
function columnsOf({ across, along }: WebPoints, { middle, half }: WebRange): Float64Array[] {
  const columns = Array.from({ length: TERMS }, () => new Float64Array(across.length));
  for (let i = 0; i < across.length; i++) {
    const t = (across[i]! - middle) / half;
    let [last, now] = [1, t];
    columns[0]![i] = 1;
    columns[1]![i] = t;
    for (let n = 1; n + 1 < TERMS; n++) {
      const next = ((2 * n + 1) * t * now - n * last) / (n + 1);
      columns[n + 1]![i] = next;
      last = now;
      now = next;
    }
  }
  columns.push(new Float64Array(along));
  return columns;
}

/**
 * What lies clear of the ends where the web is hidden: there a spot lies half on what hides it and is measured up to some
 * tenths of a millimetre nearer, of which an end that is not seen makes more.
 */
function withoutHalfHidden(
  points: WebPoints,
  [low, high]: readonly [number, number],
  run: readonly { readonly height: number; readonly y: number }[],
): { readonly clear: WebPoints; readonly seen: readonly [number, number] } {
  const { along, toward, across } = points;
  const heights: number[] = [];
  let k = 1;
  across.forEach((v, i) => {
    while (k + 1 < run.length && v > run[k]!.height) k++;
    while (k > 1 && v < run[k - 1]!.height) k--;
    const [p, q] = [run[k - 1]!, run[k]!];
    const on = p.y + ((v - p.height) / (q.height - p.height)) * (q.y - p.y);
    if (Math.abs(toward[i]! - on) < 2 * CELL) heights.push(v);
  });
  if (heights.length < LEAST_POINTS) return { clear: points, seen: [low, high] };
  heights.sort((a, b) => a - b);
  // A few strays may lie in line with the web where nothing of it is seen.
  const few = Math.floor(heights.length / 50);
  const [lowest, highest] = [heights[few]!, heights.at(-1 - few)!];
  const from = lowest > low + HIDDEN ? lowest + HALF_HIDDEN : low;
  const to = highest < high - HIDDEN ? highest - HALF_HIDDEN : high;
  const seen = [Math.max(from, lowest), Math.min(to, highest)] as const;
  if (from === low && to === high) return { clear: points, seen };
  const kept: number[] = [];
  across.forEach((v, i) => {
    if (v >= from && v <= to) kept.push(i);
  });
  const only = (column: Float32Array) => Float32Array.from(kept, (i) => column[i]!);
  return { clear: { along: only(along), toward: only(toward), across: only(across) }, seen };
}

function cubicThrough(
  run: readonly { readonly height: number; readonly y: number }[],
  { middle, half }: WebRange,
): number[] {
  const qr = new Qr(run.length);
  const rows = run.map(({ height }) => legendre((height - middle) / half, CUBIC));
  for (let k = 0; k < CUBIC; k++) qr.push(Float64Array.from(rows, (row) => row[k]!));
  return [...qr.solve(qr.apply(Float64Array.from(run, ({ y }) => y)))];
}

/** The run of cells up the web with most points and no jumps (dynamic programming), from its lower end on, m. */
function likeliestRun(
  { toward, across }: WebPoints,
  { band: [low, high] }: WebRange,
  foot: WebFoot | null,
): { height: number; y: number }[] | null {
  const [middle, half] = [(high + low) / 2, (high - low) / 2];
  const counts = Array.from({ length: BINS }, () => new Map<number, number>());
  toward.forEach((v, i) => {
    const bin = Math.floor((((across[i]! - middle) / half + 1) / 2) * BINS);
    if (bin < 0 || bin >= BINS) return;
    const cell = Math.round(v / CELL);
    counts[bin]!.set(cell, (counts[bin]!.get(cell) ?? 0) + 1);
  });
  // A face that lies over two cells counts with both.
  const candidates = counts.map((cells) =>
    [...cells.keys()]
      .map((cell) => ({
        cell,
        n: cells.get(cell)! + Math.max(cells.get(cell - 1) ?? 0, cells.get(cell + 1) ?? 0),
      }))
      .filter(({ n }) => n >= 3)
      .sort((a, b) => b.n - a.n)
      .slice(0, CANDIDATES),
  );
  const tops = candidates.flatMap((list) => (list[0] === undefined ? [] : [list[0].n]));
  // Below a foot in the band there is no web.
  const room = foot === null ? 1 : Math.min(1, (half + Math.abs(foot.across - middle)) / (2 * half));
  if (tops.length < SEEN * BINS * room) return null;
  const usual = median(tops);
  const height = (2 * half) / BINS;
  interface Node {
    readonly bin: number;
    readonly y: number;
    readonly worth: number;
    readonly before: Node | null;
  }
  const nodes: Node[] = [];
  let best: Node | null = null;
  candidates.forEach((list, bin) => {
    for (const { cell, n } of list) {
      const y = cell * CELL;
      const own = Math.min(1, n / usual);
      let node: Node = { bin, y, worth: own, before: null };
      for (const from of nodes) {
        const gap = bin - from.bin;
        if (gap < 1 || gap > 4) continue;
        const lean = (y - from.y) / (gap * height);
        if (Math.abs(lean) > STEEPEST) continue;
        const worth = from.worth + own - 0.3 * (gap - 1) - 0.3 * (lean / STEEPEST) ** 2;
        if (worth > node.worth) node = { bin, y, worth, before: from };
      }
      nodes.push(node);
      if (best === null || node.worth > best.worth) best = node;
    }
  });
  const run: Node[] = [];
  for (let node: Node | null = best; node !== null; node = (node as Node).before) run.push(node);
  if (run.length < SEEN * BINS * room || run[0]!.bin - run.at(-1)!.bin + 1 < SPANNED * BINS * room)
    return null;
  return run.reverse().map(({ bin, y }) => ({ height: low + (bin + 0.5) * height, y }));
}
