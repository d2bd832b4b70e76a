import type { SurveyFit } from '../analysis.ts';

/** The shape acceptance is judged on, station by station. */
export interface ProfilePoint {
  readonly station: number;
  /** Deviation, m, signed. */
  readonly value: number;
  /** Standard uncertainty of `value` against the baseline, set-up included, m. */
  readonly u: number;
  /** Standard uncertainty without what is common to the whole string, m. */
  readonly uAlone: number;
}

/** A reading this many reading errors off the fitted shape stands for itself. */
const STANDS_OUT = 3;

/** A fit without a free shape (no zone, no elastic part) is the chord itself: it knows nothing of the steel. */
const NO_DOUBT = 1e-12;

/**
 * The profile of one survey for acceptance: the fitted shape where there is one, because its crest is not picked for
 * its error; a reading that stands out from the fitted shape (over 3 reading errors) is believed over the shape, so
 * that a local bend the shape missed cannot be accepted.
 */
export function acceptanceProfile(survey: SurveyFit): ProfilePoint[] {
  const shaped = survey.stations.some(({ fittedU }) => fittedU !== null && fittedU > NO_DOUBT);
  return survey.stations
    .filter((station) => !station.setAside)
    .map((station) => {
      const { fitted, fittedU } = station;
      const usesFit =
        shaped &&
        fitted !== null &&
        fittedU !== null &&
        Math.abs(station.deviation - fitted) <= STANDS_OUT * station.uReading;
      return usesFit
        ? { station: station.station, value: fitted, u: fittedU, uAlone: Math.min(fittedU, station.u) }
        : { station: station.station, value: station.deviation, u: station.u, uAlone: station.uReading };
    });
}
