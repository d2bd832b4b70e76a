import { isDate } from '../job/dates.ts';
import type { ReadingState } from '../survey/survey.ts';
import { foldFieldText } from '../units/field-text.ts';

/** A cell read, or what was expected of it. */
export type Cell<T> = { readonly value: T } | { readonly expected: string; readonly suggestion?: string };

/** 0, 1, 2, …; `cycle 3` and `as-found` are said, not guessed. */
export function readCycle(text: string): Cell<number> {
  if (/^\d{1,4}$/.test(text)) return { value: Number(text) };
  const cell = foldFieldText(text);
  if (/^\d{1,4}$/.test(cell)) return { value: Number(cell) };
  const expected = 'a cycle number 0, 1, 2, … (0 is as-found)';
  if (/^as[- ]?found$/i.test(cell)) return { expected, suggestion: '0?' };
  const digits = /^(?:cycle|c)?[ #-]*(\d{1,4})(?:\.0*)?$/i.exec(cell);
  return digits === null ? { expected } : { expected, suggestion: `${Number(digits[1])}?` };
}

/** Jacks off or on; blank is released. */
export function readState(text: string): Cell<ReadingState> {
  switch (foldFieldText(text).toLowerCase()) {
    case '':
    case 'released':
    case 'jacks off':
      return { value: 'released' };
    case 'restrained':
    case 'jacks on':
      return { value: 'restrained' };
    default:
      return { expected: 'released (jacks off) or restrained (jacks on)' };
  }
}

/** YYYY-MM-DD; 3/4/2026 is refused with both its readings. Blank is null. */
export function readDate(text: string): Cell<string | null> {
  const cell = foldFieldText(text);
  if (cell === '') return { value: null };
  if (isDate(cell)) return { value: cell };
  const expected = 'a date as YYYY-MM-DD';
  const slashed = /^(\d{1,2})[/.-](\d{1,2})[/.-](\d{4})$/.exec(cell);
  if (slashed !== null) {
    const [a, b] = [slashed[1]!.padStart(2, '0'), slashed[2]!.padStart(2, '0')];
    const both = [...new Set([`${slashed[3]}-${a}-${b}`, `${slashed[3]}-${b}-${a}`])].filter(isDate);
    if (both.length > 0) return { expected, suggestion: `${both.join(' or ')}?` };
  }
  const loose = /^(\d{4})[/.-](\d{1,2})[/.-](\d{1,2})$/.exec(cell);
  const fixed =
    loose === null ? '' : `${loose[1]}-${loose[2]!.padStart(2, '0')}-${loose[3]!.padStart(2, '0')}`;
  return isDate(fixed) ? { expected, suggestion: `${fixed}?` } : { expected };
}

/** hh:mm, also 7:05, 14:30:10 (seconds dropped) and 2:30 pm. Blank is null. */
export function readTime(text: string): Cell<string | null> {
  const cell = foldFieldText(text);
  if (cell === '') return { value: null };
  const match = /^(\d{1,2}):(\d{2})(?::\d{2})? ?(am|pm)?$/i.exec(cell);
  const expected = 'a time as hh:mm';
  if (match === null) return { expected };
  let hour = Number(match[1]);
  const half = match[3]?.toLowerCase();
  if (half !== undefined) {
    if (hour < 1 || hour > 12) return { expected };
    hour = (hour % 12) + (half === 'pm' ? 12 : 0);
  }
  if (hour > 23 || Number(match[2]) > 59) return { expected };
  return { value: `${String(hour).padStart(2, '0')}:${match[2]}` };
}
