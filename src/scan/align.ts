import { Matrix, SVD } from 'ml-matrix';
import { InputError } from '../input-error.ts';
import { fitFace } from './face-model.ts';
import { add, cross, dot, length, scale, subtract, unit, type Vec3 } from './vector.ts';

/** An undamaged patch of surface both scans see, for aligning one to the other. Cloud coordinates. */
export interface PatchSpec {
  readonly name: string;
  readonly at: Vec3;
  /** m */
  readonly radius: number;
}

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

/** Surface of one reference patch in one scan, in metres about the patch's own middle. */
export interface PatchPlane {
  readonly name: string;
  /** A point of the surface and its unit normal, cloud axes, m. */
  readonly point: Vec3;
  readonly normal: Vec3;
  /** Standard uncertainty of the surface along its normal, m, and of the normal's tilt, rad. */
  readonly u: number;
  readonly tiltU: number;
  readonly points: number;
}

const LEAST = 50;
const MOST = 20_000;
/** Scans are brought together to within this much before they are aligned finely, m (targets, or a first registration). */
const ROUGH = 0.1;

/** Collects the points around reference patches from a cloud and fits the surface of each. */
export function collectPatches(patches: readonly PatchSpec[], metres: number) {
  const kept = patches.map(() => ({ xyz: new Float64Array(3 * MOST), seen: 0 }));
  const random = new Uint32Array([0x1b873593]);
  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      patches.forEach((patch, k) => {
        const [cx, cy, cz] = patch.at;
        const reach = (patch.radius + ROUGH) / metres;
        const most = reach * reach;
        const into = kept[k]!;
        for (let i = 0; i < count; i++) {
          const [dx, dy, dz] = [x[i]! - cx, y[i]! - cy, z[i]! - cz];
          if (dx * dx + dy * dy + dz * dz > most) continue;
          let slot = into.seen++;
          if (slot >= MOST) {
            random[0] = Math.imul(random[0]!, 1664525) + 1013904223;
            slot = Math.floor((random[0]! / 4294967296) * into.seen);
            if (slot >= MOST) continue;
          }
          into.xyz[3 * slot] = dx * metres;
          into.xyz[3 * slot + 1] = dy * metres;
          into.xyz[3 * slot + 2] = dz * metres;
        }
      });
    },
    planes: (file: string): PatchPlane[] =>
      patches.map((patch, k) =>
        patchPlane(patch, kept[k]!.xyz.subarray(0, 3 * Math.min(MOST, kept[k]!.seen)), metres, file),
      ),
  };
}

function patchPlane(patch: PatchSpec, xyz: Float64Array, metres: number, file: string): PatchPlane {
  const fault = (found: string) =>
    new InputError('the scans cannot be aligned', [
      {
        file,
        column: `patch ${patch.name}`,
        found,
        expected: `a flat surface of at least ${LEAST} points within ${patch.radius} m of the patch`,
      },
    ]);
  const inside: number[] = [];
  for (let i = 0; i < xyz.length; i += 3) {
    if (Math.hypot(xyz[i]!, xyz[i + 1]!, xyz[i + 2]!) <= patch.radius) inside.push(i);
  }
  if (inside.length < LEAST) throw fault(`${inside.length} points`);
  // Main axes of the patch by singular values: the least one is the rough normal.
  const middle = [0, 1, 2].map((k) => inside.reduce((s, i) => s + xyz[i + k]!, 0) / inside.length);
  const step = Math.max(1, Math.floor(inside.length / 2000));
  const sample = inside.filter((_, n) => n % step === 0);
  const svd = new SVD(new Matrix(sample.map((i) => [0, 1, 2].map((k) => xyz[i + k]! - middle[k]!))));
  const axes = svd.rightSingularVectors;
  const [a, b, c] = [0, 1, 2].map((k) => axes.getColumn(k) as unknown as Vec3) as [Vec3, Vec3, Vec3];
  const along = new Float64Array(inside.length);
  const across = new Float64Array(inside.length);
  const toward = new Float64Array(inside.length);
  inside.forEach((i, n) => {
    const p: Vec3 = [xyz[i]! - middle[0]!, xyz[i + 1]! - middle[1]!, xyz[i + 2]! - middle[2]!];
    along[n] = dot(p, a);
    across[n] = dot(p, b);
    toward[n] = dot(p, c);
  });
  const fit = fitFace(along, toward, across, inside.length, 0, null, 0);
  if (fit === null || fit.used < 0.5 * inside.length) throw fault('no surface most of its points lie on');
  const normal = unit(subtract(subtract(c, scale(a, fit.slopeAlong)), scale(b, fit.slopeAcross)));
  const centre: Vec3 = [middle[0]!, middle[1]!, middle[2]!];
  return {
    name: patch.name,
    point: add(scale(patch.at, metres), add(centre, scale(c, fit.value))),
    normal,
    u: fit.u,
    tiltU: fit.slopeU,
    points: inside.length,
  };
}

