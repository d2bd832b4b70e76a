import { normalCdf } from '../maths/distributions.ts';
import { exp, log } from '../maths/portable.ts';

/**
 * Where a strip of steel ends, from the density of scan points along the direction of measurement.
 *
 * A plain extreme (the outermost point) is wrong twice: noise pushes it out by several standard deviations,
 * and mixed pixels, beams that strike partly the edge and partly what lies behind, trail off beyond it.
 * So the density near the edge is modelled as a mixture, all blurred by one normal scatter:
 *   face        uniform, up to the edge (the flange surface seen on the slant)
 *   edge face   all at the edge (the thickness of the plate, seen square on)
 *   trail       exponential, from the edge outward (mixed pixels)
 *   background  uniform over the window (growth, dust, far objects)
 * and the edge is where the likelihood is largest; its standard uncertainty is the spread of the
 * likelihood with a flat prior. Mixture weights by expectation-maximisation (Dempster, Laird and Rubin 1977).
 */
export interface EdgeFit {
  /** Edge relative to the middle of the window, m, and its standard uncertainty. */
  readonly edge: number;
  readonly u: number;
  /** Log-likelihood gained over a window without an edge. */
  readonly gain: number;
  readonly logLikelihood: number;
  /** Share of the points in the window by part. */
  readonly weights: { face: number; edgeFace: number; trail: number; background: number };
  /** Points in the window. */
  readonly count: number;
}

/** Bin and step of the search, m. */
const BIN = 0.0005;
const INSIDE = 0.04;
const OUTSIDE = 0.03;
const SEARCH = 0.015;
/** Length over which the trail of mixed pixels falls by a factor e, m. */
const TRAIL = 0.008;
const BINS = Math.round((INSIDE + OUTSIDE) / BIN);
const STEPS = Math.round((2 * SEARCH) / BIN) + 1;
const ITERATIONS = 5;
/** Weights that change less than this in an iteration are left at that: worth some 0.01 in log-likelihood. */
const SETTLED = 0.002;
const COARSE = 4;
/** Weight of the prior, in points: keeps an unused part from collapsing to exactly nothing. */
const PRIOR = 0.25;

/** Window around a predicted edge that `fitEdge` uses: from `inside` behind to `outside` beyond, m. */
export const EDGE_WINDOW = { inside: INSIDE, outside: OUTSIDE, search: SEARCH };

/** Densities of the four parts for every distance from bin to edge, tabulated once for one scatter. */
export interface EdgeTables {
  readonly scatter: number;
  readonly face: Float64Array;
  readonly edgeFace: Float64Array;
  readonly trail: Float64Array;
}

/** @param scatter standard deviation of the points about the steel in the direction measured, m */
export function edgeTables(scatter: number): EdgeTables {
  const size = BINS + STEPS;
  const face = new Float64Array(size);
  const edgeFace = new Float64Array(size);
  const trail = new Float64Array(size);
  for (let i = 0; i < size; i++) {
    // Distance from the edge to the middle of a bin: bin index minus step index, shifted to be positive.
    const d = -INSIDE + (i - (STEPS - 1)) * BIN + BIN / 2 + SEARCH;
    face[i] = normalCdf(-d / scatter);
    edgeFace[i] = exp((-d * d) / (2 * scatter * scatter)) / (scatter * Math.sqrt(2 * Math.PI));
    const r = scatter / TRAIL;
    trail[i] = (exp(Math.min(50, (r * r) / 2 - d / TRAIL)) / TRAIL) * normalCdf(d / scatter - r);
  }
  return { scatter, face, edgeFace, trail };
}

/**
 * Fits the edge in one slice.
 * @param fine false: a look every 2 mm only, for a first pass (the edge is then known to about a millimetre)
 * @param toward positions in the direction in which the steel ends, relative to the predicted edge, m
 * @param count how many of them
 */
