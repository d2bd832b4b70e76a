import type { AcceptanceResult, LineAnalysis, Movement, StationFit, SurveyFit } from '../analysis.ts';
import { type Shortfall, shortfall } from '../survey/coverage.ts';
import { judgedSurveys } from '../survey/judged.ts';

/** What every screen says of a line, chosen in one place: which survey is today's, and whether it carries a number. */
export interface LineToday {
  /** First and last judged survey (jacks off, steel cooled); null before one. */
  readonly asFound: SurveyFit | null;
  readonly now: SurveyFit | null;
  /** Why the last judged survey cannot carry a number; null where it can. */
  readonly lack: Shortfall | null;
  /** The last judged survey that can carry one. */
  readonly told: SurveyFit | null;
  /** What the line moved up to its last judged survey, over the cycles it spans; null where that cannot be told. */
  readonly moved: Movement | null;
  /** Surveys after the last judged one, shown and not judged: jacks on, or steel hot. */
  readonly notJudged: readonly SurveyFit[];
  /** The limit that decides (see `decidingRule`); null where the line has none. */
  readonly limit: AcceptanceResult | null;
}

export function lineToday({ line, fit, movements, acceptance }: LineAnalysis): LineToday {
  const judged = judgedSurveys(fit);
  const now = judged.at(-1) ?? null;
  const last = movements.at(-1);
  return {
    asFound: judged[0] ?? null,
    now,
    lack: now === null ? null : shortfall(line, fit, now),
    told: judged.findLast((survey) => shortfall(line, fit, survey) === null) ?? null,
    moved: last !== undefined && last.toCycle === now?.cycle ? last : null,
    notJudged: fit.surveys.filter((survey) => survey.cycle > (now?.cycle ?? -1) && !judged.includes(survey)),
    limit: decidingRule(acceptance),
  };
}

/**
 * How far a line is out of a limit, in multiples of the limit. Not in length beyond it: limits of different kinds are
 * set on different scales (a flange tilt across 12 in, a sweep along 60 ft), and each limit says itself what counts.
 */
export function timesLimit({ measured, limit }: AcceptanceResult): number {
  return measured === null ? 0 : measured / limit;
}

const RESULTS: readonly AcceptanceResult['result'][] = ['outside', 'undetermined', 'within'];

/**
 * The rule that decides about a line: the one furthest outside, in multiples of its limit; with none outside one that
 * is not met yet, unread ones before those too near to tell; else the closest.
 */
export function decidingRule(results: readonly AcceptanceResult[]): AcceptanceResult | null {
  const unread = (result: AcceptanceResult) => (result.measured === null ? 0 : 1);
  const [first] = [...results].sort(
    (a, b) =>
      RESULTS.indexOf(a.result) - RESULTS.indexOf(b.result) ||
      unread(a) - unread(b) ||
      timesLimit(b) - timesLimit(a),
  );
  return first ?? null;
}

/**
 * The one place a bend goes by on every screen: the station that reads furthest out. A rule finds its own value on the
 * fitted shape or from a chord, and so a station or two beside it; as long as no station between the two reads less than
 * half of the smaller, it is the same bend.
 *
 * @param at where a rule found its value, m
 */
export function placeOfBend(
  survey: SurveyFit,
  at: number,
): { readonly station: number; readonly same: boolean } {
  const { station, deviation } = survey.largest;
  const kept = survey.stations.filter((each) => !each.setAside);
  const there = kept.reduce<StationFit | null>(
    (best, each) =>
      best === null || Math.abs(each.station - at) < Math.abs(best.station - at) ? each : best,
    null,
  );
  if (there === null) return { station: at, same: false };
  const [from, to] = [Math.min(at, station), Math.max(at, station)];
  const side = Math.sign(deviation);
  const least = Math.min(Math.abs(there.deviation), Math.abs(deviation)) / 2;
  const same = kept
    .filter((each) => each.station >= from && each.station <= to)
    .every((each) => side * each.deviation >= least);
  return same ? { station, same } : { station: at, same };
}

/**
 * Largest |deviation| of the shape the limits are judged on, m: what the rule over the whole line measured, else the
 * fitted shape at the stations; null where none was fitted.
 */
export function largestOfShape({ acceptance }: LineAnalysis, now: SurveyFit): number | null {
  const fitted = now.stations.flatMap((each) => (each.fitted === null ? [] : [Math.abs(each.fitted)]));
  if (fitted.length === 0) return null;
  const whole = acceptance.find(
    ({ rule, measured }) =>
      measured !== null && rule.over.kind === 'whole-line' && rule.edgesFromWeb !== true,
  );
  return whole?.measured ?? Math.max(...fitted);
}
