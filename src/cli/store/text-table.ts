import { inertText } from '../../inert-text.ts';
import { alignColumns } from '../../wrap-text.ts';

const WIDEST = 40;

/** Columns of text, left-aligned, two blanks apart; cells made inert and cut at 40 characters. */
export function table(headings: readonly string[], rows: readonly (readonly string[])[]): string[] {
  return alignColumns([headings, ...rows].map((row) => row.map((cell) => cut(inertText(cell)))));
}

function cut(text: string): string {
  return text.length > WIDEST ? `${text.slice(0, WIDEST - 1)}…` : text;
}
