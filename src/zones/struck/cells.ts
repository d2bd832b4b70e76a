/**
 * The line cut into cells, each of one curvature (taken at its middle): finest at every diaphragm and blow, where
 * moments peak. As many cells between two such places whatever their distance, so that moving a blow moves cells
 * but makes none: results change smoothly.
 */
export interface Cells {
  /** Edges, one more than cells, m. */
  readonly edges: Float64Array;
  readonly middle: Float64Array;
  readonly width: Float64Array;
}

/** Cells between two supports, and in half a patch. */
const BAY = 12;
const HALF_PATCH = 3;
/** The same between supports beyond what is read, where steel only passes moments on. */
const FAR = 4;

export function createCells(
  line: {
    readonly from: number;
    readonly to: number;
    readonly diaphragms: readonly number[];
    readonly read?: readonly [number, number];
  },
  blows: readonly { readonly station: number; readonly patch: number }[],
  bay = BAY,
): Cells {
  const { from, to } = line;
  const inside = (s: number) => Math.max(from, Math.min(to, s));
  const marks = [
    from,
    ...line.diaphragms,
    ...blows.flatMap(({ station, patch }) => [
      inside(station - patch / 2),
      station,
      inside(station + patch / 2),
    ]),
    to,
  ].sort((a, b) => a - b);
  const edges: number[] = [from];
  for (let j = 0; j + 1 < marks.length; j++) {
    const a = marks[j]!;
    const length = marks[j + 1]! - a;
    const patch = blows.some(
      (b) => a >= b.station - b.patch / 2 - 1e-9 && a + length <= b.station + b.patch / 2 + 1e-9,
    );
    const far = line.read !== undefined && (a >= line.read[1] - 1e-9 || a + length <= line.read[0] + 1e-9);
    const count = patch ? HALF_PATCH : far ? Math.min(bay, FAR) : bay;
    for (let i = 1; i <= count; i++) {
      const t = i / count;
      edges.push(a + length * (patch ? t : t < 0.5 ? 2 * t * t : 1 - 2 * (1 - t) * (1 - t)));
    }
  }
  const n = edges.length - 1;
  const middle = new Float64Array(n);
  const width = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    middle[i] = (edges[i]! + edges[i + 1]!) / 2;
    width[i] = edges[i + 1]! - edges[i]!;
  }
  return { edges: Float64Array.from(edges), middle, width };
}

/** A curvature given cell by cell with its slope and deflection at the edges, from 0 at the first. */
export interface Integrated {
  readonly curvature: ArrayLike<number>;
  readonly slopes: Float64Array;
  readonly y: Float64Array;
}

export function integrate(cells: Cells, curvature: ArrayLike<number>): Integrated {
  const n = cells.width.length;
  const slopes = new Float64Array(n + 1);
  const y = new Float64Array(n + 1);
  for (let i = 0; i < n; i++) {
    const h = cells.width[i]!;
    y[i + 1] = y[i]! + slopes[i]! * h + (curvature[i]! * h * h) / 2;
    slopes[i + 1] = slopes[i]! + curvature[i]! * h;
  }
  return { curvature, slopes, y };
}

/** Slope at a station, from that at the first edge. */
export function slopeAt({ edges }: Cells, { curvature, slopes }: Integrated, at: number): number {
  const last = edges.length - 2;
  let i = 0;
  while (i < last && edges[i + 1]! < at) i++;
  const within = Math.max(edges[i]!, Math.min(edges[i + 1]!, at));
  return slopes[i]! + curvature[i]! * (within - edges[i]!);
}

/**
 * Deflection at each `x`, m, about the chord through two stations (left out: the ends); straight on beyond the ends. Positive
 * curvature is a slope that grows with station.
 */
export function deflectionAt(
  { edges }: Cells,
  { curvature, slopes, y }: Integrated,
  x: ArrayLike<number>,
  about: readonly [number, number] = [edges[0]!, edges[edges.length - 1]!],
): Float64Array {
  const n = edges.length - 1;
  const from = edges[0]!;
  const raw = (s: number): number => {
    let value = 0;
    if (s >= edges[n]!) value = y[n]! + slopes[n]! * (s - edges[n]!);
    else if (s > from) {
      let low = 0;
      let high = n;
      while (high - low > 1) {
        const mid = (low + high) >> 1;
        if (edges[mid]! <= s) low = mid;
        else high = mid;
      }
      const t = s - edges[low]!;
      value = y[low]! + slopes[low]! * t + (curvature[low]! * t * t) / 2;
    }
    return value;
  };
  const start = raw(about[0]);
  const tilt = (raw(about[1]) - start) / (about[1] - about[0]);
  const out = new Float64Array(x.length);
  for (let i = 0; i < x.length; i++) out[i] = raw(x[i]!) - start - tilt * (x[i]! - about[0]);
  return out;
}
