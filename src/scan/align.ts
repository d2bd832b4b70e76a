import type { PatchPlane } from './patches.ts';
import { AT_REST, compose, move, type RigidMotion, rotationOf, turn, turnOf } from './rigid-motion.ts';
import { rowOf, type SmallMotion, solveMotion, type Tie, testTies, uOfRow } from './small-motion.ts';
import { add, cross, dot, scale, subtract, unit, type Vec3 } from './vector.ts';

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
  /** For each patch (target): gap along its normal (in space) after alignment with itself left out, and its uncertainty, m; an
   * infinite uncertainty says that nothing tests it. */
  readonly closure: readonly {
    readonly name: string;
    readonly gap: number;
    readonly u: number;
    readonly agrees: boolean;
    /** Largest turn off square, rad, and its uncertainty; 0 for a target. */
    readonly turn: number;
    readonly turnU: number;
    /** Along each of its directions: the least move that would be noticed, m (infinite: none), and the small motion a move of 1 m makes. */
    readonly untold: readonly { readonly noticed: number; readonly pull: readonly number[] }[];
    /** This one or another with the same mark is wrong, and nothing tells which. */
    readonly unsure: boolean;
  }[];
}

/** Registration between patches is not trusted below this, m (surface roughness, range bias). Common practice, no source. */
const FLOOR = 0.0003;
const TILT_FLOOR = 0.0005;
const TURN_NAMES = [
  'shift along x',
  'shift along y',
  'shift along z',
  'turn about x',
  'turn about y',
  'turn about z',
];
/** A motion of this size that no patch would notice is not held, m. */
const HELD = 0.01;
/** Gauss-Newton steps: a turn of 0.1 rad over 10 m is out by 50 mm after the first, by 0.1 um after the third. */
const STEPS = 4;

/**
 * Rigid motion from surfaces of undamaged patches seen in both scans: point-to-plane least squares (Chen and Medioni
 * 1992) in the six small motions, repeated from where they lead. A patch holds the motion along its normal and the
 * turns that tilt it; what no patch holds is said, and left alone.
 */
export function alignScans(reference: readonly PatchPlane[], moved: readonly PatchPlane[]): Alignment {
  const middle = middleOf(reference.map((p) => p.point));
  const arms = armsOf(
    reference.map((p) => p.point),
    middle,
  );
  let motion = AT_REST;
  let ties = patchTies(reference, moved, motion, middle);
  let found = solveMotion(ties, arms, HELD);
  for (let step = 0; step < STEPS; step++) {
    motion = compose(about(middle, found.motion), motion);
    ties = patchTies(reference, moved, motion, middle);
    found = solveMotion(ties, arms, HELD);
  }
  const closure = testTies(ties, arms, HELD).map(({ name, gaps, us, tellsAt, pulls, verdict }) => {
    const worse = Math.abs(gaps[1]!) / us[1]! > Math.abs(gaps[2]!) / us[2]! ? 1 : 2;
    return {
      name,
      gap: gaps[0]!,
      u: us[0]!,
      turn: gaps[worse]!,
      turnU: us[worse]!,
      untold: [{ noticed: tellsAt * us[0]!, pull: pulls[0]! }],
      agrees: verdict === 'agrees',
      unsure: verdict === 'this or another',
    };
  });
  return alignment(motion, found, middle, closure);
}

/** @param motion of the moved scan, about the origin, so far */
function patchTies(
  reference: readonly PatchPlane[],
  moved: readonly PatchPlane[],
  motion: RigidMotion,
  middle: Vec3,
): Tie[] {
  return reference.map((patch, i) => {
    const point = move(motion, moved[i]!.point);
    const normal = turn(motion, moved[i]!.normal);
    const rows = [rowOf(patch.normal, subtract(point, middle))];
    const gaps = [dot(patch.normal, subtract(patch.point, point))];
    const sds = [Math.hypot(patch.u, moved[i]!.u, Math.SQRT2 * FLOOR)];
    // Its tilt, too: the normal turns with the scan.
    const facing = dot(patch.normal, normal) < 0 ? scale(normal, -1) : normal;
    const wanted = cross(facing, patch.normal);
    const tangent = unit(cross(patch.normal, Math.abs(patch.normal[0]) < 0.8 ? [1, 0, 0] : [0, 1, 0]));
    for (const axis of [tangent, cross(patch.normal, tangent)]) {
      rows.push([0, 0, 0, ...axis]);
      gaps.push(dot(wanted, axis));
      sds.push(Math.hypot(patch.tiltU, moved[i]!.tiltU, TILT_FLOOR));
    }
    return { name: patch.name, rows, gaps, sds };
  });
}

