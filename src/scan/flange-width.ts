import { median, medianOrNaN } from '../maths/median.ts';
import { Qr } from '../maths/qr.ts';
import type { Known, KnownEdge, MeasuredSection } from './flange-slices.ts';

/**
 * What both edges of a flange and its width say of each other. An edge whose own face is seen is sharp. One seen only along
 * the face is where points stop: a beam that strikes it with part of its spot may come back or not, so it lies off by a
 * share of the spot, slice after slice alike. The job's width and edges seen square on tell how much.
 */
export interface FlangeWidths {
  /** The sections with what their edges are seen too far out taken off, and with what neighbours share in `rowU`. */
  readonly sections: readonly MeasuredSection[];
  /** Width at each section from those around it; null where it changes (another plate). */
  readonly local: readonly (LocalWidth | null)[];
  /** Between the edges as seen, before anything was taken off; null where both are hardly ever seen. */
  readonly seen: Known | null;
  /** Common to all slices of an edge, m: what is left uncertain of how far out it is seen, and of the width. */
  readonly biasU: (section: number, side: Side) => number;
  readonly widthU: number;
}

export interface LocalWidth extends Known {
  /** Measured around the section: then both edges tell the same place but for scatter. */
  readonly measured: boolean;
}

export type Side = 'left' | 'right';

/** How far off an edge seen along the face lies, sd, m: about half the radius of a usual spot. Common practice, no source. */
const ALONG_FACE = 0.0015;
/** As much more where it is found in none of the slices, and by that share: those in which it is found are no fair sample. */
const SELECTED = 0.004;
/** The same for an edge seen square on, m. */
const SQUARE = 0.0001;
/** A flange's width as job.json has it, sd, m: rolling and cutting. Common practice, no source. */
const JOB_WIDTH = 0.0015;
/** A width this many sd off the job's is another plate's, or the job is wrong. */
const ANOTHER = 3;
/** Edges are told to be seen square on or not from the slices within this, m, by this share of them. */
const AROUND = 1;
const MOSTLY = 0.75;
/** What the medians of widths are trusted to at best, m. */
const ROUGH = 0.0003;

/** Width between the edges, where both are seen: median and the standard error of it; null where hardly anywhere. */
export function measuredWidth(sections: readonly MeasuredSection[]): Known | null {
  return medianWidth(sections.flatMap((each) => widthOf(each) ?? []));
}

function medianWidth(list: readonly number[]): Known | null {
  if (list.length < 5) return null;
  const value = median(list);
  const off = median(list.map((w) => Math.abs(w - value)));
  return { value, u: (1.4826 * 1.2533 * off) / Math.sqrt(list.length) };
}

function widthOf({ left, right }: MeasuredSection): number | null {
  return left === null || right === null || Math.hypot(left.u, right.u) > 0.006
    ? null
    : right.value - left.value;
}

/** @param width of the flange as the job has it, m */
export function flangeWidths(sections: readonly MeasuredSection[], width: number): FlangeWidths {
  const square = { left: seenSquareOn(sections, 'left'), right: seenSquareOn(sections, 'right') };
  const out = outward(sections, square, width);
  const shifted = (edge: KnownEdge | null, by: number) =>
    edge === null ? null : { ...edge, value: edge.value + by };
  const corrected = sections.map((section, i) => ({
    ...section,
    left: shifted(section.left, square.left[i]! ? 0 : out.left.value),
    right: shifted(section.right, square.right[i]! ? 0 : -out.right.value),
  }));
  const local = localWidths(corrected, out.width.value);
  return {
    sections: withSharedErrors(corrected, local, square),
    local,
    seen: measuredWidth(sections),
    biasU: (section, side) => (square[side][section]! ? SQUARE : out[side].u),
    widthU: out.width.u,
  };
}

/** For each section whether the edge is seen square on around it: rows of points feign it in a slice here and there. */
function seenSquareOn(sections: readonly MeasuredSection[], side: Side): boolean[] {
  let [low, high, square, all] = [0, 0, 0, 0];
  const count = (i: number, by: number) => {
    const edge = sections[i]![side];
    if (edge === null) return;
    all += by;
    if (edge.squareOn) square += by;
  };
  return sections.map(({ at }) => {
    while (high < sections.length && sections[high]!.at <= at + AROUND) count(high++, 1);
    while (sections[low]!.at < at - AROUND) count(low++, -1);
    return square > MOSTLY * all;
  });
}

