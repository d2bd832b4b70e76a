import { InputError } from '../input-error.ts';
import { fitSurface, type PanelPoint } from '../panels/surface.ts';
import { edgeDistances, type PanelEdge, type PanelFrame, type PanelSpec, panelFrame } from './panel.ts';
import { collectPanel, type PanelCell, type PanelCells } from './panel-cells.ts';
import { predict, robustLinearFit } from './robust-fit.ts';
import { add, scale, type Vec3 } from './vector.ts';

/** Deviation of a panel from the surface its held edges span. Lengths in m, positive toward the panel's positive side. */
export interface BulgeMap {
  readonly panel: PanelSpec;
  /** The side a picture with corner 1 at the left and 4 above it is seen from. */
  readonly seenFrom: 'positive' | 'negative';
  /** Corners in the plane of the map, m. */
  readonly outline: readonly (readonly [number, number])[];
  readonly columns: number;
  readonly rows: number;
  /** Cell middles (u along 1-2, v along 1-4), deviation, its standard uncertainty, points. */
  readonly cells: readonly {
    readonly column: number;
    readonly row: number;
    readonly u: number;
    readonly v: number;
    readonly deviation: number;
    readonly sd: number;
    readonly count: number;
  }[];
  /** Largest bulge of the smoothed map, with where it is in the plane and in the cloud. */
  readonly largest: {
    readonly deviation: number;
    readonly sd: number;
    readonly u: number;
    readonly v: number;
    readonly point: Vec3;
    /** It stands beside a part of the panel that was not seen, where it can be more. Absent: not known (maps of before). */
    readonly lowerBound?: boolean;
  };
  /** Where the bulge is at least half its largest, one connected patch. */
  readonly extent: { readonly along: number; readonly up: number; readonly area: number };
  /** Mean curvatures at the largest bulge over a circle of `radius`: least and greatest, 1/m, with their uncertainty. */
  readonly curvature: {
    readonly greatest: number;
    readonly least: number;
    readonly sd: number;
    readonly radius: number;
  };
  /** Lean and twist of the panel as a whole and the bow of each held edge, in the map's own plane of corners, m. */
  readonly takenOff?: {
    readonly lean: number;
    readonly twist: number;
    readonly bows: readonly { readonly edge: PanelEdge; readonly value: number }[];
  };
  /** How the held edges agree with the surface they span: standard deviation of their extrapolated positions, m. */
  readonly planeScatter: number;
  readonly rejected: PanelCells['rejected'];
  /** How far the two faces of a web seen from both sides stand apart, m; 0 where one was seen. */
  readonly facesApart: number;
  readonly scatter: number;
  /** Share of the panel inside its margins that was seen. */
  readonly seen: number;
}

/** Share of the panel's depth next to an edge from which the edge's own position is extrapolated. */
const EDGE_SHARE = 0.25;
const EDGES: readonly PanelEdge[] = ['1-2', '2-3', '3-4', '4-1'];

/**
 * Maps a panel: give `sink` every point (bounded memory), then ask for `map`.
 *
 * Reference plane: a bulge can fill its panel, so a plane through all points would take part of the bulge for
 * flat. Where the panel is held it can only have moved with its flange or stiffener, so the bulge is what vanishes there
 * (`heldSurface`); the strip next to each held edge, followed to the edge itself, is held against that.
 */
export function mapBulge(panel: PanelSpec, metresPerUnit: number) {
  const frame = panelFrame(panel, metresPerUnit);
  const collector = collectPanel(panel, frame);
  return { sink: collector.sink, map: (): BulgeMap => buildMap(panel, frame, collector.result()) };
}

