/** The error rates the tool states of its own words, counted on seeded series. */
import { describe, expect, it } from 'vitest';
import { judgeRate } from '../../src/progress/judge-rate.ts';
import { createRandom } from '../mechanics/random.ts';

const SERIES = 300;

/** Words after `count` readings of a steady rate (in useful gains per cycle), with errors of `u` useful gains. */
function words(rate: number, u: number, count: number): string[] {
  return Array.from({ length: SERIES }, (_, n) => {
    const random = createRandom(`error rates/${rate}/${u}/${n}`);
    const points = Array.from({ length: count }, (__, at) => ({
      at,
      value: 100 - rate * at + u * random.normal(),
      u,
    }));
    return judgeRate(points, 1).word;
  });
}

const share = (list: readonly string[], ...wanted: string[]) =>
  list.filter((word) => wanted.includes(word)).length / list.length;
/** A share of one in ten exceeds this by chance in fewer than one run of 1000 (binomial, 3.1 sd). */
const ONE_IN_TEN = 0.1 + 3.1 * Math.sqrt((0.1 * 0.9) / SERIES);

describe('a rate of exactly the useful gain is called', () => {
  // Equivalence testing (Schuirmann 1987): at the bound itself each one-sided call is wrong as often as its level says.
  for (const [u, count] of [
    [0.5, 8],
    [1.2, 14],
  ] as const) {
    it(`too little, or enough, in no more than one case of ten each (u ${u} g, ${count} readings)`, () => {
      const said = words(1, u, count);
      expect(share(said, 'stalled', 'slow', 'regressing')).toBeLessThan(ONE_IN_TEN);
      expect(share(said, 'progressing')).toBeLessThan(ONE_IN_TEN);
    });
  }
});

describe('twice the useful gain', () => {
  it('is called a stall in fewer than one case of a hundred', () => {
    expect(share(words(2, 1.2, 8), 'stalled', 'slow')).toBeLessThanOrEqual(0.01);
  });
});

describe('a standstill', () => {
  it('is called one most of the time, and progress next to never', () => {
    const said = words(0, 0.5, 8);
    expect(share(said, 'stalled')).toBeGreaterThan(0.9);
    expect(share(said, 'progressing')).toBeLessThanOrEqual(0.01);
  });
});

describe('steel that creeps by less than the useful gain', () => {
  it('is not called stalled: it moves', () => {
    // By binomial chance fewer than 5 of 60 where one call in forty is wrong (98 %).
    const said = Array.from({ length: 60 }, (_, n) => {
      const random = createRandom(`creeps/${n}`);
      const points = Array.from({ length: 10 }, (__, at) => ({
        at,
        value: 60 - 0.7 * at + 0.6 * random.normal(),
        u: 0.6,
      }));
      return judgeRate(points, 1, false).word;
    });
    expect(said.filter((word) => word === 'stalled').length).toBeLessThan(5);
    expect(said.filter((word) => word === 'progressing').length).toBeLessThan(5);
  });
});
