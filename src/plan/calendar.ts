import { dateOfDay, dayNumber, weekdayOf } from '../job/calendar.ts';
import type { PlanFields } from '../job/plan-fields.ts';

/** Longest plan followed, calendar days: further out a date says nothing. */
const HORIZON = 2000;

/**
 * The date on which the n-th day of work ends, counted in days on which the job works; null past the horizon.
 *
 * @param workDays days of work needed, 1 or more
 * @param lost whether the n-th open day (0, 1, …) is lost to weather
 */
export function finishDate(
  start: string,
  workDays: number,
  fields: Pick<PlanFields, 'workdays' | 'holidays'>,
  lost: (openDay: number) => boolean,
): string | null {
  const closed = new Set(fields.holidays);
  const from = dayNumber(start);
  let left = Math.max(1, Math.ceil(workDays));
  let open = 0;
  for (let day = from; day < from + HORIZON; day++) {
    const date = dateOfDay(day);
    if (!fields.workdays.includes(weekdayOf(day)) || closed.has(date)) continue;
    if (!lost(open++)) left--;
    if (left === 0) return date;
  }
  return null;
}