function buildMap(panel: PanelSpec, frame: PanelFrame, data: PanelCells): BulgeMap {
  const fault = (found: string, expected: string) =>
    new InputError(`panel "${panel.name}" cannot be mapped from this cloud`, [
      { file: 'scan', column: panel.name, found, expected },
    ]);
  if (data.cells.length < 30) {
    throw fault(
      `${data.cells.length} cells with points on one surface`,
      'at least 30 (are the corners and the unit right?)',
    );
  }
  const edges = panel.held.flatMap((edge) => edgePositions(frame, data, edge));
  const reference = edges.length < 8 ? null : heldSurface(panel, frame, data);
  if (reference === null) {
    throw fault(
      `${edges.length} places along the held edges`,
      'at least 8, on edges that are not all in one line (a smaller cell, or more held edges, gives more)',
    );
  }
  const cells = data.cells.map((cell) => {
    const taken = reference(cell.u, cell.v);
    return {
      column: cell.column,
      row: cell.row,
      u: cell.u,
      v: cell.v,
      deviation: cell.w - taken.value,
      sd: Math.hypot(cell.sd, taken.u),
      count: cell.count,
    };
  });
  const step = [
    (frame.high[0] - frame.low[0]) / data.columns,
    (frame.high[1] - frame.low[1]) / data.rows,
  ] as const;
  const size = Math.min(frame.high[0] - frame.low[0], frame.high[1] - frame.low[1]);
  const radius = Math.max(3 * Math.max(...step), size / 10);
  const table = new Map(cells.map((cell, i) => [cell.row * data.columns + cell.column, i]));
  let best: { value: number; sd: number; at: (typeof cells)[number] } | null = null;
  const smooth = cells.map((cell) => {
    const fit = localSurface(cells, data.cells, table, data.columns, cell, radius, step, 1);
    if (fit === null) return Number.NaN;
    const value = fit.coefficients[0]!;
    if (best === null || Math.abs(value) > Math.abs(best.value)) {
      const level = reference(cell.u, cell.v).u ** 2;
      best = { value, sd: Math.sqrt(fit.covariance[0]![0]! + level), at: cell };
    }
    return value;
  });
  const peak = best as { value: number; sd: number; at: (typeof cells)[number] } | null;
  if (peak === null)
    throw fault('no place with enough of its surroundings seen', 'a panel that is mostly in sight');

  const patch = halfPatch(smooth, table, data.columns, cells.indexOf(peak.at), cells);
  const us = patch.map((i) => cells[i]!.u);
  const vs = patch.map((i) => cells[i]!.v);
  const along = Math.max(...us) - Math.min(...us) + step[0];
  const up = Math.max(...vs) - Math.min(...vs) + step[1];
  // The search window may be wide beside a small dent and flatten it: value and curvature are taken again in a
  // window fitted to the bulge (a cosine dent then loses less than 2 % of its depth).
  const least = 2.5 * Math.max(...step);
  const close = Math.max(least, Math.min(radius, 0.35 * Math.min(along, up)));
  // A bulge lost in the noise is not looked at more closely: that would pick the noise's own top.
  const plain = Math.abs(peak.value) > 6 * peak.sd;
  const top = plain ? localSurface(cells, data.cells, table, data.columns, peak.at, close, step, 8) : null;
  const wide = Math.max(least, 0.3 * Math.min(along, up));
  const bend = localSurface(cells, data.cells, table, data.columns, peak.at, wide, step, 8);
  const summit = top === null ? { value: peak.value, du: 0, dv: 0 } : summitOf(top.coefficients, step);
  const deviation = summit.value;
  const [atU, atV] = [peak.at.u + summit.du, peak.at.v + summit.dv];
  const level = reference(atU, atV).u ** 2;
  const deviationSd = top === null ? peak.sd : Math.sqrt(top.covariance[0]![0]! + level);
  const [a, b, c] =
    bend === null ? [0, 0, 0] : [2 * bend.coefficients[3]!, bend.coefficients[4]!, 2 * bend.coefficients[5]!];
  const mean = (a + c) / 2;
  const turn = Math.hypot((a - c) / 2, b);
  const [first, second] = [mean + turn, mean - turn];
  const greater = Math.abs(first) >= Math.abs(second);
  const k = 1 / frame.metres;
  const local = reference(atU, atV).value + deviation;
  return {
    panel,
    seenFrom: frame.seenFrom,
    outline: frame.outline,
    columns: data.columns,
    rows: data.rows,
    cells,
    largest: {
      deviation,
      sd: deviationSd,
      u: atU,
      v: atV,
      point: add(
        frame.origin,
        add(scale(frame.u, atU * k), add(scale(frame.v, atV * k), scale(frame.w, local * k))),
      ),
      lowerBound: besideUnseen(
        frame,
        data,
        table,
        [atU, atV],
        Math.max(2.5 * Math.max(...step), 0.6 * close),
      ),
    },
    extent: { along, up, area: patch.length * step[0] * step[1] },
    curvature: {
      greatest: greater ? first : second,
      least: greater ? second : first,
      sd:
        bend === null
          ? Number.POSITIVE_INFINITY
          : 2 * Math.sqrt(Math.max(bend.covariance[3]![3]!, bend.covariance[5]![5]!)),
      radius: wide,
    },
    planeScatter: Math.sqrt(
      edges.reduce((sum, e) => sum + (e.w - reference(e.u, e.v).value) ** 2, 0) / edges.length,
    ),
    takenOff: takenOff(panel, frame, reference),
    rejected: data.rejected,
    facesApart: data.facesApart,
    scatter: data.scatter,
    seen: cells.length / data.wanted,
  };
}

