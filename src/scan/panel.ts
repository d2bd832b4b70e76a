import { InputError } from '../input-error.ts';
import { type Alignment, alignmentU } from './align.ts';
import { add, cross, dot, length, scale, subtract, unit, type Vec3 } from './vector.ts';

/** A web or flange panel to be mapped. Corners in order around it, in cloud coordinates; lengths in m. */
export interface PanelSpec {
  readonly name: string;
  readonly corners: readonly [Vec3, Vec3, Vec3, Vec3];
  /** Side a bulge counts positive toward. */
  readonly positive: Vec3;
  /** Edges held by flanges or stiffeners, by their corners: the reference plane rests on them. */
  readonly held: readonly PanelEdge[];
  /** Strip along the edges left out (fillets, welds). */
  readonly margin: number;
  /** Largest distance off the corners' plane that can be the panel. */
  readonly reach: number;
  /** Cell size of the map. */
  readonly cell: number;
}
export type PanelEdge = '1-2' | '2-3' | '3-4' | '4-1';

/** In-plane axes of a panel: u from corner 1 toward 2, v from corner 1 toward 4, w out of plane toward positive. */
export interface PanelFrame {
  readonly origin: Vec3;
  readonly u: Vec3;
  readonly v: Vec3;
  readonly w: Vec3;
  readonly metres: number;
  /** The side a picture with u to the right and v upward is seen from. */
  readonly seenFrom: 'positive' | 'negative';
  /** Corners in the plane, m from corner 1. */
  readonly outline: readonly (readonly [number, number])[];
  readonly low: readonly [number, number];
  readonly high: readonly [number, number];
}

export function panelFrame(panel: PanelSpec, metres: number): PanelFrame {
  const problem = (column: string, found: string, expected: string) =>
    new InputError(`panel "${panel.name}" cannot be mapped`, [
      { file: 'scan set-up', column: `panels.${panel.name}.${column}`, found, expected },
    ]);
  const [a, b, c, d] = panel.corners;
  const normal = cross(subtract(c, a), subtract(d, b));
  if (!(length(normal) * metres * metres > 1e-4)) {
    throw problem('corners', 'corners that span no area', 'four corners in order around the panel');
  }
  const away = length(panel.positive);
  if (!(away > 0))
    throw problem('positive', 'a direction without length', 'the side a bulge is positive toward');
  let w = unit(normal);
  const facing = dot(w, panel.positive) / away;
  if (Math.abs(facing) < 0.5) {
    throw problem(
      'positive',
      'a direction more than 60 degrees off square to the panel',
      'a direction out of the panel',
    );
  }
  if (facing < 0) w = scale(w, -1);
  const middle = scale(add(add(a, b), add(c, d)), 0.25);
  const rough = add(subtract(b, a), subtract(c, d));
  const u = unit(subtract(rough, scale(w, dot(rough, w))));
  let v = cross(w, u);
  const mirrored = dot(v, subtract(d, a)) < 0;
  if (mirrored) v = scale(v, -1);
  const off = panel.corners.map((corner) => dot(subtract(corner, middle), w) * metres);
  if (Math.max(...off.map(Math.abs)) > panel.reach / 2) {
    throw problem(
      'corners',
      `corners up to ${Math.max(...off.map(Math.abs)).toFixed(3)} m off one plane`,
      'corners of one flat panel',
    );
  }
  const origin = subtract(a, scale(w, dot(subtract(a, middle), w)));
  const outline = panel.corners.map((corner): [number, number] => {
    const r = subtract(corner, origin);
    return [dot(r, u) * metres, dot(r, v) * metres];
  });
  for (let i = 0; i < 4; i++) {
    const [p, q, r] = [outline[i]!, outline[(i + 1) % 4]!, outline[(i + 2) % 4]!];
    if ((q[0] - p[0]) * (r[1] - q[1]) - (q[1] - p[1]) * (r[0] - q[0]) <= 0) {
      throw problem('corners', 'corners that cross over', 'four corners in order around the panel');
    }
  }
  const us = outline.map((p) => p[0]);
  const vs = outline.map((p) => p[1]);
  return {
    origin,
    u,
    v,
    w,
    metres,
    seenFrom: mirrored ? 'negative' : 'positive',
    outline,
    low: [Math.min(...us), Math.min(...vs)],
    high: [Math.max(...us), Math.max(...vs)],
  };
}

/** Signed distances of a point in the plane from the four edges (1-2, 2-3, 3-4, 4-1), inside positive, m. */
export function edgeDistances(frame: PanelFrame, u: number, v: number): [number, number, number, number] {
  return [0, 1, 2, 3].map((i) => {
    const [p, q] = [frame.outline[i]!, frame.outline[(i + 1) % 4]!];
    const [du, dv] = [q[0] - p[0], q[1] - p[1]];
    return (du * (v - p[1]) - dv * (u - p[0])) / Math.hypot(du, dv);
  }) as [number, number, number, number];
}

/**
 * Largest standard uncertainty, m, that an alignment leaves in where the corners of a panel are, in its plane or out
 * of it. It moves the map over the steel; the deviations rest on the panel's own edges and do not change.
 */
export function panelPlaceU(alignment: Alignment, panel: PanelSpec, metres: number): number {
  const { u, v, w } = panelFrame(panel, metres);
  return Math.max(
    ...panel.corners.flatMap((corner) =>
      [u, v, w].map((axis) => alignmentU(alignment, scale(corner, metres), axis)),
    ),
  );
}
