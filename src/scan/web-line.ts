import { median, medianOrNaN } from '../maths/median.ts';
import { Qr } from '../maths/qr.ts';
import { partOf, STRIPS } from './file-parts.ts';
import type { ScanLine } from './line-frame.ts';
import { keepContinuous, type SliceEstimate, type SliceRejections } from './line-slices.ts';
import { placesOf } from './places.ts';
import type { Slice, SliceSet } from './slices.ts';

/**
 * How far a web is out of plumb over its depth. A struck web is not flat: it leaves the turned flange square to it and
 * meets the other one upright, as a strip of plate bent at its ends only does, which is a cubic over its height (beam
 * theory: no load between the ends). The cubic is fitted to each slice, and the reading is the difference of its ends, at
 * half the extent above and below the middle of the band. Places a scanner stood at see one face of a web each: each
 * place's points are fitted by themselves, so that two faces never make one slope.
 */

/** Steps of height in which the web is looked for before it is fitted. */
const BINS = 16;
/** Cells the points of a step are counted in across the web, m, and candidates kept of them. */
const CELL = 0.006;
const CANDIDATES = 4;
/** The web leans no more than this between two steps, rad. */
const STEEPEST = 0.6;
/** Share of the steps the web must be seen in, and of the band they must span. */
const SEEN = 0.5;
const SPANNED = 0.75;
const LEAST_POINTS = 24;
/** The web's slope along the member within a slice, sd, rad. */
const ALONG = 0.05;
const BIWEIGHT = 4.685;
/** Bends are alike within this along the member, m. */
const ALIKE = 0.4;
/** The ends lie beyond what is seen: this share of what the bend adds to the reading is doubted. */
const BEND_DOUBT = 0.25;

interface Fit {
  readonly at: number;
  /** Coefficients of the Legendre polynomials over the band's height (1, P1, P2, P3), m, and their sd. */
  readonly c: ArrayLike<number>;
  readonly u: readonly number[];
  /** How the first coefficient goes with the third: covariance over the third's variance. */
  readonly goes: number;
  readonly scatter: number;
  readonly used: number;
  readonly off: number;
}

/** @param points of the whole file, for telling the places it was scanned from */
export function plumbEstimates(line: ScanLine, set: SliceSet, points: number) {
  const rejected: SliceRejections = { offLevel: 0, offSteel: 0, noSteel: 0, jumps: 0 };
  const [low, high] = line.band;
  const half = (high - low) / 2;
  const middle = (high + low) / 2;
  const place = placesOf(looksOf(set.slices, points, low, high), set.slices);
  const groups = place === null ? 1 : Math.max(1, Math.max(...place) + 1);
  const fits = Array.from({ length: groups }, (_, g) =>
    set.slices.map((slice) => {
      const mine = pick(slice, points, (part) => place === null || place[part] === g);
      return fitWeb(mine, slice.centre, middle, half);
    }),
  );
  // Ends of the web, in units of half the band: P1 and P3 there.
  const end = line.extent / 2 / half;
  const [p1, p3] = [end, (5 * end ** 3 - 3 * end) / 2];
  const bends = fits.map((list) => smoothBends(list));
  // The slices of a station share the bend: their mean knows it no better.
  const shared = Math.sqrt(Math.max(1, line.slice / set.thickness));
  const estimates: SliceEstimate[] = [];
  const outliers: number[] = [];
  const scatters: number[] = [];
  set.slices.forEach((slice, i) => {
    const looks = fits.flatMap((list, g) => {
      const fit = list[i]!;
      const bend = bends[g]![i]!;
      if (fit === null || bend === null) return [];
      const straight = 2 * p1 * bend.first;
      const value = straight + 2 * p3 * bend.third;
      const u = Math.hypot(
        2 * p1 * bend.firstU,
        2 * p3 * bend.thirdU * shared,
        BEND_DOUBT * (value - straight),
      );
      return [{ value, u, fit }];
    });
    if (looks.length === 0) {
      rejected.noSteel += slice.count;
      return;
    }
    const weights = looks.map(({ u }) => 1 / u ** 2);
    const all = weights.reduce((sum, w) => sum + w, 0);
    const value = looks.reduce((sum, each, k) => sum + weights[k]! * each.value, 0) / all;
    const misfit = looks.reduce((sum, each, k) => sum + weights[k]! * (each.value - value) ** 2, 0);
    const u = Math.sqrt(Math.max(1, looks.length > 1 ? misfit / (looks.length - 1) : 1) / all);
    const used = looks.reduce((sum, each) => sum + each.fit.used, 0);
    for (const { fit } of looks) scatters.push(fit.scatter);
    outliers.push(slice.count - used);
    estimates.push({
      at: slice.centre,
      value,
      u,
      slope: value / line.extent,
      slopeU: u / line.extent,
      used,
    });
  });
  return {
    ...keepContinuous(estimates, outliers, rejected, set.thickness),
    scatter: medianOrNaN(scatters),
  };
}

/** Which strips of height each part of the file sees in each slice. */
function looksOf(slices: readonly Slice[], points: number, low: number, high: number) {
  return slices.map((slice) => {
    const parts = new Map<number, { mask: number; n: number }>();
    for (let p = 0; p < slice.count; p++) {
      const part = partOf(slice.order[p]!, points);
      const look = parts.get(part) ?? { mask: 0, n: 0 };
      look.mask |= 1 << Math.min(STRIPS - 1, Math.floor(((slice.across[p]! - low) / (high - low)) * STRIPS));
      look.n++;
      parts.set(part, look);
    }
    return { at: slice.centre, parts: [...parts].map(([part, look]) => ({ part, ...look })) };
  });
}

