import type { LineFit, SurveyFit } from '../analysis.ts';
import { judgedSurveys } from '../survey/judged.ts';

/** Parameters each later survey fits besides its zones: string offset and tilt. */
const SET_UP = 2;
/** Readings are never taken to be better than half or worse than four times what was stated, whatever a few say. */
const BOUNDS = [0.5, 4] as const;
/** The stated sd counts as this many degrees of freedom against what the readings themselves show. */
const PRIOR_FREEDOM = 10;

/**
 * How much larger (or smaller) the readings' scatter is than their stated standard deviation: a factor on every u.
 *
 * From the change of each station's residual (reading minus fitted shape) between consecutive surveys: whatever the
 * fitted shape gets wrong is nearly the same next time and cancels, what is left is reading error.
 * s² = Σ (Δr)²/(u₁² + u₂²) / Σ (stations − parameters; on a panel tr((I − S)²) of its smoother), pooled with the stated sd, then bounded. (A Birge ratio.)
 * 1 where no shape was fitted or nothing repeats.
 */
export function noiseFactor(fit: LineFit): number {
  const judged = judgedSurveys(fit);
  let [sum, freedom] = [0, 0];
  for (let k = 1; k < judged.length; k++) {
    const pairs = residualChanges(judged[k - 1]!, judged[k]!);
    const spare = freedomLeft(judged[k]!, pairs.length);
    if (spare <= 0) continue;
    sum += pairs.reduce((total, pair) => total + pair, 0);
    freedom += spare;
  }
  return pooledNoise(sum, freedom);
}

/**
 * @param sum of squared residuals over their stated variance
 * @param freedom degrees of freedom they have
 * @returns their scatter over the stated standard deviation, pooled with it and bounded
 */
export function pooledNoise(sum: number, freedom: number): number {
  const factor = Math.sqrt((PRIOR_FREEDOM + sum) / (PRIOR_FREEDOM + freedom));
  return Math.min(BOUNDS[1], Math.max(BOUNDS[0], factor));
}

/** Of so many changes: a line spends its string and its zones, a panel what its surface follows of the readings' errors. */
function freedomLeft({ panel, zones }: SurveyFit, pairs: number): number {
  return panel === undefined ? pairs - SET_UP - zones.length : pairs * panel.freedom;
}

/** (Δ residual)² over its variance, by station read in both. */
function residualChanges(before: SurveyFit, after: SurveyFit): number[] {
  const earlier = new Map(before.stations.filter((s) => !s.setAside).map((s) => [placeOf(s), s]));
  return after.stations.flatMap((now) => {
    const then = earlier.get(placeOf(now));
    if (now.setAside || then === undefined || now.fitted === null || then.fitted === null) return [];
    const variance = now.uReading ** 2 + then.uReading ** 2;
    if (variance === 0) return [];
    const change = now.deviation - now.fitted - (then.deviation - then.fitted);
    return [change ** 2 / variance];
  });
}

/** A station, and its height on a panel. */
export function placeOf({
  station,
  height,
}: {
  readonly station: number;
  readonly height?: number;
}): number | string {
  return height === undefined ? station : `${station} ${height}`;
}
