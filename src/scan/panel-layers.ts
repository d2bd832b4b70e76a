import { medianOrNaN } from '../maths/median.ts';

/**
 * A web seen from both sides lies in a cloud twice, its thickness apart: where both faces were seen a cell has two layers, and
 * where one was, it has that one. Taken together they make a step or a bulge of that thickness on a flat web. So cells are
 * split, neighbours tell which face a cell with one layer shows, and the face seen in more cells is kept.
 */

/** Two groups of heights are two layers from this many of their own standard deviations on, and from this share of points. */
const APART = 3.6;
const SHARE = 0.2;
const LEAST = 3;
/** Webs are this thick, m: nearer layers are not told apart, farther ones are other things. */
const THICKNESS = [0.004, 0.08] as const;
/** Two faces are believed where this share of the cells has both, alike in thickness to this share. */
const BELIEVED = 0.06;
const ALIKE = 0.3;

/** What of a cell to keep, m: heights from `low` to `high`; nothing where it shows the other face only. */
export interface Kept {
  readonly low: number;
  readonly high: number;
}

interface Split {
  readonly lower: number;
  readonly upper: number;
}

/**
 * @param cells points of each cell: along, up and out of the plane, m, by turns; null where there are too few
 * @returns for each cell what to keep (all of it where there is one face only), and how far the faces stand apart, m (0: one)
 */
export function chooseFace(
  cells: readonly (Float32Array | null)[],
  columns: number,
  rows: number,
): { readonly kept: readonly Kept[]; readonly apart: number } {
  const all: Kept = { low: Number.NEGATIVE_INFINITY, high: Number.POSITIVE_INFINITY };
  const everything = { kept: cells.map(() => all), apart: 0 };
  const sorted = cells.map((points) => (points === null || points.length === 0 ? null : heightsOf(points)));
  const level = cells.map((points) => (points === null || points.length === 0 ? null : withoutSlope(points)));
  const seen = sorted.filter((list) => list !== null).length;
  const splits = level.map((list) => (list === null ? null : twoLayers(list)));
  const apart = medianOrNaN(splits.flatMap((each) => (each === null ? [] : [each.upper - each.lower]))) || 0;
  const both = splits.map((each) =>
    each !== null && Math.abs(each.upper - each.lower - apart) < ALIKE * apart ? each : null,
  );
  if (both.filter((each) => each !== null).length < BELIEVED * seen) return everything;

  // Where the lower face is or would be, outward from the cells that have both.
  const lower = both.map((each) => each?.lower ?? Number.NaN);
  const face = both.map((each): 'both' | 'lower' | 'upper' | null => (each === null ? null : 'both'));
  const queue = both.flatMap((each, i) => (each === null ? [] : [i]));
  for (let q = 0; q < queue.length; q++) {
    const i = queue[q]!;
    const [column, row] = [i % columns, Math.floor(i / columns)];
    const near = [
      column > 0 ? i - 1 : -1,
      column < columns - 1 ? i + 1 : -1,
      row > 0 ? i - columns : -1,
      row < rows - 1 ? i + columns : -1,
    ];
    for (const j of near) {
      if (j < 0 || face[j] !== null || sorted[j] == null) continue;
      const value = medianOrNaN(sorted[j]!);
      const expected = expectedLower(lower, j, columns, rows);
      const up = value - expected > apart / 2;
      face[j] = up ? 'upper' : 'lower';
      lower[j] = up ? value - apart : value;
      queue.push(j);
    }
  }
  const count = (which: 'lower' | 'upper') => face.filter((each) => each === which || each === 'both').length;
  const chosen = count('upper') > count('lower') ? 'upper' : 'lower';
  const kept = face.map((each, i): Kept => {
    if (each === null) return all;
    const middle = lower[i]! + apart / 2;
    if (each === 'both' || each === chosen)
      return chosen === 'upper' ? { low: middle, high: all.high } : { low: all.low, high: middle };
    return { low: 1, high: -1 };
  });
  return { kept, apart };
}

