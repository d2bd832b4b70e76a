import type { Zone } from '../analysis.ts';
import { degreeOfDamage, degreeOfDamageU } from './degree-of-damage.ts';
import { tent, tentRotation } from './elastic.ts';
import { type Estimate, elasticOf, propagate } from './estimate.ts';
import type { LengthPrior } from './length-prior.ts';
import type { LineModel } from './model.ts';
import type { PooledStation } from './prepare.ts';
import { peakCurvature, type ZoneShape, zoneFrom, zoneTo } from './zone-shape.ts';

/** "A" … "Z", "AA", … along the line. */
export function zoneName(index: number): string {
  const letter = String.fromCharCode(65 + (index % 26));
  return index < 26 ? letter : zoneName(Math.floor(index / 26) - 1) + letter;
}

/** Total curvature across a stretch: elastic and plastic together, rad. */
export function totalRotation(
  model: LineModel,
  coefficients: ArrayLike<number>,
  firstRotation: number,
  zones: readonly ZoneShape[],
  j: number,
): number {
  const zone = zones[j]!;
  let rotation = coefficients[firstRotation + j]!;
  const count = model.nodes.stations.length - 2;
  const elastic = elasticOf(coefficients, count);
  elastic.forEach((m, k) => {
    rotation += m * tentRotation(model.nodes, k + 1, zoneFrom(zone), zoneTo(zone));
  });
  return rotation;
}

function peakTotal(
  model: LineModel,
  coefficients: ArrayLike<number>,
  firstRotation: number,
  zones: readonly ZoneShape[],
  j: number,
): number {
  const zone = zones[j]!;
  const peak = peakCurvature(zone);
  let curvature = coefficients[firstRotation + j]! * peak.curvature;
  elasticOf(coefficients, model.nodes.stations.length - 2).forEach((m, k) => {
    curvature += m * tent(model.nodes, k + 1, peak.station);
  });
  return Math.abs(curvature);
}

/** One-sided 95 % of the normal distribution. */
const SURE = 1.645;
/** A side whose length the readings narrow by less than this is known by its prior only. */
const UNRESOLVED = 0.8;

/** Zones as found, in the order of the estimate, with uncertainties that include their edges. */
export function describeZones(
  model: LineModel,
  estimate: Estimate,
  priors: readonly LengthPrior[],
  stations: readonly PooledStation[],
): Zone[] {
  const { zones } = estimate;
  const first = estimate.coefficients.length - zones.length;
  const u = (p: number) => Math.sqrt(estimate.covariance[p]?.[p] ?? 0);
  return zones.map((_, j) => {
    const rotation = propagate(
      estimate,
      (c, z) => totalRotation(model, c, first, z, j),
      model.yieldCurvature,
    );
    const from = propagate(estimate, (_, z) => zoneFrom(z[j]!), model.yieldCurvature);
    const to = propagate(estimate, (_, z) => zoneTo(z[j]!), model.yieldCurvature);
    const peak = propagate(
      estimate,
      (c, z) => Math.log(Math.max(peakTotal(model, c, first, z, j), 1e-12) / model.yieldCurvature),
      model.yieldCurvature,
    );
    const lengthU = (what: 'left' | 'right') => {
      const f = estimate.free.findIndex((free) => free.zone === j && free.what === what);
      return f < 0 ? 0 : u(estimate.coefficients.length + f);
    };
    const prior = priors[j]!;
    const unresolved =
      lengthU('left') > UNRESOLVED * prior.leftSd && lengthU('right') > UNRESOLVED * prior.rightSd;
    const sure = Math.exp(peak.value - SURE * peak.u);
    const value = unresolved ? sure : Math.exp(peak.value);
    const length = to.value - from.value;
    return {
      zone: zoneName(j),
      from: from.value,
      to: to.value,
      fromU: from.u,
      toU: to.u,
      rotation: rotation.value,
      rotationU: rotation.u,
      radius: length / Math.max(Math.abs(rotation.value), 1e-9),
      strainRatio: {
        mean: Math.abs(rotation.value) / length / model.yieldCurvature,
        peak: value,
        peakU: value * peak.u,
        lowerBound: unresolved,
      },
      class: sure > 1 ? 'plastic' : 'elastic',
      degreeOfDamage: publishedAngle(model, estimate, j, stations),
    };
  });
}

/** The published angle of bend from the outermost two offsets on each adjoining straight reach. */
function publishedAngle(
  model: LineModel,
  { zones }: Estimate,
  j: number,
  stations: readonly PooledStation[],
): Zone['degreeOfDamage'] {
  const zone = zones[j]!;
  const start = j > 0 ? zoneTo(zones[j - 1]!) : model.from;
  const end = j + 1 < zones.length ? zoneFrom(zones[j + 1]!) : model.to;
  const good = stations.filter((s) => !s.setAside);
  const left = good.filter((s) => s.station >= start && s.station <= zoneFrom(zone));
  const right = good.filter((s) => s.station >= zoneTo(zone) && s.station <= end);
  if (left.length < 2 || right.length < 2) return null;
  const [a, b] = [left[0]!, left[left.length - 1]!];
  const [c, d] = [right[0]!, right[right.length - 1]!];
  const [l12, l34] = [b.station - a.station, d.station - c.station];
  const angle = degreeOfDamage({ y1: a.y, y2: b.y, length: l12 }, { y3: c.y, y4: d.y, length: l34 });
  return { angle: -angle, u: degreeOfDamageU([a.sd, b.sd, c.sd, d.sd], l12, l34) };
}
