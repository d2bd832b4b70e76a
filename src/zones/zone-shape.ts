import { firstIntegral, plasticCurvature, secondIntegral } from './yielding.ts';

/**
 * A plastic zone: the bending moment of the blow falls linearly from its peak to the yield moment at either
 * edge, and the plastic curvature follows it by the law in `yielding.ts`: sharp at the peak (the load, or the
 * diaphragm next to it), running out gently to the edges. Scaled to unit rotation.
 */
export interface ZoneShape {
  /** Station of the largest moment, m. */
  readonly peak: number;
  /** Distance from the peak to the edge (first yield) on each side, m. */
  readonly left: number;
  readonly right: number;
  /** Peak moment over yield moment, less 1. */
  readonly over: number;
  /** True where the peak is held at a known point (a diaphragm). */
  readonly anchored: boolean;
}

export function zoneFrom(zone: ZoneShape): number {
  return zone.peak - zone.left;
}

export function zoneTo(zone: ZoneShape): number {
  return zone.peak + zone.right;
}

/** Deflection at `x` (m per rad): 0 left of the zone, then bending to unit slope. */
export function zoneDeflection(zone: ZoneShape, x: number): number {
  const { peak, left, right, over } = zone;
  if (x <= peak - left) return 0;
  const area = firstIntegral(1 + over);
  const moment2 = secondIntegral(1 + over);
  const whole = left + right;
  if (x < peak) {
    const m = 1 + (over * (x - peak + left)) / left;
    return ((left / over) * left * secondIntegral(m)) / (whole * area);
  }
  // A side of length l and its mirror: deflection of the edge from the peak's tangent is (l/over)·F2/F1 per unit.
  const arm = moment2 / (over * area);
  const rise = left * (left * arm + (x - peak));
  const s = x - peak;
  if (s >= right) return (rise + right * (s - right + right * (1 - arm))) / whole + 0;
  const m = 1 + (over * (right - s)) / right;
  // Right side: slope so far is 1 − F1(m)/F1(peak); its integral from the peak.
  const fall = s - (right / over) * ((moment2 - secondIntegral(m)) / area);
  return (rise + right * fall) / whole;
}

/** Curvature at `x` per rad, 1/m. */
export function zoneCurvature(zone: ZoneShape, x: number): number {
  const { peak, left, right, over } = zone;
  if (x <= peak - left || x >= peak + right) return 0;
  const u = x < peak ? (x - peak + left) / left : 1 - (x - peak) / right;
  return (plasticCurvature(1 + over * u) * over) / ((left + right) * firstIntegral(1 + over));
}

/** Largest curvature per rad, 1/m. */
export function peakCurvature(zone: ZoneShape): number {
  return (
    (plasticCurvature(1 + zone.over) * zone.over) / ((zone.left + zone.right) * firstIntegral(1 + zone.over))
  );
}
