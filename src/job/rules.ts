import { formatLength } from '../units/format-length.ts';
import type { AcceptanceRule, Job, JobUnits, Line } from './job.ts';

/** What a rule set needs to know of the job. */
export interface PresetFacts {
  readonly units: JobUnits;
  readonly member: Job['member'];
  readonly lines: readonly Line[];
}

/** `sweep 1/2 in over the whole line`, `sweep 1/2 in over any 20 ft`, `sweep 3/4 in at the point of impact`. */
export function ruleLabel(
  kind: Line['kind'],
  limit: number,
  over: AcceptanceRule['over'],
  units: JobUnits,
): string {
  const size = `${kind} ${formatLength(limit, { units, as: 'offset' })}`;
  if (over.kind === 'whole-line') return `${size} over the whole line`;
  if (over.kind === 'impact') return `${size} at the point of impact`;
  const chord = formatLength(over.length, { units, as: 'station' }).replace(/'-0"$/, ' ft');
  return `${size} over any ${chord}`;
}
