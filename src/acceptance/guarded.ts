/** Guard band in standard uncertainties: w = U = 2u, so that r = w/U = 1. */
export const GUARD = 2;

/**
 * Guarded decision against an upper limit (JCGM 106:2012, 8.3.2, guarded acceptance with w = U, U = 2u).
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
