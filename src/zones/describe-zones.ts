import type { Zone } from '../analysis.ts';
import { exp } from '../maths/portable.ts';
import { type Bend, SURE } from './bend.ts';
import { degreeOfDamage, degreeOfDamageU } from './degree-of-damage.ts';
import type { LineModel } from './model.ts';
import { publishedStrain } from './point-curvature.ts';
import type { PooledStation } from './prepare.ts';

/** "A" … "Z", "AA", … along the line. */
export function zoneName(index: number): string {
  const letter = String.fromCharCode(65 + (index % 26));
  return index < 26 ? letter : zoneName(Math.floor(index / 26) - 1) + letter;
}

/** Stations a zone needs inside it, and the relative u of its strain, before its strain is more than a lower bound. */
const LEAST_INSIDE = 2;
const LARGEST_LOG_U = 0.4;

/** Zones as found, in order along the line, with uncertainties that include their edges. */
export function describeZones(
  model: LineModel,
  bends: readonly Bend[],
  stations: readonly PooledStation[],
): Zone[] {
  const good = stations.filter((s) => !s.setAside);
  return bends.map((bend, j) => {
    const inside = good.filter((s) => s.station > bend.from && s.station < bend.to).length;
    const unresolved = inside < LEAST_INSIDE || bend.logPeakU > LARGEST_LOG_U;
    const sure = exp(bend.logPeak - SURE * bend.logPeakU);
    const value = unresolved ? sure : exp(bend.logPeak);
    const length = Math.max(bend.to - bend.from, 1e-6);
    return {
      zone: zoneName(j),
      from: bend.from,
      to: bend.to,
      fromU: bend.fromU,
      toU: bend.toU,
      core: bend.core,
      rotation: bend.rotation,
      rotationU: bend.rotationU,
      radius: length / Math.max(Math.abs(bend.rotation), 1e-9),
      strainRatio: {
        mean: Math.abs(bend.rotation) / length / model.yieldCurvature,
        peak: value,
        peakU: value * bend.logPeakU,
        lowerBound: unresolved,
      },
      publishedStrain: publishedStrain(stations, bend.from, bend.to, model.yieldCurvature),
      // A bend that cannot be told from none is not called plastic, whatever its peak would be if it were there.
      class: sure > 1 && Math.abs(bend.rotation) > SURE * bend.rotationU ? 'plastic' : 'elastic',
      degreeOfDamage: publishedAngle(model, bends, j, good),
    };
  });
}

/** The published angle of bend from the outermost two offsets on each adjoining straight reach. */
function publishedAngle(
  model: LineModel,
  bends: readonly Bend[],
  j: number,
  good: readonly PooledStation[],
): Zone['degreeOfDamage'] {
  const bend = bends[j]!;
  const start = j > 0 ? bends[j - 1]!.to : model.from;
  const end = j + 1 < bends.length ? bends[j + 1]!.from : model.to;
  const left = good.filter((s) => s.station >= start && s.station <= bend.from);
  const right = good.filter((s) => s.station >= bend.to && s.station <= end);
  if (left.length < 2 || right.length < 2) return null;
  const [a, b] = [left[0]!, left[left.length - 1]!];
  const [c, d] = [right[0]!, right[right.length - 1]!];
  const [l12, l34] = [b.station - a.station, d.station - c.station];
  const angle = degreeOfDamage({ y1: a.y, y2: b.y, length: l12 }, { y3: c.y, y4: d.y, length: l34 });
  return { angle: -angle, u: degreeOfDamageU([a.sd, b.sd, c.sd, d.sd], l12, l34) };
}