/** How one scan was brought onto another. */
export interface Alignment {
  /** Takes points of this scan (m) to the reference scan. */
  readonly motion: RigidMotion;
  /** About the middle of the patches: shift, m, and turn, rad, each with its standard uncertainty. */
  readonly shift: Vec3;
  readonly shiftU: Vec3;
  readonly turn: Vec3;
  readonly turnU: Vec3;
  readonly middle: Vec3;
  /** Of the six small motions (shifts, m, then turns, rad) about `middle`. */
  readonly covariance: readonly (readonly number[])[];
  /** Factor, at least 1, by which the patches disagree more than their own uncertainties say; in the covariance. */
  readonly excess: number;
  /** Directions of motion the patches do not hold, in words; that part of the motion is left at nothing. */
  readonly free: readonly string[];
  /** The same as unit vectors in the six small motions. */
  readonly freeDirections: readonly (readonly number[])[];
  /** For each patch: gap along its normal after alignment with the patch itself left out, and its uncertainty, m. */
  readonly closure: readonly {
    readonly name: string;
    readonly gap: number;
    readonly u: number;
    readonly agrees: boolean;
  }[];
}

/** Registration between patches is not trusted below this, m (surface roughness, range bias). Common practice, no source. */
const FLOOR = 0.0003;
const TURN_NAMES = [
  'shift along x',
  'shift along y',
  'shift along z',
  'turn about x',
  'turn about y',
  'turn about z',
];

/**
 * Rigid motion from surfaces of undamaged patches seen in both scans: point-to-plane least squares (Chen and Medioni
 * 1992) in the six small motions, solved by singular values. A patch holds the motion along its normal and the
 * turns that tilt it; what no patch holds is said, and left alone.
 */
export function alignScans(reference: readonly PatchPlane[], moved: readonly PatchPlane[]): Alignment {
  const middle = scale(
    reference.reduce((s, p) => add(s, p.point), [0, 0, 0] as Vec3),
    1 / reference.length,
  );
  const all = solve(reference, moved, middle);
  const closure = reference.map((patch, i) => {
    const others = (list: readonly PatchPlane[]) => list.filter((_, j) => j !== i);
    const rest = solve(others(reference), others(moved), middle);
    const row = rowOf(patch.normal, subtract(moved[i]!.point, middle));
    const gap =
      dot(patch.normal, subtract(patch.point, moved[i]!.point)) -
      row.reduce((s, v, k) => s + v * rest.motion[k]!, 0);
    // The rest must hold what this patch sees, or there is nothing to test it with (u is then infinite).
    const u = Math.hypot(patch.u, moved[i]!.u, Math.SQRT2 * FLOOR, uOfRow(rest, row));
    return { name: patch.name, gap, u, agrees: !(Math.abs(gap) > 3 * u) };
  });
  const sd = (k: number) => Math.sqrt(all.covariance[k]![k]!);
  const turn: Vec3 = [all.motion[3]!, all.motion[4]!, all.motion[5]!];
  const shift: Vec3 = [all.motion[0]!, all.motion[1]!, all.motion[2]!];
  const rotation = rotationOf(turn);
  const turned: Vec3 = [dot(rotation[0]!, middle), dot(rotation[1]!, middle), dot(rotation[2]!, middle)];
  return {
    motion: { rotation, shift: add(shift, subtract(middle, turned)) },
    shift,
    shiftU: [sd(0), sd(1), sd(2)],
    turn,
    turnU: [sd(3), sd(4), sd(5)],
    middle,
    covariance: all.covariance,
    excess: all.excess,
    freeDirections: all.freeDirections,
    free: all.freeDirections.map((direction) =>
      direction
        .map((v, k) => ({ size: Math.abs(v), name: TURN_NAMES[k]! }))
        .filter((part) => part.size > 0.3)
        .sort((x, y) => y.size - x.size)
        .map((part) => part.name)
        .join(' with '),
    ),
    closure,
  };
}

/** Share of a motion no patch holds above which a value that depends on it is not known at all. */
const LOST = 1e-3;

function uOfRow(motion: Pick<Alignment, 'covariance' | 'freeDirections'>, row: readonly number[]): number {
  for (const direction of motion.freeDirections) {
    if (Math.abs(direction.reduce((sum, v, k) => sum + v * row[k]!, 0)) > LOST)
      return Number.POSITIVE_INFINITY;
  }
  let variance = 0;
  for (let a = 0; a < 6; a++)
    for (let b = 0; b < 6; b++) variance += row[a]! * row[b]! * motion.covariance[a]![b]!;
  return Math.sqrt(Math.max(0, variance));
}

