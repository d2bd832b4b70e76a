/** Days since 1970-01-01 of a date YYYY-MM-DD (Gregorian calendar). The date must be one (`isDate`). */
export function dayNumber(date: string): number {
  const [year, month, day] = date
    .slice(0, 10)
    .split('-')
    .map((part) => Number.parseInt(part, 10)) as [number, number, number];
  return Date.UTC(year, month - 1, day) / 86_400_000;
}

/** The date of a day number, YYYY-MM-DD. */
export function dateOfDay(day: number): string {
  return new Date(day * 86_400_000).toISOString().slice(0, 10);
}

export const WEEKDAYS = ['mon', 'tue', 'wed', 'thu', 'fri', 'sat', 'sun'] as const;
export type Weekday = (typeof WEEKDAYS)[number];

/** 1970-01-01 was a Thursday. */
export function weekdayOf(day: number): Weekday {
  return WEEKDAYS[(((day + 3) % 7) + 7) % 7]!;
}
