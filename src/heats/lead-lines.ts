import type { LineAnalysis, Verdict } from '../analysis.ts';
import type { Job } from '../job/job.ts';
import { sameFlange } from '../member/one-flange.ts';

/** Lines whose heats stand on another line of the same flange: name of the line, name of that other one. */
export type LedLines = ReadonlyMap<string, string>;

/** First what forbids heat, then what still asks for it, last what is done. */
const ORDER: Partial<Record<Verdict, number>> = { regressing: 0, overcorrected: 0, 'within-tolerance': 2 };

/**
 * Two lines along one flange (its near and far edge) find the same bends twice. Heats are counted and proposed on one of
 * them, or every bend would be heated twice in a cycle: the one that says no more heat may be made, else one still outside,
 * and among equals the one the jacks push along, else the first in the job.
 */
export function ledLines(job: Job, lines: readonly LineAnalysis[]): LedLines {
  const zoned = lines.filter(
    ({ line, fit }) => line.kind === 'sweep' && fit.zones.some((zone) => zone.class === 'plastic'),
  );
  const rank = ({ line, progress }: LineAnalysis) =>
    2 * (ORDER[progress.verdict] ?? 1) + (job.restraint?.line === line.name ? 0 : 1);
  const leads: LineAnalysis[] = [];
  const led = new Map<string, string>();
  for (const entry of zoned.toSorted((a, b) => rank(a) - rank(b))) {
    const lead = leads.find((each) => sameFlange(each, entry));
    if (lead === undefined) leads.push(entry);
    else led.set(entry.line.name, lead.line.name);
  }
  return led;
}