/**
 * Standard uncertainty, m, that the alignment leaves in where a point is along a direction; infinite where no patch
 * holds that motion. With `from`, in the difference to that point: of a slope times the distance between the two.
 * @param point in the reference scan, m
 * @param direction a unit vector
 */
export function alignmentU(
  alignment: Alignment,
  point: Vec3,
  direction: Vec3,
  from: Vec3 | null = null,
): number {
  const row = rowOf(direction, subtract(point, alignment.middle));
  if (from === null) return uOfRow(alignment, row);
  const other = rowOf(direction, subtract(from, alignment.middle));
  return uOfRow(
    alignment,
    row.map((v, k) => v - other[k]!),
  );
}

/** Motion of a point (relative to the middle) along a normal, by the six small motions. */
function rowOf(normal: Vec3, arm: Vec3): number[] {
  return [...normal, ...cross(arm, normal)];
}

function solve(reference: readonly PatchPlane[], moved: readonly PatchPlane[], middle: Vec3) {
  const rows: number[][] = [];
  const gaps: number[] = [];
  const sds: number[] = [];
  reference.forEach((patch, i) => {
    const other = moved[i]!;
    rows.push(rowOf(patch.normal, subtract(other.point, middle)));
    gaps.push(dot(patch.normal, subtract(patch.point, other.point)));
    sds.push(Math.hypot(patch.u, other.u, Math.SQRT2 * FLOOR));
    // Its tilt, too: the normal turns with the scan.
    const facing = dot(patch.normal, other.normal) < 0 ? scale(other.normal, -1) : other.normal;
    const wanted = cross(facing, patch.normal);
    const tangent = unit(cross(patch.normal, Math.abs(patch.normal[0]) < 0.8 ? [1, 0, 0] : [0, 1, 0]));
    for (const axis of [tangent, cross(patch.normal, tangent)]) {
      rows.push([0, 0, 0, ...axis]);
      gaps.push(dot(wanted, axis));
      sds.push(Math.hypot(patch.tiltU, other.tiltU, 0.0005));
    }
  });
  // Turns are scaled to metres at the patches' own distance from each axis, so that singular values compare like
  // with like.
  const arms = reference.map((p) => subtract(p.point, middle));
  const armOf = (k: number) =>
    Math.max(0.1, ...arms.map((r) => Math.hypot(r[(k + 1) % 3]!, r[(k + 2) % 3]!)));
  const unitOf = [1, 1, 1, 1 / armOf(0), 1 / armOf(1), 1 / armOf(2)];
  const svd = new SVD(new Matrix(rows.map((row, i) => row.map((v, k) => (v * unitOf[k]!) / sds[i]!))), {
    autoTranspose: true,
  });
  const s = svd.diagonal;
  const u = svd.leftSingularVectors;
  const v = svd.rightSingularVectors;
  const motion = [0, 0, 0, 0, 0, 0];
  const covariance = Array.from({ length: 6 }, () => [0, 0, 0, 0, 0, 0]);
  const freeDirections: number[][] = [];
  for (let k = 0; k < 6; k++) {
    const value = s[k] ?? 0;
    const direction = v.getColumn(k).map((x, i) => x * unitOf[i]!);
    // A motion of 10 mm that no patch would notice (less than one standard deviation) is not held.
    if (value * 0.01 < 1) {
      freeDirections.push(v.getColumn(k));
      continue;
    }
    const along = gaps.reduce((sum, gap, i) => sum + (u.get(i, k) * gap) / sds[i]!, 0) / value;
    for (let i = 0; i < 6; i++) {
      motion[i]! += along * direction[i]!;
      for (let j = 0; j < 6; j++) covariance[i]![j]! += (direction[i]! * direction[j]!) / (value * value);
    }
  }
  // Patches that disagree more than they should say that something is worth less than it claims (Birge 1932).
  let misfit = 0;
  rows.forEach((row, i) => {
    misfit += ((gaps[i]! - row.reduce((sum, v, k) => sum + v * motion[k]!, 0)) / sds[i]!) ** 2;
  });
  const left = rows.length - 6 + freeDirections.length;
  const excess = left > 0 ? Math.max(1, Math.sqrt(misfit / left)) : 1;
  return {
    motion,
    covariance: covariance.map((row) => row.map((v) => v * excess * excess)),
    excess,
    freeDirections,
  };
}

/** Rotation by a vector of angle and axis (Rodrigues 1840). */
function rotationOf(turn: Vec3): [number, number, number][] {
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
