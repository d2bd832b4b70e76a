import { formatLength } from '../units/format-length.ts';
import { drawBelow } from './draw-below.ts';
import type { LineFrame, ScanLine } from './line-frame.ts';
import type { Vec3 } from './vector.ts';

/** Points of one thin slice across a line, relative to the chord between the picked points, m. */
export interface Slice {
  /** Centre along the line from the first picked point, m. */
  readonly centre: number;
  /** Along the line from the centre, toward the positive side, and across: m. */
  readonly along: Float32Array;
  readonly toward: Float32Array;
  readonly across: Float32Array;
  /** How many points of the file came before it (to 7 digits): parts of a file are often scans from different places. */
  readonly order: Float32Array;
  readonly count: number;
  /** Points that fell here; more than `count` where the slice was thinned. */
  readonly seen: number;
  /** Points just outside the window here, counted on a sample: beyond its limits sideways, and up or down. */
  readonly beyond: { readonly toward: number; readonly across: number };
}

export interface SliceSet {
  readonly slices: readonly Slice[];
  /** Length of a slice along the line, m. */
  readonly thickness: number;
  /** Points of the cloud off the line, its window or its ends. */
  readonly outsideWindow: number;
}

/** What is collected around a line: ranges in m from the frame's origin, and how much of it is kept. */
export interface SliceWindow {
  readonly along: readonly [number, number];
  readonly toward: readonly [number, number];
  readonly across: readonly [number, number];
  /** Length of a slice along the line, m. */
  readonly thickness: number;
  /** Points kept a slice at most. */
  readonly most: number;
}

/**
 * Points kept a slice at most, and over all slices of one line (four 4-byte numbers each: 32 MB). What is thinned away
 * is a random choice, so it moves nothing; with 2000 instead the u of a station is smaller by 0.4 % (the bench's cloud).
 */
const MOST = 1000;
const BUDGET = 2_000_000;
/** A slice is about this thick, m: thin enough that clutter on one stretch leaves its neighbours clean. */
const THICKNESS = 0.05;

/** What lies as near as this to the window, m, may be the steel that was meant. */
export const BEYOND = 0.3;
/** One point in so many is looked at for that. */
const SAMPLED = 8;

/** A slice of about THICKNESS, a whole number of which makes up the length averaged for a station, m. */
export function sliceThickness(slice: number): number {
  return slice / Math.max(1, Math.round(slice / THICKNESS));
}

/** The window of one line: its reach and band, and half a slice beyond its ends. */
export function lineWindow(line: ScanLine, frame: LineFrame): SliceWindow {
  return {
    along: [-line.slice / 2, frame.span + line.slice / 2],
    toward: [-line.reach, line.reach],
    across: line.band,
    thickness: sliceThickness(line.slice),
    most: MOST,
  };
}

/**
 * Collects the points near a line into contiguous thin slices, in bounded memory: a slice that is full is
 * thinned by reservoir sampling (Vitter 1985, algorithm R) with a fixed seed, so the result is repeatable.
 */
