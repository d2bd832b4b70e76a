import { Matrix, SVD } from 'ml-matrix';
import { normalQuantile } from '../maths/distributions.ts';
import { cross, type Vec3 } from './vector.ts';

/** What one patch or target says of the six small motions (shifts, m, then turns, rad): rows, what they should give, and how well. */
export interface Tie {
  readonly name: string;
  readonly rows: readonly (readonly number[])[];
  /** m; of a row of turns alone rad */
  readonly gaps: readonly number[];
  readonly sds: readonly number[];
}

/** A small motion found from ties. */
export interface SmallMotion {
  readonly motion: readonly number[];
  readonly covariance: readonly (readonly number[])[];
  /** Unit vectors of motions that no tie holds; that part of the motion is left at nothing. */
  readonly freeDirections: readonly (readonly number[])[];
  /** Squared misfits over their variances, summed, and how many were free to misfit. */
  readonly misfit: number;
  readonly freedom: number;
}

/** How a tie stands to the others. */
export interface TieTest {
  readonly name: string;
  /** For each row: off by this when the others alone are aligned, and the standard uncertainty of that (infinite: nothing tests it). */
  readonly gaps: readonly number[];
  readonly us: readonly number[];
  /** A gap of this many of its uncertainties is noticed four times in five. */
  readonly tellsAt: number;
  /** For each row: the small motion that goes with a unit of its gap. */
  readonly pulls: readonly (readonly number[])[];
  /** `this or another`: this one or another of those marked so is wrong, and nothing tells which. */
  readonly verdict: 'agrees' | 'wrong' | 'this or another';
}

/** One scan in two hundred, with nothing wrong, has a row out by more than is tested (Bonferroni). */
const FALSE_ALARM = 0.005;
/** A fault this many standard uncertainties beyond what is tested is noticed four times in five. */
const FOUR_IN_FIVE = 0.84;
/** Normal quantile of 1 in 1000, for the misfit of all rows together. */
const NORMAL = 3.09;
/** Leaving out one of two ties lowers the misfit about as much as the other if by less than this: 1 % of chi-square with one freedom. */
const ALIKE = 6.63;
/** Share of a motion no tie holds above which a value that depends on it is not known at all. */
const LOST = 1e-3;

/** Motion of a point (relative to the middle) along a direction, by the six small motions. */
export function rowOf(direction: Vec3, arm: Vec3): number[] {
  return [...direction, ...cross(arm, direction)];
}

/**
 * Weighted least squares in the six small motions, solved by singular values.
 * @param noticed a motion of this size, m, that no tie would notice (less than one standard deviation) is not held
 * @param arms distance of the ties from each axis through the middle, m: turns are scaled by them, so that singular values compare like with like
 */
export function solveMotion(
  ties: readonly Tie[],
  arms: readonly [number, number, number],
  noticed: number,
): SmallMotion {
  const rows = ties.flatMap((tie) => tie.rows);
  const gaps = ties.flatMap((tie) => tie.gaps);
  const sds = ties.flatMap((tie) => tie.sds);
  const unitOf = [1, 1, 1, 1 / arms[0], 1 / arms[1], 1 / arms[2]];
  const scaled = rows.map((row, i) => row.map((v, k) => (v * unitOf[k]!) / sds[i]!));
  // Rows of nothing change nothing, and give the decomposition its six columns.
  while (scaled.length < 6) scaled.push([0, 0, 0, 0, 0, 0]);
  const svd = new SVD(new Matrix(scaled), { autoTranspose: true });
  const s = svd.diagonal;
  const u = svd.leftSingularVectors;
  const v = svd.rightSingularVectors;
  const motion = [0, 0, 0, 0, 0, 0];
  const covariance = Array.from({ length: 6 }, () => [0, 0, 0, 0, 0, 0]);
  const freeDirections: number[][] = [];
  for (let k = 0; k < 6; k++) {
    const value = s[k] ?? 0;
    const direction = v.getColumn(k).map((x, i) => x * unitOf[i]!);
    if (value * noticed < 1) {
      freeDirections.push(v.getColumn(k));
      continue;
    }
    const along = gaps.reduce((sum, gap, i) => sum + (u.get(i, k) * gap) / sds[i]!, 0) / value;
    for (let i = 0; i < 6; i++) {
      motion[i]! += along * direction[i]!;
      for (let j = 0; j < 6; j++) covariance[i]![j]! += (direction[i]! * direction[j]!) / (value * value);
    }
  }
  let misfit = 0;
  rows.forEach((row, i) => {
    misfit += ((gaps[i]! - along(row, motion)) / sds[i]!) ** 2;
  });
  return { motion, covariance, freeDirections, misfit, freedom: rows.length - 6 + freeDirections.length };
}

