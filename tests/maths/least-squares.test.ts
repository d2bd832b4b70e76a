/**
 * NIST Statistical Reference Datasets, linear regression (certified values; data in tests/published).
 * Digits expected: double arithmetic by QR on scaled columns, see each row.
 */
import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { solveLeastSquares } from '../../src/maths/least-squares.ts';

function table(name: string): number[][] {
  const text = readFileSync(new URL(`../published/${name}.csv`, import.meta.url), 'utf8').trim();
  return text
    .split(/\r?\n/)
    .slice(1)
    .map((line) => line.split(',').map(Number.parseFloat));
}

/** Log relative error: digits in agreement. */
function digits(found: number, certified: number): number {
  if (found === certified) return 16;
  return -Math.log10(Math.abs(found - certified) / (certified === 0 ? 1 : Math.abs(certified)));
}

function polynomial(name: string, degree: number, intercept = true) {
  const rows = table(name);
  const x = rows.map((r) => r[1]!);
  const columns = Array.from({ length: degree + (intercept ? 1 : 0) }, (_, k) =>
    x.map((v) => v ** (intercept ? k : k + 1)),
  );
  return solveLeastSquares(
    columns,
    rows.map((r) => r[0]!),
  );
}

describe('NIST StRD', () => {
  const cases: [string, number, boolean, number[], number, number][] = [
    ['nist_norris', 1, true, [-0.262323073774029, 1.00211681802045], 0.884796396144373, 11],
    [
      'nist_pontius',
      2,
      true,
      [0.673565789473684e-3, 0.732059160401003e-6, -0.316081871345029e-14],
      0.205177424076185e-3,
      11,
    ],
    ['nist_noint1', 1, false, [2.07438016528926], 3.56753034006338, 13],
    ['nist_noint2', 1, false, [0.727272727272727], 0.369274472937998, 13],
    ['nist_wampler3', 5, true, [1, 1, 1, 1, 1, 1], 2360.14502379268, 8],
    ['nist_wampler4', 5, true, [1, 1, 1, 1, 1, 1], 236014.502379268, 8],
    ['nist_wampler5', 5, true, [1, 1, 1, 1, 1, 1], 23601450.2379268, 6],
    [
      'nist_filip',
      10,
      true,
      [
        -1467.4896142298, -2772.17959193342, -2316.37108160893, -1127.97394098372, -354.478233703349,
        -75.1242017393757, -10.8753180355343, -1.06221498588947, -0.670191154593408e-1, -0.246781078275479e-2,
        -0.402962525080404e-4,
      ],
      0.334801051324544e-2,
      7,
    ],
  ];
  for (const [name, degree, intercept, certified, residualSd, wanted] of cases)
    it(`${name}: ${wanted} digits`, () => {
      const fit = polynomial(name, degree, intercept);
      certified.forEach((value, k) => {
        expect(digits(fit.coefficients[k]!, value)).toBeGreaterThan(wanted);
      });
      expect(digits(fit.residualSd, residualSd)).toBeGreaterThan(wanted);
    });

  it('nist_longley: coefficients, residual sum of squares', () => {
    const rows = table('nist_longley');
    const columns = [rows.map(() => 1), ...[1, 2, 3, 4, 5, 6].map((k) => rows.map((r) => r[k]!))];
    const fit = solveLeastSquares(
      columns,
      rows.map((r) => r[0]!),
    );
    const certified = [
      -3482258.63459582, 15.0618722713733, -0.03581917929259, -2.02022980381683, -1.03322686717359,
      -0.0511041056535807, 1829.15146461355,
    ];
    certified.forEach((value, k) => {
      expect(digits(fit.coefficients[k]!, value)).toBeGreaterThan(9);
    });
    expect(digits(fit.rss, 836424.055505915)).toBeGreaterThan(10);
  });

  it('nist_norris: standard deviations of the coefficients (covariance)', () => {
    const fit = polynomial('nist_norris', 1);
    const sd = [0, 1].map((k) => fit.residualSd * Math.sqrt(fit.unscaledCovariance[k]![k]!));
    expect(digits(sd[0]!, 0.232818234301152)).toBeGreaterThan(11);
    expect(digits(sd[1]!, 0.429796848199937e-3)).toBeGreaterThan(11);
  });

  it('nist_wampler1 and 2: exact polynomials come back', () => {
    polynomial('nist_wampler1', 5).coefficients.forEach((c) => {
      expect(c).toBeCloseTo(1, 7);
    });
    [1, 0.1, 0.01, 0.001, 1e-4, 1e-5].forEach((value, k) => {
      expect(digits(polynomial('nist_wampler2', 5).coefficients[k]!, value)).toBeGreaterThan(9);
    });
  });
});

describe('stagnant band height, continuous broken line', () => {
  // Bacon & Watts 1971; BUGS Examples Vol. 2 (data). Least-squares values computed in exact arithmetic from those data.
  const rows = table('stagnant');
  const x = rows.map((r) => r[0]!);
  const y = rows.map((r) => r[1]!);
  const fitAt = (c: number) => solveLeastSquares([x.map(() => 1), x, x.map((v) => Math.max(0, v - c))], y);

  it('break 0.0359120, slopes −0.422077 and −1.016593, RSS 0.00938136', () => {
    let [low, high] = [-0.2, 0.3];
    const golden = (Math.sqrt(5) - 1) / 2;
    for (let pass = 0; pass < 80; pass++) {
      const a = high - golden * (high - low);
      const b = low + golden * (high - low);
      if (fitAt(a).rss < fitAt(b).rss) high = b;
      else low = a;
    }
    const at = (low + high) / 2;
    const fit = fitAt(at);
    expect(at).toBeCloseTo(0.035912, 5);
    expect(fit.coefficients[1]).toBeCloseTo(-0.422077, 5);
    expect(fit.coefficients[1]! + fit.coefficients[2]!).toBeCloseTo(-1.016593, 5);
    expect(fit.rss).toBeCloseTo(0.00938136, 7);
  });
});

describe('weights', () => {
  it('an integer weight is that many repeats; weight 0 leaves a row out', () => {
    const x = [0, 1, 2, 3, 5];
    const y = [0.1, 1.3, 1.9, 3.2, 4.6];
    const w = [1, 3, 0, 2, 1];
    const one = solveLeastSquares([x.map(() => 1), x], y, w);
    const xs = x.flatMap((v, i) => new Array<number>(w[i]!).fill(v));
    const ys = y.flatMap((v, i) => new Array<number>(w[i]!).fill(v));
    const many = solveLeastSquares([xs.map(() => 1), xs], ys);
    expect(one.coefficients[0]).toBeCloseTo(many.coefficients[0]!, 12);
    expect(one.coefficients[1]).toBeCloseTo(many.coefficients[1]!, 12);
    expect(one.unscaledCovariance[1]![1]).toBeCloseTo(many.unscaledCovariance[1]![1]!, 12);
  });

  it('a column that repeats another gets 0 and lowers the rank', () => {
    const x = [0, 1, 2, 3];
    const fit = solveLeastSquares([x.map(() => 1), x, x.map((v) => 2 * v)], [1, 2, 3, 4]);
    expect(fit.rank).toBe(2);
    expect(fit.coefficients[2]).toBe(0);
    expect(fit.rss).toBeLessThan(1e-24);
  });
});
