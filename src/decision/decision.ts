import {
  type AcceptanceResult,
  type Decision,
  type LineAnalysis,
  PROVEN_STRAIN_RATIO,
  type Zone,
} from '../analysis.ts';
import type { Job, JobUnits, Repair } from '../job/job.ts';
import { EXPECTED, levelText, MEASURED } from '../maths/coverage-level.ts';
import { formatLength } from '../units/format-length.ts';
import { formatDoubted } from '../units/format-quantity.ts';

/** Damage and repair of one place more than this often was seen to embrittle and crack (Avent et al., laboratory and field series). */
const PROVEN_REPAIRS = 2;
/** Common practice, no source: a stall younger than this is worked on before it is believed. */
const BELIEVED_AFTER = 5;

/**
 * What the engineer weighs at the moment of stopping, as facts on either side. Nothing is summed up or decided here:
 * that is for the licensed engineer, the owner's specification and the local code.
 */
export function decide(
  job: Job,
  lines: readonly LineAnalysis[],
  unmeasured: readonly AcceptanceResult[] = [],
): Decision {
  return {
    forStopping: [
      ...lines.flatMap((line) => reasonsToStop(line, job)),
      ...strainFacts(lines),
      ...repairFacts(job, lines),
    ],
    againstStopping: [
      ...lines.flatMap((line) => reasonsToGoOn(line)),
      ...unmeasured.map((result) => `Not shown yet: ${result.rule.label}: ${result.reason}.`),
    ],
    checkFirst: checks(lines),
  };
}

function reasonsToStop({ line, progress }: LineAnalysis, job: Job): string[] {
  const facts: string[] = [];
  const tell = (text: string) => facts.push(`${line.name}: ${text}`);
  switch (progress.verdict) {
    case 'within-tolerance':
    case 'stalled':
    case 'slow':
      if (!progress.untouched) tell(progress.reason);
      break;
    case 'overcorrected':
    case 'regressing':
      tell(`${progress.reason} More heats of the same kind make it worse.`);
      break;
    default:
  }
  if (progress.verdict === 'within-tolerance') return facts;
  const chance = progress.probabilityWithin;
  if (chance !== null && chance < 0.5) {
    tell(
      `going on as now has a chance of ${chance < 0.01 ? 'under 1' : Math.round(chance * 100)} % of ever getting inside tolerance.`,
    );
  }
  const cost = lastFraction(progress, job.units);
  if (cost !== null) tell(cost);
  return facts;
}

/** What the distance left costs in cycles, where a forecast exists. */
function lastFraction(progress: LineAnalysis['progress'], units: JobUnits): string | null {
  const { cyclesLeft, daysLeft, series } = progress;
  const now = series.at(-1);
  if (cyclesLeft === null || now === undefined || progress.verdict === 'progressing') return null;
  const high = cyclesLeft.high === null ? 'maybe never' : `${Math.ceil(cyclesLeft.high)}`;
  const days =
    daysLeft === null ? '' : `, about ${Math.ceil(daysLeft.expected)} working days at the pace so far`;
  return `from ${formatLength(now.value, { units, as: 'offset' })} to the limit is about ${moreCycles(cyclesLeft.expected)} (${levelText(EXPECTED)}: ${Math.ceil(cyclesLeft.low)} to ${high})${days}.`;
}

function moreCycles(expected: number): string {
  const whole = Math.ceil(expected);
  return `${whole} more ${whole === 1 ? 'cycle' : 'cycles'}`;
}

function reasonsToGoOn({ line, progress, acceptance }: LineAnalysis): string[] {
  const facts = acceptance
    .filter((result) => result.result !== 'within')
    .map((result) => `${line.name}: ${result.rule.label}: ${result.reason} (${result.rule.source}).`);
  if (progress.verdict === 'progressing') {
    const left = progress.cyclesLeft;
    const ahead =
      left === null
        ? ''
        : ` About ${moreCycles(left.expected)} to the limit (${levelText(EXPECTED)}: ${Math.ceil(left.low)} to ${left.high === null ? 'maybe never' : Math.ceil(left.high)}).`;
    facts.push(`${line.name}: ${progress.reason}${ahead}`);
  }
  if (progress.verdict === 'undecided' || progress.verdict === 'not-enough-readings') {
    facts.push(`${line.name}: it is too early to call. ${progress.reason}`);
  }
  if (progress.untouched)
    facts.push(`${line.name}: ${progress.reason} How it would answer to heat has not been tried.`);
  const quiet = stallAge(progress);
  if (quiet !== null && quiet < BELIEVED_AFTER) {
    facts.push(
      `${line.name}: the standstill is ${quiet} cycles old; common practice is to check the heats and keep at it for some cycles before believing one.`,
    );
  }
  const moving = progress.zones.filter((zone) => zone.verdict === 'progressing').map((zone) => zone.zone);
  if (moving.length > 0 && progress.verdict !== 'progressing' && progress.verdict !== 'within-tolerance') {
    facts.push(`${line.name}: zone ${moving.join(', ')} still straightens.`);
  }
  return facts;
}

