import type { Slice } from './slices.ts';

/** The cross-section of a flange: a rectangle, m. */
export interface Section {
  readonly width: number;
  readonly thickness: number;
}

/**
 * Where the middle of the section is, m in the axes of the line (`y` toward, `z` across, which is away from the face
 * that shows), and how far it is turned from `toward` to `across`, rad.
 */
export interface Pose {
  readonly y: number;
  readonly z: number;
  readonly tilt: number;
}

/** Side of a cell, m: about the scatter of a usual scanner, so that a cell is one look at the steel. */
const CELL = 0.006;
/** Length of a piece of the outline that counts as seen or not, m. */
const PIECE = 0.01;
/** As near to the outline as this a point is on it, m. */
const ON = 0.008;
/** A plate's edge tells more about where it is than as much of its face. */
const EDGE_WORTH = 4;
/** The face that looks away from the web is the one a scanner below sees. */
const INNER_WORTH = 0.9;
/** Steel beyond the ends of the face, and points within the steel, speak against a place. */
const BEYOND = 0.7;
const WITHIN = 1;

/** Points near an expected place, gathered in cells; positions are relative to it. */
export interface Cells {
  readonly y: Float64Array;
  readonly z: Float64Array;
  /** Weight, 0.25 to 1: a cell with four points is as good as one with more. */
  readonly weight: Float64Array;
  count: number;
  /** Points gathered. */
  points: number;
}

/** Gathers points of slices within a box around an expected place that may move along the line. */
export function cellGatherer(halfY: number, halfZ: number) {
  const [wide, high] = [Math.ceil((2 * halfY) / CELL), Math.ceil((2 * halfZ) / CELL)];
  const place = new Int32Array(wide * high);
  const most = 6000;
  const touched = new Int32Array(most);
  const number = new Int32Array(most);
  const cells: Cells = {
    y: new Float64Array(most),
    z: new Float64Array(most),
    weight: new Float64Array(most),
    count: 0,
    points: 0,
  };

  function clear(): void {
    for (let k = 0; k < cells.count; k++) place[touched[k]!] = 0;
    cells.count = 0;
    cells.points = 0;
  }

  /** Adds a slice; the expected place at its middle and its slopes along the line. */
  function add(slice: Slice, y0: number, z0: number, slopeY: number, slopeZ: number): void {
    const { along, toward, across, count } = slice;
    const { y, z } = cells;
    for (let p = 0; p < count; p++) {
      const a = along[p]!;
      const dy = toward[p]! - y0 - slopeY * a;
      if (dy <= -halfY || dy >= halfY) continue;
      const dz = across[p]! - z0 - slopeZ * a;
      if (dz <= -halfZ || dz >= halfZ) continue;
      cells.points++;
      const at = Math.floor((dy + halfY) / CELL) + wide * Math.floor((dz + halfZ) / CELL);
      let k = place[at]! - 1;
      if (k < 0) {
        if (cells.count === most) continue;
        k = cells.count++;
        place[at] = k + 1;
        touched[k] = at;
        number[k] = 0;
        y[k] = 0;
        z[k] = 0;
      }
      const n = ++number[k]!;
      y[k]! += (dy - y[k]!) / n;
      z[k]! += (dz - z[k]!) / n;
    }
  }

  function result(): Cells {
    for (let k = 0; k < cells.count; k++) cells.weight[k] = Math.min(4, number[k]!) / 4;
    return cells;
  }
  return { clear, add, result };
}

/** How well a section in one place explains the cells. */
export interface SectionScore {
  /** Pieces of the outline seen, less what speaks against the place, over the pieces of one face. */
  quality: number;
  /** Share of the outer face, the inner face and the edges seen. */
  outer: number;
  inner: number;
  left: number;
  right: number;
}

