import { describe, expect, it } from 'vitest';
import { dateText } from '../../src/report/dates.ts';

// Expected texts: how newspapers of each country write a date with the month in letters; common practice, no source.
describe('a date on paper', () => {
  it.each([
    ['2026-03-04', 'en-US', 'Mar 4, 2026'],
    ['2026-03-04', 'en-GB', '4 Mar 2026'],
    ['2026-09-04T23:30:00Z', 'en-GB', '4 Sep 2026'],
    ['2026-03-04', 'fr-FR', '4 mars 2026'],
    ['not a date', 'en-US', 'not a date'],
    [null, 'en-US', 'no date'],
  ])('%s in %s is "%s"', (iso, locale, text) => {
    expect(dateText(iso, locale)).toBe(text);
  });
});
