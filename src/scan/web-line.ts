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
/**
 * The web's slope along the member within a slice is told by the slice's columns of points, but hardly by one alone: held
 * as if every point had this to say for no slope, m along the member (a slice's own points spread by less).
 */
const LEVEL = 0.02;
const BIWEIGHT = 4.685;
/** Bends are alike within this along the member, m. */
const ALIKE = 0.4;
/** The ends lie beyond what is seen: this share of what the bend adds to the reading is doubted. */
const BEND_DOUBT = 0.25;
/** Of what the flange changes at the web's far end, and at its own, so much is doubted. Measured on clouds of webs bent along a line. */
const HEAD_DOUBT = 0.5;
const FOOT_DOUBT = 0.1;
/** Polynomials a web is fitted with where nothing holds its end, and where it stands on a flange that was followed. */
const TERMS = 4;
const TERMS_HELD = 6;
/** Points that scatter by more than this, m, are of both faces, and no flange tells where they stand together. */
const ONE_FACE = 0.0035;
/** From this order on it is a bend, which changes slowly along the member. */
const STRAIGHT = 3;
/** A web stands this far off the middle of its flange from place to place, sd, m: shop welding. Common practice, no source. */
const OFF_CENTRE = 0.0015;
/** Of the web so much at the flange is weld, m. */
const FILLET = 0.012;
/** A foot is not carried farther than this along the member, m. */
const FOOT_REACH = 0.3;

/** Where a web stands on its flange, in the axes of the web's line: m toward and across. */
export interface WebFoot {
  readonly at: number;
  readonly toward: number;
  readonly across: number;
  readonly u: number;
}

/** A web as fitted in one slice, for showing it: m toward at `heights`, one curve for each place it was seen from. */
export interface WebShape {
  readonly curves: readonly (readonly number[])[];
  /** Standard uncertainty of the reading from this slice, m; null where it gave none. */
  readonly u: number | null;
}

/** Steps a curve is shown in, over the band. */
const SHOWN = 16;

/** Heights at which the curves of a `WebShape` are given, m across, from the lower end of the band to the upper. */
function shownHeights([low, high]: readonly [number, number]): number[] {
  return Array.from({ length: SHOWN + 1 }, (_, k) => low + (k / SHOWN) * (high - low));
}

interface Fit {
  readonly at: number;
  readonly terms: number;
  /** Coefficients of the Legendre polynomials over the band's height, m, and their covariance. */
  readonly c: ArrayLike<number>;
  readonly covariance: readonly (readonly number[])[];
  readonly scatter: number;
  readonly used: number;
  readonly off: number;
}

/**
 * @param points of the whole file, for telling the places it was scanned from
 * @param feet where the web stands on its flange, in order along the line; none where no flange was followed
 */
