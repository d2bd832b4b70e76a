import { dayNumber } from '../job/calendar.ts';

const MONTHS = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];

/** "4 Mar 2026" from an ISO date or date-time: the month in letters, so that no reader can swap day and month. */
export function dateText(iso: string | null): string {
  const match = iso === null ? null : /^(\d{4})-(\d{2})-(\d{2})/.exec(iso);
  const month = match === null ? undefined : MONTHS[Number.parseInt(match[2]!, 10) - 1];
  if (match === null || month === undefined) return iso ?? 'no date';
  return `${Number.parseInt(match[3]!, 10)} ${month} ${match[1]}`;
}

/** Days from one ISO date to a later one. */
export function daysBetween(from: string, to: string): number {
  return dayNumber(to) - dayNumber(from);
}
