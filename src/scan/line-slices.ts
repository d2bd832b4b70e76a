import { medianOrNaN } from '../maths/median.ts';
import { exp, log } from '../maths/portable.ts';
import {
  continuousChain,
  localSlope,
  type Series,
  type SlicePoint,
  seriesOf,
  sharpBend,
} from './continuous.ts';
import { EDGE_WINDOW, type EdgeTables, edgeTables, fitEdge } from './edge-model.ts';
import { trackEdge } from './edge-track.ts';
import { fitFace } from './face-model.ts';
import type { ScanLine } from './line-frame.ts';
import type { Slice, SliceSet } from './slices.ts';

/** What one slice says about the line. */
export interface SliceEstimate extends SlicePoint {
  /** Surface slope toward/across, rad; null for an edge. */
  readonly slope: number | null;
  readonly slopeU: number | null;
  /** Points that carried the estimate. */
  readonly used: number;
}

/** Points left out inside the window, by reason. */
export interface SliceRejections {
  /** Not at the height of the flange or face followed. */
  offLevel: number;
  /** Beyond the edge or off the surface: mixed edge pixels, growth, hardware. */
  offSteel: number;
  /** In slices where no edge or surface could be told. */
  noSteel: number;
  /** In slices that jump away from the steel on both sides: clamps, jack heads, boards. */
  jumps: number;
}

/** Slices too thin in points are not asked. */
const LEAST_POINTS = 12;
const SCATTERS = [0.0005, 0.001, 0.0015, 0.002, 0.003, 0.0045, 0.007];
/** Where among them a usual scanner is, and points a slice that are asked for it. */
const USUAL = 3;
const SAMPLED = 500;
/** Least evidence (log-likelihood) for an edge in a slice, and least ratio of density inside to outside. */
const LEAST_GAIN = 4;
/** How far a point may be from the followed level of the flange, beyond the plate's own thickness, m. */
const LEVEL = 0.015;

/** Follows the flange edge through the slices and locates it in each. Values are signed toward positive. */
export function edgeEstimates(line: ScanLine, set: SliceSet, plateThickness: number) {
  const sign = line.edge === 'positive' ? 1 : -1;
  const { slices } = set;
  const rejected: SliceRejections = { offLevel: 0, offSteel: 0, noSteel: 0, jumps: 0 };
  const track = trackEdge(slices, sign, line.reach);
  const coarse: SlicePoint[] = [];
  track.forEach((edge, i) => {
    if (Number.isFinite(edge)) coarse.push({ at: slices[i]!.centre, value: edge, u: 0.003 });
  });
  const levels = flangeLevels(slices, track, sign);
  const half = plateThickness + LEVEL;

  const shears: Shear[] = slices.map(() => ({ before: 0, after: 0, at: 0 }));
  const rough = seriesOf(coarse);
  let position = 0;
  track.forEach((edge, i) => {
    if (Number.isFinite(edge)) shears[i] = straight(localSlope(rough, position++));
  });

  const window: Window = { toward: new Float64Array(mostPoints(slices)), count: 0, offLevel: 0 };
  const look = (i: number, edge: number, shear: Shear): void =>
    lookAtEdge(window, slices[i]!, sign, edge, shear, levels[i]!, half);
  const seen = slices.map((_, i) => i).filter((i) => Number.isFinite(track[i]!));
  const sample = sampleOf(seen).map((i) => {
    look(i, track[i]!, shears[i]!);
    return window.toward.slice(0, Math.min(window.count, SAMPLED));
  });
  const tables = pooledScatter(sample);

  const fitAt = (i: number, edge: number, shear: Shear, fine: boolean): FoundEdge | null => {
    if (!Number.isFinite(edge)) return null;
    look(i, edge, shear);
    const fit = fitEdge(window.toward, window.count, tables, fine);
    if (fit === null || fit.gain < LEAST_GAIN) return null;
    const w = fit.weights;
    const solid = (w.face + w.edgeFace) / EDGE_WINDOW.inside;
    const empty = (w.trail + w.background) / (EDGE_WINDOW.inside + EDGE_WINDOW.outside);
    if (solid < 1.5 * empty) return null;
    const off = Math.round(fit.count * (w.trail + w.background));
    return {
      estimate: {
        at: slices[i]!.centre,
        value: sign * (edge + fit.edge),
        u: fit.u,
        slope: null,
        slopeU: null,
        used: fit.count - off,
      },
      outliers: window.count - fit.count + off,
      offLevel: window.offLevel,
      gain: fit.gain,
    };
  };
  const steelOf = (found: readonly (FoundEdge | null)[]): { series: Series; slice: number[] } => {
    const slice = found.flatMap((each, i) => (each === null ? [] : [i]));
    const all = slice.map((i) => found[i]!.estimate);
    const chain = continuousChain(all, set.thickness);
    const steel = all.filter((_, k) => chain[k]);
    return { series: seriesOf(steel), slice: slice.filter((_, k) => chain[k]) };
  };

  // Once from the rough track, and again from the edges themselves, which know the slope at a bend.
  const first = slices.map((_, i) => fitAt(i, track[i]!, shears[i]!, false));
  const known = steelOf(first);
  known.slice.forEach((i, k) => {
    track[i] = sign * known.series.value[k]!;
    shears[i] = straight(sign * localSlope(known.series, k, 2));
  });
  const found = slices.map((_, i) => fitAt(i, track[i]!, shears[i]!, true));
  // Where the edge bends sharply, the slices there are sheared straight by two lines that meet, if that makes the edge
  // in them plainer.
  const fine = steelOf(found);
  fine.slice.forEach((i, k) => {
    const bend = sharpBend(fine.series, k, set.thickness);
    if (bend === null) return;
    const shear = { before: sign * bend.before, after: sign * bend.after, at: bend.at };
    const again = fitAt(i, sign * bend.value, shear, true);
    if (again !== null && again.gain > found[i]!.gain) found[i] = again;
  });
  found.forEach((each, i) => {
    if (each === null) rejected.noSteel += slices[i]!.count;
    else rejected.offLevel += each.offLevel;
  });
  const steel = found.filter((each) => each !== null);
  const estimates = steel.map((each) => each.estimate);
  const outliers = steel.map((each) => each.outliers);
  return { ...keepContinuous(estimates, outliers, rejected, set.thickness), scatter: tables.scatter };
}

