import type { PointCurvature } from '../analysis.ts';
import { secondDifferenceWeights } from '../maths/second-difference.ts';
import type { PooledStation } from './prepare.ts';

/**
 * Published three-point curvature at every interior station, from neighbouring stations not set aside, with
 * u² = Σ (weight·u(offset))²: √6·σ/h² at equal spacing h (GUM, JCGM 100:2008, 5.1.2).
 */
export function pointCurvatures(
  stations: readonly PooledStation[],
  yieldCurvature: number,
): PointCurvature[] {
  const used = stations.filter((s) => !s.setAside);
  return used.slice(1, -1).map((middle, i) => {
    const three = [used[i]!, middle, used[i + 2]!] as const;
    const weights = secondDifferenceWeights([three[0].station, three[1].station, three[2].station]);
    let curvature = 0;
    let variance = 0;
    three.forEach((s, k) => {
      curvature += weights[k]! * s.y;
      variance += (weights[k]! * s.sd) ** 2;
    });
    return {
      station: middle.station,
      curvature,
      u: Math.sqrt(variance),
      strainRatio: Math.abs(curvature) / yieldCurvature,
    };
  });
}