/** The middle of some points. */
export function middleOf(points: readonly Vec3[]): Vec3 {
  return scale(
    points.reduce((s, p) => add(s, p), [0, 0, 0] as Vec3),
    1 / points.length,
  );
}

/** Farthest of the points from each axis through the middle, m. */
export function armsOf(points: readonly Vec3[], middle: Vec3): [number, number, number] {
  const arms = points.map((p) => subtract(p, middle));
  const armOf = (k: number) =>
    Math.max(0.1, ...arms.map((r) => Math.hypot(r[(k + 1) % 3]!, r[(k + 2) % 3]!)));
  return [armOf(0), armOf(1), armOf(2)];
}

/** A small motion about a middle as a rigid motion about the origin. */
function about(middle: Vec3, small: readonly number[]): RigidMotion {
  const rotation = rotationOf([small[3]!, small[4]!, small[5]!]);
  const turned = turn({ rotation, shift: [0, 0, 0] }, middle);
  return { rotation, shift: add([small[0]!, small[1]!, small[2]!], subtract(middle, turned)) };
}

/** @param found the last small motion, with its covariance */
export function alignment(
  motion: RigidMotion,
  found: SmallMotion,
  middle: Vec3,
  closure: Alignment['closure'],
): Alignment {
  // Ties that disagree more than they should say that something is worth less than it claims (Birge 1932).
  const excess = found.freedom > 0 ? Math.max(1, Math.sqrt(found.misfit / found.freedom)) : 1;
  const covariance = found.covariance.map((row) => row.map((v) => v * excess * excess));
  const sd = (k: number) => Math.sqrt(covariance[k]![k]!);
  return {
    motion,
    shift: subtract(move(motion, middle), middle),
    shiftU: [sd(0), sd(1), sd(2)],
    turn: turnOf(motion.rotation),
    turnU: [sd(3), sd(4), sd(5)],
    middle,
    covariance,
    excess,
    freeDirections: found.freeDirections,
    free: found.freeDirections.map((direction) =>
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

/**
 * How a reading moves with the six small motions, where it is the place of a point along a direction.
 * @param point in the reference scan, m
 * @param direction where the reading goes with more than one coordinate of the point, so much of each
 */
export function motionRow(found: Pick<Alignment, 'middle'>, point: Vec3, direction: Vec3): number[] {
  return rowOf(direction, subtract(point, found.middle));
}

/**
 * Standard uncertainty, m, that the alignment leaves in where a point is along a direction; infinite where no patch
 * holds that motion.
 * @param point in the reference scan, m
 * @param direction a unit vector
 */
export function alignmentU(
  found: Pick<Alignment, 'middle' | 'covariance' | 'freeDirections'>,
  point: Vec3,
  direction: Vec3,
): number {
  return uOfRow(found, motionRow(found, point, direction));
}

/** A pull as small as this share of the move is none. */
const NO_PULL = 0.01;

/** What could be wrong without a test telling. */
export interface Unnoticed {
  /** The patch or target, and the largest move of it that passes unnoticed, m. */
  readonly name: string;
  readonly move: number;
  /** What that does to the reading, m; infinite where nothing tests it. */
  readonly effect: number;
}

/**
 * What could be wrong without a test telling: the patch (target) whose move, as large as passes unnoticed, would do most to
 * a reading, by its row (see `motionRow`). (External reliability, Baarda 1968.)
 */
export function unnoticed(found: Pick<Alignment, 'closure'>, row: readonly number[]): Unnoticed | null {
  let worst: Unnoticed | null = null;
  for (const { name, untold } of found.closure) {
    for (const { noticed, pull } of untold) {
      const share = Math.abs(row.reduce((sum, v, k) => sum + v * pull[k]!, 0));
      if (share < NO_PULL) continue;
      const effect = share * noticed;
      if (worst === null || effect > worst.effect) worst = { name, move: noticed, effect };
    }
  }
  return worst;
}
