/**
 * A terrestrial laser scanner in front of a girder, for truth tests: rays on an angular grid are cast at the
 * real shapes (flange underside, flange edge, web, hardware, a wall behind), each beam as a bundle of thinner rays
 * so that beams on an edge come back mixed; then range noise that grows with incidence, beam-pointing noise,
 * lost returns at grazing incidence, occlusion and growth. Nothing here knows how the extraction works.
 *
 * Axes: x along the member, y toward the scanner's side, z up; underside of the bottom flange at z = 0. SI.
 */
import type { Random } from '../mechanics/random.ts';

export interface GirderShape {
  readonly span: number;
  readonly flangeWidth: number;
  readonly flangeThickness: number;
  readonly depth: number;
  /** Middle of the bottom flange, m at x. */
  readonly centre: (x: number) => number;
  /** Rise of the flange, m at x. */
  readonly rise: (x: number) => number;
  /** Flange rotation about x, rad: + lifts the +y edge. */
  readonly twist: (x: number) => number;
  /** Web surface beyond `centre`, m at x and height above the flange. */
  readonly web: (x: number, height: number) => number;
}

/** A solid box: clamp, jack head, board, column. */
export interface Box {
  readonly x: readonly [number, number];
  readonly y: readonly [number, number];
  readonly z: readonly [number, number];
}

export interface ScannerSettings {
  readonly at: readonly [number, number, number];
  /** Angle between rays, rad. */
  readonly step: number;
  /** Height range looked at, m. */
  readonly heights: readonly [number, number];
  /** Sd of one range at square incidence, m. */
  readonly rangeNoise: number;
  /** Sd of pointing, rad. */
  readonly pointing: number;
  /** Diameter of the beam at the target, m. */
  readonly beam: number;
  readonly boxes: readonly Box[];
  /** Growth: chance that a beam within [from, to] along x ends on a leaf in front of the steel. */
  readonly growth: readonly { readonly from: number; readonly to: number; readonly chance: number }[];
  /** y of a wall (the next girder) behind, m. */
  readonly wall: number;
}

export function straightShape(span: number): GirderShape {
  return {
    span,
    flangeWidth: 0.3048,
    flangeThickness: 0.0238,
    depth: 0.9,
    centre: () => 0,
    rise: () => 0,
    twist: () => 0,
    web: () => 0,
  };
}

/** y of the +y flange edge at half thickness. */
export function edgeAt(shape: GirderShape, x: number): number {
  return shape.centre(x) + (shape.flangeWidth / 2) * Math.cos(shape.twist(x));
}

/** One scan: flat x, y, z triples in metres. */
export function scan(shape: GirderShape, settings: ScannerSettings, random: Random): number[] {
  const { at, step, heights, beam } = settings;
  const points: number[] = [];
  const [sx, sy, sz] = at;
  const azimuthFrom = Math.atan2(-0.4 - sx, sy);
  const azimuthTo = Math.atan2(shape.span + 0.4 - sx, sy);
  for (let azimuth = azimuthFrom; azimuth < azimuthTo; azimuth += step) {
    const across = sy / Math.cos(azimuth);
    const low = Math.atan2(heights[0] - sz, across + 0.4);
    const high = Math.atan2(heights[1] - sz, across - 0.4);
    for (let elevation = low; elevation < high; elevation += step) {
      const a = azimuth + settings.pointing * random.normal();
      const e = elevation + settings.pointing * random.normal();
      const middle = cast(shape, settings, a, e);
      if (middle === null) continue;
      // Four thinner rays on the rim of the beam; their ranges weigh with the middle ray.
      const spread = beam / 2.8 / middle.range;
      const ranges = [middle.range];
      const rim: readonly (readonly [number, number])[] = [
        [spread, 0],
        [-spread, 0],
        [0, spread],
        [0, -spread],
      ];
      for (const [da, de] of middle.nearEdge ? rim : []) {
        const ray = cast(shape, settings, a + da, e + de);
        if (ray !== null) ranges.push(ray.range);
      }
      // Energy within half a metre blends into one return; otherwise the nearer surface answers when it has most.
      const nearest = Math.min(...ranges);
      const near = ranges.filter((r) => r - nearest < 0.5);
      if (near.length < 2 && ranges.length > 2 && random.uniform() < 0.7) continue;
      let range = near.reduce((sum, r) => sum + r, 0) / near.length;
      const incidence = Math.max(0.02, middle.cosine);
      if (incidence < 0.25 && random.uniform() > incidence / 0.25) continue;
      range += (settings.rangeNoise / Math.sqrt(incidence) ** 0.5) * random.normal();
      const leaf = settings.growth.find((g) => middle.x >= g.from && middle.x <= g.to);
      if (leaf !== undefined && random.uniform() < leaf.chance) range -= random.between(0.02, 0.6);
      const c = Math.cos(e);
      points.push(sx + range * c * Math.sin(a), sy - range * c * Math.cos(a), sz + range * Math.sin(e));
    }
  }
  return points;
}

