import type { Line } from '../job/job.ts';
import { sagOffset } from './string-sag.ts';

/** What the job itself says of an offset at `station`, m: block height, edge steps, reference profile or as-built value, sag of the string. */
export function knownOffset(line: Line, station: number): number {
  return line.standoff + edgeStep(line, station) + referenceOffset(line, station) + sagOffset(line, station);
}

/** Sum of the edge steps passed so far; a station on a step counts as past it. */
function edgeStep(line: Line, station: number): number {
  let sum = 0;
  for (const step of line.edgeSteps) if (station >= step.station) sum += step.step;
  return sum;
}

/** Reference profile by straight lines between its points, its first and last values held beyond them. 0 without one. */
function referenceOffset(line: Line, station: number): number {
  if (line.baseline.method === 'as-built') return line.baseline.offset;
  if (line.baseline.method !== 'reference') return 0;
  const { profile } = line.baseline;
  if (profile.length === 0) return 0;
  if (station <= profile[0]!.station) return profile[0]!.offset;
  for (let i = 1; i < profile.length; i++) {
    const a = profile[i - 1]!;
    const b = profile[i]!;
    if (station <= b.station)
      return a.offset + ((b.offset - a.offset) * (station - a.station)) / (b.station - a.station || 1);
  }
  return profile[profile.length - 1]!.offset;
}
