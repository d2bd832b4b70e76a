import type { AcceptanceResult, LineFit, StationFit, SurveyFit } from '../analysis.ts';
import type { AcceptanceRule, JobUnits, Line, Member } from '../job/job.ts';
import { limitOnReadings } from '../job/rules.ts';
import { interpolate } from '../maths/interpolate.ts';
import { hypot } from '../maths/portable.ts';
import { shortfall, shortfallText } from '../survey/coverage.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { formatLength, formatLimit, formatPlace, formatUncertainty } from '../units/format-length.ts';
import { conformanceProbability, DECISION_WORDS, decideBy, GUARD } from './guarded.ts';
import { measureRule, type RuleMeasure } from './measure-rule.ts';

/**
 * Every rule of this line against its last judged survey (jacks off, cooled).
 *
 * @param rules of the whole job; those of other lines are passed over
 * @param units the job's, for the reasons
 */
export function judgeAcceptance(
  line: Line,
  _member: Member,
  fit: LineFit,
  rules: readonly AcceptanceRule[],
  units: JobUnits = 'us',
): AcceptanceResult[] {
  const judged = judgedSurveys(fit);
  const last = judged.at(-1);
  const absolute = line.kind === 'tilt' || line.kind === 'plumb';
  const lack = last === undefined ? null : shortfall(line, fit, last);
  return rules
    .filter((rule) => rule.line === line.name)
    .map((rule) => {
      if (last === undefined) {
        return notMeasured(rule, `${line.name} has no survey read with the jacks off and the steel cooled`);
      }
      if (lack !== null && rule.over.kind !== 'impact') {
        return notMeasured(rule, shortfallText(lack, line.name, last, units));
      }
      const measure = measureRule(rule, line, last);
      if ('missing' in measure) return notMeasured(rule, whyMissing(measure.missing, rule, line, units));
      const result = decideBy(rule.decision ?? 'guarded', measure.value, measure.u, rule.limit);
      const bound = last.panel?.crest.lowerBound === true;
      const beside = result === 'within' ? besideOutside(last, limitOnReadings(rule)) : null;
      const measured = {
        rule,
        limit: rule.limit,
        measured: measure.value,
        u: measure.u,
        at: measure.at,
        ...(bound ? { atLeast: true as const } : {}),
      };
      if (result === 'within' && bound) {
        return {
          ...measured,
          result: 'undetermined',
          reason: `at least ${offset(measure.value, units)}${BESIDE_UNREAD}: what is there may be further off`,
        };
      }
      const since = absolute ? sinceAsFound(rule, measure, judged[0]!, last) : null;
      if (beside !== null) {
        return {
          ...measured,
          result: 'undetermined',
          reason: `inside by the readings kept, but readings side by side at ${length(beside[0], units)} and ${length(beside[1], units)} that would be outside were set aside in cycle ${last.cycle}: read there again, or reinstate them`,
        };
      }
      return {
        ...measured,
        result,
        reason: reasonFor(result, measure, rule, last.cycle, units, bound) + sinceText(measure, since, units),
        ...(since === null ? {} : { sinceAsFound: since }),
      };
    });
}

/**
 * Two neighbouring stations set aside by the rule that agree on being further off than the limit. One wrong reading has
 * good ones beside it; two that agree may be a crest the fit missed, and must not be left out of an acceptance.
 */
function besideOutside(survey: SurveyFit, limit: number): [number, number] | null {
  const byRule = new Set(survey.setAside.filter((each) => each.by === 'rule').map((each) => each.station));
  const out = (s: StationFit) => s.setAside && byRule.has(s.station) && Math.abs(s.deviation) > limit;
  for (let i = 1; i < survey.stations.length; i++) {
    const [a, b] = [survey.stations[i - 1]!, survey.stations[i]!];
    if (out(a) && out(b) && a.deviation * b.deviation > 0) return [a.station, b.station];
  }
  return null;
}

/** Rules of a preset or of the job that no line answers: what would have to be read. */
export function unmeasuredRules(rules: readonly AcceptanceRule[]): AcceptanceResult[] {
  return rules
    .filter((rule) => rule.line === null)
    .map((rule) =>
      notMeasured(rule, `the job has no ${rule.kind} line: ${READINGS_WANTED[rule.kind]} to judge this rule`),
    );
}

