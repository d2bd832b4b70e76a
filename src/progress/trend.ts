import type { LineFit, SurveyFit } from '../analysis.ts';
import { judgedSurveys } from '../survey/judged.ts';
import { mapAt } from '../survey/panel-map.ts';

/** The quantity a trend follows in one survey. */
export interface TrendPoint {
  readonly cycle: number;
  /** |deviation| followed, m. */
  readonly value: number;
  readonly u: number;
  readonly station: number;
  /** Of a panel, m. */
  readonly height?: number;
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
  const judged = judgedSurveys(fit);
  if (judged.some((survey) => survey.panel !== undefined)) return judged.map(panelPoint);
  const shaped = judged.at(-1)?.stations.some((station) => station.fitted !== null) ?? false;
  return shaped ? judged.map(trendPoint) : followStation(judged);
}

/** Surveys whose mean says which station governs now. */
const RECENT = 3;

/**
 * Lines without a fitted shape (tilt, plumb, bulge): the station that governs over the last three surveys together is
 * followed through all of them, so that its errors, not those of whichever reading erred most, make the trend. A
 * survey without that station stands with its own largest reading.
 */
function followStation(judged: readonly SurveyFit[]): TrendPoint[] {
  const sums = new Map<number, { sum: number; count: number }>();
  for (const survey of judged.slice(-RECENT)) {
    for (const { station, deviation, setAside } of survey.stations) {
      if (setAside) continue;
      const before = sums.get(station) ?? { sum: 0, count: 0 };
      sums.set(station, { sum: before.sum + deviation, count: before.count + 1 });
    }
  }
  const most = Math.max(...[...sums.values()].map((s) => s.count));
  let governing = Number.NaN;
  let mean = 0;
  for (const [station, { sum, count }] of sums) {
    // A station read once among stations read thrice would be picked for its error.
    if (count < most || Math.abs(sum / count) < Math.abs(mean)) continue;
    governing = station;
    mean = sum / count;
  }
  return judged.map((survey) => {
    const here = deviationAt(survey, governing);
    return here === null
      ? trendPoint(survey)
      : {
          cycle: survey.cycle,
          value: Math.abs(here.value),
          u: here.u,
          station: governing,
          deviation: here.value,
        };
  });
}

/**
 * A panel is followed by the crest of its map, which leans on the readings around it. Its u here is the part that is new in
 * each survey: what the grid cannot see between its places is the same next time.
 */
function panelPoint(survey: SurveyFit): TrendPoint {
  const { station, height, deviation, uNew } = survey.panel!.crest;
  return { cycle: survey.cycle, value: Math.abs(deviation), u: uNew, station, height, deviation };
}

function trendPoint(survey: SurveyFit): TrendPoint {
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

/** A deviation or a rotation counts as seen from twice its standard uncertainty. */
export const SEEN = 2;

/**
 * The values the rate is judged on, in the order of `trendOf`: |largest deviation|, unless steel now governs that was
 * found on the other side of the baseline. A magnitude that went down to nothing and up again would read as a
 * standstill; so the deviation of the station that now governs is followed instead, positive on its present side:
 * it rises steadily, and moving away is called that, from the second survey on that side.
 */
export function judgedValues(fit: LineFit, trend: readonly TrendPoint[]): number[] {
  const now = trend.at(-1);
  const magnitudes = trend.map((p) => p.value);
  if (now === undefined) return magnitudes;
  const side = Math.sign(now.deviation);
  const followed = judgedSurveys(fit).map((survey) => deviationAt(survey, now.station, now.height));
  const found = followed[0];
  if (found === null || found === undefined || side * found.value > -SEEN * found.u) return magnitudes;
  if (now.value < SEEN * now.u || followed.some((point) => point === null)) return magnitudes;
  // The cycle that passed straight brought it nearer or further: by how much it moves away only the next one tells.
  if (followed.length >= 2 && side * followed.at(-2)!.value <= 0) return magnitudes;
  return followed.map((point) => side * point!.value);
}

/** Fitted deviation at a station read in this survey, else the reading's; null where it was not read. */
function deviationAt(
  survey: SurveyFit,
  station: number,
  height?: number,
): { value: number; u: number } | null {
  if (height !== undefined) return survey.panel === undefined ? null : mapAt(survey.panel, station, height);
  const here = survey.stations.find((s) => !s.setAside && Math.abs(s.station - station) < 1e-6);
  if (here === undefined) return null;
  return here.fitted === null || here.fittedU === null
    ? { value: here.deviation, u: here.u }
    : { value: here.fitted, u: here.fittedU };
}