/**
 * Whether a part that was not seen, two cells wide or more and clear of the panel's edges, lies within a reach of a place. A cell
 * alone is a thin spot of the cloud.
 */
function besideUnseen(
  frame: PanelFrame,
  data: PanelCells,
  table: ReadonlyMap<number, number>,
  [u, v]: readonly [number, number],
  reach: number,
): boolean {
  const { columns, rows } = data;
  const [du, dv] = [(frame.high[0] - frame.low[0]) / columns, (frame.high[1] - frame.low[1]) / rows];
  const blank = (column: number, row: number) => !table.has(row * columns + column);
  for (let row = 0; row + 1 < rows; row++) {
    for (let column = 0; column + 1 < columns; column++) {
      // The middle of a block of two by two cells.
      const [x, y] = [frame.low[0] + (column + 1) * du, frame.low[1] + (row + 1) * dv];
      if (Math.hypot(x - u, y - v) > reach) continue;
      if (Math.min(...edgeDistances(frame, x, y)) < 2 * Math.max(du, dv)) continue;
      if ([0, 1].every((i) => [0, 1].every((j) => blank(column + i, row + j)))) return true;
    }
  }
  return false;
}

/**
 * Top of a second-degree surface 1, x, y, x², xy, y², looked for within one cell of the middle; each cell is the
 * mean of its points, so the curvature over a cell (w″·step²/24 each way) is put back.
 */
function summitOf(c: readonly number[], step: readonly [number, number]) {
  const det = 4 * c[3]! * c[5]! - c[4]! * c[4]!;
  let [du, dv] = [0, 0];
  if (det > 0) {
    du = (-2 * c[5]! * c[1]! + c[4]! * c[2]!) / det;
    dv = (-2 * c[3]! * c[2]! + c[4]! * c[1]!) / det;
    if (Math.abs(du) > step[0] || Math.abs(dv) > step[1]) [du, dv] = [0, 0];
  }
  const flattened = (2 * c[3]! * step[0] ** 2 + 2 * c[5]! * step[1] ** 2) / 24;
  return { value: predict([1, du, dv, du * du, du * dv, dv * dv], c) - flattened, du, dv };
}

/** Cells averaged together for the surface the held edges span: about so many. */
const BLOCKS = 500;
/** A block this many standard deviations off the surface is something on the panel, not the panel. */
const OFF = 6;

