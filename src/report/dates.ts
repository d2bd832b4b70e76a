import { dayNumber } from '../job/calendar.ts';

/**
 * "Mar 4, 2026" or "4 Mar 2026" from an ISO date or date-time, as the locale of the job has it: the month in letters, so
 * that no reader can swap day and month. What is no such date is given back as it is.
 */
export function dateText(iso: string | null, locale: string): string {
  const day = iso === null ? undefined : /^\d{4}-\d{2}-\d{2}/.exec(iso)?.[0];
  const at = Date.parse(`${day}T00:00:00Z`);
  if (Number.isNaN(at)) return iso ?? 'no date';
  const parts = { day: 'numeric', month: 'short', year: 'numeric', timeZone: 'UTC' } as const;
  // Engines differ in the spaces they put between the parts, and in "Sept".
  return new Intl.DateTimeFormat(locale, parts).format(at).replace(/\s/g, ' ').replace('Sept ', 'Sep ');
}

/** Days from one ISO date to a later one. */
export function daysBetween(from: string, to: string): number {
  return dayNumber(to) - dayNumber(from);
}

/** ISO date where a paper is made: people date a sheet by their own calendar, not by UTC. */
export function localDate(now: Date): string {
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
