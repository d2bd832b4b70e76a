import { formatLength, formatLimit } from '../units/format-length.ts';
import type { AcceptanceRule, Job, JobUnits, Line } from './job.ts';

/** What a rule set needs to know of the job. */
export interface PresetFacts {
  readonly units: JobUnits;
  readonly member: Job['member'];
  readonly lines: readonly Line[];
}

/** `sweep 1/2 in over the whole line`, `sweep 1/2 in over any 20 ft`, `sweep 3/4 in at the point of impact`. */
export function ruleLabel(
  { kind, panel }: { readonly kind: Line['kind']; readonly panel?: unknown },
  limit: number,
  over: AcceptanceRule['over'],
  units: JobUnits,
  edgesFromWeb = false,
): string {
  const size = `${kind} ${formatLimit(limit, units)}${edgesFromWeb ? ' at the edges from the web' : ''}`;
  if (over.kind === 'whole-line') return `${size} over the whole ${panel === undefined ? 'line' : 'panel'}`;
  if (over.kind === 'impact') return `${size} at the point of impact`;
  const chord = formatLength(over.length, { units, as: 'station' }).replace(/'-0"$/, ' ft');
  return `${size} over any ${chord}`;
}

/** The limit on the line's own readings, m: a tilt limit for each edge from the web is half of what is read edge to edge. */
export function limitOnReadings(rule: AcceptanceRule): number {
  return rule.edgesFromWeb === true ? 2 * rule.limit : rule.limit;
}
