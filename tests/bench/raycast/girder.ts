/**
 * A struck plate girder as a ray-casting scene, and the exact truth of its bottom flange. Written from the geometry
 * alone, apart from everything under src/scan, so that the scan reader is judged by shapes it did not choose.
 *
 * Axes, m: x along the member from the first bearing; y across, positive toward the bay the scanner stands in; z up from
 * the underside of the undamaged bottom flange.
 */

/** Largest hit of the bottom flange, where it was struck. */
export interface Hit {
  /** Toward +y, m. */
  readonly push: number;
  /** Positive where the +y edge rises, rad. */
  readonly tilt: number;
  /** m */
  readonly lift: number;
}

export interface GirderSpec {
  readonly span: number;
  readonly flangeWidth: number;
  readonly flangeThickness: number;
  readonly depth: number;
  readonly webThickness: number;
  /** Flat pieces a web is cast in over its height: eight stand up to 5 mm off one pushed by 18 in, 32 up to 0.3 mm. */
  readonly webParts: number;
  /** Distance to the next girder toward +y, m. */
  readonly bay: number;
  readonly hit: Hit;
  /** Where it was struck, m from the first bearing. */
  readonly struckAt: number;
  /** Waviness left from fabrication, m (amplitude over the whole span). */
  readonly wave: number;
}

export const GIRDER: GirderSpec = {
  span: 27.4,
  flangeWidth: 0.406,
  flangeThickness: 0.032,
  depth: 1.25,
  webThickness: 0.011,
  webParts: 32,
  bay: 2.4,
  hit: { push: 0, tilt: 0, lift: 0 },
  struckAt: 12.1,
  wave: 0.003,
};

/** The bottom flange at one place: middle of its underside, and how far the +y edge is turned up. */
export interface Pose {
  readonly y: number;
  readonly z: number;
  readonly tilt: number;
}

/**
 * The pose at x: the push is a triangle with rounded corners (a hinge where it was struck and one at each side), tilt
 * and lift are bumps, narrower than it, and all three leave the bearings where they were.
 */
export function poseAt(g: GirderSpec, x: number): Pose {
  const d = x - g.struckAt;
  // Second difference of a rounded ramp: a triangle whose three corners are rounded over about 0.5 m.
  const ramp = (t: number) => (t + Math.hypot(t, 0.5)) / 2;
  const reach = 0.27 * g.span;
  const triangle =
    (ramp(d + reach) - 2 * ramp(d) + ramp(d - reach)) / (ramp(reach) * 2 - 2 * ramp(0) - reach);
  const bump = (width: number) => Math.exp(-((d / width) ** 2) / 2);
  const held = smooth(x / 1.5) * smooth((g.span - x) / 1.5);
  const wave = g.wave * Math.sin((Math.PI * x) / g.span);
  return {
    y: held * g.hit.push * triangle + wave + 0.0015 * Math.sin((5 * Math.PI * x) / g.span),
    z: held * g.hit.lift * bump(0.09 * g.span) + wave,
    tilt: held * g.hit.tilt * bump(0.08 * g.span),
  };
}

/** 0 at 0, 1 from 1 on, with no kink. */
function smooth(t: number): number {
  const u = Math.min(1, Math.max(0, t));
  return u * u * (3 - 2 * u);
}

export interface Place {
  readonly y: number;
  readonly z: number;
}

/** A point of the flange: `u` across it from its middle, `v` up from its underside, m. */
export function flangePoint(pose: Pose, u: number, v: number): Place {
  const [c, s] = [Math.cos(pose.tilt), Math.sin(pose.tilt)];
  return { y: pose.y + u * c - v * s, z: pose.z + u * s + v * c };
}

/** Truth at a station: both edges at the middle of the plate's thickness, tilt, and the middle of the underside. */
export function truthAt(g: GirderSpec, x: number) {
  const pose = poseAt(g, x);
  const [half, mid] = [g.flangeWidth / 2, g.flangeThickness / 2];
  return {
    positive: flangePoint(pose, half, mid),
    negative: flangePoint(pose, -half, mid),
    tilt: pose.tilt,
    under: { y: pose.y, z: pose.z },
  };
}

