import type { LineFit, SurveyFit } from '../analysis.ts';
import { judgedSurveys } from '../survey/judged.ts';

/** The quantity a trend follows in one survey. */
export interface TrendPoint {
  readonly cycle: number;
  /** |deviation| followed, m. */
  readonly value: number;
  readonly u: number;
  readonly station: number;
  /** The same, signed. */
  readonly deviation: number;
}

/**
 * The largest |deviation| of each judged survey as the trend follows it.
 *
 * Where a shape was fitted this is the largest |fitted| deviation, not the largest single reading. The largest of
 * thirty noisy readings is the one that erred outward: it stands about two reading errors too high, it jumps from
 * station to station, and it carries the full error of one reading. The fitted shape leans on every reading of the
 * survey, so its crest has about half the uncertainty and next to no such bias. `surveys[].largest` stays the
 * largest reading, because that is what a crew can put a rule to.
 *
 * The error of the string set-up is in `u`: it is common to a survey and new in the next one.
 */
export function trendOf(fit: LineFit): TrendPoint[] {
  return judgedSurveys(fit).map(trendPoint);
}

export function trendPoint(survey: SurveyFit): TrendPoint {
  let best: TrendPoint | null = null;
  for (const station of survey.stations) {
    // At a bearing the deviation from the chord is nothing, without doubt: no place to follow.
    if (station.fitted === null || station.fittedU === null || station.fittedU < 1e-12) continue;
    if (best === null || Math.abs(station.fitted) > best.value) {
      best = {
        cycle: survey.cycle,
        value: Math.abs(station.fitted),
        u: station.fittedU,
        station: station.station,
        deviation: station.fitted,
      };
    }
  }
  return (
    best ?? {
      cycle: survey.cycle,
      value: Math.abs(survey.largest.deviation),
      u: survey.largest.u,
      station: survey.largest.station,
      deviation: survey.largest.deviation,
    }
  );
}
