import { describe, expect, it } from 'vitest';
import { brief } from '../../src/report/brief.ts';

describe('a text cut to its place', () => {
  const TEAR =
    'The crest was not read. No force and no heat before cracks have been looked for to their ends.';

  it('is left alone where it fits', () => {
    expect(brief(TEAR, TEAR.length)).toBe(TEAR);
  });

  it('ends with a whole sentence where that fills more than half of the place', () => {
    expect(brief(TEAR, 40)).toBe('The crest was not read. …');
  });

  it('goes on with the words of the next sentence where most of the place would be empty', () => {
    expect(brief(TEAR, 60)).toBe('The crest was not read. No force and no heat before cracks …');
    expect(brief(TEAR, 60).length).toBeLessThanOrEqual(60);
  });
});