/**
 * The surface the held edges span (`fitSurface`): the plate leans, twists and bows with them, and none of that is bulge.
 * In place of a plane, which a flange bent with the panel tilts: a flat panel swayed by 2 in read −10 mm.
 *
 * @returns null where no surface can be laid
 */
function heldSurface(panel: PanelSpec, frame: PanelFrame, data: PanelCells): Taken | null {
  const [width, height] = [frame.high[0] - frame.low[0], frame.high[1] - frame.low[1]];
  const side = Math.max(1, Math.round(Math.sqrt(data.cells.length / BLOCKS)));
  const blocks = new Map<number, PanelCell[]>();
  for (const cell of data.cells) {
    const key = Math.floor(cell.row / side) * 10_000 + Math.floor(cell.column / side);
    const block = blocks.get(key);
    if (block === undefined) blocks.set(key, [cell]);
    else block.push(cell);
  }
  const shape = { width, height, held: EDGES.flatMap((e, i) => (panel.held.includes(e) ? SIDES[i]! : [])) };
  const points = [...blocks.values()].map((block): PanelPoint => {
    const mean = (of: (c: PanelCell) => number) => block.reduce((sum, c) => sum + of(c), 0) / block.length;
    return {
      x: (mean((c) => c.u) - frame.low[0]) / width,
      y: (mean((c) => c.v) - frame.low[1]) / height,
      z: mean((c) => c.w),
      sd: mean((c) => c.sd) / Math.sqrt(block.length),
    };
  });
  if (points.length < 30) return null;
  const first = fitSurface(points, shape);
  const kept = points.filter((_, i) => Math.abs(first.standardised[i]!) < OFF);
  const surface = kept.length === points.length || kept.length < 30 ? first : fitSurface(kept, shape);
  return (u, v) => surface.reference((u - frame.low[0]) / width, (v - frame.low[1]) / height);
}

type Taken = (u: number, v: number) => { readonly value: number; readonly u: number };
/** Edges 1-2, 2-3, 3-4, 4-1 in the words of a panel whose corner 1 is low and near. */
const SIDES = ['bottom', 'to', 'top', 'from'] as const;

/** Lean of the edge 3-4 over 1-2, twist from 4-1 to 2-3, and the bow of each held edge at its middle, m. */
function takenOff(panel: PanelSpec, frame: PanelFrame, reference: Taken): NonNullable<BulgeMap['takenOff']> {
  const at = (x: number, y: number) =>
    reference(
      frame.low[0] + x * (frame.high[0] - frame.low[0]),
      frame.low[1] + y * (frame.high[1] - frame.low[1]),
    ).value;
  const lean = (x: number) => at(x, 1) - at(x, 0);
  const bows: Record<PanelEdge, number> = {
    '1-2': at(0.5, 0) - (at(0, 0) + at(1, 0)) / 2,
    '2-3': at(1, 0.5) - (at(1, 0) + at(1, 1)) / 2,
    '3-4': at(0.5, 1) - (at(0, 1) + at(1, 1)) / 2,
    '4-1': at(0, 0.5) - (at(0, 0) + at(0, 1)) / 2,
  };
  return {
    lean: lean(0.5),
    twist: lean(1) - lean(0),
    bows: panel.held.map((edge) => ({ edge, value: bows[edge] })),
  };
}

