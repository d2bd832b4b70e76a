import { describe, expect, it } from 'vitest';
import { checkRows, checkSentences, tail } from '../../src/plan/check-text.ts';
import type { Hindsight } from '../../src/plan/hindsight.ts';

/** Forecasts of days before the first heat, 10 to 20, that came out so. */
const told = (actuals: readonly number[]): Hindsight[] =>
  actuals.map((actual, i) => ({
    ...{ job: `job ${i}`, at: 0, of: 'days', low: 10, median: 14, high: 20, actual },
    ...{ below: 0.5, equal: 0 },
  }));
const table = (jobs: number) => [{ at: 0, of: 'days', jobs, inside: 0, error: 0.2 } as const];
const sentences = (actuals: readonly number[], more: { cutShort?: number; oneLine?: number } = {}) =>
  checkSentences({
    told: told(actuals),
    table: [...table(actuals.length)],
    cutShort: 0,
    oneLine: 0,
    ...more,
  });
const said = (actuals: readonly number[]) => sentences(actuals)[0]!;

describe('past check in words', () => {
  it('the binomial tail by hand: none of three at 0.8 is 0.008, at most one 0.104; none of ten at a half 1/1024', () => {
    expect(tail(3, 0, 0.8)).toBeCloseTo(0.008, 12);
    expect(tail(3, 1, 0.8)).toBeCloseTo(0.104, 12);
    expect(tail(10, 0, 0.5)).toBeCloseTo(1 / 1024, 12);
    expect(tail(4, 4, 0.3)).toBeCloseTo(1, 12);
  });

  it('counts the ends of a range in, on either side of it', () => {
    expect(checkRows(told([9, 10, 14, 20, 21, 30]), table(6))).toEqual([
      ['days', 'before the first heat', '6', '1', '3', '2', '20 %'],
    ]);
  });

  it('says which jobs are not counted, and which are forecast by one line of perhaps several', () => {
    expect(sentences([12])).toHaveLength(2);
    const more = sentences([12], { cutShort: 2, oneLine: 1 }).join(' ');
    expect(more).toContain(
      '2 jobs stopped or replaced before the girder was done teach the others and are not counted',
    );
    expect(more).toContain('One job is forecast by the line that was furthest out alone');
  });

  it('says what the counts mean: chance, too few jobs, too narrow and to which side, leaning', () => {
    expect(said([12, 12, 14, 15, 9, 18, 19, 12, 21, 13])).toMatch(/8 of 10 ended .* what chance allows/);
    expect(said([12, 30, 14])).toContain('So few jobs do not say');
    // 3 of 10 inside at 0.8: 0.0009.
    expect(said([30, 31, 32, 14, 12, 33, 34, 40, 41, 15])).toMatch(
      /fewer than chance explains: .* longer or dearer than forecast/,
    );
    expect(said([1, 2, 3, 14, 12, 4, 5, 6, 7, 15])).toContain('shorter or cheaper');
    const leaning = [...Array.from({ length: 30 }, () => 14), ...Array.from({ length: 8 }, () => 30)];
    expect(said(leaning)).toContain('nearly all the others lie above it');
  });
});
