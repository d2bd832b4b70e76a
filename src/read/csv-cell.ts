import { inertText } from '../inert-text.ts';

/** What a spreadsheet takes for the beginning of a formula. Common practice (CSV injection), no source. */
const FORMULA = /^[=+\-@\t\r]/;

/**
 * A piece of text as one CSV cell: quoted where it must be, control characters shown as escapes, and with an apostrophe
 * before anything a spreadsheet would run as a formula. For text of unknown origin (notes, names); our own numbers are
 * written as they are.
 */
export function csvCell(text: string, delimiter = ','): string {
  const inert = inertText(text.replace(/\r\n?|\n/g, ' '));
  const guarded = FORMULA.test(text) || FORMULA.test(inert.trimStart()) ? `'${inert}` : inert;
  return guarded.includes(delimiter) || /["',;\t]/.test(guarded)
    ? `"${guarded.replaceAll('"', '""')}"`
    : guarded;
}
