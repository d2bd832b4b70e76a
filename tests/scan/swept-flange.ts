/**
 * A flange swept along a path of given place and tilt, with its web, a deck and a neighbour girder, as points seen from
 * scanner positions: surfaces are strewn with points at a given spacing where they face a scanner, with range noise along
 * the beam and a mixed pixel now and then. Nothing of the extraction is used; occlusion is by facing only.
 *
 * Axes: x along the member, y toward the positive side, z up; the undamaged flange's middle at y = 0, z = 0. SI.
 */
import type { Random } from '../mechanics/random.ts';

type V = readonly [number, number, number];

export interface SweptFlange {
  readonly span: number;
  readonly width: number;
  readonly thickness: number;
  readonly depth: number;
  /** Middle of the section sideways and in height, m, and tilt (+ lifts the +y edge), rad, at x. */
  readonly y: (x: number) => number;
  readonly z: (x: number) => number;
  readonly tilt: (x: number) => number;
}

export interface Look {
  /** Scanner positions. */
  readonly from: readonly V[];
  /** Distance between points on a surface seen square on, m, of all scans together. */
  readonly spacing: number;
  /** Sd of a range, m. */
  readonly noise: number;
  /** Each place's scan is shifted by so much: registration, m. */
  readonly shift?: readonly V[];
  /** Stretches [from, to] where nothing of the flange is seen. */
  readonly hidden?: readonly (readonly [number, number])[];
}

/** A blow at `at`: push, lift and tilt with a sharp peak and long legs, as struck flanges have. */
export function struckFlange(
  span: number,
  at: number,
  push: number,
  tilt: number,
  lift: number,
): SweptFlange {
  const half = 0.28 * span;
  // Straight legs with a rounded peak and rounded feet: a hyperbola over |x|.
  const shape = (x: number) => {
    const t = (x - at) / half;
    const soft = 0.12;
    const leg = (a: number) => (a + Math.sqrt(a * a + soft * soft)) / 2;
    const raw = leg(t + 1) - 2 * leg(t) + leg(t - 1);
    const top = leg(1) - 2 * leg(0) + leg(-1);
    return raw / top;
  };
  return {
    span,
    width: 0.406,
    thickness: 0.032,
    depth: 1.2,
    y: (x) => push * shape(x),
    z: (x) => lift * shape(x),
    tilt: (x) => tilt * shape(x),
  };
}

/** Middle of an edge face, m at x. */
export function edgeOf(flange: SweptFlange, x: number, side: 1 | -1): { y: number; z: number } {
  const t = flange.tilt(x);
  return {
    y: flange.y(x) + side * (flange.width / 2) * Math.cos(t),
    z: flange.z(x) + side * (flange.width / 2) * Math.sin(t),
  };
}