interface Points {
  readonly along: number[];
  readonly toward: number[];
  readonly across: number[];
}

function pick(slice: Slice, points: number, wanted: (part: number) => boolean): Points {
  const out: Points = { along: [], toward: [], across: [] };
  for (let p = 0; p < slice.count; p++) {
    if (!wanted(partOf(slice.order[p]!, points))) continue;
    out.along.push(slice.along[p]!);
    out.toward.push(slice.toward[p]!);
    out.across.push(slice.across[p]!);
  }
  return out;
}

const legendre = (t: number): readonly [number, number, number, number] => [
  1,
  t,
  (3 * t * t - 1) / 2,
  (5 * t ** 3 - 3 * t) / 2,
];

/** The web in one slice by Tukey's biweight (4.685; Beaton and Tukey 1974) from the likeliest run of cells; null where it is not told. */
function fitWeb(points: Points, at: number, middle: number, half: number): Fit | null {
  const n = points.toward.length;
  if (n < LEAST_POINTS) return null;
  const start = likeliestRun(points, middle, half);
  if (start === null) return null;
  const basis = points.across.map((h) => legendre((h - middle) / half));
  const columns = [0, 1, 2, 3].map((k) => Float64Array.from(basis, (row) => row[k]!));
  columns.push(Float64Array.from(points.along));
  const value = Float64Array.from(points.toward);
  let c: ArrayLike<number> = [...start, 0];
  let scatter = 0.005;
  let fit: Fit | null = null;
  for (let pass = 0; pass < 12; pass++) {
    const root = new Float64Array(n);
    let [used, weight, squares] = [0, 0, 0];
    const residual = value.map((v, i) => {
      let r = v;
      for (let k = 0; k < 5; k++) r -= c[k]! * columns[k]![i]!;
      return r;
    });
    for (let i = 0; i < n; i++) {
      const z = residual[i]! / (BIWEIGHT * scatter);
      if (Math.abs(z) >= 1) continue;
      root[i] = 1 - z * z;
      const w = root[i]! ** 2;
      weight += w;
      squares += w * residual[i]! ** 2;
      used++;
    }
    if (used < LEAST_POINTS) return null;
    // One row more holds the slope along the member: a single column of a scan, of which a slice may have no other, lies in a
    // plane of its own whatever the web does.
    const hold = scatter / ALONG;
    const weighed = (v: Float64Array, last: number) =>
      Float64Array.from([...v.map((each, i) => each * root[i]!), last]);
    const qr = new Qr(n + 1);
    columns.forEach((column, k) => {
      qr.push(weighed(column, k === 4 ? hold : 0));
    });
    const step = qr.solve(qr.apply(weighed(residual, -c[4]! * hold)));
    c = Float64Array.from(step, (d, k) => c[k]! + d);
    const next = Math.min(0.005, Math.max(1e-5, 1.15 * Math.sqrt(squares / weight)));
    const settled = Math.abs(next - scatter) < 1e-3 * scatter && Math.hypot(...step) < 1e-6;
    scatter = next;
    if (pass === 11 || settled) {
      const covariance = qr.unscaledCovariance();
      const u = covariance.map((row, k) => scatter * Math.sqrt(Math.max(0, row[k]!)));
      fit = { at, c, u, goes: covariance[1]![3]! / covariance[3]![3]!, scatter, used, off: n - used };
      break;
    }
  }
  return fit;
}

/** The run of cells up the web with most points and no jumps (dynamic programming), as coefficients of a cubic. */
function likeliestRun({ toward, across }: Points, middle: number, half: number): number[] | null {
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
  if (tops.length < SEEN * BINS) return null;
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
  if (run.length < SEEN * BINS || run[0]!.bin - run.at(-1)!.bin + 1 < SPANNED * BINS) return null;
  const qr = new Qr(run.length);
  const t = run.map(({ bin }) => (2 * (bin + 0.5)) / BINS - 1);
  for (const k of [0, 1, 2, 3] as const) qr.push(Float64Array.from(t, (v) => legendre(v)[k]));
  return [...qr.solve(qr.apply(Float64Array.from(run, ({ y }) => y)))];
}

/** Third coefficients along the member, each from those around it, and the first with the third held there. */
function smoothBends(fits: readonly (Fit | null)[]) {
  return fits.map((fit) => {
    if (fit === null) return null;
    const near = fits.filter((each) => each !== null && Math.abs(each.at - fit.at) <= ALIKE) as Fit[];
    const weights = near.map((each) => 1 / each.u[3]! ** 2);
    const all = weights.reduce((sum, w) => sum + w, 0);
    const mean = near.reduce((sum, each, k) => sum + weights[k]! * each.c[3]!, 0) / all;
    const spread = Math.sqrt(
      near.reduce((sum, each, k) => sum + weights[k]! * (each.c[3]! - mean) ** 2, 0) /
        Math.max(1, near.length - 1),
    );
    const u = Math.max(1, spread) / Math.sqrt(all);
    return {
      third: mean,
      thirdU: u,
      // The first with the third held there (conditional mean and variance).
      first: fit.c[1]! + fit.goes * (mean - fit.c[3]!),
      firstU: Math.sqrt(Math.max(0, fit.u[1]! ** 2 - (fit.goes * fit.u[3]!) ** 2)),
    };
  });
}
