import type { JobUnits, Line } from '../job/job.ts';
import { median } from '../maths/median.ts';
import { formatLength } from '../units/format-length.ts';

export interface BaselineChoice {
  readonly method: 'bearings' | 'undamaged' | 'reference';
  readonly reason: string;
  /** Reaches given by the job or found from the readings, m; empty where the method needs none. */
  readonly reaches: readonly (readonly [number, number])[];
  readonly degree: 0 | 1 | 2;
}

/**
 * Which baseline a line along the member stands on, and why, in words. `outboard`: the reaches outside the
 * outermost zones, found from the as-found readings.
 */
export function chooseBaseline(
  line: Line,
  stations: readonly number[],
  outboard: readonly (readonly [number, number])[],
  units: JobUnits,
): BaselineChoice {
  const at = (station: number) => formatLength(station, { units, as: 'station' });
  const spec = line.baseline;
  const [from, to] = line.bearings;
  if (spec.method === 'reference')
    return {
      method: 'reference',
      reason: `the profile of ${spec.file}, tied at the bearings ${at(from)} and ${at(to)}`,
      reaches: [],
      degree: 1,
    };
  if (spec.method === 'bearings')
    return {
      method: 'bearings',
      reason: `the job asks for the chord through the bearings ${at(from)} and ${at(to)}`,
      reaches: outboard,
      degree: 1,
    };
  if (spec.method === 'undamaged')
    return {
      method: 'undamaged',
      reason:
        spec.reaches === null
          ? 'the job asks for the undamaged reaches, found from the readings outside the outermost zones'
          : 'the job gives the undamaged reaches',
      reaches: spec.reaches ?? outboard,
      degree: spec.degree,
    };
  if (stations.length === 0)
    return {
      method: 'bearings',
      reason: `nothing is read yet; the chord through the bearings ${at(from)} and ${at(to)} stands until it is`,
      reaches: outboard,
      degree: 1,
    };
  const gap = medianGap(stations);
  const near = (bearing: number) =>
    stations.some((s) => Math.abs(s - bearing) <= Math.max(1.01 * gap, 0.02 * (to - from)));
  if (near(from) && near(to))
    return {
      method: 'bearings',
      reason: `readings reach both bearings (${at(from)} and ${at(to)}), which held when the member was struck, so the chord between them is where the steel was`,
      reaches: outboard,
      degree: 1,
    };
  const enough = (reach: readonly [number, number] | undefined) =>
    reach !== undefined && stations.filter((s) => s >= reach[0] && s <= reach[1]).length >= 3;
  if (enough(outboard[0]) && enough(outboard[1]))
    return {
      method: 'undamaged',
      reason: `the readings stop short of ${near(from) ? `the bearing at ${at(to)}` : near(to) ? `the bearing at ${at(from)}` : 'both bearings'}, so the line rests on the undamaged reaches outside the outermost zones`,
      reaches: outboard,
      degree: 1,
    };
  return {
    method: 'bearings',
    reason: `the readings stop short of the bearings and leave too little undamaged steel on either side; the chord is carried to the bearings ${at(from)} and ${at(to)} by the fitted shape, with a wide uncertainty`,
    reaches: outboard,
    degree: 1,
  };
}

/** Usual distance from station to station, m; 0 for one station. */
export function medianGap(stations: readonly number[]): number {
  const sorted = [...new Set(stations)].sort((a, b) => a - b);
  const gaps = sorted.slice(1).map((s, i) => s - sorted[i]!);
  return gaps.length === 0 ? 0 : median(gaps);
}
