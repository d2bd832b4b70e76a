import type { Line } from '../job/job.ts';
import type { Reading, Survey } from './survey.ts';

/**
 * The surveys of one line: its readings by cycle and state, each sorted by station (readings at one station stay in
 * the order they were read, so repeats are adjacent). Increasing cycle; within a cycle restrained before released,
 * because jacks are read before they are let off.
 */
export function assembleSurveys(readings: readonly Reading[], line: Pick<Line, 'name'>): Survey[] {
  const groups = new Map<string, Reading[]>();
  for (const reading of readings) {
    if (reading.line !== line.name) continue;
    const key = `${reading.cycle} ${reading.state}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [reading]);
    else group.push(reading);
  }
  return [...groups.values()]
    .map((group): Survey => {
      const { cycle, state } = group[0]!;
      return {
        line: line.name,
        cycle,
        state,
        date: firstKnown(group, (reading) => reading.date),
        time: firstKnown(group, (reading) => reading.time),
        temperature: mean(
          group.flatMap((reading) => (reading.temperature === null ? [] : [reading.temperature])),
        ),
        readings: [...group].sort((a, b) => a.station - b.station || (a.height ?? 0) - (b.height ?? 0)),
      };
    })
    .sort((a, b) => a.cycle - b.cycle || (a.state === b.state ? 0 : a.state === 'restrained' ? -1 : 1));
}

function firstKnown(readings: readonly Reading[], of: (reading: Reading) => string | null): string | null {
  for (const reading of readings) {
    const value = of(reading);
    if (value !== null) return value;
  }
  return null;
}

function mean(values: readonly number[]): number | null {
  return values.length === 0 ? null : values.reduce((sum, value) => sum + value, 0) / values.length;
}