/** Positions of a held edge, one for each row of cells that runs up to it: parabola across the strip, taken at the edge. */
function edgePositions(frame: PanelFrame, data: PanelCells, edge: PanelEdge) {
  const e = EDGES.indexOf(edge);
  const alongColumns = e === 0 || e === 2;
  const depth = alongColumns ? frame.high[1] - frame.low[1] : frame.high[0] - frame.low[0];
  const strips = new Map<number, { d: number; cell: PanelCell }[]>();
  for (const cell of data.cells) {
    const d = edgeDistances(frame, cell.u, cell.v);
    // Not beside the corners, where the neighbouring edge holds the strip too.
    const beside = [d[(e + 1) % 4]!, d[(e + 3) % 4]!];
    if (d[e]! > EDGE_SHARE * depth || Math.min(...beside) < 0) continue;
    const key = alongColumns ? cell.column : cell.row;
    const strip = strips.get(key) ?? [];
    strip.push({ d: d[e]!, cell });
    strips.set(key, strip);
  }
  const found: { u: number; v: number; w: number; sd: number }[] = [];
  const [p, q] = [frame.outline[e]!, frame.outline[(e + 1) % 4]!];
  const edgeLength = Math.hypot(q[0] - p[0], q[1] - p[1]);
  const inward = [-(q[1] - p[1]) / edgeLength, (q[0] - p[0]) / edgeLength];
  for (const strip of strips.values()) {
    if (strip.length < 5) continue;
    const fit = robustLinearFit(
      strip.map(({ d }) => [1, d, d * d]),
      strip.map(({ cell }) => cell.w),
      strip.map(({ cell }) => cell.sd),
    );
    if (fit === null) continue;
    const { d, cell } = strip.reduce((a, b) => (a.d < b.d ? a : b));
    const sd = Math.max(Math.sqrt(fit.covariance[0]![0]!), 0.25 * cell.sd);
    found.push({ u: cell.u - d * inward[0]!, v: cell.v - d * inward[1]!, w: fit.coefficients[0]!, sd });
  }
  return found;
}

/** Second-degree surface through the cells around one cell; null where fewer than 60 % of them are seen. */
function localSurface(
  cells: readonly {
    readonly column: number;
    readonly row: number;
    readonly u: number;
    readonly v: number;
    readonly deviation: number;
  }[],
  noise: readonly PanelCell[],
  table: ReadonlyMap<number, number>,
  columns: number,
  at: { readonly column: number; readonly row: number; readonly u: number; readonly v: number },
  radius: number,
  step: readonly [number, number],
  passes: number,
) {
  const [nu, nv] = [Math.ceil(radius / step[0]), Math.ceil(radius / step[1])];
  const rows: number[][] = [];
  const values: number[] = [];
  const sds: number[] = [];
  let wanted = 0;
  for (let r = at.row - nv; r <= at.row + nv; r++) {
    for (let c = at.column - nu; c <= at.column + nu; c++) {
      const [du, dv] = [(c - at.column) * step[0], (r - at.row) * step[1]];
      if (du * du + dv * dv > radius * radius) continue;
      wanted++;
      if (c < 0 || c >= columns) continue;
      const i = table.get(r * columns + c);
      if (i === undefined) continue;
      rows.push([1, du, dv, du * du, du * dv, dv * dv]);
      values.push(cells[i]!.deviation);
      sds.push(noise[i]!.sd);
    }
  }
  if (rows.length < 0.6 * wanted || rows.length < 10) return null;
  return robustLinearFit(rows, values, sds, passes);
}

/** Cells joined to the largest bulge with at least half of it, on the same side. */
function halfPatch(
  smooth: readonly number[],
  table: ReadonlyMap<number, number>,
  columns: number,
  start: number,
  cells: readonly { readonly column: number; readonly row: number }[],
): number[] {
  const half = smooth[start]! / 2;
  const patch = new Set([start]);
  const queue = [start];
  while (queue.length > 0) {
    const cell = cells[queue.pop()!]!;
    for (const [c, r] of [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ] as const) {
      const column = cell.column + c;
      if (column < 0 || column >= columns) continue;
      const j = table.get((cell.row + r) * columns + column);
      if (j === undefined || patch.has(j)) continue;
      const value = smooth[j]!;
      if (!(Math.abs(value) >= Math.abs(half)) || value * half < 0) continue;
      patch.add(j);
      queue.push(j);
    }
  }
  return [...patch];
}