export function fitEdge(
  toward: ArrayLike<number>,
  count: number,
  tables: EdgeTables,
  fine: boolean,
): EdgeFit | null {
  const search = beginSearch(toward, count, tables);
  if (search.total < 12) return null;
  // A look every 2 mm; weights carry over from step to step. Then every step within 4 mm of the best. Where the
  // prediction is good already, the fine look comes first and is enough unless its best lies at its rim.
  const settled = fine && fineLook(search, (STEPS - 1) / 2);
  if (!settled) {
    lookAt(search, 0, STEPS - 1, COARSE);
    if (fine) {
      search.w.set(search.weights.subarray(4 * search.best, 4 * search.best + 4));
      fineLook(search, search.best);
    }
  }
  const { logs, best, total } = search;
  if (best === 0 || best === STEPS - 1) return null;

  let [edge, u] = meanAndSpread(logs, best);
  if (!fine) u = Math.max(u, COARSE * BIN * 0.5);
  else if (u < 1.2 * BIN) {
    // Sharper than the grid can integrate: vertex and curvature of the parabola through the three best steps.
    const bend = logs[best - 1]! - 2 * logs[best]! + logs[best + 1]!;
    edge = -SEARCH + (best - (0.5 * (logs[best + 1]! - logs[best - 1]!)) / bend) * BIN;
    u = Math.max(BIN / 50, BIN / Math.sqrt(-bend));
  }
  const w = search.weights;
  return {
    edge,
    u,
    gain: logs[best]! - total * Math.log(FLAT),
    logLikelihood: logs[best]!,
    weights: {
      face: w[4 * best]!,
      edgeFace: w[4 * best + 1]!,
      trail: w[4 * best + 2]!,
      background: w[4 * best + 3]!,
    },
    count: total,
  };
}

/** Density of the background, per m. */
const FLAT = 1 / (INSIDE + OUTSIDE);

/** What one slice's search for its edge works on: typed arrays only, because its loops are the work of a scan line. */
interface Search {
  readonly tables: EdgeTables;
  /** Points in the window. */
  readonly total: number;
  /** Bins with points in them, and how many; `filled` of them. */
  readonly bins: Int32Array;
  readonly counts: Int32Array;
  readonly filled: number;
  /** Weights of the four parts; replaced by every `weigh`. */
  readonly w: Float64Array;
  /** For every step tried: log-likelihood, and the weights of the four parts there. */
  readonly logs: Float64Array;
  readonly weights: Float64Array;
  /** The likeliest step so far. */
  best: number;
}

function beginSearch(toward: ArrayLike<number>, count: number, tables: EdgeTables): Search {
  const histogram = new Int32Array(BINS);
  let total = 0;
  for (let i = 0; i < count; i++) {
    const bin = Math.floor((toward[i]! + INSIDE) / BIN);
    if (bin < 0 || bin >= BINS) continue;
    histogram[bin]!++;
    total++;
  }
  const bins = new Int32Array(BINS);
  const counts = new Int32Array(BINS);
  let filled = 0;
  for (let j = 0; j < BINS; j++) {
    if (histogram[j] === 0) continue;
    bins[filled] = j;
    counts[filled++] = histogram[j]!;
  }
  const logs = new Float64Array(STEPS).fill(-Infinity);
  const weights = new Float64Array(STEPS * 4);
  return {
    tables,
    total,
    bins,
    counts,
    filled,
    w: Float64Array.of(0.5, 0.2, 0.1, 0.2),
    logs,
    weights,
    best: 0,
  };
}

/** Every step within 4 mm of `middle`; whether the best lies inside and not at the rim. */
function fineLook(search: Search, middle: number): boolean {
  const [from, to] = [Math.max(0, middle - 2 * COARSE), Math.min(STEPS - 1, middle + 2 * COARSE)];
  lookAt(search, from, to, 1);
  return search.best > from && search.best < to;
}

