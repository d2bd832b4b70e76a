import type { Random } from '../../mechanics/random.ts';
import { edgesOf, type GirderSpec, sectionAt, uprights } from './girder.ts';

/** How a girder was scanned. */
export interface ScanSpec {
  /** Where the scanner stood, [x, y, z] m. */
  readonly stands: readonly (readonly [number, number, number])[];
  /** Between points where a stand is nearest to the flange, m. */
  readonly spacing: number;
  /** Standard deviation of a range square on, m. */
  readonly noise: number;
  /** Standard deviation of the shift between two stands, m, each of y and z; a small turn about the vertical goes with it. */
  readonly step: number;
  readonly mast: boolean;
}

/** Spot at the scanner, m, and how it widens, rad: common practice for terrestrial scanners, no source. */
const SPOT = 0.004;
const WIDENING = 0.0003;
/** Beyond this gap between the near and the far face the scanner tells them apart, m. Common practice, no source. */
const RESOLVES = 0.6;
const GROUND = -4.6;

/** Stands spread evenly along the member, in the bay it was pushed into (+1) or outside (-1). */
export function standsAlong(g: GirderSpec, count: number, side: 1 | -1): [number, number, number][] {
  return Array.from({ length: count }, (_, i) => [((i + 0.5) / count) * g.span, side * 4.2, -3]);
}

/**
 * The cloud, x y z by turns. Every column of rays is a vertical plane through the stand: the plane cuts the running
 * vertices of the section in points, the section becomes a few dozen straight pieces in the plane, and each ray takes the
 * nearest of them. A spot that lies on two faces gives one point between them (a mixed pixel). Rays are cast where
 * they can meet something between half a metre below the flange and the deck.
 */
export function castCloud(g: GirderSpec, spec: ScanSpec, random: Random): Float64Array {
  let out = new Float64Array(3 * 65_536);
  let filled = 0;
  const table = sectionTable(g);
  const { plates, posts } = uprights(g, spec.mast);
  // Each stand has its own shift and turn; the frame is that of the stands together.
  const shifts = spec.stands.map(() => ({
    y: (spec.step / Math.SQRT2) * random.normal(),
    z: (spec.step / Math.SQRT2) * random.normal(),
    turn: (spec.step / 20) * random.normal(),
  }));
  if (spec.stands.length === 1) shifts[0] = { y: 0, z: 0, turn: 0 };
  const centre = (of: (s: (typeof shifts)[number], stand: number) => number) =>
    shifts.reduce((sum, s, stand) => sum + of(s, stand), 0) / shifts.length;
  const [turn, up] = [centre((s) => s.turn), centre((s) => s.z)];
  for (const s of shifts) [s.turn, s.z] = [s.turn - turn, s.z - up];
  // Sideways each stand turns about itself: the mean of what they do to the member is nought, not that of the shifts alone.
  const sideways = centre((s, stand) => s.y - s.turn * spec.stands[stand]![0]);
  for (const s of shifts) s.y -= sideways;

  const edges = edgesOf(g);
  const pieces = new Float64Array(6 * (edges.length + plates.length + posts.length + 1));
  spec.stands.forEach(([sx, sy, sz], stand) => {
    const away = Math.sign(sy);
    const near = Math.hypot(Math.abs(sy) - g.flangeWidth / 2, sz);
    const step = spec.spacing / near;
    const widest = Math.atan(Math.min(3.2, (g.span * 0.75) / Math.abs(sy)));
    for (let azimuth = -widest; azimuth <= widest; azimuth += step) {
      const [dx, dy] = [Math.sin(azimuth), -away * Math.cos(azimuth)];
      const many = cutColumn(sx, sy, dx, dy);
      // From half a metre below the flange at its farthest to the deck at its nearest.
      const run = Math.abs(sy) / Math.cos(azimuth);
      const low = Math.atan2(-0.5 - sz, run);
      const high = Math.atan2(g.depth - sz, Math.max(0.4 * run, run - 1.6 / Math.cos(azimuth)));
      for (let elevation = low + step * random.uniform(); elevation <= high; elevation += step) {
        cast(sx, sy, sz, dx, dy, elevation, many, stand);
      }
    }
  });
  return out.subarray(0, filled);

  /** Pieces of the scene in one column: run and height of both ends, and the normal in y and z (1 and 0: an upright). */
  function cutColumn(sx: number, sy: number, dx: number, dy: number): number {
    let many = 0;
    const add = (r0: number, z0: number, r1: number, z1: number, ny: number, nz: number) => {
      pieces.set([r0, z0, r1, z1, ny, nz], 6 * many++);
    };
    const cuts = table.cut(sx, sy, dx, dy);
    for (const [a, b] of edges) {
      const [ra, za, xa, ya] = [cuts[4 * a]!, cuts[4 * a + 1]!, cuts[4 * a + 2]!, cuts[4 * a + 3]!];
      const [rb, zb, xb, yb] = [cuts[4 * b]!, cuts[4 * b + 1]!, cuts[4 * b + 2]!, cuts[4 * b + 3]!];
      if (ra <= 0.05 || rb <= 0.05) continue;
      if (xa < -0.3 || xa > g.span + 0.3 || xb < -0.3 || xb > g.span + 0.3) continue;
      const length = Math.hypot(yb - ya, zb - za) || 1;
      add(ra, za, rb, zb, (zb - za) / length, (ya - yb) / length);
    }
    for (const plate of plates) {
      const r = (plate.x - sx) / dx;
      const y = sy + r * dy;
      if (r > 0 && y > plate.y[0] && y < plate.y[1]) add(r, plate.z[0], r, plate.z[1], dy, 0);
    }
    for (const post of posts) {
      const r = (post.x - sx) * dx + (post.y - sy) * dy;
      const off = (post.x - sx) * dy - (post.y - sy) * dx;
      if (r > 0 && Math.abs(off) < post.radius) {
        const face = r - Math.sqrt(post.radius ** 2 - off ** 2);
        add(face, post.z[0], face, post.z[1], dy, 0);
      }
    }
    add(0, GROUND, 80, GROUND, 0, 1);
    return many;
  }

  /** Range along the ray to the nearest piece, m, and which it is; piece -1: none. */
  function nearest(sz: number, elevation: number, many: number): { range: number; piece: number } {
    const [c, s] = [Math.cos(elevation), Math.sin(elevation)];
    let range = Number.POSITIVE_INFINITY;
    let piece = -1;
    for (let i = 0; i < many; i++) {
      const at = 6 * i;
      const [r0, z0] = [pieces[at]!, pieces[at + 1]! - sz];
      const [r1, z1] = [pieces[at + 2]!, pieces[at + 3]! - sz];
      // Sides of the ray the two ends lie on.
      const side0 = z0 * c - r0 * s;
      const side1 = z1 * c - r1 * s;
      if (side0 * side1 > 0 || side0 === side1) continue;
      const share = side0 / (side0 - side1);
      const t = (r0 + share * (r1 - r0)) * c + (z0 + share * (z1 - z0)) * s;
      if (t > 0.3 && t < range) {
        range = t;
        piece = i;
      }
    }
    return { range, piece };
  }

  function cast(
    sx: number,
    sy: number,
    sz: number,
    dx: number,
    dy: number,
    elevation: number,
    many: number,
    stand: number,
  ): void {
    const middle = nearest(sz, elevation, many);
    if (middle.piece < 0 || middle.range > 60) return;
    let range = middle.range;
    const spot = (SPOT + WIDENING * range) / 2 / range;
    const [up, down] = [nearest(sz, elevation + spot, many), nearest(sz, elevation - spot, many)];
    if (up.piece !== middle.piece || down.piece !== middle.piece) range = mixed(sz, elevation, spot, many);
    const at = 6 * middle.piece;
    const [c, s] = [Math.cos(elevation), Math.sin(elevation)];
    // Cosine of the angle between ray and normal; a graze scatters more.
    const square = Math.max(0.08, Math.abs(pieces[at + 4]! * dy * c + pieces[at + 5]! * s));
    range += spec.noise * (1 + 0.35 * (1 / square - 1)) * random.normal();
    const [x, y, z] = [sx + range * c * dx, sy + range * c * dy, sz + range * s];
    const shift = shifts[stand]!;
    if (filled + 3 > out.length) {
      const larger = new Float64Array(2 * out.length);
      larger.set(out);
      out = larger;
    }
    out[filled++] = x - shift.turn * y;
    out[filled++] = y + shift.turn * (x - sx) + shift.y;
    out[filled++] = z + shift.z;
  }

  /** Range of a spot on several faces: their mean by the light each sends back, unless the scanner tells them apart. */
  function mixed(sz: number, elevation: number, spot: number, many: number): number {
    let [sum, weight] = [0, 0];
    let [least, most, best, bestWeight] = [Number.POSITIVE_INFINITY, 0, 0, 0];
    for (let k = -4; k <= 4; k++) {
      const hit = nearest(sz, elevation + (k / 4) * spot, many);
      if (hit.piece < 0) continue;
      const w = Math.exp(-((k / 2) ** 2) / 2);
      sum += w * hit.range;
      weight += w;
      least = Math.min(least, hit.range);
      most = Math.max(most, hit.range);
      if (w > bestWeight) [best, bestWeight] = [hit.range, w];
    }
    return most - least < RESOLVES ? sum / weight : best;
  }
}

