import { log } from '../../maths/portable.ts';
import type { Bend } from '../bend.ts';
import { tent, tentRotation } from '../elastic.ts';
import { elasticFrom, type LineModel } from '../model.ts';
import { type Estimate, propagate } from './estimate.ts';
import { peakCurvature, type ZoneShape, zoneFrom, zoneTo } from './shape.ts';

/** Each group of touching zones as one bend. */
export function describeZoneGroups(
  model: LineModel,
  whole: Estimate,
  groups: readonly (readonly number[])[],
): Omit<Bend, 'stretch' | 'core'>[] {
  const first = whole.coefficients.length - whole.zones.length;
  const inner = model.nodes.stations.length - 2;
  return groups.map((group) => {
    const fromOf = (zones: readonly ZoneShape[]) => zoneFrom(zones[group[0]!]!);
    const toOf = (zones: readonly ZoneShape[]) => zoneTo(zones[group[group.length - 1]!]!);
    const rotation = propagate(
      whole,
      (c, zones) => {
        let sum = 0;
        for (const j of group) sum += c[first + j]!;
        for (let k = 0; k < inner; k++)
          sum += c[elasticFrom(model) + k]! * tentRotation(model.nodes, k + 1, fromOf(zones), toOf(zones));
        return sum;
      },
      model.yieldCurvature,
    );
    const from = propagate(whole, (_, zones) => fromOf(zones), model.yieldCurvature);
    const to = propagate(whole, (_, zones) => toOf(zones), model.yieldCurvature);
    const peak = propagate(
      whole,
      (c, zones) => {
        let most = 0;
        for (const j of group) {
          const top = peakCurvature(zones[j]!);
          let curvature = c[first + j]! * top.curvature;
          for (let k = 0; k < inner; k++)
            curvature += c[elasticFrom(model) + k]! * tent(model.nodes, k + 1, top.station);
          most = Math.max(most, Math.abs(curvature));
        }
        return log(Math.max(most, 1e-9) / model.yieldCurvature);
      },
      model.yieldCurvature,
    );
    return {
      rotation: rotation.value,
      rotationU: rotation.u,
      from: from.value,
      to: to.value,
      fromU: from.u,
      toU: to.u,
      logPeak: peak.value,
      logPeakU: peak.u,
    };
  });
}