/** Scores places and improves them; for one section. */
export function sectionFitter(section: Section) {
  const hw = section.width / 2;
  const ht = section.thickness / 2;
  const pieces = Math.max(4, Math.round(section.width / PIECE));
  const edgePieces = Math.max(1, Math.round(section.thickness / PIECE));
  const seen = new Uint8Array(2 * pieces + 2 * edgePieces);
  const deep = Math.min(0.012, 0.7 * ht);
  const last: SectionScore = { quality: 0, outer: 0, inner: 0, left: 0, right: 0 };

  /** The score of a pose (relative to the place the cells were gathered about); the object is reused. */
  function score(cells: Cells, y0: number, z0: number, tilt: number): SectionScore {
    const c = Math.cos(tilt);
    const s = Math.sin(tilt);
    seen.fill(0);
    let against = 0;
    const { y, z, weight, count } = cells;
    for (let k = 0; k < count; k++) {
      const dy = y[k]! - y0;
      const dz = z[k]! - z0;
      const u = c * dy + s * dz;
      const au = u < 0 ? -u : u;
      if (au > hw + 0.05) continue;
      const v = c * dz - s * dy;
      const av = v < 0 ? -v : v;
      const dv = av - ht;
      const du = au - hw;
      // An edge face that goes on past this outline: the section is a plate's thickness off.
      if (dv > ON) {
        if (dv < 2 * ht && du < ON / 2 && du > -ON / 2) against += BEYOND * weight[k]!;
        continue;
      }
      if (du > ON) {
        if (du > 0.014 && dv > -ON) against += BEYOND * weight[k]!;
        continue;
      }
      if (du > -ON && dv < ON / 2) {
        const piece = Math.max(0, Math.min(edgePieces - 1, Math.floor(((v + ht) / (2 * ht)) * edgePieces)));
        seen[2 * pieces + (u < 0 ? 0 : edgePieces) + piece] = 1;
      }
      if (dv > -ON && (dv > -ht || ht < ON)) {
        const piece = Math.max(0, Math.min(pieces - 1, Math.floor(((u + hw) / (2 * hw)) * pieces)));
        seen[(v < 0 ? 0 : pieces) + piece] = 1;
      } else if (du < -deep && dv < -deep) against += WITHIN * weight[k]!;
    }
    let [outer, inner, left, right] = [0, 0, 0, 0];
    for (let i = 0; i < pieces; i++) {
      outer += seen[i]!;
      inner += seen[pieces + i]!;
    }
    for (let i = 0; i < edgePieces; i++) {
      left += seen[2 * pieces + i]!;
      right += seen[2 * pieces + edgePieces + i]!;
    }
    // Both faces count where both are seen, but the second only half: a thin plate's noise shows on both.
    const faces = Math.max(outer, INNER_WORTH * inner) + 0.5 * Math.min(outer, inner);
    last.quality = (faces + (EDGE_WORTH * 3 * (left + right)) / edgePieces - against) / pieces;
    last.outer = outer / pieces;
    last.inner = inner / pieces;
    last.left = left / edgePieces;
    last.right = right / edgePieces;
    return last;
  }

  /**
   * Moves a pose onto the cells: each cell pulls the side of the outline nearest to it (iterated closest point; Besl and
   * McKay 1992), far ones ever less (Welsch's weights, Holland and Welsch 1977), and the expected pose pulls back.
   * Only where to look comes of this; what is reported is measured afterwards.
   * @param spread standard deviations of the expected pose: across, m, and of the tilt, rad
   */
  function improve(cells: Cells, start: Pose, expected: Pose, spread: readonly [number, number]): Pose {
    let { y: y0, z: z0, tilt } = start;
    const { y, z, weight, count } = cells;
    for (let pass = 0; pass < 9; pass++) {
      const scale = pass < 3 ? 0.014 : pass < 6 ? 0.008 : 0.005;
      const c = Math.cos(tilt);
      const s = Math.sin(tilt);
      const [py, pt] = [(scale / spread[0]) ** 2 * 4, (scale / spread[1]) ** 2 * 4];
      let [ayy, ayz, ayt, azz, azt, att] = [py, 0, 0, py, 0, pt];
      let [by, bz, bt] = [py * (expected.y - y0), py * (expected.z - z0), pt * (expected.tilt - tilt)];
      for (let k = 0; k < count; k++) {
        const dy = y[k]! - y0;
        const dz = z[k]! - z0;
        const u = c * dy + s * dz;
        const v = c * dz - s * dy;
        const du = (u < 0 ? -u : u) - hw;
        const dv = (v < 0 ? -v : v) - ht;
        const edge = du > dv;
        const r = edge ? du : dv;
        if (r > 3 * scale || r < -3 * scale || (edge ? dv : du) > 3 * scale) continue;
        const t = r / scale;
        const w = weight[k]! * Math.exp(-t * t);
        // Gradient of the distance by y, z and tilt.
        const sign = edge ? (u < 0 ? -1 : 1) : v < 0 ? -1 : 1;
        const gy = edge ? -sign * c : sign * s;
        const gz = edge ? -sign * s : -sign * c;
        const gt = edge ? sign * v : -sign * u;
        ayy += w * gy * gy;
        ayz += w * gy * gz;
        ayt += w * gy * gt;
        azz += w * gz * gz;
        azt += w * gz * gt;
        att += w * gt * gt;
        by -= w * r * gy;
        bz -= w * r * gz;
        bt -= w * r * gt;
      }
      const m0 = azz * att - azt * azt;
      const m1 = ayt * azt - ayz * att;
      const m2 = ayz * azt - azz * ayt;
      const det = ayy * m0 + ayz * m1 + ayt * m2;
      if (!(det > 0)) break;
      const stepY = (m0 * by + m1 * bz + m2 * bt) / det;
      const stepZ = (m1 * by + (ayy * att - ayt * ayt) * bz + (ayz * ayt - ayy * azt) * bt) / det;
      const stepT = (m2 * by + (ayz * ayt - ayy * azt) * bz + (ayy * azz - ayz * ayz) * bt) / det;
      y0 += stepY;
      z0 += stepZ;
      tilt += Math.max(-0.1, Math.min(0.1, stepT));
      if (pass > 6 && Math.abs(stepY) + Math.abs(stepZ) < 1e-5) break;
    }
    return { y: y0, z: z0, tilt };
  }

  return { score, improve, section };
}

export type SectionFitter = ReturnType<typeof sectionFitter>;

/** How far a point is from the outline of a section, m; negative within it. */
export function outlineDistance(section: Section, pose: Pose, y: number, z: number): number {
  const [c, s] = [Math.cos(pose.tilt), Math.sin(pose.tilt)];
  const du = Math.abs(c * (y - pose.y) + s * (z - pose.z)) - section.width / 2;
  const dv = Math.abs(c * (z - pose.z) - s * (y - pose.y)) - section.thickness / 2;
  return du > 0 && dv > 0 ? Math.hypot(du, dv) : Math.max(du, dv);
}