/**
 * How far out the edges are seen where they are seen along the face, m: least squares on the widths by how their two edges
 * are seen, with all three unknowns (the plate's own departure from the job's width is the third) near nought beforehand.
 */
function outward(
  sections: readonly MeasuredSection[],
  square: Record<Side, readonly boolean[]>,
  width: number,
): Record<Side | 'width', Known> {
  const along = (side: Side) => {
    const unseen = sections.filter((each) => each[side] === null).length / Math.max(1, sections.length);
    return Math.hypot(ALONG_FACE, SELECTED * unseen);
  };
  const [left, right] = [along('left'), along('right')];
  const modes: number[][] = [[], [], [], []];
  sections.forEach((section, i) => {
    const seen = widthOf(section);
    if (seen !== null) modes[(square.left[i]! ? 0 : 1) + (square.right[i]! ? 0 : 2)]!.push(seen - width);
  });
  const middle = medianOrNaN(modes.flat()) || 0;
  if (Math.abs(middle) > ANOTHER * Math.hypot(left, right, JOB_WIDTH)) {
    // The job's width is not this plate's: either edge may be off by as much.
    return {
      left: { value: 0, u: Math.hypot(left, middle) },
      right: { value: 0, u: Math.hypot(right, middle) },
      width: { value: width + middle, u: Math.hypot(left, right) },
    };
  }
  const rows: { a: readonly [number, number, number]; value: number; u: number }[] = [
    { a: [1, 0, 0], value: 0, u: left },
    { a: [0, 1, 0], value: 0, u: right },
    { a: [0, 0, 1], value: 0, u: JOB_WIDTH },
  ];
  modes.forEach((list, mode) => {
    const known = medianWidth(list.filter((d) => Math.abs(d - middle) < 0.006));
    if (known !== null)
      rows.push({ a: [mode & 1, mode >> 1, 1], value: known.value, u: Math.hypot(known.u, ROUGH) });
  });
  const qr = new Qr(rows.length);
  for (const k of [0, 1, 2]) qr.push(Float64Array.from(rows, (row) => row.a[k]! / row.u));
  const solved = qr.solve(qr.apply(Float64Array.from(rows, (row) => row.value / row.u)));
  const us = qr.inverseUpper().map((row) => Math.hypot(...row));
  const [l, r, w] = us.map((u, k) => ({ value: solved[k]!, u })) as [Known, Known, Known];
  return { left: l, right: r, width: { value: width + w.value, u: w.u } };
}

/** Within this of a place along the line its width is taken from, m. */
const WIDTH_REACH = 1.5;
/** How much the width of one plate wanders along it, sd, m. Common practice, no source. */
const WANDER = 0.0005;
/** Widths before and after a place that differ by this much, m, are two plates. */
const WIDTH_STEP = 0.003;

/**
 * The width at each section from those around it, so that each edge also tells where the other is; null where it changes
 * (another plate), and what is known of all where too few around it tell. A plate is nearly as wide all along, so what is
 * measured around a place is weighed against that: where an edge is found in few slices only, those in which it is found
 * show it too far in, all alike (points far apart on a face that is hardly lit).
 */
