import { inertText } from '../inert-text.ts';
import type { Cell, Table } from './table.ts';

/** First characters that make a spreadsheet take a text for a formula (and their full-width forms). */
const FORMULA = /^[\s'"]*[=+\-@\uff1d\uff0b\uff0d\uff20]/u;

/**
 * A table as CSV: comma, one line feed a row, header line, quotes where needed (as RFC 4180). Numbers stay numbers; text that a
 * spreadsheet would run as a formula gets a leading apostrophe, and control characters are shown as escapes.
 */
export function csvText(table: Table): string {
  const lines = [table.columns, ...table.rows].map((row) => row.map(csvCell).join(','));
  return `${lines.join('\n')}\n`;
}

function csvCell(cell: Cell): string {
  if (cell === null) return '';
  if (typeof cell === 'boolean') return cell ? 'yes' : 'no';
  if (typeof cell === 'number') return String(cell);
  const inert = inertText(cell);
  const text = FORMULA.test(inert) ? `'${inert}` : inert;
  return /[",;\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