export function plumbEstimates(line: ScanLine, set: SliceSet, points: number, feet: readonly WebFoot[] = []) {
  const rejected: SliceRejections = { offLevel: 0, offSteel: 0, noSteel: 0, jumps: 0 };
  const [low, high] = line.band;
  const half = (high - low) / 2;
  const middle = (high + low) / 2;
  const place = placesOf(looksOf(set.slices, points, low, high), set.slices);
  const groups = place === null ? 1 : Math.max(1, Math.max(...place) + 1);
  const stood = set.slices.map((slice) => footAt(feet, slice.centre));
  const webs = Array.from({ length: groups }, (_, g) => {
    const own = set.slices.map((slice, i) =>
      pick(slice, points, (part) => place === null || place[part] === g, stood[i]!),
    );
    const alone = own.map((mine, i) => fitWeb(mine, set.slices[i]!.centre, middle, half, null, stood[i]!));
    // The face this place sees stands off the middle of the flange alike all along: half the web, and a web off centre; evenly
    // more or less where the place is turned against the others, to whose mean the flange was joined. Told where the web is bent least, which is where its foot is told best.
    const offs = alone
      .flatMap((fit, i) => {
        const foot = stood[i]!;
        if (fit === null || foot === null) return [];
        const [low, high] = [offAt(fit, -1), offAt(fit, 1)];
        return [
          {
            at: foot.at,
            off: offAt(fit, (foot.across - middle) / half) - foot.toward,
            leans: Math.abs(high - low),
          },
        ];
      })
      .sort((p, q) => p.leans - q.leans);
    const off = steadyLine(offs.slice(0, (offs.length + 1) >> 1));
    const held = alone.map((fit, i) => {
      const foot = stood[i]!;
      if (fit === null || foot === null || fit.scatter > ONE_FACE) return fit;
      return fitWeb(own[i]!, fit.at, middle, half, { ...foot, toward: foot.toward + off(foot.at) }, foot);
    });
    return { alone, held, bends: smoothBends(held) };
  });
  // The slices of a station share the bend: their mean knows it no better.
  const shared = Math.sqrt(Math.max(1, line.slice / set.thickness));
  const estimates: SliceEstimate[] = [];
  const outliers: number[] = [];
  const scatters: number[] = [];
  const shapes = set.slices.map(
    (_, i): WebShape => ({
      curves: webs.flatMap(({ held }) => {
        const fit = held[i]!;
        return fit === null
          ? []
          : [shownHeights(line.band).map((height) => offAt(fit, (height - middle) / half))];
      }),
      u: null,
    }),
  );
  set.slices.forEach((slice, i) => {
    // The web's ends, in units of half the band; a flange that was lifted took its end of the web with it.
    const foot = stood[i]!;
    const ends = [-line.extent / (2 * half), line.extent / (2 * half)] as [number, number];
    const stands = foot === null ? 0 : (foot.across - middle) / half;
    if (stands < 0) ends[0] = Math.max(ends[0], stands);
    if (stands > 0) ends[1] = Math.min(ends[1], stands);
    const looks = webs.flatMap(({ alone, held, bends }) => {
      const fit = held[i]!;
      const bend = bends[i]!;
      if (fit === null || bend === null) return [];
      const { value, u, straight } = difference(fit, bend, ends, shared);
      if (fit.terms === alone[i]!.terms)
        return [{ value, u: Math.hypot(u, BEND_DOUBT * (value - straight)), fit }];
      // Held at the flange the web may still have another shape: what it would be if nothing held it says how much.
      const [foot0, head] = stands < 0 ? ends : [ends[1], ends[0]];
      const differs = (t: number) => Math.abs(offAt(fit, t) - offAt(alone[i]!, t));
      return [{ value, u: Math.hypot(u, HEAD_DOUBT * differs(head), FOOT_DOUBT * differs(foot0)), fit }];
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
    shapes[i] = { ...shapes[i]!, u };
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
    shapes,
  };
}

const offAt = ({ c, terms }: Fit, t: number): number =>
  legendre(t, terms).reduce((sum, v, k) => sum + v * c[k]!, 0);

/** The web's upper end less its lower one, with its bend held at what is usual around (conditional mean and variance). */
function difference(fit: Fit, bend: Bend, [t0, t1]: readonly [number, number], shared: number) {
  const lower = legendre(t0, fit.terms);
  const ask = legendre(t1, fit.terms).map((v, k) => v - lower[k]!);
  const { covariance, c } = fit;
  const toward = ask.map((_, k) => ask.reduce((sum, w, m) => sum + w * covariance[k]![m]!, 0));
  const own = ask.reduce((sum, w, k) => sum + w * toward[k]!, 0);
  const terms = bend.terms.map((_, k) => STRAIGHT + k);
  const qr = new Qr(terms.length);
  for (const k of terms) qr.push(Float64Array.from(terms, (m) => covariance[m]![k]!));
  const goes = qr.solve(qr.apply(Float64Array.from(terms, (k) => toward[k]!)));
  let [value, variance] = [ask.reduce((sum, w, k) => sum + w * c[k]!, 0), own];
  let straight = value;
  terms.forEach((k, n) => {
    const { value: usual, u } = bend.terms[n]!;
    value += goes[n]! * (usual - c[k]!);
    straight += (goes[n]! - ask[k]!) * (usual - c[k]!) - ask[k]! * c[k]!;
    variance += (goes[n]! * u * shared) ** 2 - goes[n]! * toward[k]!;
  });
  return { value, u: Math.sqrt(Math.max(0, variance)), straight };
}

/** Places at least this far apart, m, tell a slope, pair by pair. */
const TURN_TOLD = 4;
/** Of so many pairs at most the slope is taken: the middle one of them (Theil 1950, Sen 1968). */
const MOST_PAIRS = 4000;

/** Neighbouring values are off alike: as many of them count as one. */
const ALIKE_OFFS = 8;
/** A slope this many of its own sd from none is a turn. */
const TURNED = 3;

/**
 * The line through values along the member, by medians; level where they lie too close together to tell a slope, or where
 * the slope is no more than they scatter.
 */
function steadyLine(
  values: readonly { readonly at: number; readonly off: number }[],
): (at: number) => number {
  const slopes: number[] = [];
  const step = Math.max(1, Math.floor((values.length * values.length) / 2 / MOST_PAIRS));
  let pair = 0;
  for (let i = 0; i < values.length; i++)
    for (let k = 0; k < i; k++) {
      if (pair++ % step !== 0) continue;
      const run = values[i]!.at - values[k]!.at;
      if (Math.abs(run) >= TURN_TOLD) slopes.push((values[i]!.off - values[k]!.off) / run);
    }
  const told = medianOrNaN(slopes) || 0;
  const about = (slope: number) => medianOrNaN(values.map(({ at, off }) => off - slope * at)) || 0;
  const level = about(told);
  const scatter = 1.4826 * medianOrNaN(values.map(({ at, off }) => Math.abs(off - level - told * at)));
  const middle = values.reduce((sum, { at }) => sum + at, 0) / values.length;
  const spread = values.reduce((sum, { at }) => sum + (at - middle) ** 2, 0);
  if (!(Math.abs(told) * Math.sqrt(spread / ALIKE_OFFS) > TURNED * scatter)) {
    const flat = about(0);
    return () => flat;
  }
  return (at) => level + told * at;
}

/** The foot at a place from those on both sides; null where none is near. */
function footAt(feet: readonly WebFoot[], at: number): WebFoot | null {
  const next = feet.findIndex((each) => each.at >= at);
  const after = next < 0 ? feet.length - 1 : next;
  const [p, q] = [feet[Math.max(0, after - 1)], feet[after]];
  if (p === undefined || q === undefined) return null;
  if (Math.min(Math.abs(p.at - at), Math.abs(q.at - at)) > FOOT_REACH) return null;
  const t = q.at > p.at ? Math.max(0, Math.min(1, (at - p.at) / (q.at - p.at))) : 0;
  const mix = (of: (foot: WebFoot) => number) => (1 - t) * of(p) + t * of(q);
  return { at, toward: mix((f) => f.toward), across: mix((f) => f.across), u: mix((f) => f.u) };
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
  readonly along: Float32Array;
  readonly toward: Float32Array;
  readonly across: Float32Array;
}

function pick(slice: Slice, points: number, wanted: (part: number) => boolean, foot: WebFoot | null): Points {
  const column = () => new Float32Array(slice.count);
  const [along, toward, across] = [column(), column(), column()];
  let n = 0;
  for (let p = 0; p < slice.count; p++) {
    if (!wanted(partOf(slice.order[p]!, points))) continue;
    // At the flange and beyond it is no web.
    if (
      foot !== null &&
      Math.abs(slice.across[p]!) > Math.abs(foot.across) - FILLET &&
      slice.across[p]! * foot.across > 0
    )
      continue;
    along[n] = slice.along[p]!;
    toward[n] = slice.toward[p]!;
    across[n++] = slice.across[p]!;
  }
  return { along: along.slice(0, n), toward: toward.slice(0, n), across: across.slice(0, n) };
}

/** Legendre polynomials from the first on, by their recurrence (Abramowitz and Stegun 22.7.10). */
function legendre(t: number, terms: number): number[] {
  const out = [1, t];
  for (let n = 1; n + 1 < terms; n++) out.push(((2 * n + 1) * t * out[n]! - n * out[n - 1]!) / (n + 1));
  return out;
}

/** The same at many places, a column for each polynomial. */
function legendreColumns(across: Float32Array, middle: number, half: number, terms: number): Float64Array[] {
  const columns = Array.from({ length: terms }, () => new Float64Array(across.length));
  for (let i = 0; i < across.length; i++) {
    const t = (across[i]! - middle) / half;
    let [last, now] = [1, t];
    columns[0]![i] = 1;
    columns[1]![i] = t;
    for (let n = 1; n + 1 < terms; n++) {
      const next = ((2 * n + 1) * t * now - n * last) / (n + 1);
      columns[n + 1]![i] = next;
      last = now;
      now = next;
    }
  }
  return columns;
}

/** A column times the roots of the weights, with the two rows more that hold the fit. */
function weighed(column: Float64Array, root: Float64Array, level: number, foot: number): Float64Array {
  const n = column.length;
  const out = new Float64Array(n + 2);
  for (let i = 0; i < n; i++) out[i] = column[i]! * root[i]!;
  out[n] = level;
  out[n + 1] = foot;
  return out;
}

/** The web in one slice by Tukey's biweight (4.685; Beaton and Tukey 1974) from the likeliest run of cells; null where it is not told. */
function fitWeb(
  points: Points,
  at: number,
  middle: number,
  half: number,
  held: WebFoot | null,
  foot: WebFoot | null,
): Fit | null {
  const n = points.toward.length;
  if (n < LEAST_POINTS) return null;
  const start = likeliestRun(points, middle, half, foot);
  if (start === null) return null;
  const terms = held === null ? TERMS : TERMS_HELD;
  const columns = legendreColumns(points.across, middle, half, terms);
  columns.push(new Float64Array(points.along));
  // The foot is a row more: where the web stands on the flange.
  const stands = held === null ? [] : legendre((held.across - middle) / half, terms);
  let c: ArrayLike<number> = Array.from({ length: terms + 1 }, (_, k) => start[k] ?? 0);
  let scatter = 0.005;
  let fit: Fit | null = null;
  const [root, residual] = [new Float64Array(n), new Float64Array(n)];
  for (let pass = 0; pass < 12; pass++) {
    let [used, weight, squares] = [0, 0, 0];
    residual.set(points.toward);
    columns.forEach((column, k) => {
      const ck = c[k]!;
      for (let i = 0; i < n; i++) residual[i]! -= ck * column[i]!;
    });
    root.fill(0);
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
    // plane of its own whatever the web does, noise and all, so its own scatter must not weigh against it.
    const hold = LEVEL * Math.sqrt(n);
    const standing = held === null ? 0 : scatter / Math.hypot(held.u, OFF_CENTRE);
    const qr = new Qr(n + 2);
    columns.forEach((column, k) => {
      if (k === terms) qr.push(weighed(column, root, hold, 0));
      else qr.push(weighed(column, root, 0, standing * (stands[k] ?? 0)));
    });
    const now = stands.reduce((sum, v, k) => sum + v * c[k]!, 0);
    const step = qr.solve(
      qr.apply(weighed(residual, root, -c[terms]! * hold, standing * ((held?.toward ?? 0) - now))),
    );
    c = Float64Array.from(step, (d, k) => c[k]! + d);
    const next = Math.min(0.005, Math.max(1e-5, 1.15 * Math.sqrt(squares / weight)));
    const settled = Math.abs(next - scatter) < 1e-3 * scatter && Math.hypot(...step) < 1e-6;
    scatter = next;
    if (pass === 11 || settled) {
      const covariance = qr.unscaledCovariance().map((row) => row.map((v) => v * scatter ** 2));
      fit = { at, terms, c, covariance, scatter, used, off: n - used };
      break;
    }
  }
  return fit;
}

/** The run of cells up the web with most points and no jumps (dynamic programming), as coefficients of a cubic. */
function likeliestRun(
  { toward, across }: Points,
  middle: number,
  half: number,
  foot: WebFoot | null,
): number[] | null {
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
  const qr = new Qr(run.length);
  const t = run.map(({ bin }) => (2 * (bin + 0.5)) / BINS - 1);
  for (let k = 0; k < TERMS; k++) qr.push(Float64Array.from(t, (v) => legendre(v, TERMS)[k]!));
  return [...qr.solve(qr.apply(Float64Array.from(run, ({ y }) => y)))];
}

/** What a web's bend is usually around a slice: its coefficients from the third order on, with their u. */
interface Bend {
  readonly terms: readonly { readonly value: number; readonly u: number }[];
}

/** The bend along the member, each from the slices around it that are fitted alike. */
function smoothBends(fits: readonly (Fit | null)[]): (Bend | null)[] {
  return fits.map((fit) => {
    if (fit === null) return null;
    const near = fits.filter(
      (each) => each !== null && each.terms === fit.terms && Math.abs(each.at - fit.at) <= ALIKE,
    ) as Fit[];
    const terms = Array.from({ length: fit.terms - STRAIGHT }, (_, n) => {
      const k = STRAIGHT + n;
      const us = near.map((each) => Math.sqrt(each.covariance[k]![k]!));
      const weights = us.map((u) => 1 / u ** 2);
      const all = weights.reduce((sum, w) => sum + w, 0);
      const value = near.reduce((sum, each, i) => sum + weights[i]! * each.c[k]!, 0) / all;
      const misfit = near.reduce((sum, each, i) => sum + weights[i]! * (each.c[k]! - value) ** 2, 0);
      return { value, u: Math.sqrt(Math.max(1, misfit / Math.max(1, near.length - 1)) / all) };
    });
    return { terms };
  });
}
