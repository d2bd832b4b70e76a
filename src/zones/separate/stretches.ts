import type { Zone } from '../../analysis.ts';
import { bendCore } from '../bend-core.ts';
import type { LineModel } from '../model.ts';
import type { BentStretch } from '../stretch.ts';
import { peakCurvature, type ZoneShape, zoneColumn, zoneCurvature, zoneFrom, zoneTo } from './shape.ts';

/** Zones that bend the same way and touch are one stretch. Groups of indices, in order. */
export function groupZones(
  zones: readonly ZoneShape[],
  rotations: readonly number[],
  touch: number,
): number[][] {
  const groups: number[][] = [];
  zones.forEach((zone, j) => {
    const last = groups[groups.length - 1];
    const before = last?.[last.length - 1];
    if (
      last &&
      before !== undefined &&
      Math.sign(rotations[before]!) === Math.sign(rotations[j]!) &&
      zoneFrom(zone) - zoneTo(zones[before]!) < touch
    )
      last.push(j);
    else groups.push([j]);
  });
  return groups;
}

/** The stretch of one group, its zones in the proportions found. */
export function stretchOf(
  model: LineModel,
  zones: readonly ZoneShape[],
  rotations: readonly number[],
  group: readonly number[],
): BentStretch {
  const rotation = group.reduce((sum, j) => sum + rotations[j]!, 0);
  const largest = group.reduce((a, b) => (Math.abs(rotations[b]!) > Math.abs(rotations[a]!) ? b : a));
  return {
    from: zoneFrom(zones[group[0]!]!),
    to: zoneTo(zones[group[group.length - 1]!]!),
    peak: peakCurvature(zones[largest]!).station,
    rotation,
    column: (x) => {
      const at = Float64Array.from(x);
      const sum = new Float64Array(at.length);
      for (const j of group) {
        const column = zoneColumn(model, at, zones[j]!);
        for (let i = 0; i < sum.length; i++) sum[i]! += (rotations[j]! / rotation) * column[i]!;
      }
      return sum;
    },
  };
}

/** Slices of a zone on either side of its peak. */
const SLICES = 32;

/** Where the bend of one group is, its zones in the proportions found. */
export function coreOf(
  zones: readonly ZoneShape[],
  rotations: readonly number[],
  group: readonly number[],
): Zone['core'] {
  const middle: number[] = [];
  const width: number[] = [];
  const curvature: number[] = [];
  for (const j of group) {
    const zone = zones[j]!;
    // The peak may be a kink: no slice goes across it.
    for (const [from, length] of [
      [zone.peak - zone.left, zone.left],
      [zone.peak, zone.right],
    ] as const)
      for (let i = 0; i < SLICES; i++) {
        const at = from + (length * (i + 0.5)) / SLICES;
        middle.push(at);
        width.push(length / SLICES);
        curvature.push(rotations[j]! * zoneCurvature(zone, at));
      }
  }
  return bendCore(
    zoneFrom(zones[group[0]!]!),
    zoneTo(zones[group[group.length - 1]!]!),
    middle,
    width,
    curvature,
  );
}
