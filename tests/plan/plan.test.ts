import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { dateOfDay, dayNumber, type Weekday, weekdayOf } from '../../src/job/calendar.ts';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import { finishDate } from '../../src/plan/calendar.ts';
import { workOff } from '../../src/plan/forward.ts';
import { calibrate, hindsight } from '../../src/plan/hindsight.ts';
import { makeAgency } from '../bench/plan-agencies.ts';

describe('calendar', () => {
  it('weekdays and day numbers (ISO 8601: 2000-01-01 was a Saturday, from memory)', () => {
    expect(weekdayOf(dayNumber('2000-01-01'))).toBe('sat');
    expect(dayNumber('2000-03-01') - dayNumber('2000-02-28')).toBe(2);
    expect(dayNumber('1900-03-01') - dayNumber('1900-02-28')).toBe(1);
    expect(dateOfDay(dayNumber('2026-03-02'))).toBe('2026-03-02');
    // 2026-11-29 is a Sunday: 26 years after a Saturday with 7 leap days, 26·365 + 7 + 332 = 9829 = 7·1404 + 1.
    expect(weekdayOf(dayNumber('2026-11-29'))).toBe('sun');
  });

  it('counts work over weekends, holidays and lost days, by hand', () => {
    const fields = { workdays: ['mon', 'tue', 'wed', 'thu', 'fri'] as const, holidays: ['2026-03-05'] };
    // Monday 2 March 2026; Thursday is a holiday: Mon, Tue, Wed, Fri, Mon.
    expect(finishDate('2026-03-02', 5, fields, () => false)).toBe('2026-03-09');
    // The second open day is lost: one later.
    expect(finishDate('2026-03-02', 5, fields, (day) => day === 1)).toBe('2026-03-10');
    // A start on a Saturday is a start on Monday.
    expect(finishDate('2026-02-28', 1, fields, () => false)).toBe('2026-03-02');
    expect(finishDate('2026-03-02', 3, fields, () => true)).toBeNull();
  });
});

describe('calendar beside another', () => {
  it('finish dates are those of numpy’s business days, sixty times over years, weeks of one to seven days and days closed', () => {
    // worked/make_calendar.py makes the file.
    const { cases } = JSON.parse(readFileSync(new URL('worked/calendar.json', import.meta.url), 'utf8')) as {
      cases: { start: string; workdays: Weekday[]; holidays: string[]; days: number; end: string }[];
    };
    expect(cases).toHaveLength(60);
    for (const each of cases)
      expect(
        finishDate(each.start, each.days, each, () => false),
        JSON.stringify(each),
      ).toBe(each.end);
  });
});

describe('working zones off', () => {
  const uniform = seededUniform(1);
  const normal = seededNormal(uniform);
  const zone = { station: 6, rotation: 0.04, rotationU: 0, expectedVee: 0.002 };
  const at = (aim: number) => ({ zones: [zone], bearings: [0, 12] as const, aim });
  const sure = { ratio: 1, deadShare: 0, veesPerCycle: 2, scatter: 0 };

  it('by hand: one kink at midspan of 12 m stands out θL/4 = 0.12 m', () => {
    // Inside 0.012 m when 0.004 rad is left: 0.036 rad at 0.004 rad a cycle are 9 cycles, 18 vees.
    expect(workOff([at(0.01201)], sure, uniform, normal)).toEqual({ cycles: 9, vees: 18 });
    expect(workOff([at(0.01201)], { ...sure, ratio: 0.5 }, uniform, normal).cycles).toBe(18);
    expect(workOff([at(0.2)], sure, uniform, normal)).toEqual({ cycles: 0, vees: 0 });
  });

  it('dead days add cycles in their share, and a heat that does nothing never ends', () => {
    const many = Array.from(
      { length: 400 },
      () => workOff([at(0.01201)], { ...sure, deadShare: 0.25 }, uniform, normal).cycles,
    );
    // Negative binomial: 9/(1 − 0.25) = 12 on the average, sd √(9·0.25)/0.75 = 2.
    const mean = many.reduce((a, b) => a + b) / many.length;
    expect(Math.abs(mean - 12)).toBeLessThan((4 * 2) / Math.sqrt(400));
    expect(workOff([at(0.01)], { ...sure, deadShare: 1 }, uniform, normal).cycles).toBe(Infinity);
  });
});

describe('hindsight', () => {
  const { past } = makeAgency('hindsight', 12, false);

  it('is the same every time and says nothing of a job that does not say how it ended', () => {
    expect(hindsight(past[0]!, past.slice(1), 0)).toEqual(hindsight(past[0]!, past.slice(1), 0));
    expect(hindsight({ ...past[0]!, cycles: null }, past.slice(1), 0)).toEqual([]);
  });

  it('knows more at two thirds than before the first heat', () => {
    const { told } = calibrate(past);
    const width = (at: (a: number) => boolean) => {
      const mine = told.filter((each) => each.of === 'cycles' && at(each.at));
      expect(mine.length).toBeGreaterThan(5);
      return mine.reduce((sum, each) => sum + (each.high - each.low) / each.actual, 0) / mine.length;
    };
    expect(width((at) => at > 0.5)).toBeLessThan(0.7 * width((at) => at === 0));
  });
});