/**
 * Parts of the flange's faces across: a slanting column of rays cuts a twisted face in a curve, which one chord misses by
 * up to 10 mm and eight by under 0.2 mm.
 */
const FLANGE_PARTS = 8;

/**
 * The outline at x as vertices with an index each that means the same line of steel at every x, so that a vertex runs
 * along the member as one smooth curve. `edges` joins them.
 */
export function sectionAt(g: GirderSpec, x: number): Place[] {
  const pose = poseAt(g, x);
  const { flangeWidth: b, flangeThickness: t, depth, webParts } = g;
  const foot = flangePoint(pose, 0, t);
  const out: Place[] = [];
  for (const v of [0, t]) {
    for (let k = 0; k <= FLANGE_PARTS; k++) out.push(flangePoint(pose, (k / FLANGE_PARTS - 0.5) * b, v));
  }
  // The web leaves the turned flange square to it and meets the top flange upright: a cubic (Hermite).
  const height = depth - 2 * t;
  const [dy, dz] = [-Math.sin(pose.tilt) * height, Math.cos(pose.tilt) * height];
  for (const side of [-1, 1]) {
    for (let k = 0; k <= webParts; k++) {
      const s = k / webParts;
      const [h00, h10] = [2 * s ** 3 - 3 * s ** 2 + 1, s ** 3 - 2 * s ** 2 + s];
      const [h01, h11] = [-2 * s ** 3 + 3 * s ** 2, s ** 3 - s ** 2];
      out.push({
        y: h00 * foot.y + h10 * dy + (side * g.webThickness) / 2,
        z: h00 * foot.z + h10 * dz + h01 * (depth - t) + h11 * height,
      });
    }
  }
  // Top flange (its underside only can be seen), deck, next girder: none of them moved.
  const top = depth - t;
  out.push({ y: -b / 2, z: top }, { y: b / 2, z: top }, { y: b / 2, z: depth });
  out.push({ y: -1.2, z: depth }, { y: g.bay + 6, z: depth });
  const n = g.bay;
  out.push({ y: n - b / 2, z: 0 }, { y: n + b / 2, z: 0 }, { y: n + b / 2, z: t }, { y: n - b / 2, z: t });
  out.push({ y: n - g.webThickness / 2, z: t }, { y: n - g.webThickness / 2, z: depth });
  out.push({ y: n + g.webThickness / 2, z: t }, { y: n + g.webThickness / 2, z: depth });
  return out;
}

/** Faces between the vertices of `sectionAt`. */
export function edgesOf({ webParts }: GirderSpec): readonly (readonly [number, number])[] {
  const upper = FLANGE_PARTS + 1;
  const web = 2 * upper;
  const rest = web + 2 * (webParts + 1);
  const edges: [number, number][] = [
    [0, upper],
    [FLANGE_PARTS, upper + FLANGE_PARTS],
  ];
  for (let k = 0; k < FLANGE_PARTS; k++) edges.push([k, k + 1], [upper + k, upper + k + 1]);
  for (let k = 0; k < webParts; k++) {
    edges.push([web + k, web + k + 1], [web + webParts + 1 + k, web + webParts + 2 + k]);
  }
  const faces: [number, number][] = [
    [0, 1],
    [1, 2],
    [3, 4],
    [5, 6],
    [6, 7],
    [7, 8],
    [8, 5],
    [9, 10],
    [11, 12],
  ];
  for (const [a, b] of faces) edges.push([rest + a, rest + b]);
  return edges;
}

/** Upright things: plates square to the member (diaphragms), and round posts (the mast of a lift). */
export interface Upright {
  readonly plates: readonly { x: number; y: readonly [number, number]; z: readonly [number, number] }[];
  readonly posts: readonly { x: number; y: number; radius: number; z: readonly [number, number] }[];
}

export function uprights(g: GirderSpec, mast: boolean): Upright {
  const z: [number, number] = [0.3 * g.depth, 0.85 * g.depth];
  return {
    // Where it was struck the diaphragms are taken to have torn loose; those at the quarter points stand.
    plates: [0.25, 0.75].map((share) => ({ x: share * g.span, y: [0.02, g.bay], z })),
    posts: mast ? [{ x: 0.62 * g.span, y: 1.1, radius: 0.06, z: [-4.6, -0.25] }] : [],
  };
}