export function collectSlices(window: SliceWindow, frame: LineFrame) {
  const { thickness } = window;
  const [first] = window.along;
  const number = Math.ceil((window.along[1] - first) / thickness - 1e-9);
  const most = Math.max(200, Math.min(window.most, Math.floor(BUDGET / number)));
  // All slices in one array, four numbers a point: a point then touches one place in memory, not six.
  const store = new Float32Array(4 * number * most);
  const seen = new Float64Array(number);
  const beyond = { toward: new Float64Array(number), across: new Float64Array(number) };
  let offered = 0;
  let inWindow = 0;
  let set: SliceSet | null = null;
  const below = drawBelow(0x2545f491);
  // Points of a batch that lie in the box around the window.
  let near = new Int32Array(0);

  const k = frame.metres;
  const toMetres = (v: readonly [number, number, number]) => [v[0] * k, v[1] * k, v[2] * k] as const;
  const { origin } = frame;
  const along = toMetres(frame.along);
  const toward = toMetres(frame.toward);
  const across = toMetres(frame.across);
  const last = first + number * thickness;
  const [near0, near1] = window.toward;
  const [low, high] = window.across;
  const box = boxOf(frame, [first, last], window.toward, window.across);
  const wider = boxOf(frame, [first, last], [near0 - BEYOND, near1 + BEYOND], [low - BEYOND, high + BEYOND]);

  /** Counts what lies just outside the window, so that steel outside it is not taken for steel nobody could see. */
  function lookBeyond(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
    const n = pointsInBox(wider, x, y, z, offered % SAMPLED, SAMPLED, count, near);
    for (let m = 0; m < n; m++) {
      const i = near[m]!;
      const [dx, dy, dz] = [x[i]! - origin[0], y[i]! - origin[1], z[i]! - origin[2]];
      const s = dx * along[0] + dy * along[1] + dz * along[2];
      if (s < first || s >= last) continue;
      const o = dx * toward[0] + dy * toward[1] + dz * toward[2];
      const h = dx * across[0] + dy * across[1] + dz * across[2];
      const [sideways, upright] = [o < near0 || o > near1, h < low || h > high];
      if (sideways === upright) continue;
      if (o < near0 - BEYOND || o > near1 + BEYOND || h < low - BEYOND || h > high + BEYOND) continue;
      (sideways ? beyond.toward : beyond.across)[
        Math.min(number - 1, Math.floor((s - first) / thickness))
      ]!++;
    }
  }

  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      if (near.length < count) near = new Int32Array(count);
      lookBeyond(x, y, z, count);
      const found = near;
      const n = pointsInBox(box, x, y, z, 0, 1, count, found);
      const before = offered;
      offered += count;
      // Locals, because this loop sees every point near the line.
      const [x0, y0, z0] = origin;
      const [ax, ay, az] = along;
      const [bx, by, bz] = toward;
      const [cx, cy, cz] = across;
      const [from, to] = [first, last];
      let inside = 0;
      for (let m = 0; m < n; m++) {
        const i = found[m]!;
        const dx = x[i]! - x0;
        const dy = y[i]! - y0;
        const dz = z[i]! - z0;
        const s = dx * ax + dy * ay + dz * az;
        const o = dx * bx + dy * by + dz * bz;
        const h = dx * cx + dy * cy + dz * cz;
        if (s < from || s >= to || o < near0 || o > near1 || h < low || h > high) continue;
        inside++;
        const index = Math.min(number - 1, Math.floor((s - from) / thickness));
        let at = seen[index]!;
        seen[index] = at + 1;
        if (at >= most) {
          at = below(at + 1);
          if (at >= most) continue;
        }
        // Kept here and not in a function of its own: passing the three numbers on would put each on the heap.
        const place = 4 * (index * most + at);
        store[place] = s - (from + (index + 0.5) * thickness);
        store[place + 1] = o;
        store[place + 2] = h;
        store[place + 3] = before + i;
      }
      inWindow += inside;
    },
    /** What was collected; after it nothing more is. */
    result(): SliceSet {
      set ??= {
        slices: Array.from({ length: number }, (_, i) => ({
          ...sliceIn(store.subarray(4 * i * most, 4 * (i * most + Math.min(most, seen[i]!)))),
          centre: first + (i + 0.5) * thickness,
          seen: seen[i]!,
          beyond: { toward: beyond.toward[i]!, across: beyond.across[i]! },
        })),
        thickness,
        outsideWindow: offered - inWindow,
      };
      return set;
    },
  };
}

/** Sorts the points of a slice, four numbers each, into its four columns, where they lie: as much again would be millions of numbers. */
function sliceIn(points: Float32Array): Pick<Slice, 'along' | 'toward' | 'across' | 'order' | 'count'> {
  const count = points.length / 4;
  const column = (k: number) => points.subarray(k * count, (k + 1) * count);
  const [along, toward, across, order] = [column(0), column(1), column(2), column(3)];
  const given = points.slice();
  for (let p = 0, at = 0; p < count; p++, at += 4) {
    along[p] = given[at]!;
    toward[p] = given[at + 1]!;
    across[p] = given[at + 2]!;
    order[p] = given[at + 3]!;
  }
  return { along, toward, across, order, count };
}

