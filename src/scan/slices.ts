import type { LineFrame, ScanLine } from './line-frame.ts';

/** Points of one thin slice across a line, relative to the chord between the picked points, m. */
export interface Slice {
  /** Centre along the line from the first picked point, m. */
  readonly centre: number;
  /** Along the line from the centre, toward the positive side, and across: m. */
  readonly along: Float32Array;
  readonly toward: Float32Array;
  readonly across: Float32Array;
  readonly count: number;
  /** Points that fell here; more than `count` where the slice was thinned. */
  readonly seen: number;
}

export interface SliceSet {
  readonly slices: readonly Slice[];
  /** Length of a slice along the line, m. */
  readonly thickness: number;
  readonly beyondEnds: number;
  readonly outsideWindow: number;
}

/**
 * Points kept a slice at most, and over all slices of one line (three 4-byte numbers each: 24 MB). Beyond 2000 points
 * a slice's own uncertainty is far below what registration leaves.
 */
const MOST = 2000;
const BUDGET = 2_000_000;
/** A slice is about this thick, m: thin enough that clutter on one stretch leaves its neighbours clean. */
const THICKNESS = 0.05;

/**
 * Collects the points near a line into contiguous thin slices, in bounded memory: a slice that is full is
 * thinned by reservoir sampling (Vitter 1985, algorithm R) with a fixed seed, so the result is repeatable.
 */
export function collectSlices(line: ScanLine, frame: LineFrame) {
  const perStation = Math.max(1, Math.round(line.slice / THICKNESS));
  const thickness = line.slice / perStation;
  const first = -line.slice / 2;
  const number = Math.ceil((frame.span + line.slice) / thickness - 1e-9);
  const most = Math.max(200, Math.min(MOST, Math.floor(BUDGET / number)));
  // All slices in one array, three numbers a point: a point then touches one place in memory, not six.
  const store = new Float32Array(3 * number * most);
  const seen = new Float64Array(number);
  let beyondEnds = 0;
  let outsideWindow = 0;
  // In a typed array: a captured number above 2^31 would be boxed anew at every draw.
  const random = new Uint32Array([0x2545f491]);

  const k = frame.metres;
  const toMetres = (v: readonly [number, number, number]) => [v[0] * k, v[1] * k, v[2] * k] as const;
  const { origin } = frame;
  const along = toMetres(frame.along);
  const toward = toMetres(frame.toward);
  const across = toMetres(frame.across);
  const last = first + number * thickness;
  const { reach, band } = line;

  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      // Locals, because this loop sees every point of the cloud.
      const [x0, y0, z0] = origin;
      const [ax, ay, az] = along;
      const [bx, by, bz] = toward;
      const [cx, cy, cz] = across;
      const [low, high] = band;
      const [from, to, wide] = [first, last, reach];
      let [ends, outside] = [0, 0];
      for (let i = 0; i < count; i++) {
        const dx = x[i]! - x0;
        const dy = y[i]! - y0;
        const dz = z[i]! - z0;
        const s = dx * ax + dy * ay + dz * az;
        if (s < from || s >= to) {
          ends++;
          continue;
        }
        const o = dx * bx + dy * by + dz * bz;
        if (o < -wide || o > wide) {
          outside++;
          continue;
        }
        const h = dx * cx + dy * cy + dz * cz;
        if (h < low || h > high) {
          outside++;
          continue;
        }
        // Kept here and not in a function of its own: passing the three numbers on would put each on the heap.
        const index = Math.min(number - 1, Math.floor((s - first) / thickness));
        let at = seen[index]!;
        seen[index] = at + 1;
        if (at >= most) {
          random[0] = Math.imul(random[0]!, 1664525) + 1013904223;
          at = Math.floor((random[0]! / 4294967296) * (at + 1));
          if (at >= most) continue;
        }
        const place = 3 * (index * most + at);
        store[place] = s - (first + (index + 0.5) * thickness);
        store[place + 1] = o;
        store[place + 2] = h;
      }
      beyondEnds += ends;
      outsideWindow += outside;
    },
    result: (): SliceSet => ({
      slices: Array.from({ length: number }, (_, i): Slice => {
        const count = Math.min(most, seen[i]!);
        const column = (k: number) => {
          const values = new Float32Array(count);
          for (let p = 0; p < count; p++) values[p] = store[3 * (i * most + p) + k]!;
          return values;
        };
        return {
          centre: first + (i + 0.5) * thickness,
          along: column(0),
          toward: column(1),
          across: column(2),
          count,
          seen: seen[i]!,
        };
      }),
      thickness,
      beyondEnds,
      outsideWindow,
    }),
  };
}
