import { medianOrNaN } from '../maths/median.ts';

/** One slice's answer: where the steel is, m. */
export interface SlicePoint {
  /** Distance along the line, m, increasing. */
  readonly at: number;
  readonly value: number;
  readonly u: number;
}

/** Departure from the local slope between two slices that costs 1, m, beyond what the uncertainties explain. */
const JUMP = 0.0015;
/** Allowance for a slope not quite known, m per m of gap. */
const BEND = 0.01;
/** A jump never costs more than this: a true step of the steel (a wider flange) is then stepped over once. */
const DEAREST = 15;
/** Cost of leaving out 1 m of slices. */
const LEFT_OUT = 40;
/** Slices on each side that the local slope is taken from, and the longest gap bridged, m. */
const NEIGHBOURS = 8;
const LONGEST_GAP = 2.5;

/**
 * Which slices belong to the steel, by one fact: steel is continuous. A clamp, jack head or board over the
 * edge jumps out and back; a bend, however sharp, does not jump from one slice to the next. The chain of
 * slices is kept whose jumps and left-out slices cost least (dynamic programming).
 * @param thickness length of a slice, m
 * @returns for each point whether it is on the chain
 */
export function continuousChain(points: readonly SlicePoint[], thickness: number): boolean[] {
  const n = points.length;
  const skip = LEFT_OUT * thickness;
  // Slices may scatter more than their own uncertainties say (errors they share): then that is no jump.
  const excess = scatterExcess(points);
  const series = seriesOf(points);
  const { at, value, u } = series;
  const slopes = at.map((_, i) => localSlope(series, i));
  // Next to a sharp bend the slope is that of one side.
  const before = at.map((_, i) => slopeWithin(series, i - NEIGHBOURS, i));
  const after = at.map((_, i) => slopeWithin(series, i, i + NEIGHBOURS));
  const cost = new Float64Array(n);
  const previous = new Int32Array(n).fill(-1);
  let end = -1;
  let least = Infinity;
  for (let i = 0; i < n; i++) {
    cost[i] = skip * i;
    for (let j = i - 1; j >= 0; j--) {
      const gap = at[i]! - at[j]!;
      const spent = cost[j]! + skip * (i - j - 1);
      if (gap > LONGEST_GAP && j < i - 1) break;
      if (spent >= cost[i]!) continue;
      // Either end may sit beside clutter that spoils its slope, or beside a bend: the best of them decides.
      const step = value[i]! - value[j]!;
      const off = Math.min(
        Math.abs(step - slopes[i]! * gap),
        Math.abs(step - slopes[j]! * gap),
        Math.abs(step - before[j]! * gap),
        Math.abs(step - after[i]! * gap),
      );
      const jump = off / (JUMP + 2 * excess * Math.sqrt(u[i]! * u[i]! + u[j]! * u[j]!) + BEND * gap);
      const total = spent + Math.min(DEAREST, jump * jump);
      if (total < cost[i]!) {
        cost[i] = total;
        previous[i] = j;
      }
    }
    const total = cost[i]! + skip * (n - 1 - i);
    if (total < least) {
      least = total;
      end = i;
    }
  }
  const kept = new Array<boolean>(n).fill(false);
  for (let i = end; i >= 0; i = previous[i]!) kept[i] = true;
  return kept;
}

/** Slice points as columns of numbers. */
export interface Series {
  readonly at: Float64Array;
  readonly value: Float64Array;
  readonly u: Float64Array;
}

export function seriesOf(points: readonly SlicePoint[]): Series {
  return {
    at: Float64Array.from(points, (p) => p.at),
    value: Float64Array.from(points, (p) => p.value),
    u: Float64Array.from(points, (p) => p.u),
  };
}

/** Median of the slopes between neighbours at least three slices apart (Theil-Sen); 0 where there are too few. */
export function localSlope(series: Series, middle: number, neighbours = NEIGHBOURS): number {
  return slopeWithin(series, middle - neighbours, middle + neighbours);
}

/** The same between the points from `first` to `last`. */
export function slopeWithin({ at, value }: Series, first: number, last: number): number {
  const from = Math.max(0, first);
  const to = Math.min(at.length - 1, last);
  const apart = Math.min(3, Math.ceil((last - first) / 2));
  const slopes = new Float64Array((to - from + 1) ** 2);
  let n = 0;
  for (let i = from; i <= to; i++) {
    for (let j = i + apart; j <= to; j++) {
      const run = at[j]! - at[i]!;
      if (run < LONGEST_GAP) slopes[n++] = (value[j]! - value[i]!) / run;
    }
  }
  if (n < 3) return 0;
  return medianOrNaN(slopes.subarray(0, n));
}

/** A change of slope between neighbours below this, rad, is not sharp: within a slice it moves the edge by 0.3 mm. */
const SHARP = 0.04;

/**
 * A sharp bend at or next to a point of the series: the straight lines through the three points before it and the
 * three after it, where they differ in slope and meet near it. `at` is where they meet, m from the point; `value` is
 * theirs at the point. Null where there is none.
 */
export function sharpBend(
  { at, value }: Series,
  middle: number,
  thickness: number,
): { readonly before: number; readonly after: number; readonly at: number; readonly value: number } | null {
  if (middle < 3 || middle + 3 >= at.length) return null;
  if (at[middle + 3]! - at[middle - 3]! > 10 * thickness) return null;
  const [left, before] = lineThrough3(at, value, middle - 3, at[middle]!);
  const [right, after] = lineThrough3(at, value, middle + 1, at[middle]!);
  if (Math.abs(after - before) < SHARP) return null;
  const meet = (left - right) / (after - before);
  if (Math.abs(meet) > 2 * thickness) return null;
  return { before, after, at: meet, value: meet > 0 ? left : right };
}

/** Least squares line through three points from `from` on: its value at `about`, and its slope. */
function lineThrough3(at: Float64Array, value: Float64Array, from: number, about: number): [number, number] {
  const t = (at[from]! + at[from + 1]! + at[from + 2]!) / 3;
  const v = (value[from]! + value[from + 1]! + value[from + 2]!) / 3;
  let [stv, stt] = [0, 0];
  for (let i = from; i < from + 3; i++) {
    stv += (at[i]! - t) * (value[i]! - v);
    stt += (at[i]! - t) ** 2;
  }
  return [v + (stv / stt) * (about - t), stv / stt];
}

/**
 * Factor, at least 1, by which neighbouring slices scatter about straight lines between their own neighbours more
 * than their uncertainties predict (robust: median absolute value, 1.4826 for normal scatter).
 */
export function scatterExcess(series: readonly SlicePoint[]): number {
  const { at, value, u } = seriesOf(series);
  const ratios = new Float64Array(at.length);
  let n = 0;
  for (let i = 1; i + 1 < at.length; i++) {
    const run = at[i + 1]! - at[i - 1]!;
    if (run > 0.25) continue;
    const t = (at[i]! - at[i - 1]!) / run;
    const off = value[i]! - (1 - t) * value[i - 1]! - t * value[i + 1]!;
    ratios[n++] = Math.abs(off) / Math.sqrt(u[i]! ** 2 + ((1 - t) * u[i - 1]!) ** 2 + (t * u[i + 1]!) ** 2);
  }
  if (n < 10) return 1;
  return Math.max(1, 1.4826 * medianOrNaN(ratios.subarray(0, n)));
}
