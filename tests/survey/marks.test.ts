import { describe, expect, it } from 'vitest';
import { markFinder } from '../../src/survey/marks.ts';
import type { Mark, Reading } from '../../src/survey/survey.ts';

const reading = (row: number, cycle: number): Reading => ({
  ...{ cycle, line: 'a', station: 1, offset: 0, state: 'released', sd: null, temperature: null },
  ...{ date: null, time: null, note: null, file: 'readings/sheet.csv', row },
});
const mark = (row: number, action: Mark['action'], cycle?: number): Mark => ({
  ...{ file: 'readings/sheet.csv', row, action, who: 'R. Alder', why: 'x', when: '2031-05-04T10:00:00Z' },
  ...(cycle === undefined ? {} : { cycle }),
});

describe('the mark in force', () => {
  it('is the last one for the row', () => {
    const find = markFinder([mark(4, 'set-aside'), mark(5, 'set-aside'), mark(4, 'reinstate')]);
    expect(find(reading(4, 0))?.action).toBe('reinstate');
    expect(find(reading(5, 0))?.action).toBe('set-aside');
    expect(find(reading(6, 0))).toBeNull();
  });

  it('is for one cycle of a field-sheet row where it names one', () => {
    const find = markFinder([mark(4, 'set-aside', 2)]);
    expect(find(reading(4, 2))?.action).toBe('set-aside');
    expect(find(reading(4, 1))).toBeNull();
  });

  it('of the whole row takes the place of an earlier one for a cycle, and the other way round', () => {
    expect(markFinder([mark(4, 'set-aside', 2), mark(4, 'reinstate')])(reading(4, 2))?.action).toBe(
      'reinstate',
    );
    const find = markFinder([mark(4, 'set-aside'), mark(4, 'reinstate', 2)]);
    expect(find(reading(4, 2))?.action).toBe('reinstate');
    expect(find(reading(4, 1))?.action).toBe('set-aside');
  });

  it('is of the same file', () => {
    expect(markFinder([{ ...mark(4, 'set-aside'), file: 'readings/other.csv' }])(reading(4, 0))).toBeNull();
  });
});
