import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { cusum } from '../../src/maths/cusum.ts';
import { normalCdf, normalQuantile } from '../../src/maths/distributions.ts';
import { kendallUpperTail, mannKendall, mannKendallFromS } from '../../src/maths/mann-kendall.ts';
import { tQuantile } from '../../src/maths/t-quantile.ts';
import { theilSen } from '../../src/maths/theil-sen.ts';

const published = (name: string): number[][] =>
  readFileSync(new URL(`../published/${name}`, import.meta.url), 'utf8')
    .trim()
    .split('\n')
    .slice(1)
    .map((row) => row.split(',').map((cell) => Number.parseFloat(cell)));

describe('Theil–Sen and Mann–Kendall against Hollander & Wolfe, example 9.1 (cloud seeding)', () => {
  const x = [1, 2, 3, 4, 5];
  const y = [1.26, 1.27, 1.12, 1.16, 1.03];

  it('slope -0.05625 (printed -0.056), intercept by medians 1.32875', () => {
    const line = theilSen(x, y);
    expect(line.slope).toBeCloseTo(-0.05625, 12);
    expect(line.intercept).toBeCloseTo(1.32875, 12);
  });

  it('S = -6, variance 16.6667, exact one-sided p = 14/120', () => {
    const test = mannKendall(y);
    expect(test.s).toBe(-6);
    expect(test.variance).toBeCloseTo(50 / 3, 12);
    expect(test.p / 2).toBeCloseTo(14 / 120, 12);
  });
});

describe('Mann–Kendall against USGS SIR 2005-5275 outputs', () => {
  it.each([
    { s: -110, n: 21, tau: -0.524, z: -3.291, p: 0.001 },
    { s: -179, n: 80, tau: -0.057, z: -0.74, p: 0.4596 },
  ])('S = $s, n = $n gives z = $z and p = $p', ({ s, n, tau, z, p }) => {
    const result = mannKendallFromS(s, n);
    expect(s / ((n * (n - 1)) / 2)).toBeCloseTo(tau, 3);
    expect(Math.abs(result.z - z)).toBeLessThan(6e-4);
    expect(Math.abs(result.p - p)).toBeLessThan(6e-5);
  });
});

describe('exact Kendall tail against Gilbert 1987, table A18', () => {
  it.each([
    [4, 6, 0.04167],
    [5, 8, 0.04167],
    [5, 10, 0.008333],
    [6, 9, 0.06806],
    [7, 11, 0.06806],
    [7, 21, 0.0001984],
    [8, 16, 0.03051],
    [9, 20, 0.02231],
    [10, 19, 0.05416],
    [10, 31, 0.002343],
  ])('n = %i, S ≥ %i: %f', (n, s, p) => {
    expect(Math.abs(kendallUpperTail(s, n) / p - 1)).toBeLessThan(3e-4);
  });

  it('three heats can never show a trend at 5 %', () => {
    expect(kendallUpperTail(3, 3)).toBeCloseTo(1 / 6, 12);
  });
});

describe('the Nile at Aswan, 1871–1970 (Cobb 1978)', () => {
  const flow = published('nile.csv').map((row) => row[1]!);

  it('the data are the published ones: n 100, sum 91 935', () => {
    expect(flow).toHaveLength(100);
    expect(flow.reduce((a, b) => a + b)).toBe(91_935);
  });

  it('S = -1387, variance 112 728.333 with ties, z = -4.12807, Sen slope -2.6', () => {
    const test = mannKendall(flow);
    expect(test.s).toBe(-1387);
    expect(test.variance).toBeCloseTo(112_728.333, 3);
    expect(test.z).toBeCloseTo(-4.12807, 5);
    expect(theilSen([...flow.keys()], flow).slope).toBeCloseTo(-2.6, 12);
  });
});

describe('CUSUM', () => {
  it('reproduces Montgomery, Introduction to Statistical Quality Control, table 9.2: signal at period 29', () => {
    const rows = published('montgomery_cusum.csv');
    const result = cusum(
      rows.map((row) => row[1]!),
      10,
      0.5,
      5,
    );
    rows.forEach((row, i) => {
      expect(result.upper[i]).toBeCloseTo(row[2]!, 9);
      expect(result.lower[i]).toBeCloseTo(row[3]!, 9);
    });
    expect(result.signal).toEqual({ index: 28, side: 'upper', run: 7 });
  });

  it('reproduces the NIST/SEMATECH e-Handbook example, 6.3.2.3 (from memory of it): signal at group 14', () => {
    const x = [
      324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15,
      328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35,
    ];
    const result = cusum(x, 325, 0.3175, 4.1959);
    expect(result.signal).toMatchObject({ index: 13, side: 'upper' });
    expect(result.upper.slice(12)).toEqual(
      [3.0075, 4.94, 7.4475, 10.63, 11.9875, 14.445, 16.0025, 19.035].map((v) => expect.closeTo(v, 9)),
    );
    expect(result.lower[7]).toBeCloseTo(0.715, 9);
  });
});

describe('quantiles against printed tables', () => {
  it.each([
    [1, 6.3138, 12.7062, 63.6567],
    [2, 2.92, 4.3027, 9.9248],
    [4, 2.1318, 2.7764, 4.6041],
    [8, 1.8595, 2.306, 3.3554],
    [16, 1.7459, 2.1199, 2.9208],
    [30, 1.6973, 2.0423, 2.75],
    [120, 1.6577, 1.9799, 2.6174],
  ])('Student t with %i degrees of freedom (any t table)', (nu, p95, p975, p995) => {
    expect(Math.abs(tQuantile(0.95, nu) - p95)).toBeLessThan(5.1e-5);
    expect(Math.abs(tQuantile(0.975, nu) - p975)).toBeLessThan(5.1e-5);
    expect(Math.abs(tQuantile(0.995, nu) - p995)).toBeLessThan(5.1e-5);
  });

  it('normal quantiles 1.6449, 1.9600, 2.5758 and back', () => {
    for (const [p, z] of [
      [0.95, 1.6449],
      [0.975, 1.96],
      [0.995, 2.5758],
    ] as const) {
      expect(Math.abs(normalQuantile(p) - z)).toBeLessThan(5.1e-5);
      expect(normalCdf(normalQuantile(p))).toBeCloseTo(p, 12);
    }
  });
});