/** A box in the cloud's own axes and unit, as its middle and half its width; `order` has the axis it is narrowest along first. */
interface Box {
  readonly middle: Vec3;
  readonly half: Vec3;
  readonly order: readonly [number, number, number];
}

/** The box around a window of the line, [from, to] along, toward and across in m, with a hair to spare. */
function boxOf(frame: LineFrame, ...ranges: (readonly [number, number])[]): Box {
  const axes = [frame.along, frame.toward, frame.across];
  const edges = [0, 1, 2].map((axis) => {
    let [low, high] = [frame.origin[axis]!, frame.origin[axis]!];
    ranges.forEach((range, k) => {
      const ends = range.map((v) => (v * axes[k]![axis]!) / frame.metres);
      low += Math.min(...ends);
      high += Math.max(...ends);
    });
    return { middle: (low + high) / 2, half: (high - low) / 2 + 1e-9 * (Math.abs(low) + Math.abs(high) + 1) };
  });
  const vector = (of: (edge: (typeof edges)[number]) => number): Vec3 => [
    of(edges[0]!),
    of(edges[1]!),
    of(edges[2]!),
  ];
  const [a, b, c] = [0, 1, 2].sort((i, k) => edges[i]!.half - edges[k]!.half) as [number, number, number];
  return { middle: vector((edge) => edge.middle), half: vector((edge) => edge.half), order: [a, b, c] };
}

/**
 * Writes the indices of the points in the box into `found`, from every `step`th one on from `first`, and returns how many.
 * Nothing is skipped: on points in no order the processor would guess wrong at every third, which costs more than it saves.
 */
function pointsInBox(
  box: Box,
  x: Float64Array,
  y: Float64Array,
  z: Float64Array,
  first: number,
  step: number,
  count: number,
  found: Int32Array,
): number {
  const columns = [x, y, z];
  const [a, b, c] = box.order;
  const p = columns[a]!;
  const q = columns[b]!;
  const r = columns[c]!;
  const [pMiddle, qMiddle, rMiddle] = [box.middle[a]!, box.middle[b]!, box.middle[c]!];
  const [pHalf, qHalf, rHalf] = [box.half[a]!, box.half[b]!, box.half[c]!];
  let n = 0;
  for (let i = first; i < count; i += step) {
    found[n] = i;
    n +=
      Number(Math.abs(p[i]! - pMiddle) <= pHalf) &
      Number(Math.abs(q[i]! - qMiddle) <= qHalf) &
      Number(Math.abs(r[i]! - rMiddle) <= rHalf);
  }
  return n;
}

/** Why a place without a point in the window has none, in words: nothing there at all, or steel that stands outside the search. */
export function whyEmpty(slices: readonly Pick<Slice, 'beyond'>[], line: ScanLine): string {
  const sum = (key: 'toward' | 'across') => slices.reduce((all, each) => all + each.beyond[key], 0);
  const [sideways, upright] = [sum('toward'), sum('across')];
  if (sideways + upright === 0)
    return 'no points, inside the search or just outside it (hidden from the scanner)';
  const near = formatLength(BEYOND, { units: line.units, as: 'offset', trim: true });
  // Sideways of the flange is along the direction of a sweep line, and across it for others.
  const keys = line.kind === 'camber' || line.kind === 'tilt' ? ['band', 'reach'] : ['reach', 'band'];
  const key = sideways >= upright ? keys[0]! : keys[1]!;
  return `no points inside the search, but there are some within ${near} beyond its "${key}": steel there is outside the search (a larger "${key}" in the set-up reaches it); if they are other things, it is hidden from the scanner`;
}
