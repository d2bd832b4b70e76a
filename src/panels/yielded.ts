import type { PanelSurvey } from '../analysis.ts';
import { hypot } from '../maths/portable.ts';

/** What the bending of a plate says of yield, node by node of its map. */
export interface Yielded {
  /** Largest bending strain at the surface over the yield strain: t/2·|κ|·E/Fy, κ the larger principal curvature. */
  readonly ratio: readonly number[];
  /** Its standard uncertainty, of the readings; what the grid cannot see is not in it. */
  readonly u: readonly number[];
  /** Bent one way far more than the other (a crease), not both ways alike (a dome). */
  readonly crease: readonly boolean[];
  readonly most: number;
}

/** One curvature this many times the other makes a fold. Common practice, no source. */
const FOLD = 3;

/**
 * Strain ratio of a panel's plate by bending, if it was flat before: ε = t/2·κ against ε_y = Fy/E (elementary bending, as
 * for flanges; references B.1). The total curvature is used, as the published ratio does; what is still elastic is in it.
 *
 * @param thickness m
 */
export function yieldedOf(
  { bending }: PanelSurvey,
  thickness: number,
  yieldStress: number,
  elasticModulus: number,
): Yielded {
  const perCurvature = (thickness / 2) * (elasticModulus / yieldStress);
  const ratio: number[] = [];
  const u: number[] = [];
  const crease: boolean[] = [];
  let most = 0;
  for (const at of bending) {
    const mean = (at.along + at.up) / 2;
    const turn = hypot((at.along - at.up) / 2, at.twist);
    const [one, two] = [Math.abs(mean + turn), Math.abs(mean - turn)];
    const larger = Math.max(one, two);
    ratio.push(perCurvature * larger);
    u.push(perCurvature * at.u);
    crease.push(larger > FOLD * Math.min(one, two));
    most = Math.max(most, perCurvature * larger);
  }
  return { ratio, u, crease, most };
}
