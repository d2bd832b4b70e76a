import { inertText } from '../inert-text.ts';
import type { FileStanding } from '../ledger/standing.ts';
import { alignColumns } from '../wrap-text.ts';
import { findingLine } from './finding-line.ts';
import type { Verification } from './verify-files.ts';

const MOST_LISTED = 12;
const WORDS: Record<FileStanding, string> = {
  known: 'as imported',
  changed: 'CHANGED',
  missing: 'MISSING',
  unknown: 'not in the ledger',
  duplicate: 'duplicate',
};

/** The result of `verify` for people: a line a file, then what was found, then the answer. */
export function verificationText(result: Verification): string {
  const lines = alignColumns(
    result.files.map((each) => [
      WORDS[each.standing],
      (each.sha256 ?? '').slice(0, 12),
      inertText(each.file),
    ]),
  );
  lines.push(...result.findings.map(findingLine));
  if (result.notCompared.length > 0) {
    const shown = result.notCompared.slice(0, MOST_LISTED).join(', ');
    const more = result.notCompared.length - MOST_LISTED;
    lines.push(
      inertText(
        `Not compared, because no answer is made from it: ${shown}${more > 0 ? ` and ${more} more` : ''}.`,
      ),
    );
  }
  const files = count(result.files.length, 'file');
  const records = count(result.records, 'ledger record');
  lines.push(
    result.ok && result.records === 0
      ? `${files} and no ledger record: nothing was recorded here, so nothing could be compared.`
      : result.ok
        ? `${files} and ${records}: everything is as recorded.`
        : `${files} and ${records}: NOT as recorded, see above.`,
  );
  if (result.records > 0) lines.push(`Seal of record ${result.records}: ${result.seal}`);
  return `${lines.join('\n')}\n`;
}

function count(number: number, thing: string): string {
  return `${number} ${thing}${number === 1 ? '' : 's'}`;
}