function localWidths(sections: readonly MeasuredSection[], overall: number): (LocalWidth | null)[] {
  const all = sections.flatMap((section) => {
    const value = widthOf(section);
    return value === null
      ? []
      : [{ at: section.at, value, u: Math.hypot(section.left!.u, section.right!.u, 0.0002) }];
  });
  const middle = (list: readonly Known[]): Known | null => {
    if (list.length < 6) return null;
    const centre = median(list.map((w) => w.value));
    const spread = 1.4826 * median(list.map((w) => Math.abs(w.value - centre)));
    const kept = list.filter((w) => Math.abs(w.value - centre) <= 3 * spread + 1e-4);
    const weight = kept.reduce((sum, w) => sum + 1 / w.u ** 2, 0);
    return {
      value: kept.reduce((sum, w) => sum + w.value / w.u ** 2, 0) / weight,
      u: Math.max(1 / Math.sqrt(weight), spread / Math.sqrt(kept.length)),
    };
  };
  let [low, first, past] = [0, 0, 0];
  return sections.map(({ at }) => {
    while (low < all.length && all[low]!.at < at - WIDTH_REACH) low++;
    while (sections[first]!.at < at - WIDTH_REACH) first++;
    while (past < sections.length && sections[past]!.at <= at + WIDTH_REACH) past++;
    const near: (typeof all)[number][] = [];
    for (let i = low; i < all.length && all[i]!.at <= at + WIDTH_REACH; i++) near.push(all[i]!);
    const here = middle(near);
    if (here === null) return { value: overall, u: ROUGH, measured: false };
    const selected = SELECTED * (1 - near.length / (past - first));
    const [before, after] = [middle(near.filter((w) => w.at < at)), middle(near.filter((w) => w.at > at))];
    if (before !== null && after !== null) {
      const step = Math.abs(before.value - after.value);
      if (step > WIDTH_STEP && step > 4 * Math.hypot(before.u, after.u, selected)) return null;
    }
    const own = Math.hypot(here.u, selected);
    if (Math.abs(here.value - overall) > ANOTHER * Math.hypot(own, WANDER))
      return { value: here.value, u: own, measured: true };
    const [w, v] = [1 / own ** 2, 1 / WANDER ** 2];
    return { value: (w * here.value + v * overall) / (w + v), u: 1 / Math.sqrt(w + v), measured: true };
  });
}

/** Measurements of the width taken together to see what neighbours share. */
const RUN = 3;
/** An edge seen square on has this much of the fault of one seen along the face. */
const SQUARE_ON_FAULT = 0.05;

/**
 * Sections whose edges have, beside their own scatter, the error neighbours share: the width between the edges wanders
 * along the member more than its scatter explains, because rows of points near an edge drift past it slowly. It is put
 * down mostly to the edge that is known worse (one is mostly seen square on, the other along the face). Where both edges are
 * hardly ever seen together what the gaps between points leave open stands instead.
 */
function withSharedErrors(
  sections: readonly MeasuredSection[],
  widths: readonly (Known | null)[],
  square: Record<Side, readonly boolean[]>,
): readonly MeasuredSection[] {
  const both = sections.flatMap((section, i) => {
    const [value, width] = [widthOf(section), widths[i]];
    if (value === null || width == null) return [];
    return [{ off: value - width.value, left: section.left!, right: section.right! }];
  });
  if (both.length < 10 * RUN) return sections;
  let [between, own, n] = [0, 0, 0];
  for (let i = 0; i + RUN <= both.length; i += RUN) {
    const run = both.slice(i, i + RUN);
    const mean = run.reduce((sum, e) => sum + e.off, 0) / RUN;
    const spread = run.reduce((sum, e) => sum + e.left.u ** 2 + e.right.u ** 2, 0) / RUN ** 2;
    // A run that is far out is another fault.
    if (mean * mean > 25 * (spread + 1e-6)) continue;
    between += mean * mean;
    own += spread;
    n++;
  }
  const shared = Math.max(0, between - own) / Math.max(1, n);
  const fault = (side: Side) => {
    const us = sections.flatMap((each) => each[side]?.u ?? []);
    return (us.length === 0 ? 0.005 : median(us)) ** 2;
  };
  const [left, right] = [fault('left'), fault('right')];
  return sections.map((section, i) => {
    const l = left * (square.left[i]! ? SQUARE_ON_FAULT : 1);
    const r = right * (square.right[i]! ? SQUARE_ON_FAULT : 1);
    const rowed = (edge: KnownEdge | null, share: number) =>
      edge === null ? null : { ...edge, rowU: Math.sqrt(shared * share) };
    return {
      ...section,
      left: rowed(section.left, l / (l + r)),
      right: rowed(section.right, r / (l + r)),
    };
  });
}
