import { dayNumber, weekdayOf } from '../job/calendar.ts';

/**
 * Working days one cycle has taken so far, from the dates of the judged surveys: days from the first dated survey to
 * the last over the cycles between them. Saturdays and Sundays count only if the crew has read on one.
 *
 * @param surveys dates as YYYY-MM-DD or null
 * @returns null with fewer than two dated cycles
 */
export function daysPerCycle(
  surveys: readonly { readonly cycle: number; readonly date: string | null }[],
): number | null {
  const dated = surveys.flatMap((s) => (s.date === null ? [] : [{ cycle: s.cycle, day: dayNumber(s.date) }]));
  const first = dated[0];
  const last = dated.at(-1);
  if (first === undefined || last === undefined || last.cycle <= first.cycle || last.day < first.day)
    return null;
  const weekends = dated.some((s) => isWeekend(s.day));
  let days = 0;
  for (let day = first.day + 1; day <= last.day; day++) if (weekends || !isWeekend(day)) days++;
  return days / (last.cycle - first.cycle);
}

function isWeekend(day: number): boolean {
  return ['sat', 'sun'].includes(weekdayOf(day));
}
