import { InputError } from '../input-error.ts';
import { medianOrNaN } from '../maths/median.ts';
import { drawBelow } from './draw-below.ts';
import { edgeDistances, type PanelFrame, type PanelSpec } from './panel.ts';
import { chooseFace } from './panel-layers.ts';

/** One cell of a panel: where the steel is there. */
export interface PanelCell {
  readonly column: number;
  readonly row: number;
  /** Middle of the cell in the plane, m. */
  readonly u: number;
  readonly v: number;
  /** Out of plane, m, and its standard uncertainty. */
  readonly w: number;
  readonly sd: number;
  readonly count: number;
}

export interface PanelCells {
  readonly columns: number;
  readonly rows: number;
  /** Cells inside the outline and its margins: those the map is wanted for. */
  readonly wanted: number;
  readonly cells: readonly PanelCell[];
  readonly rejected: {
    /** Points off the outline, in the margin, or farther from the plane than `reach`. */
    outside: number;
    /** Points away from the surface of their cell. */
    offSurface: number;
    /** Points in cells with too few to tell. */
    sparse: number;
    /** Points on the web's other face. */
    otherFace: number;
    /** Points in cells that do not join the rest of the panel without a jump (clamps, cables, brackets). */
    jumps: number;
  };
  /** How far the two faces of a web seen from both sides stand apart, m; 0 where one was seen. */
  readonly facesApart: number;
  /** Standard deviation of the points about the surface, m. */
  readonly scatter: number;
}

/** Points kept a cell; more are thinned by reservoir sampling with a fixed seed. */
const MOST = 48;
const LEAST = 4;
const MOST_CELLS = 40_000;
/** A jump between neighbouring cells that steel does not make: this much, m, beyond noise and a slope of 1 in 4. */
const JUMP = 0.003;
const STEEPEST = 0.25;

/** Collects the points of a panel into the cells of its map, in bounded memory. */
export function collectPanel(panel: PanelSpec, frame: PanelFrame) {
  const { cell, reach } = panel;
  const columns = Math.max(1, Math.round((frame.high[0] - frame.low[0]) / cell));
  const rows = Math.max(1, Math.round((frame.high[1] - frame.low[1]) / cell));
  if (!(cell > 0) || columns * rows > MOST_CELLS || columns < 6 || rows < 6) {
    throw new InputError(`panel "${panel.name}" cannot be mapped`, [
      {
        file: 'scan set-up',
        column: `panels.${panel.name}.cell`,
        found: `${columns} by ${rows} cells of ${cell} m`,
        expected: `at least 6 by 6 cells and at most ${MOST_CELLS}`,
      },
    ]);
  }
  const [stepU, stepV] = [(frame.high[0] - frame.low[0]) / columns, (frame.high[1] - frame.low[1]) / rows];
  const [lowU, lowV] = frame.low;
  const inside = new Uint8Array(columns * rows);
  const middle = (i: number): [number, number] => [
    lowU + ((i % columns) + 0.5) * stepU,
    lowV + (Math.floor(i / columns) + 0.5) * stepV,
  ];
  for (let i = 0; i < inside.length; i++) {
    const [u, v] = middle(i);
    if (Math.min(...edgeDistances(frame, u, v)) >= panel.margin + Math.min(stepU, stepV) / 2 - 1e-9)
      inside[i] = 1;
  }
  const store: (Float32Array | null)[] = new Array(columns * rows).fill(null);
  const seen = new Uint32Array(columns * rows);
  let outside = 0;
  const below = drawBelow(0x51ed270b);
  const k = frame.metres;
  const [x0, y0, z0] = frame.origin;
  const [ux, uy, uz] = [frame.u[0] * k, frame.u[1] * k, frame.u[2] * k];
  const [vx, vy, vz] = [frame.v[0] * k, frame.v[1] * k, frame.v[2] * k];
  const [wx, wy, wz] = [frame.w[0] * k, frame.w[1] * k, frame.w[2] * k];

  function sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
    for (let i = 0; i < count; i++) {
      const [dx, dy, dz] = [x[i]! - x0, y[i]! - y0, z[i]! - z0];
      const w = dx * wx + dy * wy + dz * wz;
      const u = dx * ux + dy * uy + dz * uz - lowU;
      const v = dx * vx + dy * vy + dz * vz - lowV;
      const column = Math.floor(u / stepU);
      const row = Math.floor(v / stepV);
      if (w < -reach || w > reach || column < 0 || column >= columns || row < 0 || row >= rows) {
        outside++;
        continue;
      }
      const at = row * columns + column;
      if (inside[at] === 0) {
        outside++;
        continue;
      }
      store[at] ??= new Float32Array(3 * MOST);
      let slot = seen[at]!;
      seen[at]!++;
      if (slot >= MOST) {
        slot = below(seen[at]!);
        if (slot >= MOST) continue;
      }
      store[at]!.set([u + lowU, v + lowV, w], 3 * slot);
    }
  }

  function result(): PanelCells {
    const rejected = { outside, offSurface: 0, sparse: 0, jumps: 0, otherFace: 0 };
    const total = columns * rows;
    const face = chooseFace(
      store.map((points, i) =>
        points === null || seen[i]! < LEAST ? null : points.subarray(0, 3 * Math.min(MOST, seen[i]!)),
      ),
      columns,
      rows,
    );
    // Points of one face, to the front of each cell.
    const number = store.map((points, i) => {
      const n = Math.min(MOST, seen[i]!);
      if (points === null) return 0;
      const { low, high } = face.kept[i]!;
      let kept = 0;
      for (let p = 0; p < n; p++) {
        const w = points[3 * p + 2]!;
        if (w < low || w > high) continue;
        points.copyWithin(3 * kept, 3 * p, 3 * p + 3);
        kept++;
      }
      rejected.otherFace += n - kept;
      return kept;
    });
    const rough = new Float64Array(total).fill(Number.NaN);
    for (let i = 0; i < total; i++) {
      if (store[i] === null) continue;
      if (number[i]! < LEAST) rejected.sparse += number[i]!;
      else rough[i] = medianOrNaN(heights(store[i]!, number[i]!));
    }
    // Second look with the slope of the neighbourhood taken off, so that a part-seen cell is not off by its tilt.
    const fine: (PanelCell | null)[] = new Array(total).fill(null);
    const levelled: Float64Array[] = [];
    const spreads: number[] = [];
    for (let i = 0; i < total; i++) {
      if (!Number.isFinite(rough[i]!)) continue;
      const slopeU = slopeAt(rough, i, 1, i % columns, columns, stepU) / stepU;
      const slopeV = slopeAt(rough, i, columns, Math.floor(i / columns), rows, stepV) / stepV;
      const [u, v] = middle(i);
      const points = store[i]!;
      const n = number[i]!;
      const level = new Float64Array(n);
      for (let p = 0; p < n; p++) {
        level[p] = points[3 * p + 2]! - slopeU * (points[3 * p]! - u) - slopeV * (points[3 * p + 1]! - v);
      }
      levelled[i] = level;
      const centre = medianOrNaN(level);
      // 1.4826: median absolute deviation to standard deviation for normal scatter.
      spreads.push(1.4826 * medianOrNaN(level.map((w) => Math.abs(w - centre))));
    }
    // No scanner repeats itself to better than a tenth of a millimetre; a smoother cloud was smoothed or made.
    const scatter = Math.max(1e-4, medianOrNaN(Float64Array.from(spreads)));
    for (let i = 0; i < total; i++) {
      const level = levelled[i];
      if (level === undefined) continue;
      const centre = medianOrNaN(level);
      let [n, sum] = [0, 0];
      for (const w of level) {
        if (Math.abs(w - centre) > 3 * scatter) continue;
        n++;
        sum += w;
      }
      const left = level.length - n;
      if (n < LEAST || left > 0.4 * level.length) {
        rejected.sparse += level.length;
        continue;
      }
      rejected.offSurface += left;
      const [u, v] = middle(i);
      fine[i] = {
        column: i % columns,
        row: Math.floor(i / columns),
        u,
        v,
        w: sum / n,
        sd: scatter / Math.sqrt(n),
        count: n,
      };
    }
    const cells = joined(fine, columns, rows, Math.max(stepU, stepV));
    for (const cell of fine) if (cell !== null && !cells.has(cell)) rejected.jumps += cell.count;
    const wanted = inside.reduce((sum, each) => sum + each, 0);
    return { columns, rows, wanted, cells: [...cells], rejected, scatter, facesApart: face.apart };
  }
  return { sink, result };
}

