import { Matrix, SVD } from 'ml-matrix';
import { add, cross, dot, length, scale, subtract, type Vec3 } from './vector.ts';

/** A rigid motion: rotate about the origin, then shift. Rows of `rotation` are the images' coordinates. */
export interface RigidMotion {
  readonly rotation: readonly (readonly [number, number, number])[];
  readonly shift: Vec3;
}

export function move(motion: RigidMotion, p: Vec3): Vec3 {
  const r = motion.rotation;
  return add([dot(r[0]!, p), dot(r[1]!, p), dot(r[2]!, p)], motion.shift);
}

/**
 * Rigid motion that takes `from` closest to `to` in least squares (Kabsch 1976, by singular values; the
 * determinant is kept at +1 so that a mirror image is never the answer). For signalled targets.
 * @throws RangeError for fewer than three points or points in one line
 */
export function kabsch(from: readonly Vec3[], to: readonly Vec3[]): RigidMotion {
  if (from.length !== to.length || from.length < 3)
    throw new RangeError('kabsch requires at least 3 pairs of points');
  const mean = (points: readonly Vec3[]) =>
    scale(
      points.reduce((s, p) => add(s, p), [0, 0, 0]),
      1 / points.length,
    );
  const [a, b] = [mean(from), mean(to)];
  const h = Matrix.zeros(3, 3);
  from.forEach((p, n) => {
    const [u, v] = [subtract(p, a), subtract(to[n]!, b)];
    for (let i = 0; i < 3; i++) for (let j = 0; j < 3; j++) h.set(i, j, h.get(i, j) + u[i]! * v[j]!);
  });
  const svd = new SVD(h);
  const s = svd.diagonal;
  if (!(s[1]! > 1e-9 * s[0]!)) throw new RangeError('kabsch requires points that are not in one line');
  const u = svd.leftSingularVectors;
  const v = svd.rightSingularVectors;
  const turn = v.mmul(u.transpose());
  const sign = determinant(turn) < 0 ? -1 : 1;
  const rotation = v.mmul(Matrix.diag([1, 1, sign])).mmul(u.transpose());
  const rows = [0, 1, 2].map((i) => rotation.getRow(i) as unknown as [number, number, number]);
  return { rotation: rows, shift: subtract(b, [dot(rows[0]!, a), dot(rows[1]!, a), dot(rows[2]!, a)]) };
}

function determinant(m: Matrix): number {
  const [a, b, c] = [0, 1, 2].map((i) => m.getRow(i) as unknown as Vec3) as [Vec3, Vec3, Vec3];
  return dot(a, cross(b, c));
}

/** Rotation by a vector of angle and axis (Rodrigues 1840). */
export function rotationOf(turn: Vec3): [number, number, number][] {
  const angle = length(turn);
  if (angle < 1e-15)
    return [
      [1, 0, 0],
      [0, 1, 0],
      [0, 0, 1],
    ];
  const [x, y, z] = scale(turn, 1 / angle);
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const t = 1 - c;
  return [
    [t * x * x + c, t * x * y - s * z, t * x * z + s * y],
    [t * x * y + s * z, t * y * y + c, t * y * z - s * x],
    [t * x * z - s * y, t * y * z + s * x, t * z * z + c],
  ];
}

/** The vector of angle and axis of a rotation of less than half a turn; the inverse of `rotationOf`. */
export function turnOf(rotation: RigidMotion['rotation']): Vec3 {
  const [a, b, c] = rotation as readonly [Vec3, Vec3, Vec3];
  const axis: Vec3 = [c[1] - b[2], a[2] - c[0], b[0] - a[1]];
  const sine = length(axis) / 2;
  const angle = Math.atan2(sine, (a[0] + b[1] + c[2] - 1) / 2);
  return sine < 1e-15 ? [0, 0, 0] : scale(axis, angle / (2 * sine));
}

/** First `inner`, then `outer`. */
export function compose(outer: RigidMotion, inner: RigidMotion): RigidMotion {
  const columns = [0, 1, 2].map(
    (k): Vec3 => [inner.rotation[0]![k]!, inner.rotation[1]![k]!, inner.rotation[2]![k]!],
  );
  return {
    rotation: outer.rotation.map(
      (row) => columns.map((column) => dot(row, column)) as [number, number, number],
    ),
    shift: move(outer, inner.shift),
  };
}

/** Turns a direction. */
export function turn(motion: RigidMotion, d: Vec3): Vec3 {
  const r = motion.rotation;
  return [dot(r[0]!, d), dot(r[1]!, d), dot(r[2]!, d)];
}

export const AT_REST: RigidMotion = {
  rotation: [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ],
  shift: [0, 0, 0],
};
