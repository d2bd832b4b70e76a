import { inertText } from '../../inert-text.ts';

const WIDEST = 40;

/** Columns of text, left-aligned, two blanks apart; cells made inert and cut at 40 characters. */
export function table(headings: readonly string[], rows: readonly (readonly string[])[]): string[] {
  const all = [headings, ...rows].map((row) => row.map((cell) => cut(inertText(cell))));
  const widths = headings.map((_, column) => Math.max(...all.map((row) => row[column]!.length)));
  return all.map((row) =>
    row
      .map((cell, column) => cell.padEnd(widths[column]!))
      .join('  ')
      .trimEnd(),
  );
}

function cut(text: string): string {
  return text.length > WIDEST ? `${text.slice(0, WIDEST - 1)}…` : text;
}
