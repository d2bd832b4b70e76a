/** Net over a panel, corner to corner: node row · columns + column. */
export interface Net {
  readonly columns: number;
  readonly rows: number;
  /** Station of the first column and height of the first row, and the steps between, m. */
  readonly from: number;
  readonly low: number;
  readonly stepX: number;
  readonly stepY: number;
}

/** Nodes along the shorter side of a panel. */
const FINENESS = 24;
const MOST_NODES = 60;

export function netOver(from: number, to: number, low: number, high: number): Net {
  const [width, height] = [to - from, high - low];
  const step = Math.min(width, height) / FINENESS;
  const columns = Math.min(MOST_NODES, Math.round(width / step)) + 1;
  const rows = Math.min(MOST_NODES, Math.round(height / step)) + 1;
  return { columns, rows, from, low, stepX: width / (columns - 1), stepY: height / (rows - 1) };
}

/** Place of a node, m. */
export function nodeAt(net: Net, index: number): { station: number; height: number } {
  return {
    station: net.from + (index % net.columns) * net.stepX,
    height: net.low + Math.floor(index / net.columns) * net.stepY,
  };
}

/** Share of the way to the next reading up to which a place counts as seen: half-way and a little. */
const REACH = 0.8;
/** A strip along an edge without readings counts as seen up to this share of the spacing: the edge itself is held. */
const STRIP = 1.6;
/** Readings on fewer places of their own grid than this share stand where they stand, not on a grid. */
const GRID = 0.4;
const SAME = 1e-6;

/**
 * Which nodes of the net a survey saw: those with a reading within most of its spacing, along and up. One reading
 * missing from a grid leaves a hole where it would have stood.
 */
export function seenNodes(
  net: Net,
  places: readonly { readonly station: number; readonly height: number }[],
): boolean[] {
  const xs = distinct(places.map((p) => p.station));
  const ys = distinct(places.map((p) => p.height));
  const scattered = places.length < GRID * xs.length * ys.length;
  const area = net.stepX * (net.columns - 1) * net.stepY * (net.rows - 1);
  const wide = 1.2 * Math.sqrt(area / Math.max(1, places.length));
  const gapX = scattered ? () => wide : spacing(xs, ys);
  const gapY = scattered ? () => wide : spacing(ys, xs);
  const seen = new Array<boolean>(net.columns * net.rows).fill(false);
  const rows = Array.from({ length: net.rows }, (_, r) => {
    const height = net.low + r * net.stepY;
    const gap = gapY(height);
    return { at: intoStrip(height, ys, gap), gap };
  });
  const columns = Array.from({ length: net.columns }, (_, c) => {
    const station = net.from + c * net.stepX;
    const gap = gapX(station);
    return { at: intoStrip(station, xs, gap), gap };
  });
  const byHeight = [...places].sort((a, b) => a.height - b.height);
  rows.forEach((y, r) => {
    const near = byHeight.filter((p) => Math.abs(p.height - y.at) <= REACH * y.gap + SAME);
    columns.forEach((x, c) => {
      seen[r * net.columns + c] = near.some((p) => Math.abs(p.station - x.at) <= REACH * x.gap + SAME);
    });
  });
  return seen;
}

/** A place in the strip between an edge and the outermost readings is taken for the place of those. */
function intoStrip(at: number, stops: readonly number[], gap: number): number {
  const [first, last] = [stops[0]!, stops.at(-1)!];
  if (at < first && first - at <= STRIP * gap) return first;
  if (at > last && at - last <= STRIP * gap) return last;
  return at;
}

/**
 * Distance between the readings either side of a place, at most twice the usual one. A single row has no spacing of its
 * own and says nothing of the panel beside it: it reaches as far as its readings stand apart along it.
 */
function spacing(stops: readonly number[], across: readonly number[]): (at: number) => number {
  const gaps = gapsOf(stops);
  const usual = middle(gaps) ?? middle(gapsOf(across)) ?? 0;
  return (at) => {
    // The wider of the two gaps at a stop: both reach toward it.
    let here = 0;
    gaps.forEach((gap, i) => {
      if (at >= stops[i]! - SAME && at <= stops[i + 1]! + SAME) here = Math.max(here, gap);
    });
    return Math.min(here === 0 ? usual : here, 2 * usual);
  };
}

/** The wider of the middle distances between read stations and between read heights, m. */
export function readSpacing(
  places: readonly { readonly station: number; readonly height?: number }[],
): number {
  return Math.max(usual(places.map((p) => p.station)), usual(places.map((p) => p.height ?? 0)));
}

/** The middle distance between neighbouring distinct values. */
export function usual(values: readonly number[]): number {
  const sorted = [...new Set(values.map((v) => Math.round(v * 1e3) / 1e3))].sort((a, b) => a - b);
  const gaps = sorted.slice(1).map((v, i) => v - sorted[i]!);
  return gaps.sort((a, b) => a - b)[Math.floor(gaps.length / 2)] ?? 0;
}

function gapsOf(stops: readonly number[]): number[] {
  return stops.slice(1).map((stop, i) => stop - stops[i]!);
}

function middle(values: readonly number[]): number | undefined {
  return [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)];
}

/** Increasing, those closer than a millimetre once. */
function distinct(values: readonly number[]): number[] {
  const kept: number[] = [];
  for (const value of [...values].sort((a, b) => a - b))
    if (kept.length === 0 || value - kept.at(-1)! > 1e-3) kept.push(value);
  return kept;
}

/** Connected parts (sharing a side) of the nodes wanted, largest first. */
export function patches(net: Net, wanted: (index: number) => boolean): number[][] {
  const found: number[][] = [];
  const done = new Uint8Array(net.columns * net.rows);
  for (let start = 0; start < done.length; start++) {
    if (done[start] === 1 || !wanted(start)) continue;
    const patch: number[] = [];
    const queue = [start];
    done[start] = 1;
    while (queue.length > 0) {
      const i = queue.pop()!;
      patch.push(i);
      const column = i % net.columns;
      for (const j of [
        column > 0 ? i - 1 : -1,
        column < net.columns - 1 ? i + 1 : -1,
        i - net.columns,
        i + net.columns < done.length ? i + net.columns : -1,
      ]) {
        if (j < 0 || done[j] === 1 || !wanted(j)) continue;
        done[j] = 1;
        queue.push(j);
      }
    }
    found.push(patch);
  }
  return found.sort((a, b) => b.length - a.length);
}
