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