/** An edge found in one slice. */
interface FoundEdge {
  readonly estimate: SliceEstimate;
  readonly outliers: number;
  readonly offLevel: number;
  /** Evidence for the edge, log-likelihood. */
  readonly gain: number;
}

/** Fits the surface in each slice: for faces, and for the slopes of `tilt` and `plumb` lines. */
export function faceEstimates(line: ScanLine, set: SliceSet) {
  const rejected: SliceRejections = { offLevel: 0, offSteel: 0, noSteel: 0, jumps: 0 };
  const middle = (line.band[0] + line.band[1]) / 2;
  const fitSlice = (slice: Slice, predicted: number | null, within: number) =>
    fitFace(slice.along, slice.toward, slice.across, slice.count, middle, predicted, within);

  // First look without a prediction, then again near what the neighbours say: a slice where a board or a
  // second surface has more points than the steel is thus brought back to the steel.
  const first: SliceEstimate[] = [];
  for (const slice of set.slices) {
    const fit = slice.count < LEAST_POINTS ? null : fitSlice(slice, null, 0);
    if (fit !== null) {
      first.push({ at: slice.centre, value: fit.value, u: fit.u, slope: null, slopeU: null, used: fit.used });
    }
  }
  const chain = continuousChain(first, set.thickness);
  const steel = first.filter((_, i) => chain[i]);
  const estimates: SliceEstimate[] = [];
  const outliers: number[] = [];
  const scatters: number[] = [];
  for (const slice of set.slices) {
    const predicted = predict(steel, slice.centre);
    const fit = slice.count < LEAST_POINTS || predicted === null ? null : fitSlice(slice, predicted, 0.02);
    if (fit === null) {
      rejected.noSteel += slice.count;
      continue;
    }
    scatters.push(fit.scatter);
    outliers.push(fit.off);
    estimates.push({
      at: slice.centre,
      value: fit.value,
      u: fit.u,
      slope: fit.slopeAcross,
      slopeU: fit.slopeU,
      used: fit.used,
    });
  }
  scatters.sort((a, b) => a - b);
  return {
    ...keepContinuous(estimates, outliers, rejected, set.thickness),
    scatter: scatters[Math.floor(scatters.length / 2)] ?? Number.NaN,
  };
}

/** Line through the steel slices around `at` (Theil-Sen); null where there are none within reach. */
function predict(steel: readonly SliceEstimate[], at: number): number | null {
  if (steel.length === 0) return null;
  let near = 0;
  for (let i = 1; i < steel.length; i++) {
    if (Math.abs(steel[i]!.at - at) < Math.abs(steel[near]!.at - at)) near = i;
  }
  const slope = localSlope(seriesOf(steel), near);
  const values = steel
    .slice(Math.max(0, near - 4), near + 5)
    .map((p) => p.value + slope * (at - p.at))
    .sort((a, b) => a - b);
  return values[Math.floor(values.length / 2)]!;
}

