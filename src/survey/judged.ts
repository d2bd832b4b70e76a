import type { LineFit, SurveyFit } from '../analysis.ts';
import type { JobUnits } from '../job/job.ts';

/**
 * Steel hotter than this is still moving as it cools: such a survey is shown and not judged.
 * 250 °F (120 °C), the temperature below which a straightened member may be measured or reheated
 * (Michigan DOT form 0388, 07/19).
 */
export const HOT_STEEL = 120;

/** The same as it is written: the form says 250 °F. */
export function hotSteelText(units: JobUnits): string {
  return units === 'us' ? '250 °F' : '120 °C';
}

/** True for a survey that may be judged: jacks off, steel cooled, at least one reading kept. */
export function isJudged(survey: SurveyFit): boolean {
  return (
    survey.state === 'released' &&
    (survey.temperature === null || survey.temperature <= HOT_STEEL) &&
    survey.stations.some((station) => !station.setAside)
  );
}

/** The surveys the verdicts rest on, in order of cycle. */
export function judgedSurveys(fit: LineFit): SurveyFit[] {
  return fit.surveys.filter(isJudged);
}
