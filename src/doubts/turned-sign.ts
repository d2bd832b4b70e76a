import type { LineFit, SurveyFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { Line } from '../job/job.ts';
import { isJudged } from '../survey/judged.ts';

/** Fewest stations two surveys must share to be each other's mirror image. */
const FEWEST_SHARED = 4;
/** A mirror image has at least and at most this share of the shape before it, with the sign turned. */
const MIRROR = { least: 0.5, most: 1.3 } as const;
/** What a turned sheet leaves over of its own size once the mirrored shape is taken off, at most. */
const LEFT_OVER = 0.25;
/** How many standard uncertainties a bend must be out by to have a side at all. */
const CLEAR = 8;
/** Going from one side to the other must be this many times the largest movement on any other day to be no day's work. */
const NO_DAYS_WORK = 3;

/**
 * Judged surveys that are the mirror image of the one before: the positive side was turned round on that sheet. Their size alone goes on
 * as if nothing were wrong, since progress follows how far out the line is, not to which side. One that really was pushed past straight
 * in a day would have moved several times as much as on any other day.
 */
export function turnedSigns(line: Line, fit: LineFit): Finding[] {
  const judged = fit.surveys.filter(isJudged);
  const turned: SurveyFit[] = [];
  let before = judged[0];
  for (const survey of judged.slice(1)) {
    if (isMirrored(survey, before!) && noDaysWork(survey, before!, judged)) turned.push(survey);
    else before = survey;
  }
  return turned.map((survey) => ({
    severity: 'caution',
    code: 'survey-turned-round',
    message: `Cycle ${survey.cycle} of ${line.name} is the mirror image of the survey before: were its signs turned round? What it moved in that cycle, and the rate, stand only if they were. Correct the sheet and import it again.`,
    line: line.name,
    cycle: survey.cycle,
  }));
}

function isMirrored(survey: SurveyFit, before: SurveyFit): boolean {
  const clear = ({ largest }: SurveyFit) => Math.abs(largest.deviation) > CLEAR * largest.u;
  if (!clear(survey) || !clear(before)) return false;
  const kept = before.stations.filter((each) => !each.setAside);
  const pairs = survey.stations.flatMap((each) => {
    const there = each.setAside ? undefined : kept.find((k) => Math.abs(k.station - each.station) < 1e-6);
    return there === undefined ? [] : [{ now: each.deviation, was: there.deviation }];
  });
  if (pairs.length < FEWEST_SHARED) return false;
  const size = pairs.reduce((sum, { was }) => sum + was * was, 0);
  const share = pairs.reduce((sum, { now, was }) => sum + now * was, 0) / size;
  if (-share < MIRROR.least || -share > MIRROR.most) return false;
  const over = pairs.reduce((sum, { now, was }) => sum + (now - share * was) ** 2, 0);
  return over < LEFT_OVER ** 2 * pairs.reduce((sum, { now }) => sum + now * now, 0);
}

/** Whether going from one survey to the other is out of all proportion with every other movement, sides left aside. */
function noDaysWork(survey: SurveyFit, before: SurveyFit, judged: readonly SurveyFit[]): boolean {
  const size = ({ largest }: SurveyFit) => Math.abs(largest.deviation);
  const others = judged
    .slice(1)
    .map((each, k) => Math.abs(size(each) - size(judged[k]!)) / Math.max(1, each.cycle - judged[k]!.cycle));
  return size(survey) + size(before) > NO_DAYS_WORK * Math.max(...others);
}