/** The largest set of cells that join without a jump: steel is continuous, hardware in front of it is not. */
function joined(
  cells: readonly (PanelCell | null)[],
  columns: number,
  rows: number,
  step: number,
): Set<PanelCell> {
  const seen = new Uint8Array(cells.length);
  let largest: PanelCell[] = [];
  for (let start = 0; start < cells.length; start++) {
    if (cells[start] === null || seen[start] === 1) continue;
    const group: PanelCell[] = [];
    const queue = [start];
    seen[start] = 1;
    while (queue.length > 0) {
      const i = queue.pop()!;
      const cell = cells[i]!;
      group.push(cell);
      const near = [
        cell.column > 0 ? i - 1 : -1,
        cell.column < columns - 1 ? i + 1 : -1,
        cell.row > 0 ? i - columns : -1,
        cell.row < rows - 1 ? i + columns : -1,
      ];
      for (const j of near) {
        const next = j < 0 ? null : cells[j];
        if (!next || seen[j] === 1) continue;
        if (Math.abs(next.w - cell.w) > JUMP + STEEPEST * step + 4 * Math.hypot(next.sd, cell.sd)) continue;
        seen[j] = 1;
        queue.push(j);
      }
    }
    if (group.length > largest.length) largest = group;
  }
  return new Set(largest.sort((a, b) => a.row - b.row || a.column - b.column));
}

/** Rise per cell at `i` along one axis from those neighbours that join it without a jump; 0 where none does. */
function slopeAt(
  values: Float64Array,
  i: number,
  stride: number,
  at: number,
  size: number,
  step: number,
): number {
  const here = values[i]!;
  const rise = (j: number): number => {
    const difference = j < 0 ? Number.NaN : values[j]! - here;
    return Math.abs(difference) <= JUMP + STEEPEST * step ? difference : Number.NaN;
  };
  const before = -rise(at > 0 ? i - stride : -1);
  const after = rise(at < size - 1 ? i + stride : -1);
  if (Number.isFinite(before) && Number.isFinite(after)) return (before + after) / 2;
  if (Number.isFinite(after)) return after;
  return Number.isFinite(before) ? before : 0;
}

function heights(points: Float32Array, count: number): Float64Array {
  return Float64Array.from({ length: count }, (_, p) => points[3 * p + 2]!);
}
