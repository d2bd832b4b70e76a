import type { PanelSurvey } from '../analysis.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { hypot } from '../maths/portable.ts';

/** What the bending of a plate says of yield, node by node of its map. */
export interface Yielded {
  /** Largest bending strain at the surface over the yield strain: t/2·|κ|·E/Fy, κ the larger principal curvature. */
  readonly ratio: readonly number[];
  /** Its standard uncertainty, of the readings; what the grid cannot see is not in it. */
  readonly u: readonly number[];
  /**
   * A crease, not the dome: the foot of the bulge, where the plate bends back the other way, or a fold, bent one way far more
   * than the other.
   */
  readonly crease: readonly boolean[];
  readonly most: number;
  /** Ratio its outline is drawn at: 1, or more where the fit spreads a sharp bend wider than it is. */
  readonly outline: number;
}

/**
 * A fit carries a sharp bend over to the next reading; what is below this share of the largest ratio of the map is mostly
 * that. From bench:panels, seed 19: the outline at 1 alone overlaps the true one by 0.68 in the middle on grids of 4 in and
 * less, so by 0.74; nothing is lost on clamped plates, which bend smoothly.
 */
const SPREAD = 0.2;

/** Below this share of the crest a map may dip to the other side of flat beside a foot. Common practice, no source. */
const DIP = 0.05;

/** The side a node of the map is out on: where it is hardly out at all, the side of the bulge it is the foot of. */
export function sideAt({ map, crest }: Pick<PanelSurvey, 'map' | 'crest'>, node: number): number {
  const own = map.deviation[node]!;
  return Math.sign(Math.abs(own) > DIP * Math.abs(crest.deviation) ? own : crest.deviation);
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
  survey: PanelSurvey,
  thickness: number,
  yieldStress: number,
  elasticModulus: number,
): Yielded {
  const { bending } = survey;
  const perCurvature = (thickness / 2) * (elasticModulus / yieldStress);
  const ratio: number[] = [];
  const u: number[] = [];
  const crease: boolean[] = [];
  let most = 0;
  bending.forEach((at, i) => {
    const mean = (at.along + at.up) / 2;
    const turn = hypot((at.along - at.up) / 2, at.twist);
    const [one, two] = [Math.abs(mean + turn), Math.abs(mean - turn)];
    const larger = Math.max(one, two);
    ratio.push(perCurvature * larger);
    u.push(perCurvature * at.u);
    const main = one > two ? mean + turn : mean - turn;
    crease.push(main * sideAt(survey, i) > 0 || larger > FOLD * Math.min(one, two));
    most = Math.max(most, perCurvature * larger);
  });
  return { ratio, u, crease, most, outline: Math.max(1, SPREAD * most) };
}

/** Seen nodes that are past yield for certain: by two u. */
export function certainlyYielded({ map }: PanelSurvey, { ratio, u }: Yielded): boolean[] {
  return ratio.map((r, i) => map.seen[i]! && r - MEASURED.factor * u[i]! > 1);
}