/** Change of the signed value at the governing place since the first judged survey; each survey stands by itself. */
function sinceAsFound(
  rule: AcceptanceRule,
  measure: Exclude<RuleMeasure, { missing: unknown }>,
  first: SurveyFit,
  last: SurveyFit,
): { readonly change: number; readonly u: number } | null {
  if (first === last || rule.over.kind === 'chord') return null;
  const kept = first.stations.filter((each) => !each.setAside);
  const at = measure.at.station;
  if (kept.length === 0 || at < kept[0]!.station - 1e-6 || at > kept.at(-1)!.station + 1e-6) return null;
  const stations = kept.map((each) => each.station);
  const half = rule.edgesFromWeb === true ? 0.5 : 1;
  const then = (of: 'deviation' | 'u'): number =>
    half *
    interpolate(
      stations,
      kept.map((each) => each[of]),
      at,
    );
  return { change: measure.deviation - then('deviation'), u: hypot(measure.u, then('u')) };
}

function sinceText(
  measure: Exclude<RuleMeasure, { missing: unknown }>,
  since: { readonly change: number; readonly u: number } | null,
  units: JobUnits,
): string {
  if (since === null) return '';
  const signed = (metres: number) => formatLength(metres, { units, as: 'offset', sign: 'always' });
  return `; it was ${signed(measure.deviation - since.change)} there as found, a change of ${signed(since.change)} ± ${formatUncertainty(GUARD * since.u, units)} to ${signed(measure.deviation)}`;
}

const READINGS_WANTED = {
  sweep: 'read lateral offsets along a flange edge',
  camber: 'read vertical offsets along a flange',
  tilt: 'read the level difference across the flange, edge to edge, station by station',
  plumb: 'read the out-of-plumb of the web over its depth, station by station',
  bulge: 'read the worst web panel as a grid, or with a straight-edge across it',
} as const;

function notMeasured(rule: AcceptanceRule, reason: string): AcceptanceResult {
  return { rule, limit: rule.limit, measured: null, u: null, at: null, result: 'undetermined', reason };
}

function whyMissing(
  missing: 'readings' | 'reach' | 'impact',
  rule: AcceptanceRule,
  line: Line,
  units: JobUnits,
): string {
  if (missing === 'impact')
    return `${line.name} does not say where the blow struck: give its "impact" station`;
  if (missing === 'readings') return `${line.name} has no reading left in its last survey`;
  const wanted =
    rule.over.kind === 'chord' ? `a ${length(rule.over.length, units)} chord` : 'the station of the blow';
  return `the last survey of ${line.name} does not reach over ${wanted}`;
}

function reasonFor(
  result: AcceptanceResult['result'],
  measure: Exclude<RuleMeasure, { missing: unknown }>,
  rule: AcceptanceRule,
  cycle: number,
  units: JobUnits,
  bound: boolean,
): string {
  const { from, to, station, height } = measure.at;
  const spot =
    measure.crest === null
      ? `at ${formatPlace({ station, height }, units)}`
      : `by the fitted shape at ${length(measure.crest, units)}, between stations (nearest ${length(station, units)}),`;
  const place =
    from !== undefined && to !== undefined
      ? `${spot} from the chord ${length(from, units)} to ${length(to, units)}`
      : spot;
  const seen = `${bound ? 'at least ' : ''}${offset(measure.value, units)} ± ${formatUncertainty(GUARD * measure.u, units)} ${place} in cycle ${cycle}`;
  const limit = formatLimit(rule.limit, units);
  const decision = rule.decision ?? 'guarded';
  const by = `(${DECISION_WORDS[decision]})`;
  if (result === 'undetermined' && bound)
    return `${seen}${BESIDE_UNREAD}: whether it is inside ${limit} cannot be told ${by}; read right up to its rim`;
  const inside = Math.round(100 * conformanceProbability(measure.value, measure.u, rule.limit));
  if (decision === 'simple')
    return `${seen}: reads ${result === 'within' ? 'inside' : 'outside'} ${limit} ${by}; the chance that it is inside is ${bound ? 'at most ' : ''}${inside} %`;
  if (result === 'within') return `${seen}: inside ${limit} with twice its uncertainty to spare ${by}`;
  if (result === 'outside') return `${seen}: outside ${limit} by more than twice its uncertainty ${by}`;
  return `${seen}: too near ${limit} to tell (inside with ${inside} % probability) ${by}; closer or repeated readings would`;
}

const BESIDE_UNREAD = ', and a hole or a part not read stands beside it';

function offset(metres: number, units: JobUnits): string {
  return formatLength(metres, { units, as: 'offset' });
}

function length(metres: number, units: JobUnits): string {
  return formatLength(metres, { units, as: 'station' });
}