function lookAt(search: Search, from: number, to: number, by: number): void {
  const { logs, weights, w } = search;
  for (let k = from; k <= to; k += by) {
    weigh(search, k, k === from ? 20 : ITERATIONS);
    logs[k] = logLikelihood(search, k);
    weights.set(w, 4 * k);
    if (logs[k]! > logs[search.best]!) search.best = k;
  }
}

/** Expectation-maximisation of the weights of the four parts, for an edge at step `k`. */
function weigh(search: Search, k: number, iterations: number): void {
  const { bins, counts, filled, w } = search;
  const { face, edgeFace, trail } = search.tables;
  const shift = STEPS - 1 - k;
  const length = -SEARCH + k * BIN + INSIDE;
  let w0 = w[0]!;
  let w1 = w[1]!;
  let w2 = w[2]!;
  let w3 = w[3]!;
  for (let iteration = 0; iteration < iterations; iteration++) {
    const a = w0 / length;
    const flat = w3 * FLAT;
    let n0 = PRIOR;
    let n1 = PRIOR;
    let n2 = PRIOR;
    let n3 = PRIOR;
    for (let i = 0; i < filled; i++) {
      const at = bins[i]! + shift;
      const f0 = a * face[at]!;
      const f1 = w1 * edgeFace[at]!;
      const f2 = w2 * trail[at]!;
      const share = counts[i]! / (f0 + f1 + f2 + flat);
      n0 += share * f0;
      n1 += share * f1;
      n2 += share * f2;
      n3 += share * flat;
    }
    const all = 1 / (n0 + n1 + n2 + n3);
    const moved =
      Math.abs(n0 * all - w0) + Math.abs(n1 * all - w1) + Math.abs(n2 * all - w2) + Math.abs(n3 * all - w3);
    w0 = n0 * all;
    w1 = n1 * all;
    w2 = n2 * all;
    w3 = n3 * all;
    if (moved < SETTLED) break;
  }
  w[0] = w0;
  w[1] = w1;
  w[2] = w2;
  w[3] = w3;
}

/** Log-likelihood of the points for an edge at step `k` and the weights as they are. */
function logLikelihood(search: Search, k: number): number {
  const { bins, counts, filled, w } = search;
  const { face, edgeFace, trail } = search.tables;
  const shift = STEPS - 1 - k;
  const a = w[0]! / (-SEARCH + k * BIN + INSIDE);
  const w1 = w[1]!;
  const w2 = w[2]!;
  const flat = w[3]! * FLAT;
  let sum = 0;
  // Logarithms are most of the work: densities are multiplied up, and the logarithm is taken before the product
  // leaves the number range. A density is between 1e-4 and 1e4 a metre, so 32 of them stay within 1e-128 and 1e128.
  let product = 1;
  for (let i = 0; i < filled; i++) {
    const at = bins[i]! + shift;
    let square = a * face[at]! + w1 * edgeFace[at]! + w2 * trail[at]! + flat;
    if (counts[i]! > 32) {
      sum += counts[i]! * log(square);
      continue;
    }
    for (let n = counts[i]!; n > 0; n >>= 1) {
      if (n & 1) product *= square;
      square *= square;
    }
    if (product > 1e100 || product < 1e-100) {
      sum += log(product);
      product = 1;
    }
  }
  return sum + log(product);
}

/** Mean and standard deviation of the edge under the likelihood, with a flat prior over the steps tried, m. */
function meanAndSpread(logs: Float64Array, best: number): [number, number] {
  let mass = 0;
  let first = 0;
  let second = 0;
  for (let k = 0; k < STEPS; k++) {
    const below = logs[k]! - logs[best]!;
    if (below < -40) continue;
    const p = exp(below);
    const d = (k - best) * BIN;
    mass += p;
    first += p * d;
    second += p * d * d;
  }
  const mean = first / mass;
  return [-SEARCH + best * BIN + mean, Math.sqrt(Math.max(0, second / mass - mean * mean))];
}
