import type { DecisionRule } from '../job/job.ts';
import { normalCdf } from '../maths/distributions.ts';

/** Guard band in standard uncertainties: w = U = 2u, so that r = w/U = 1. */
export const GUARD = 2;

/**
 * Guarded decision against an upper limit (guarded acceptance, JCGM 106:2012, 8.3.2, with w = U, U = 2u; the same rule is 4.2.2 of ILAC-G8:09/2019, whose stated
 * probability of false acceptance is below 2.5 %).
 *
 * `within` only if the measured value stays inside the limit with the guard band added: a member that is truly
 * outside is then accepted with a probability of at most 2.3 %. `outside` only if it stays outside with the guard
 * band taken off. In between the readings cannot tell: `undetermined`.
 *
 * @param measured magnitude, same unit as `u` and `limit`
 */
export function guardedDecision(
  measured: number,
  u: number,
  limit: number,
): 'within' | 'undetermined' | 'outside' {
  if (measured + GUARD * u <= limit) return 'within';
  if (measured - GUARD * u > limit) return 'outside';
  return 'undetermined';
}

/**
 * Probability that the true magnitude is inside the limit, given the reading and its standard uncertainty and nothing
 * else known: Φ((limit − measured)/u) (JCGM 106:2012, 7.3, one-sided upper limit).
 */
export function conformanceProbability(measured: number, u: number, limit: number): number {
  if (u <= 0) return measured <= limit ? 1 : 0;
  return normalCdf((limit - measured) / u);
}

/**
 * The decision by the rule the job names. `simple` (simple acceptance, JCGM 106:2012, 8.2): the reading itself is
 * held against the limit, and a member that reads exactly at it is as likely outside as inside.
 */
export function decideBy(
  decision: DecisionRule,
  measured: number,
  u: number,
  limit: number,
): 'within' | 'undetermined' | 'outside' {
  if (decision === 'guarded') return guardedDecision(measured, u, limit);
  return measured <= limit ? 'within' : 'outside';
}

/** The rule in words, for every result that was reached by it. */
export const DECISION_WORDS: Record<DecisionRule, string> = {
  guarded: 'guarded acceptance, JCGM 106:2012, 8.3.2',
  simple: 'simple acceptance, JCGM 106:2012, 8.2, as the job asks',
};
