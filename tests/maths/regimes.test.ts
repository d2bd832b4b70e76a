import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import {
  filterRegimes,
  meanOf,
  type Regime,
  type RegimeSettings,
  rateCdf,
  rateQuantile,
  withoutAssumption,
} from '../../src/maths/regimes.ts';

const ONE = [{ factor: 1, weight: 1 }];
function steady(rateSd: number): RegimeSettings['first'] {
  return [{ decay: 1, rateSd, weight: 1 }];
}
const PLAIN: RegimeSettings = {
  hazard: 0.03,
  first: steady(2),
  later: steady(2),
  scatters: [{ factor: 0, weight: 1 }],
  noises: ONE,
  floor: 0,
};

const published = (name: string): number[][] =>
  readFileSync(new URL(`../published/${name}`, import.meta.url), 'utf8')
    .trim()
    .split('\n')
    .slice(1)
    .map((row) => row.split(',').map((cell) => Number.parseFloat(cell)));

function startWeights(regimes: readonly Regime[]): [number, number][] {
  const weights = new Map<number, number>();
  for (const r of regimes) weights.set(r.start, (weights.get(r.start) ?? 0) + r.weight);
  return [...weights].sort((a, b) => b[1] - a[1]);
}

describe('regime filter against published change points', () => {
  it('Nile (Cobb 1978; R strucchange): the level of flow changed after observation 28, 1898, to 849.97', () => {
    // Cumulated flow is a level whose rate is the yearly flow: its change of rate is the published change of mean.
    let sum = 0;
    const cumulated = published('nile.csv').map((row, i) => {
      sum += row[1]!;
      return { at: i + 1, value: sum, u: 1e-3 };
    });
    const regimes = filterRegimes([{ at: 0, value: 0, u: 1e-3 }, ...cumulated], {
      ...PLAIN,
      hazard: 0.01,
      first: steady(2000),
      later: steady(500),
      floor: Math.sqrt(1597457.1944 / 98),
    });
    const [first, second] = startWeights(regimes);
    expect(first![0]).toBe(28);
    expect(first![1]).toBeGreaterThan(0.6);
    // The runner-up single break of the published sums of squares.
    expect(second![0]).toBe(27);
    const at28 = regimes.filter((r) => r.start === 28);
    expect(Math.abs(meanOf(at28).rate - 849.9722)).toBeLessThan(4);
  });

  it('stagnant band height (Bacon & Watts 1971): change after point 13, slope -1.0166 (least squares), -1.014 ± 0.017 (Bayes)', () => {
    // The filter runs in order of x with the published residual sd; the hazard is small because the published model has
    // exactly one change.
    const points = published('stagnant.csv').map((row) => ({ at: row[0]!, value: row[1]!, u: 0.0194 }));
    const regimes = filterRegimes(points, { ...PLAIN, hazard: 0.005 });
    const best = startWeights(regimes)[0]!;
    expect(best[0]).toBe(12);
    const rate = meanOf(regimes.filter((r) => r.start === 12)).rate;
    expect(Math.abs(rate - -1.016593)).toBeLessThan(0.0141);
    expect(Math.abs(meanOf(regimes).rate - -1.014)).toBeLessThan(0.01747);
  });

  it('with one regime it is weighted least squares: NIST StRD Norris slope and its standard error', () => {
    const text = readFileSync(new URL('../published/nist_norris.csv', import.meta.url), 'utf8')
      .trim()
      .split('\n');
    const header = text[0]!.split(',');
    const points = text
      .slice(1)
      .map((row) => row.split(',').map((cell) => Number.parseFloat(cell)))
      .map((row) => ({
        at: row[header.indexOf('x')]!,
        value: row[header.indexOf('y')]!,
        u: 0.884796396144373,
      }))
      .sort((a, b) => a.at - b.at);
    const regimes = filterRegimes(points, { ...PLAIN, hazard: 1e-300, first: steady(1e6) });
    const best = regimes[0]!;
    expect(best.start).toBe(0);
    expect(Math.abs(best.rate / 1.00211681802045 - 1)).toBeLessThan(1e-9);
    expect(Math.abs(Math.sqrt(best.rateVariance) / 0.429796848199937e-3 - 1)).toBeLessThan(1e-6);
  });
});

describe('regime filter', () => {
  it('weights sum to 1 and quantile inverts the distribution', () => {
    const points = [3, 2.6, 2.3, 1.9, 1.9, 1.88, 1.91].map((value, at) => ({ at, value, u: 0.04 }));
    const regimes = filterRegimes(points, PLAIN);
    expect(regimes.reduce((sum, r) => sum + r.weight, 0)).toBeCloseTo(1, 6);
    expect(rateCdf(regimes, rateQuantile(regimes, 0.05))).toBeCloseTo(0.05, 6);
    expect(startWeights(regimes)[0]![0]).toBe(3);
  });

  it('a gap of two cycles counts as two steps', () => {
    const all = [0, 1, 2, 3, 4, 5].map((at) => ({ at, value: 5 - 0.5 * at, u: 0.05 }));
    const gap = all.filter((p) => p.at !== 3);
    expect(meanOf(filterRegimes(gap, PLAIN)).rate).toBeCloseTo(meanOf(filterRegimes(all, PLAIN)).rate, 3);
  });

  it('an assumed standstill finds the change and says nothing about the rate', () => {
    const points = [2, 1.7, 1.4, 1.1, 1.12, 1.08, 1.11].map((value, at) => ({ at, value, u: 0.05 }));
    const later = [...steady(2), { decay: 1, rateSd: 1e-3, weight: 1, standstill: true }];
    const assumed = filterRegimes(points, { ...PLAIN, later });
    const read = withoutAssumption(assumed);
    const [start, weight] = startWeights(assumed)[0]!;
    expect(startWeights(read)[0]![0]).toBe(start);
    expect(startWeights(read)[0]![1]).toBeCloseTo(weight, 6);
    const plain = filterRegimes(points, PLAIN).filter((r) => r.start === start);
    const own = read.filter((r) => r.start === start);
    expect(meanOf(own).rate).toBeCloseTo(meanOf(plain).rate, 2);
    expect(rateQuantile(own, 0.9) - rateQuantile(own, 0.1)).toBeGreaterThan(
      0.9 * (rateQuantile(plain, 0.9) - rateQuantile(plain, 0.1)),
    );
  });

  it('follows a decaying movement and says so', () => {
    let level = 4;
    const points = Array.from({ length: 14 }, (_, at) => {
      if (at > 0) level -= 0.6 * 0.7 ** (at - 1);
      return { at, value: level, u: 0.01 };
    });
    const regimes = filterRegimes(points, {
      ...PLAIN,
      first: [
        { decay: 1, rateSd: 2, weight: 0.5 },
        { decay: 0.7, rateSd: 2, weight: 0.5 },
      ],
    });
    expect(regimes.filter((r) => r.decay === 0.7).reduce((sum, r) => sum + r.weight, 0)).toBeGreaterThan(
      0.95,
    );
    expect(meanOf(regimes).rate).toBeCloseTo(-0.6 * 0.7 ** 12, 2);
  });
});
