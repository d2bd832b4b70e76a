import { describe, expect, it } from 'vitest';
import { forecastCover } from '../bench/forecast-cover.ts';
import { createRandom } from '../mechanics/random.ts';

// The convention is that of the randomized probability integral transform (Smith 1985; Czado, Gneiting & Held 2009, Predictive
// model assessment for count data, Biometrics 65): whatever is believed rightly covers what its level says. The cycles left are drawn here
// from laws of our own (exponential, with a share that never comes), so the right 80 % interval is known in closed form.
describe('the share of forecasts that cover', () => {
  const DRAWS = 20_000;
  it.each([
    ['never is impossible', 0],
    ['one in twenty never comes inside', 0.05],
    ['three in ten: the upper end is open', 0.3],
    ['six in ten: so is the middle', 0.6],
  ])('is 80 % for a belief that is right: %s', (_, never) => {
    const random = createRandom(`cover/${never}`);
    const mean = 6;
    // Points of the whole belief, what never comes at its end.
    const point = (p: number) => (p < 1 - never ? -mean * Math.log(1 - p / (1 - never)) : null);
    const said = { low: point(0.1), high: point(0.9), probability: 1 - never };
    let covered = 0;
    for (let i = 0; i < DRAWS; i++) {
      const trueLeft =
        random.uniform() < never ? Number.POSITIVE_INFINITY : -mean * Math.log(1 - random.uniform());
      covered += forecastCover(said, trueLeft).covered;
    }
    // Beyond the 60 cycles looked ahead lies 1 in 22,000 of an exponential of mean 6; four standard errors of the share are 1.2 %.
    expect(covered / DRAWS).toBeGreaterThan(0.8 - 0.012);
    expect(covered / DRAWS).toBeLessThan(0.8 + 0.012);
  });

  it('a belief that is wrong does not: twice too slow, or sure to arrive where half never do', () => {
    expect(forecastCover({ low: 4, high: 9, probability: 1 }, 3)).toEqual({
      covered: 0,
      early: true,
      late: 0,
    });
    expect(forecastCover({ low: 4, high: 9, probability: 1 }, Number.POSITIVE_INFINITY).late).toBe(1);
    expect(
      forecastCover({ low: 4, high: null, probability: 0.8 }, Number.POSITIVE_INFINITY).late,
    ).toBeCloseTo(0.5, 12);
  });
});
