import type { SurveyFit, Zone } from '../analysis.ts';
import { MEASURED } from '../maths/coverage-level.ts';

/**
 * How well the edges of a zone are known, m, about 95 %: by the fit, and no better than the stations stand. The fit's own u
 * takes steel to yield as a beam does; edges of simulated girders lie within one spacing 96 times in 100 (`src/zones/MODEL.md`),
 * steel bent otherwise is not held to it.
 *
 * @param survey the one the zones were found by; null: none is at hand
 */
export function edgesKnown({ fromU, toU }: Pick<Zone, 'fromU' | 'toU'>, survey: SurveyFit | null): number {
  const at = (survey?.stations ?? []).map(({ station }) => station);
  const spacing = at.length < 2 ? 0 : (at.at(-1)! - at[0]!) / (at.length - 1);
  return Math.max(spacing, MEASURED.factor * fromU, MEASURED.factor * toU);
}
