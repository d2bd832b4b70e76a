import type { Finding } from '../finding.ts';

/** Cautions about a heat that can hurt people or steel: a practice does not make it. What only wastes a heat it lets happen. */
const DANGEROUS: ReadonlySet<string> = new Set([
  'pressure-above-ceiling',
  'no-jacking-ceiling',
  'heat-over-temperature',
  'reheated-before-cooled',
  'vees-too-close',
  'stress-past-hot-yield',
]);

/**
 * What stands against a proposed cycle: findings the heat log would have with it and has not without it, as the job's own
 * checks make them. `refused`: it is not made. `said`: it is, and this is what the tool thinks of it.
 */
export function refusals(
  without: readonly Finding[],
  proposed: readonly Finding[],
): { readonly refused: readonly Finding[]; readonly said: readonly Finding[] } {
  const key = (finding: Finding) => `${finding.code} ${finding.row ?? ''} ${finding.message}`;
  const known = new Set(without.map(key));
  const fresh = proposed.filter((finding) => !known.has(key(finding)));
  const grave = (finding: Finding) => finding.severity === 'stop' || DANGEROUS.has(finding.code);
  return { refused: fresh.filter(grave), said: fresh.filter((finding) => !grave(finding)) };
}
