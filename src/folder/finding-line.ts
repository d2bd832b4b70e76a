import type { Finding } from '../finding.ts';
import { inertText } from '../inert-text.ts';

/** `caution: cycle-3.csv:12: …` on one line; active characters shown as escapes. */
export function findingLine({ severity, file, row, message }: Finding): string {
  const where = file === undefined || row === undefined ? '' : `${file}:${row}: `;
  return inertText(`${severity}: ${where}${message}`);
}