function stallAge(progress: LineAnalysis['progress']): number | null {
  const last = progress.series.at(-1);
  if (
    progress.verdict !== 'stalled' ||
    progress.untouched ||
    progress.sinceCycle === null ||
    last === undefined
  )
    return null;
  return last.cycle - progress.sinceCycle;
}

/** By the fitted shape or by the published second difference at a station, whichever is the larger. */
function strainFacts(lines: readonly LineAnalysis[]): string[] {
  return lines.flatMap(({ line, fit }) =>
    fit.zones.flatMap((zone) => {
      const { peak, peakU, lowerBound } = zone.strainRatio;
      const published = zone.publishedStrain;
      const fitted = { ratio: peak, u: peakU, bound: lowerBound ? 'at least ' : '', by: 'the fitted shape' };
      const worst =
        published !== null && published.ratio > peak
          ? { ratio: published.ratio, u: published.u, bound: '', by: 'the published second difference' }
          : fitted;
      const shown = `${line.name}, zone ${zone.zone}: strain ratio ${worst.bound}${formatDoubted(worst.ratio, MEASURED.factor * worst.u)} by ${worst.by}`;
      if (worst.ratio - MEASURED.factor * worst.u > PROVEN_STRAIN_RATIO) {
        return [
          `${shown}, beyond the ${PROVEN_STRAIN_RATIO} times yield strain up to which straightening is proven.`,
        ];
      }
      if (worst.ratio + MEASURED.factor * worst.u > PROVEN_STRAIN_RATIO) {
        return [`${shown}, which may be beyond the proven ${PROVEN_STRAIN_RATIO} times yield strain.`];
      }
      return [];
    }),
  );
}

function repairFacts(job: Job, lines: readonly LineAnalysis[]): string[] {
  const facts: string[] = [];
  for (const { line, fit } of lines) {
    for (const zone of fit.zones) {
      const earlier = job.repairs.filter((repair) => overlaps(repair, zone));
      if (earlier.length === 0) continue;
      const count = earlier.length + 1;
      const dates = earlier.map((repair) => repair.date ?? 'undated').join(', ');
      const beyond =
        count > PROVEN_REPAIRS
          ? `; more than ${PROVEN_REPAIRS} at one place were seen to embrittle and crack`
          : '';
      facts.push(
        `${line.name}, zone ${zone.zone}: repair number ${count} of this place (before: ${dates})${beyond}.`,
      );
    }
  }
  return facts;
}

function overlaps(repair: Repair, zone: Zone): boolean {
  return repair.from <= zone.to && zone.from <= repair.to;
}

/** Common practice, no source, except where the list says otherwise. */
function checks(lines: readonly LineAnalysis[]): string[] {
  const worked = lines.filter((line) => !line.progress.untouched);
  const verdicts = new Set(worked.map((line) => line.progress.verdict));
  const list: string[] = [];
  if (verdicts.has('stalled') || verdicts.has('slow')) {
    list.push(
      'Was the heat reached? Check with crayons or a thermometer, not by colour; never above the limit of the steel grade.',
      'Are the vees in the zones that are still bent, open end on the right side, and moved from heat to heat?',
      'Are the jacks set to the allowed force before each heat, and does the restraint bear where it should?',
      'Did earlier heats leave residual stress that must work out first? The first heats after a change of pattern often show little.',
      'Do diaphragms or bearings hold the member back elastically? Read once with them eased, if the engineer allows it.',
    );
  }
  if (verdicts.has('regressing') || verdicts.has('overcorrected')) {
    list.push(
      'Read again with the jacks off and the steel cooled before the next heat.',
      'Is the string still tied to the same marks, and does the sign of the offsets agree with the earlier sheets?',
      'Is any jack still pushing the way it did before the line passed straight?',
    );
  }
  const unsure = lines.some((line) =>
    line.acceptance.some((result) => result.result === 'undetermined' && result.measured !== null),
  );
  if (unsure) {
    list.push(
      'A result too near its limit is settled by repeat readings, closer stations and a steel temperature, not by a further heat.',
    );
  }
  const open = lines.flatMap((line) =>
    line.fit.surveys
      .slice(-1)
      .flatMap((survey) =>
        survey.closure.agrees || survey.closure.message === null
          ? []
          : [`${line.line.name}: ${survey.closure.message}`],
      ),
  );
  list.push(...open);
  list.push(
    'Look for cracks at the blow, at connections and at diaphragms before anything else; the owner’s specification, the local code and a licensed engineer decide.',
  );
  return list;
}