export function keepContinuous(
  estimates: SliceEstimate[],
  outliers: readonly number[],
  rejected: SliceRejections,
  thickness: number,
) {
  const chain = continuousChain(estimates, thickness);
  const kept: SliceEstimate[] = [];
  const jumped: SliceEstimate[] = [];
  estimates.forEach((estimate, i) => {
    if (chain[i]) {
      kept.push(estimate);
      rejected.offSteel += outliers[i]!;
    } else {
      jumped.push(estimate);
      rejected.jumps += estimate.used + outliers[i]!;
    }
  });
  return { kept, jumped, rejected };
}

/** Height of the flange in each slice: median of the points just behind the tracked edge, smoothed by a running median. */
function flangeLevels(slices: readonly Slice[], track: Float64Array, sign: 1 | -1): Float64Array {
  const raw = slices.map((slice, i) => {
    const edge = track[i]!;
    if (!Number.isFinite(edge)) return Number.NaN;
    const near: number[] = [];
    const step = Math.max(1, Math.floor(slice.count / 400));
    for (let p = 0; p < slice.count; p += step) {
      const q = sign * slice.toward[p]! - edge;
      if (q > -0.03 && q < 0.004) near.push(slice.across[p]!);
    }
    return medianOrNaN(near);
  });
  return Float64Array.from(raw, (_, i) =>
    medianOrNaN(raw.slice(Math.max(0, i - 6), i + 7).filter(Number.isFinite)),
  );
}

/** About two dozen, evenly spread. */
function sampleOf<T>(all: readonly T[]): T[] {
  const step = Math.max(1, Math.floor(all.length / 24));
  return all.filter((_, i) => i % step === 0);
}

/**
 * Tables of the scatter, at least `least`, under which the edges of a sample of slices are most likely,
 * together: the top of a hill.
 */
export function pooledScatter(windows: readonly Float64Array[], least = 0): EdgeTables {
  const tried = SCATTERS.map((): { tables: EdgeTables; sum: number } | null => null);
  const at = (i: number) => {
    const known = tried[i];
    if (known) return known;
    const tables = edgeTables(SCATTERS[i]!);
    let sum = 0;
    for (const window of windows) sum += fitEdge(window, window.length, tables, false)?.gain ?? 0;
    tried[i] = { tables, sum };
    return tried[i];
  };
  let best = USUAL;
  const up = at(best + 1).sum > at(best).sum ? 1 : -1;
  while (SCATTERS[best + up]! >= least && at(best + up).sum > at(best).sum) best += up;
  if (best === 0 || best === SCATTERS.length - 1 || SCATTERS[best - 1]! < least) return at(best).tables;
  // The top of the hill between the steps, so that a hair's difference in the points does not change the step.
  const [before, top, after] = [at(best - 1).sum, at(best).sum, at(best + 1).sum];
  const bend = before - 2 * top + after;
  if (!(bend < 0)) return at(best).tables;
  const shift = Math.max(-0.5, Math.min(0.5, (0.5 * (before - after)) / bend));
  const step = Math.abs(shift) * log(SCATTERS[best + Math.sign(shift || 1)]! / SCATTERS[best]!);
  return edgeTables(SCATTERS[best]! * exp(step));
}

/** Slopes before and after a place in a slice, m from its middle. */
interface Shear {
  readonly before: number;
  readonly after: number;
  readonly at: number;
}

const straight = (slope: number): Shear => ({ before: slope, after: slope, at: 0 });

/** The part of a slice around its edge. */
interface Window {
  /** Points at the level of the flange, relative to the edge expected and sheared straight by the slope, m. */
  readonly toward: Float64Array;
  count: number;
  offLevel: number;
}

function mostPoints(slices: readonly Slice[]): number {
  return slices.reduce((most, slice) => Math.max(most, slice.count), 0);
}

function lookAtEdge(
  window: Window,
  slice: Slice,
  sign: 1 | -1,
  edge: number,
  shear: Shear,
  level: number,
  half: number,
): void {
  const { toward, along, across, count } = slice;
  const { before, after, at } = shear;
  const into = window.toward;
  // The shear is nought at the middle of the slice.
  const level0 = edge + (at > 0 ? before : after) * at;
  let n = 0;
  let off = 0;
  for (let p = 0; p < count; p++) {
    const t = along[p]! - at;
    const q = sign * toward[p]! - level0 - (t < 0 ? before : after) * t;
    if (q < -EDGE_WINDOW.inside) continue;
    if (Math.abs(across[p]! - level) > half) off++;
    else into[n++] = q;
  }
  window.count = n;
  window.offLevel = off;
}
