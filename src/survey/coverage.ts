import type { LineFit, SurveyFit } from '../analysis.ts';
import { judgedSurveys } from './judged.ts';

/**
 * A survey keyed in half-way, or half lost, says nothing of the steel it did not reach: what it did read may look
 * straight. It speaks for the line only where it was read about as near as the first judged survey read its widest gap.
 */
export function readsNear(fit: LineFit, survey: SurveyFit, station: number): boolean {
  const gap = widestGap(judgedSurveys(fit)[0]);
  return kept(survey).some((at) => Math.abs(at - station) <= gap + 1e-6);
}

/**
 * The first place that matters and that a survey did not read: where the line was worst as found and in the judged
 * survey before, and the centre of the bend of every zone. Null where it read them all.
 */
export function unreadPlace(fit: LineFit, survey: SurveyFit): number | null {
  const judged = judgedSurveys(fit);
  const [first] = judged;
  if (first === undefined || first === survey) return null;
  const before = judged[judged.indexOf(survey) - 1] ?? first;
  const places = [
    first.largest.station,
    before.largest.station,
    ...fit.zones.map((zone) => zone.core.centre),
  ];
  return places.find((place) => !readsNear(fit, survey, place)) ?? null;
}

function widestGap(survey: SurveyFit | undefined): number {
  const stations = survey === undefined ? [] : kept(survey);
  let widest = 0;
  for (let i = 1; i < stations.length; i++) widest = Math.max(widest, stations[i]! - stations[i - 1]!);
  return widest;
}

function kept(survey: SurveyFit): number[] {
  return survey.stations.filter((each) => !each.setAside).map((each) => each.station);
}
