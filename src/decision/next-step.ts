import type { AcceptanceResult, Analysis, LineAnalysis } from '../analysis.ts';
import type { JobUnits } from '../job/job.ts';
import { shortfallText } from '../survey/coverage.ts';
import { hotSteelText } from '../survey/judged.ts';
import { formatLength } from '../units/format-length.ts';
import { formatTemperature } from '../units/format-quantity.ts';
import { type LineToday, lineToday } from './line-today.ts';
import { linesThatDecide } from './member-verdict.ts';

/**
 * What to do next, in one line, from the line that decides: the only place it is chosen. It never says to heat past a
 * stop or a survey that could not be judged, and leaves the decision to the engineer.
 */
export function nextStep(
  analysis: Pick<Analysis, 'job' | 'lines' | 'unmeasured' | 'findings' | 'member'>,
): string {
  const { job, lines, unmeasured, findings } = analysis;
  if (findings.some((finding) => finding.severity === 'stop'))
    return 'Settle what is marked STOP before any more heat.';
  const [first] = linesThatDecide(lines);
  if (first === undefined) return 'Name the lines to read in job.json.';
  const today = lineToday(first);
  const reading = readFirst(first, today, job.units);
  if (reading !== null) return reading;
  const warm = findings.some(
    ({ code, severity, line, cycle }) =>
      code === 'steel-warmer-than-before' &&
      severity === 'caution' &&
      line === first.line.name &&
      cycle === today.now?.cycle,
  );
  if (warm)
    return `Read ${first.line.name} again when the steel is as cool as the air, before going by today’s numbers.`;
  const again = first.progress.verdict === 'within-tolerance' ? leftOutBeyondLimit(lines, job.units) : null;
  if (again !== null) return again;
  if (first.progress.verdict === 'within-tolerance' && unmeasured.length > 0)
    return `Read what no readings answer yet: ${unmeasured.map((result) => result.rule.label).join('; ')}.`;
  return `${stepOf(first, today, job.units)}${first.acceptance.length === 0 ? ` No limit is set for ${first.line.name}: set one in job.json, or nothing here can say when it is done.` : ''}`;
}

/** Nobody stops on a survey one reading of which was left out and would break a limit: that station is read again first. */
function leftOutBeyondLimit(lines: Analysis['lines'], units: JobUnits): string | null {
  for (const item of lines) {
    const leftOut = lineToday(item).now?.largest.leftOut;
    if (leftOut === undefined) continue;
    if (!item.acceptance.some(({ limit }) => Math.abs(leftOut.deviation) > limit)) continue;
    const at = formatLength(leftOut.station, { units, as: 'station' });
    return `Read ${item.line.name} at ${at} again first: a reading left out there would be outside a limit. Then the engineer decides whether to stop.`;
  }
  return null;
}

/** What must be read before anything can be said of today; null where today's survey can be judged. */
function readFirst({ line }: LineAnalysis, today: LineToday, units: JobUnits): string | null {
  const late = today.notJudged.at(-1);
  if (late !== undefined) {
    return late.state === 'restrained'
      ? `Read ${line.name} with the jacks off: cycle ${late.cycle} has it with the jacks on only, which is not judged.`
      : hotWords(line.name, late, units);
  }
  if (today.now === null)
    return `Read ${line.name} with the jacks off and the steel cooled, both ends included.`;
  return today.lack === null
    ? null
    : `${sentence(shortfallText(today.lack, line.name, today.now, units))} Until then cycle ${today.now.cycle} cannot be judged.`;
}

function hotWords(
  line: string,
  { cycle, temperature }: { readonly cycle: number; readonly temperature: number | null },
  units: JobUnits,
): string {
  const hot = temperature === null ? '' : ` at ${formatTemperature(temperature, units)}`;
  return `Read ${line} again below ${hotSteelText(units)}: cycle ${cycle} was read${hot} and is not judged.`;
}

function stepOf({ line, progress }: LineAnalysis, { limit, moved }: LineToday, units: JobUnits): string {
  if (progress.verdict === 'within-tolerance')
    return 'No more heat is needed for the limits set; the engineer decides whether to stop.';
  if (progress.verdict === 'overcorrected' || progress.verdict === 'regressing')
    return 'No more heat of the same kind before it has been read again, jacks off and steel cooled, and the engineer has looked.';
  // What a hole hides cannot be read: closer readings around it say most of what there is to know.
  if (limit?.result === 'undetermined' && limit.atLeast === true)
    return 'Read close around the hole or the part not read, right up to its rim; what is missing there cannot be accepted by readings, so the engineer decides on it.';
  const near = nearLimit(limit);
  if (near !== null) return near;
  if (progress.untouched)
    return `No heat so far has acted on ${line.name}: if it has to come in, plan heats that aim at it. The engineer decides; the other lines go on by their own plan.`;
  const elsewhere = moved?.elsewhere;
  if (
    elsewhere !== undefined &&
    elsewhere.movement < 0 &&
    (stoodStillToday(progress) || progress.verdict === 'stalled')
  )
    return `Go on by the plan: the work of cycle ${moved!.toCycle} shows near ${formatLength(elsewhere.station, { units, as: 'station' })}. Where the line is furthest out it takes heats of its own.`;
  if (stoodStillToday(progress))
    return 'Lay the last day beside the others (gauge, heat, vees, time worked) before the next cycle, and go on: a day that stands still is common, and going on works.';
  switch (progress.verdict) {
    case 'progressing':
      return 'Go on as now, and read again after the next cycle, jacks off and steel cooled.';
    case 'slow':
      return 'Check heat, vees and jacks before the next cycle: it moves, but by less than a cycle is worth.';
    case 'stalled':
      return 'Check that the heat was reached, where the vees stood, and jacks and restraint; common practice is to go on for some cycles while residual stress works out. The engineer decides.';
    case 'undecided':
      return 'Run one more cycle by the plan and read it as carefully as this one: it cannot be told yet.';
    default:
      return 'Run the next cycle by the plan, and read the same stations again, jacks off and steel cooled.';
  }
}

/** A dead last day that is no spell yet. */
function stoodStillToday({ verdict, pattern }: LineAnalysis['progress']): boolean {
  const goesOn = verdict === 'progressing' || verdict === 'slow' || verdict === 'undecided';
  return goesOn && pattern !== null && pattern.spell === null && pattern.lastCycle.stoodStill > 0.5;
}

/** Where every limit is met or too near to tell, readings settle it and heat does not. */
function nearLimit(limit: AcceptanceResult | null): string | null {
  if (limit === null || limit.result !== 'undetermined') return null;
  return limit.measured === null
    ? `Settle what could not be measured: ${limit.reason}.`
    : 'Read again, closer and twice over, before any more heat: it is too near its limit to tell.';
}

function sentence(text: string): string {
  return `${text.charAt(0).toUpperCase()}${text.slice(1)}.`;
}