/** Flat x, y, z triples, one scanner position after the other, and each as scanners write: column after column, upward. */
export function strewn(flange: SweptFlange, look: Look, random: Random): Float64Array {
  const all: number[] = [];
  const { span, width, thickness, depth } = flange;
  const [hw, ht] = [width / 2, thickness / 2];
  look.from.forEach((eye, place) => {
    const points: number[] = [];
    const draw = random.fork(`place ${place}`);
    const shift = look.shift?.[place] ?? [0, 0, 0];
    const spacing = look.spacing * Math.sqrt(look.from.length);
    const put = (p: V, normal: V, hide: boolean) => {
      const d = [p[0] - eye[0], p[1] - eye[1], p[2] - eye[2]];
      const range = Math.hypot(...d);
      const cosine = -(d[0]! * normal[0] + d[1]! * normal[1] + d[2]! * normal[2]) / range;
      if (cosine < 0.03 || draw.uniform() > cosine) return;
      if (hide && look.hidden?.some(([a, b]) => p[0] >= a && p[0] <= b)) return;
      const off = look.noise * draw.normal();
      points.push(
        p[0] + (d[0]! / range) * off + shift[0],
        p[1] + (d[1]! / range) * off + shift[1],
        p[2] + (d[2]! / range) * off + shift[2],
      );
    };
    const count = (area: number) => Math.round(area / spacing ** 2);
    /** Strews a strip of the section from (u0, v0) to (u1, v1). */
    const strip = (u0: number, v0: number, u1: number, v1: number) => {
      const size = Math.hypot(u1 - u0, v1 - v0);
      const [nu, nv] = [(v1 - v0) / size, -(u1 - u0) / size];
      for (let n = count(size * (span + 0.6)); n > 0; n--) {
        const x = draw.between(-0.3, span + 0.3);
        const k = draw.uniform();
        const [u, v] = [u0 + k * (u1 - u0), v0 + k * (v1 - v0)];
        const t = flange.tilt(x);
        const [c, s] = [Math.cos(t), Math.sin(t)];
        const p: V = [x, flange.y(x) + c * u - s * v, flange.z(x) + s * u + c * v];
        put(p, [0, c * nu - s * nv, s * nu + c * nv], true);
        // A beam on the rim of the plate: its return lies behind, on the way to what is there.
        if (Math.hypot(Math.abs(u) - hw, Math.abs(v) - ht) < 0.002 && draw.uniform() < 0.5) {
          const d = [p[0] - eye[0], p[1] - eye[1], p[2] - eye[2]];
          const range = Math.hypot(...d);
          const back = -0.012 * Math.log(1 - draw.uniform());
          points.push(...p.map((value, i) => value + (d[i]! / range) * back + shift[i]!));
        }
      }
    };
    strip(-hw, -ht, hw, -ht);
    strip(hw, -ht, hw, ht);
    strip(hw, ht, -hw, ht);
    strip(-hw, ht, -hw, -ht);
    // Web: from the flange's top to the deck, straight between; both faces 6 mm off its middle.
    for (const side of [1, -1] as const) {
      for (let n = count(depth * span); n > 0; n--) {
        const x = draw.between(0, span);
        const k = draw.uniform();
        const t = flange.tilt(x);
        const [y0, z0] = [flange.y(x) - ht * Math.sin(t), flange.z(x) + ht * Math.cos(t)];
        put([x, y0 * (1 - k) + side * 0.006, z0 + k * (depth - z0)], [0, side, 0], false);
      }
    }
    // Deck above, and the next girder's web and flange on the far side.
    for (let n = count(4 * span); n > 0; n--)
      put([draw.between(0, span), draw.between(-2, 2), depth], [0, 0, -1], false);
    for (let n = count(span * depth); n > 0; n--)
      put([draw.between(0, span), -2.4, draw.between(0, depth)], [0, 1, 0], false);
    for (let n = count(span * width); n > 0; n--)
      put([draw.between(0, span), -2.4 + draw.between(-hw, hw), -ht], [0, 0, -1], false);
    inColumns(points, eye, spacing / 4, all);
  });
  return Float64Array.from(all);
}

/** Appends points by columns of one azimuth about an eye, each upward. @param step between columns, rad at 1 m */
function inColumns(points: readonly number[], eye: V, step: number, out: number[]): void {
  const angle = (i: number) => Math.atan2(points[3 * i]! - eye[0], Math.abs(points[3 * i + 1]! - eye[1]));
  const rise = (i: number) =>
    (points[3 * i + 2]! - eye[2]) / Math.hypot(points[3 * i]! - eye[0], points[3 * i + 1]! - eye[1]);
  const order = Array.from({ length: points.length / 3 }, (_, i) => ({
    i,
    column: Math.floor(angle(i) / step),
    rise: rise(i),
  }));
  order.sort((a, b) => a.column - b.column || a.rise - b.rise);
  for (const { i } of order) out.push(points[3 * i]!, points[3 * i + 1]!, points[3 * i + 2]!);
}
