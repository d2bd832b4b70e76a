import { medianOrNaN } from '../maths/median.ts';
import { smoothingSpline } from '../maths/smoothing-spline.ts';
import type { Pose } from './section-fit.ts';

/** A pose known at a place along the line, and how much it weighs. */
export interface KnownPose {
  readonly at: number;
  readonly pose: Pose;
}

/** The section's place along the line as a smooth path: for every slice its pose and slopes before and after its middle. */
export interface PathPoint {
  readonly pose: Pose;
  /** Change of y, z and tilt per metre before and after `turn`, which is measured from the slice's middle, m. */
  readonly before: Pose;
  readonly after: Pose;
  readonly turn: number;
}

/** A pose is not carried farther than this from the nearest one known, m. */
const FARTHEST = 0.8;
/** Poses from which on a parabola is fitted, not a line. */
const BENT = 7;

/** A change of slope below this, rad, is not sharp: within a slice it moves the steel by 0.3 mm. */
const SHARP = 0.04;

interface Broken {
  readonly value: number;
  readonly before: number;
  readonly after: number;
  /** Where the two lines meet, m from the place. */
  readonly meet: number;
}

/**
 * The broken line at a sharp bend near `at`, sideways and in height, from the three poses before and the three after;
 * null where there is none, or where it is not near.
 */
function bendAt(
  known: readonly KnownPose[],
  at: number,
  thickness: number,
): { readonly y: Broken; readonly z: Broken; readonly turn: number } | null {
  const before: KnownPose[] = [];
  const after: KnownPose[] = [];
  for (let i = firstFrom(known, at - 5 * thickness - HAIR); i < known.length; i++) {
    const each = known[i]!;
    const d = each.at - at;
    if (d < -5 * thickness) continue;
    if (d < -thickness / 2) before.push(each);
    else if (d > thickness / 2 && after.length < 3) after.push(each);
    if (after.length === 3 || d > 5 * thickness) break;
  }
  const left = before.slice(-3);
  if (left.length < 3 || after.length < 3) return null;
  const broken = (of: (pose: Pose) => number): Broken => {
    const [a, b] = [lineAt(left, at, of), lineAt(after, at, of)];
    const meet = (a.value - b.value) / (b.slope - a.slope);
    return { value: meet > 0 ? a.value : b.value, before: a.slope, after: b.slope, meet };
  };
  const [y, z] = [broken((p) => p.y), broken((p) => p.z)];
  const [turnY, turnZ] = [Math.abs(y.after - y.before), Math.abs(z.after - z.before)];
  const lead = turnY >= turnZ ? y : z;
  if (Math.max(turnY, turnZ) < SHARP || Math.abs(lead.meet) > 2 * thickness) return null;
  // The lesser of the two is held to the same place of the turn: the mean of its lines there.
  const held = (each: Broken, of: (pose: Pose) => number): Broken => {
    if (each === lead) return each;
    const [a, b] = [lineAt(left, at + lead.meet, of), lineAt(after, at + lead.meet, of)];
    const middle = (a.value + b.value) / 2;
    return { ...each, value: middle - (lead.meet > 0 ? each.before : each.after) * lead.meet };
  };
  return { y: held(y, (p) => p.y), z: held(z, (p) => p.z), turn: lead.meet };
}

/** m: where a search begins, so that rounding leaves none out. */
const HAIR = 1e-9;