interface Hit {
  readonly range: number;
  /** Cosine of the angle between beam and surface normal. */
  readonly cosine: number;
  readonly x: number;
  /** Whether the beam may touch an edge, so that its rim matters. */
  readonly nearEdge: boolean;
}

/** Room around an edge within which the rim of a beam is cast too, m: more than a beam's radius. */
const RIM = 0.012;

function cast(shape: GirderShape, settings: ScannerSettings, azimuth: number, elevation: number): Hit | null {
  const c = Math.cos(elevation);
  const d = [c * Math.sin(azimuth), -c * Math.cos(azimuth), Math.sin(elevation)] as const;
  const [sx, sy, sz] = settings.at;
  let range = Infinity;
  let cosine = 0;
  const half = shape.flangeWidth / 2;
  const hit = (r: number, cos: number) => {
    if (r > 0 && r < range) {
      range = r;
      cosine = Math.abs(cos);
    }
  };
  // The shape changes slowly along x: three passes of "surface at the x of the last pass" settle it.
  const plane = (solve: (x: number) => number): { r: number; x: number } => {
    let x = sx + (sy / -d[1]) * d[0];
    let r = 0;
    for (let pass = 0; pass < 3; pass++) {
      r = solve(x);
      x = sx + r * d[0];
    }
    return { r, x };
  };
  const within = (x: number) => x >= -0.35 && x <= shape.span + 0.35;

  // Underside: z = rise + twist·(y − centre).
  const under = plane((x) => {
    const k = Math.tan(shape.twist(x));
    return (shape.rise(x) + k * (sy - shape.centre(x)) - sz) / (d[2] - k * d[1]);
  });
  if (
    within(under.x) &&
    Math.abs(sy + under.r * d[1] - shape.centre(under.x)) <= half * Math.cos(shape.twist(under.x))
  ) {
    hit(under.r, d[2]);
  }
  // Edge face on the scanner's side.
  const edge = plane((x) => (edgeAt(shape, x) - sy) / d[1]);
  const edgeHeight = sz + edge.r * d[2] - shape.rise(edge.x) - half * Math.sin(shape.twist(edge.x));
  if (within(edge.x) && edgeHeight >= 0 && edgeHeight <= shape.flangeThickness) hit(edge.r, d[1]);
  // Web.
  let height = 0.2;
  const web = plane((x) => {
    const r = (shape.centre(x) + shape.web(x, height) - sy) / d[1];
    height = sz + r * d[2] - shape.rise(x) - shape.flangeThickness;
    return r;
  });
  if (within(web.x) && height >= 0 && height <= shape.depth) hit(web.r, d[1]);
  let nearEdge = edgeHeight >= -RIM && edgeHeight <= shape.flangeThickness + RIM;
  for (const box of settings.boxes) {
    const r = boxRange(box, settings.at, d, 0);
    if (r !== null) hit(r, 0.8);
    nearEdge ||= boxRange(box, settings.at, d, RIM) !== null;
  }
  const wall = (settings.wall - sy) / d[1];
  hit(wall, d[1]);
  return Number.isFinite(range) ? { range, cosine, x: sx + range * d[0], nearEdge } : null;
}

/** Nearest entry of a ray into a box made `wider` all round (slab method), or null. */
function boxRange(box: Box, from: readonly number[], d: readonly number[], wider: number): number | null {
  let near = 0;
  let far = Infinity;
  [box.x, box.y, box.z].forEach(([low, high], i) => {
    const a = (low - wider - from[i]!) / d[i]!;
    const b = (high + wider - from[i]!) / d[i]!;
    near = Math.max(near, Math.min(a, b));
    far = Math.min(far, Math.max(a, b));
  });
  return near < far ? near : null;
}

/** The usual two set-ups of a scan from one side of a bridge, merged. */
export function scanFromTwo(
  shape: GirderShape,
  random: Random,
  change: Partial<ScannerSettings> = {},
): Float64Array {
  const base: ScannerSettings = {
    at: [0, 0, 0],
    step: 0.0009,
    heights: [-0.15, 0.3],
    rangeNoise: 0.002,
    pointing: 0.00005,
    beam: 0.005,
    boxes: [],
    growth: [],
    wall: -2.4,
    ...change,
  };
  const points = [0.28, 0.74].flatMap((share, i) =>
    scan(shape, { ...base, at: [share * shape.span, 5.5 + i, -3.2] }, random.fork(`station ${i}`)),
  );
  return Float64Array.from(points);
}