const along = (row: readonly number[], motion: readonly number[]): number =>
  row.reduce((sum, v, k) => sum + v * motion[k]!, 0);

/** Standard uncertainty of what a row gives; infinite where it depends on a motion that no tie holds. */
export function uOfRow(
  { covariance, freeDirections }: Pick<SmallMotion, 'covariance' | 'freeDirections'>,
  row: readonly number[],
): number {
  for (const direction of freeDirections) {
    if (Math.abs(along(row, direction)) > LOST) return Number.POSITIVE_INFINITY;
  }
  let variance = 0;
  for (let a = 0; a < 6; a++) for (let b = 0; b < 6; b++) variance += row[a]! * row[b]! * covariance[a]![b]!;
  return Math.sqrt(Math.max(0, variance));
}

/**
 * Holds each tie against the motion the others alone give. Where something is wrong a good tie misses that motion too, so
 * the wrong one is the one without which the rest agree among themselves; it is laid aside and the rest are tested again.
 * (Leave-one-out with elimination, one blunder at a time: "data snooping", Baarda 1968.) If leaving out either of two does
 * as well, nothing tells which is wrong, and both are marked so.
 */
export function testTies(
  ties: readonly Tie[],
  arms: readonly [number, number, number],
  noticed: number,
): TieTest[] {
  const without = (list: readonly Tie[], tie: Tie) => list.filter((each) => each !== tie);
  const against = (tie: Tie, rest: readonly Tie[]) => {
    const found = solveMotion(rest, arms, noticed);
    return {
      gaps: tie.rows.map((row, k) => tie.gaps[k]! - along(row, found.motion)),
      us: tie.rows.map((row, k) => Math.hypot(tie.sds[k]!, uOfRow(found, row))),
    };
  };
  const misses = (tie: Tie, rest: readonly Tie[]) => {
    const { gaps, us } = against(tie, rest);
    return Math.max(...gaps.map((gap, k) => Math.abs(gap) / us[k]!));
  };
  const tested = normalQuantile(1 - FALSE_ALARM / (2 * ties.reduce((sum, tie) => sum + tie.rows.length, 0)));
  const verdicts = new Map<Tie, TieTest['verdict']>();
  let kept = [...ties];
  while (kept.length > 2) {
    const off = kept.filter((tie) => misses(tie, without(kept, tie)) > tested);
    if (off.length === 0 && consistent(solveMotion(kept, arms, noticed))) break;
    const leaves = kept
      .map((tie) => ({ tie, misfit: solveMotion(without(kept, tie), arms, noticed).misfit }))
      .sort((a, b) => a.misfit - b.misfit);
    const worst = leaves[0]!.tie;
    const alike = leaves.filter(({ misfit }) => misfit - leaves[0]!.misfit < ALIKE);
    if (alike.length > 1) {
      for (const { tie } of alike) verdicts.set(tie, 'this or another');
      break;
    }
    verdicts.set(worst, 'wrong');
    kept = without(kept, worst);
  }
  const { covariance } = solveMotion(ties, arms, noticed);
  return ties.map((tie) => ({
    name: tie.name,
    ...against(tie, without(kept, tie)),
    tellsAt: tested + FOUR_IN_FIVE,
    pulls: tie.rows.map((row, k) => covariance.map((line) => along(line, row) / tie.sds[k]! ** 2)),
    verdict: verdicts.get(tie) ?? 'agrees',
  }));
}

/** Whether the rows misfit no more than one time in a thousand (chi-square quantile by Wilson and Hilferty 1931). */
function consistent({ misfit, freedom }: SmallMotion): boolean {
  if (freedom <= 0) return true;
  const spread = 2 / (9 * freedom);
  return misfit <= freedom * (1 - spread + NORMAL * Math.sqrt(spread)) ** 3;
}
