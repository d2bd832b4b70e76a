import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { fallingOff, secondOpinion } from '../../src/progress/second-opinion.ts';

describe('second opinion', () => {
  it('Hollander & Wolfe, example 9.1: Theil–Sen -0.05625, exact two-sided p 28/120', () => {
    const y = [1.26, 1.27, 1.12, 1.16, 1.03];
    const opinion = secondOpinion(y.map((value, i) => ({ at: i + 1, value, u: 0.01 })));
    expect(opinion.theilSen).toBeCloseTo(-0.05625, 12);
    expect(opinion.trendP).toBeCloseTo(28 / 120, 12);
  });

  it('NIST StRD Norris: the least-squares slope to ten digits', () => {
    const rows = readFileSync(new URL('../published/nist_norris.csv', import.meta.url), 'utf8')
      .trim()
      .split('\n')
      .slice(1)
      .map((row) => row.split(',').map((cell) => Number.parseFloat(cell)));
    const opinion = secondOpinion(rows.map((row) => ({ at: row[1]!, value: row[0]!, u: 1 })));
    expect(Math.abs(opinion.leastSquares / 1.00211681802045 - 1)).toBeLessThan(1e-10);
  });

  it('one wild survey moves the line and not Theil–Sen', () => {
    const points = [3, 2.8, 2.6, 2.4, 2.2, 2, 1.8].map((value, at) => ({ at, value, u: 0.05 }));
    const wild = points.map((p) => (p.at === 6 ? { ...p, value: 4 } : p));
    expect(secondOpinion(points).theilSen).toBeCloseTo(-0.2, 12);
    expect(secondOpinion(wild).theilSen).toBeCloseTo(-0.2, 12);
    expect(secondOpinion(wild).leastSquares).toBeGreaterThan(-0.02);
  });
});

describe('falling off', () => {
  const series = (steps: readonly number[]) => {
    let value = 5;
    return [0, ...steps].map((step, at) => {
      value -= step;
      return { at, value, u: 0.05 };
    });
  };

  it('sees shortfalls too small to be seen alone, and counts them', () => {
    const steps = [0.2, 0.2, 0.2, 0.2, 0.09, 0.08, 0.1, 0.09, 0.08, 0.09];
    expect(fallingOff(series(steps), -0.2)).toBe(6);
  });

  it('is quiet while the rate holds', () => {
    expect(fallingOff(series([0.2, 0.24, 0.15, 0.22, 0.19, 0.2, 0.17]), -0.2)).toBeNull();
  });
});