/** The first of the poses, which are in order, at or after a place. */
function firstFrom(known: readonly KnownPose[], at: number): number {
  let [low, high] = [0, known.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (known[middle]!.at < at) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Least squares line through poses: value at a place, and slope. */
function lineAt(poses: readonly KnownPose[], at: number, of: (pose: Pose) => number) {
  const n = poses.length;
  const middle = poses.reduce((sum, each) => sum + each.at, 0) / n;
  const mean = poses.reduce((sum, each) => sum + of(each.pose), 0) / n;
  let [products, squares] = [0, 0];
  for (const { at: x, pose } of poses) {
    products += (x - middle) * (of(pose) - mean);
    squares += (x - middle) ** 2;
  }
  const slope = products / squares;
  return { value: mean + slope * (at - middle), slope };
}

/**
 * Local straight lines (weights fall with distance; Cleveland 1979, with his robust weights) through known poses,
 * evaluated at the middle of every slice.
 * @param known in order along the line
 * @param bandwidths for every slice, m
 * @param thickness of a slice, m, when there is a known pose for nearly every slice: then lines broken at a sharp bend are
 * used near it, so that it is not rounded; null before that
 */
export function posePath(
  known: readonly KnownPose[],
  centres: readonly number[],
  bandwidths: readonly number[],
  thickness: number | null,
): (PathPoint | null)[] {
  const trust = robustTrust(known, Math.max(...bandwidths));
  return centres.map((at, k) => {
    const bandwidth = bandwidths[k]!;
    const near: number[] = [];
    for (let i = firstFrom(known, at - 2 * bandwidth - HAIR); i < known.length; i++) {
      if (known[i]!.at - at > 2 * bandwidth) break;
      if (Math.abs(known[i]!.at - at) <= 2 * bandwidth) near.push(i);
    }
    const members =
      near.length >= 4
        ? near
        : known
            .map((_, i) => i)
            .sort((a, b) => Math.abs(known[a]!.at - at) - Math.abs(known[b]!.at - at))
            .slice(0, 6)
            .filter((i) => Math.abs(known[i]!.at - at) <= FARTHEST);
    if (members.length === 0) return null;
    const both = localLine(known, trust, members, at, bandwidth);
    const bend = thickness === null ? null : bendAt(known, at, thickness);
    if (bend !== null) {
      return {
        pose: { y: bend.y.value, z: bend.z.value, tilt: both.value.tilt },
        before: { y: bend.y.before, z: bend.z.before, tilt: both.slope.tilt },
        after: { y: bend.y.after, z: bend.z.after, tilt: both.slope.tilt },
        turn: bend.turn,
      };
    }
    return { pose: both.value, before: both.slope, after: both.slope, turn: 0 };
  });
}

function localLine(
  known: readonly KnownPose[],
  trust: ArrayLike<number>,
  members: readonly number[],
  at: number,
  bandwidth: number,
): { value: Pose; slope: Pose } {
  let reach = 0;
  for (const i of members) reach = Math.max(reach, Math.abs(known[i]!.at - at));
  reach = Math.max(reach * 1.05, bandwidth);
  let [n, sx, sxx] = [0, 0, 0];
  const [s, sd] = [
    [0, 0, 0],
    [0, 0, 0],
  ];
  for (const i of members) {
    const { at: x, pose } = known[i]!;
    const d = x - at;
    const t = Math.abs(d) / reach;
    const w = (1 - t * t * t) ** 3 * trust[i]! + 1e-9;
    n += w;
    sx += w * d;
    sxx += w * d * d;
    s[0]! += w * pose.y;
    s[1]! += w * pose.z;
    s[2]! += w * pose.tilt;
    sd[0]! += w * d * pose.y;
    sd[1]! += w * d * pose.z;
    sd[2]! += w * d * pose.tilt;
  }
  const spread = sxx - (sx * sx) / n;
  let slope = spread > 1e-6 * n ? s.map((sum, k) => (sd[k]! - (sx * sum) / n) / spread) : [0, 0, 0];
  let value = s.map((sum, k) => (sum - slope[k]! * sx) / n);
  // Over a long reach a bend is more than a line: what the line leaves, taken as a parabola free of line and level.
  if (members.length >= BENT) {
    const mean = sx / n;
    let [qs, qx, qq] = [0, 0, 0];
    const weights = members.map((i) => {
      const t = Math.abs(known[i]!.at - at) / reach;
      return (1 - t * t * t) ** 3 * trust[i]! + 1e-9;
    });
    members.forEach((i, k) => {
      const d = known[i]!.at - at;
      qs += weights[k]! * d * d;
      qx += weights[k]! * d * d * (d - mean);
    });
    const [level, lean] = [qs / n, qx / spread];
    const bend = [0, 0, 0];
    const square = (d: number) => d * d - level - lean * (d - mean);
    members.forEach((i, k) => {
      const { at: x, pose } = known[i]!;
      const q = weights[k]! * square(x - at);
      qq += q * square(x - at);
      bend[0]! += q * pose.y;
      bend[1]! += q * pose.z;
      bend[2]! += q * pose.tilt;
    });
    if (qq > 0) {
      value = value.map((v, k) => v + (bend[k]! / qq) * square(0));
      slope = slope.map((v, k) => v - (bend[k]! / qq) * lean);
    }
  }
  return {
    value: { y: value[0]!, z: value[1]!, tilt: value[2]! },
    slope: { y: slope[0]!, z: slope[1]!, tilt: slope[2]! },
  };
}

/** A pose with what it is known to in each part, m and rad. */
export interface WeighedPose extends KnownPose {
  readonly u: Pose;
}

/**
 * How much steel may turn: its slope wanders by this much, rad² per m (half a metre of it by 0.05 rad). Slices so
 * long that it matters are nearly met.
 */
const TURNS = 0.006;

/**
 * The smoothest curve the poses allow (a cubic smoothing spline; Reinsch 1967), at the middle of every slice. Between
 * slices so long that steel bends within them, local lines would be another line for each part of one: what lies in it
 * would be smeared, and the bend read beside where it is.
 * @param known in order along the line, three or more
 */
export function splinePath(known: readonly WeighedPose[], centres: readonly number[]): (PathPoint | null)[] {
  const at = known.map((each) => each.at);
  const of = (part: keyof Pose) =>
    smoothingSpline(
      at,
      known.map(({ pose }) => pose[part]),
      known.map(({ u }) => u[part]),
      TURNS,
    );
  const [y, z, tilt] = [of('y'), of('z'), of('tilt')];
  return centres.map((x) => {
    const next = firstFrom(known, x);
    const nearest = Math.min(Math.abs(x - (at[next] ?? Infinity)), Math.abs(x - (at[next - 1] ?? -Infinity)));
    if (nearest > FARTHEST) return null;
    const [a, b, c] = [y(x), z(x), tilt(x)];
    const slope = { y: a[1], z: b[1], tilt: c[1] };
    return { pose: { y: a[0], z: b[0], tilt: c[0] }, before: slope, after: slope, turn: 0 };
  });
}

/** Weights from how far each pose is off the line through its neighbours (without itself). */
function robustTrust(known: readonly KnownPose[], bandwidth: number): Float64Array {
  const trust = new Float64Array(known.length).fill(1);
  const off = new Float64Array(known.length);
  known.forEach(({ at, pose }, i) => {
    const others: number[] = [];
    for (let k = Math.max(0, i - 6); k <= Math.min(known.length - 1, i + 6); k++) if (k !== i) others.push(k);
    if (others.length < 3) return;
    const { value } = localLine(known, trust, others, at, bandwidth);
    off[i] = Math.hypot(value.y - pose.y, value.z - pose.z) + 0.2 * Math.abs(value.tilt - pose.tilt);
  });
  const typical = Math.max(0.001, medianOrNaN(off) || 0);
  return trust.map((_, i) => {
    const t = off[i]! / (6 * typical);
    return t < 1 ? (1 - t * t) ** 2 : 0.001;
  });
}