/** The lower face at a cell from the cells around it that tell it: their mean, and their slope where two in a row do. */
function expectedLower(lower: readonly number[], j: number, columns: number, rows: number): number {
  const [column, row] = [j % columns, Math.floor(j / columns)];
  const guesses: number[] = [];
  for (const [dc, dr] of [
    [-1, 0],
    [1, 0],
    [0, -1],
    [0, 1],
  ] as const) {
    const at = (k: number) => {
      const [c, r] = [column + k * dc, row + k * dr];
      return c < 0 || c >= columns || r < 0 || r >= rows ? Number.NaN : lower[r * columns + c]!;
    };
    const [one, two, three] = [at(1), at(2), at(3)];
    if (!Number.isFinite(one)) continue;
    // Over three cells, so that one cell's noise does not throw the slope.
    guesses.push(
      Number.isFinite(three) ? one + (one - three) / 2 : Number.isFinite(two) ? (one + two) / 2 : one,
    );
  }
  return guesses.reduce((sum, v) => sum + v, 0) / guesses.length;
}

function heightsOf(points: Float32Array): Float64Array {
  return Float64Array.from({ length: points.length / 3 }, (_, p) => points[3 * p + 2]!).sort();
}

/** Heights of a cell at its points' middle, sorted: the slope of all of them taken off, so that a steep cell is not two layers. */
function withoutSlope(points: Float32Array): Float64Array {
  const n = points.length / 3;
  const mean = [0, 0, 0];
  for (let i = 0; i < points.length; i++) mean[i % 3]! += points[i]! / n;
  let [uu, uv, vv, uw, vw] = [0, 0, 0, 0, 0];
  const each = (use: (u: number, v: number, w: number) => void) => {
    for (let p = 0; p < points.length; p += 3)
      use(points[p]! - mean[0]!, points[p + 1]! - mean[1]!, points[p + 2]! - mean[2]!);
  };
  // About the middle, over a few centimetres: well conditioned.
  each((u, v, w) => {
    uu += u * u;
    uv += u * v;
    vv += v * v;
    uw += u * w;
    vw += v * w;
  });
  const det = uu * vv - uv * uv;
  const flat = !(det > 1e-6 * uu * vv);
  const [a, b] = flat ? [0, 0] : [(vv * uw - uv * vw) / det, (uu * vw - uv * uw) / det];
  const list: number[] = [];
  each((u, v, w) => list.push(w - a * u - b * v + mean[2]!));
  return Float64Array.from(list).sort();
}

/** The split of sorted heights into two groups that leaves least scatter within them, where they stand plainly apart. */
function twoLayers(sorted: Float64Array): Split | null {
  const n = sorted.length;
  if (n < 2 * LEAST) return null;
  let total = 0;
  let squares = 0;
  for (const v of sorted) {
    total += v;
    squares += v * v;
  }
  let [sum, sumSquares, best] = [0, 0, Number.POSITIVE_INFINITY];
  let split: (Split & { readonly within: number; readonly share: number }) | null = null;
  for (let k = 1; k < n; k++) {
    const v = sorted[k - 1]!;
    sum += v;
    sumSquares += v * v;
    if (k < LEAST || n - k < LEAST) continue;
    const [a, b] = [sum / k, (total - sum) / (n - k)];
    const within = sumSquares - k * a * a + (squares - sumSquares) - (n - k) * b * b;
    if (within >= best) continue;
    best = within;
    split = {
      lower: a,
      upper: b,
      within: Math.sqrt(Math.max(0, within) / (n - 2)),
      share: Math.min(k, n - k) / n,
    };
  }
  if (split === null || split.share < SHARE) return null;
  const gap = split.upper - split.lower;
  if (gap < THICKNESS[0] || gap > THICKNESS[1] || gap < APART * split.within) return null;
  return split;
}
