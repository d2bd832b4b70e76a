import type { LineFrame, ScanLine } from './line-frame.ts';

/** Points of one thin slice across a line, relative to the chord between the picked points, m. */
export interface Slice {
  /** Centre along the line from the first picked point, m. */
  readonly centre: number;
  /** Along the line from the centre, toward the positive side, and across: first `count` entries, m. */
  along: Float32Array;
  toward: Float32Array;
  across: Float32Array;
  count: number;
  /** Points that fell here; more than `count` where the slice was thinned. */
  seen: number;
}

export interface SliceSet {
  readonly slices: readonly Slice[];
  /** Length of a slice along the line, m. */
  readonly thickness: number;
  readonly beyondEnds: number;
  readonly outsideWindow: number;
}

/** Points kept over all slices of one line; with three 4-byte numbers each this bounds the memory to 24 MB. */
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
  const most = Math.max(200, Math.min(20_000, Math.floor(BUDGET / number)));
  const slices: Slice[] = Array.from({ length: number }, (_, i) => ({
    centre: first + (i + 0.5) * thickness,
    along: new Float32Array(0),
    toward: new Float32Array(0),
    across: new Float32Array(0),
    count: 0,
    seen: 0,
  }));
  let beyondEnds = 0;
  let outsideWindow = 0;
  let random = 0x2545f491;

  const [x0, y0, z0] = frame.origin;
  const k = frame.metres;
  const [ax, ay, az] = [frame.along[0] * k, frame.along[1] * k, frame.along[2] * k];
  const [bx, by, bz] = [frame.toward[0] * k, frame.toward[1] * k, frame.toward[2] * k];
  const [cx, cy, cz] = [frame.across[0] * k, frame.across[1] * k, frame.across[2] * k];
  const last = first + number * thickness;
  const { reach, band } = line;

  function keep(s: number, o: number, h: number): void {
    const slice = slices[Math.min(number - 1, Math.floor((s - first) / thickness))]!;
    let at = slice.count;
    slice.seen++;
    if (at >= most) {
      random = (Math.imul(random, 1664525) + 1013904223) >>> 0;
      at = Math.floor((random / 4294967296) * slice.seen);
      if (at >= most) return;
    } else {
      if (at === slice.along.length) grow(slice, Math.min(most, Math.max(64, 2 * at)));
      slice.count++;
    }
    slice.along[at] = s - slice.centre;
    slice.toward[at] = o;
    slice.across[at] = h;
  }

  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      for (let i = 0; i < count; i++) {
        const dx = x[i]! - x0;
        const dy = y[i]! - y0;
        const dz = z[i]! - z0;
        const s = dx * ax + dy * ay + dz * az;
        if (s < first || s >= last) {
          beyondEnds++;
          continue;
        }
        const o = dx * bx + dy * by + dz * bz;
        const h = dx * cx + dy * cy + dz * cz;
        if (o < -reach || o > reach || h < band[0] || h > band[1]) {
          outsideWindow++;
          continue;
        }
        keep(s, o, h);
      }
    },
    result: (): SliceSet => ({ slices, thickness, beyondEnds, outsideWindow }),
  };
}

function grow(slice: Slice, size: number): void {
  for (const key of ['along', 'toward', 'across'] as const) {
    const larger = new Float32Array(size);
    larger.set(slice[key]);
    slice[key] = larger;
  }
}
