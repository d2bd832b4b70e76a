import type { Finding } from '../finding.ts';

/** What is said of a kind of file the ledger knows and that could not be compared where this was made; nothing of none. */
export function notHere(
  code: string,
  what: string,
  count: number,
): { readonly files: readonly []; readonly findings: readonly Finding[] } {
  const message = `The ledger has ${count} file${count === 1 ? '' : 's'} of ${what}, which are not here and were not compared with it; \`sweepbook verify\` on the job folder does.`;
  return { files: [], findings: count === 0 ? [] : [{ severity: 'note', code, message }] };
}
