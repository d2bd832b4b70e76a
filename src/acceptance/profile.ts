import type { FittedShape, SurveyFit } from '../analysis.ts';

/** The shape acceptance is judged on, station by station. */
export interface ProfilePoint {
  readonly station: number;
  /** Deviation, m, signed. */
  readonly value: number;
  /** Standard uncertainty of `value` against the baseline, set-up included, m. */
  readonly u: number;
  /** Error shared with the other points, as weights on the same independent standard normal numbers, m; empty: none known. */
  readonly parts: ArrayLike<number>;
  /** Standard uncertainty of what is left, independent from point to point and without what is common to the string, m. */
  readonly uAlone: number;
  /** False for a place of the fitted shape between two stations. */
  readonly read: boolean;
}

const NONE: readonly number[] = [];

/** A reading this many reading errors off the fitted shape stands for itself. */
const STANDS_OUT = 3;

/** A fit without a free shape (no zone, no elastic part) is the chord itself: it knows nothing of the steel. */
const NO_DOUBT = 1e-12;

/**
 * The profile of one survey for acceptance: the fitted shape where there is one, because its crest is not picked for
 * its error; a reading that stands out from the fitted shape (over 3 reading errors) is believed over the shape, so
 * that a local bend the shape missed cannot be accepted. Between stations the fitted shape goes on: a crest there is
 * higher than both its neighbours.
 */
export function acceptanceProfile(survey: SurveyFit): ProfilePoint[] {
  const shaped = survey.stations.some(({ fittedU }) => fittedU !== null && fittedU > NO_DOUBT);
  const shape = shaped ? survey.shape : undefined;
  const place = new Map(shape?.stations.map((station, i) => [station, i]));
  const points = survey.stations
    .filter((station) => !station.setAside)
    .map((at): ProfilePoint => {
      const { station, deviation, u, fitted, fittedU } = at;
      const known = place.get(station);
      const parts = known === undefined ? NONE : shape!.parts[known]!;
      const usesFit =
        shaped &&
        fitted !== null &&
        fittedU !== null &&
        Math.abs(deviation - fitted) <= STANDS_OUT * at.uReading;
      if (!usesFit) return { station, value: deviation, u, parts, uAlone: at.uReading, read: true };
      const uAlone = known === undefined ? Math.min(fittedU, u) : 0;
      return { station, value: fitted, u: fittedU, parts, uAlone, read: true };
    });
  return shape === undefined ? points : withPlacesBetween(points, shape);
}

function withPlacesBetween(points: readonly ProfilePoint[], shape: FittedShape): ProfilePoint[] {
  const [first, last] = [points[0]?.station ?? 0, points.at(-1)?.station ?? 0];
  const read = new Set(points.map((point) => point.station));
  const between = shape.stations.flatMap((station, i): ProfilePoint[] => {
    if (station <= first || station >= last || read.has(station)) return [];
    const parts = shape.parts[i]!;
    return [{ station, value: shape.deviation[i]!, u: lengthOf(parts), parts, uAlone: 0, read: false }];
  });
  return [...points, ...between].sort((a, b) => a.station - b.station);
}

/**
 * Standard uncertainty of Σ weights·values, what the points share included: u² = |Σ w·parts|² + Σ (w·uAlone)²
 * (JCGM 100:2008, 5.2.2, with the covariance by its factor).
 */
export function combinedU(points: readonly ProfilePoint[], weights: readonly number[]): number {
  const shared: number[] = [];
  let alone = 0;
  points.forEach(({ parts, uAlone }, i) => {
    const w = weights[i]!;
    if (w === 0) return;
    alone += (w * uAlone) ** 2;
    for (let k = 0; k < parts.length; k++) shared[k] = (shared[k] ?? 0) + w * parts[k]!;
  });
  return Math.sqrt(shared.reduce((sum, part) => sum + part * part, alone));
}

function lengthOf(parts: ArrayLike<number>): number {
  let sum = 0;
  for (let k = 0; k < parts.length; k++) sum += parts[k]! ** 2;
  return Math.sqrt(sum);
}