/** The section's vertices every 20 mm along the member, and where a vertical plane cuts the curve of each. */
function sectionTable(g: GirderSpec) {
  const pitch = 0.02;
  const from = -0.5;
  const rows = Math.ceil((g.span + 1) / pitch) + 1;
  const width = sectionAt(g, 0).length;
  const ys = new Float64Array(rows * width);
  const zs = new Float64Array(rows * width);
  for (let i = 0; i < rows; i++) {
    sectionAt(g, Math.min(g.span, Math.max(0, from + i * pitch))).forEach((p, k) => {
      ys[i * width + k] = p.y;
      zs[i * width + k] = p.z;
    });
  }
  const cuts = new Float64Array(4 * width);
  const at = (values: Float64Array, x: number, k: number) => {
    const place = Math.min(rows - 1.001, Math.max(0, (x - from) / pitch));
    const i = Math.floor(place);
    const a = values[i * width + k]!;
    return a + (place - i) * (values[(i + 1) * width + k]! - a);
  };

  /** Run, height, x and y of every vertex in the column from (sx, sy) along (dx, dy). */
  function cut(sx: number, sy: number, dx: number, dy: number): Float64Array {
    for (let k = 0; k < width; k++) {
      let y = at(ys, sx + (dx / dy) * -sy, k);
      let r = 0;
      // Member and rays are never nearly parallel, so the fixed point is met to a micrometre within a few turns.
      for (let turn = 0; turn < 30; turn++) {
        r = (y - sy) / dy;
        const next = at(ys, sx + r * dx, k);
        if (Math.abs(next - y) < 1e-7) break;
        y = next;
      }
      cuts.set([r, at(zs, sx + r * dx, k), sx + r * dx, sy + r * dy], 4 * k);
    }
    return cuts;
  }
  return { cut };
}
