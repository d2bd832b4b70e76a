import type { PointCurvature, Zone } from '../analysis.ts';
import { secondDifferenceWeights } from '../maths/second-difference.ts';
import type { PooledStation } from './prepare.ts';

/**
 * Published three-point curvature at every interior station, from neighbouring stations not set aside, with
 * u² = Σ (weight·u(offset))²: √6·σ/h² at equal spacing h (GUM, JCGM 100:2008, 5.1.2).
 *
 * Its strain ratio is the published μ = ε_max/ε_y = |κ|·y_max·E/F_y: largest bending strain over yield strain, from total
 * curvature, locked-in elastic bending not taken off (FHWA-IF-99-004 / FHWA-IF-08-999, from memory).
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

/**
 * Largest published strain ratio at a station within [from, to] or at the nearest outside it, over all readings, those
 * left out of the fit too: a crest that is set aside may be the steel.
 */
export function publishedStrain(
  stations: readonly PooledStation[],
  from: number,
  to: number,
  yieldCurvature: number,
): Zone['publishedStrain'] {
  const asRead = pointCurvatures(
    stations.map((s) => ({ ...s, setAside: false })),
    yieldCurvature,
  );
  const first = stations.findLast((s) => s.station <= from)?.station ?? from;
  const last = stations.find((s) => s.station >= to)?.station ?? to;
  const within = asRead.filter((p) => p.station >= first && p.station <= last);
  if (within.length === 0) return null;
  const largest = within.reduce((a, b) => (b.strainRatio > a.strainRatio ? b : a));
  const at = stations.findIndex((s) => s.station === largest.station);
  return {
    ratio: largest.strainRatio,
    u: largest.u / yieldCurvature,
    station: largest.station,
    leftOut: stations.slice(at - 1, at + 2).some((s) => s.setAside),
  };
}
