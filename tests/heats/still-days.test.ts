import { describe, expect, it } from 'vitest';
import type { Analysis } from '../../src/analysis.ts';
import type { Heat } from '../../src/heats/heat-log.ts';
import { stillDays } from '../../src/heats/still-days.ts';
import { PSI } from '../../src/units/factors.ts';

// No outside source: what is laid beside what is the crew's own question; the numbers are worked by hand.
const analysis = (cycles: readonly number[]): Analysis =>
  ({
    job: { units: 'us' },
    lines: [
      {
        line: { name: 'flange' },
        movements: [],
        progress: { pattern: { stoodStill: { cycles, of: 10 }, toCycle: 10 } },
      },
    ],
  }) as unknown as Analysis;

const heat = (cycle: number, given: Partial<Heat>): Heat => ({
  cycle,
  line: null,
  zone: null,
  station: null,
  height: null,
  pattern: 'vee',
  angle: null,
  depth: null,
  width: null,
  apex: null,
  temperature: 620,
  before: null,
  date: null,
  time: null,
  pressure: 6500 * PSI,
  torch: null,
  device: null,
  weather: null,
  gas: null,
  cost: null,
  note: null,
  file: 'heats.csv',
  row: 2,
  ...given,
});
const log = (heats: readonly Heat[]) => ({ heats, gasUnit: null, currency: null });
/** Vees an hour apart from 8:00. */
const day = (cycle: number, count: number, given: Partial<Heat> = {}): Heat[] =>
  Array.from({ length: count }, (_, k) =>
    heat(cycle, { time: `${String(8 + k).padStart(2, '0')}:00`, ...given }),
  );

describe('a day that stood still beside the heat log', () => {
  it('names what was unlike the days that moved, and only that', () => {
    const heats = [...day(1, 4), ...day(2, 4, { pressure: 900 * PSI }), ...day(3, 4), ...day(4, 4)];
    expect(stillDays(analysis([2]), log(heats))).toEqual([
      'flange stood still in cycle 2. Unlike days that moved: gauge 900 psi that day, 6,500 psi on others.',
    ]);
  });

  it('compares vees, heat and working time too', () => {
    const [said] = stillDays(
      analysis([2]),
      log([...day(1, 6), ...day(2, 3, { temperature: 480 }), ...day(3, 6)]),
    );
    expect(said).toContain('vees 3 that day, 6 on others');
    expect(said).toContain('steel heated to 896 °F that day, 1148 °F on others');
    expect(said).toContain('2.0 h that day, 5.0 h on others');
    expect(said).not.toContain('gauge');
  });

  it('says so where the heats were alike, where no heat is logged, and where there is nothing to compare', () => {
    const alike = [...day(1, 4), ...day(2, 4), ...day(3, 4)];
    expect(stillDays(analysis([2]), log(alike))[0]).toMatch(
      /were like those of days that moved .*look elsewhere/,
    );
    expect(stillDays(analysis([4]), log(alike))[0]).toMatch(/no heat of that cycle/);
    expect(stillDays(analysis([1]), log(day(1, 4)))[0]).toMatch(/no other day is logged/);
    expect(stillDays(analysis([]), log(alike))).toEqual([]);
    expect(stillDays(analysis([2]), log([]))).toEqual([]);
  });

  it('days alike are said once, days unlike each by itself', () => {
    const heats = [
      ...day(1, 4),
      ...day(2, 4),
      ...day(3, 4),
      ...day(4, 4, { pressure: 900 * PSI }),
      ...day(5, 4),
      ...day(6, 4),
    ];
    const said = stillDays(analysis([2, 3, 4, 6, 7, 8]), log(heats));
    expect(said).toHaveLength(3);
    expect(said[0]).toMatch(/in cycle 4\. Unlike .*900 psi/);
    expect(said[1]).toMatch(/in cycles 2 to 3 and 6\. Their heats were like/);
    expect(said[2]).toMatch(/in cycles 7 to 8; heats\.csv has no heat of those cycles/);
  });

  it('another line’s heats are not taken for this one’s', () => {
    const heats = [...day(1, 4), ...day(2, 4, { line: 'web' }), ...day(3, 4)];
    expect(stillDays(analysis([2]), log(heats))[0]).toMatch(/no heat of that cycle/);
  });
});
