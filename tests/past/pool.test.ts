import { describe, expect, it } from 'vitest';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import { drawPooled, type Estimate, type Prior, pool, pooledQuantile } from '../../src/past/pool.ts';
import { quantityOf } from '../../src/past/quantities.ts';
import { makeAgency } from '../bench/plan-agencies.ts';

/**
 * Eight schools (Rubin 1981, Journal of Educational Statistics 6; data as in Gelman et al., Bayesian Data Analysis, table 5.2),
 * with the posterior means of posteriordb's reference draws (Stan; model eight_schools_noncentered: μ ~ N(0, 5), τ ~
 * half-Cauchy(0, 5)) and their Monte Carlo errors of 0.03 to 0.06.
 */
const SCHOOLS = [
  [28, 15],
  [8, 10],
  [-3, 16],
  [7, 11],
  [-1, 9],
  [1, 11],
  [18, 10],
  [12, 18],
] as const;
const REFERENCE = [
  6.15050229, 4.93958114, 3.90590609, 4.79601675, 3.61443632, 4.05114758, 6.31716976, 4.88399694,
];
const PRIOR: Prior = { mean: 0, meanU: 5, spread: 5, source: 'the reference model' };

function schools(without = -1): Estimate[] {
  return SCHOOLS.flatMap(([value, u], i) => (i === without ? [] : [{ job: `${i}`, value, u, weight: 1 }]));
}

describe('pooling', () => {
  it.each(SCHOOLS.map(([value, u], i) => [i + 1, value, u] as const))(
    'eight schools: the effect in school %i is that of the reference posterior',
    (school, value, u) => {
      const pooled = pool(PRIOR, schools(school - 1), { value, u });
      expect(Math.abs(pooled.mean - REFERENCE[school - 1]!)).toBeLessThan(0.18);
    },
  );

  it('eight schools: mean of the schools 4.4105, spread between them 3.6021', () => {
    const { population } = pool(PRIOR, schools(), null);
    expect(Math.abs(population.mean - 4.41051834)).toBeLessThan(0.1);
    expect(Math.abs(population.spread - 3.60205952)).toBeLessThan(0.1);
  });

  it('without jobs it is the prior, with many alike it is the jobs', () => {
    const prior: Prior = { mean: 1, meanU: 0.3, spread: 0.2, source: 'here' };
    const alone = pool(prior, [], null);
    expect(alone.mean).toBeCloseTo(1, 9);
    expect(alone.sd).toBeGreaterThan(0.3);
    const many = Array.from({ length: 200 }, (_, i) => ({
      job: `${i}`,
      value: 2 + 0.1 * Math.sin(i * 2.4),
      u: 0.01,
      weight: 1,
    }));
    const pooled = pool(prior, many, null);
    // Spread of a sine: 0.1/√2.
    expect(pooled.mean).toBeCloseTo(2, 2);
    expect(pooled.sd / (0.1 / Math.SQRT2)).toBeGreaterThan(0.93);
    expect(pooled.sd / (0.1 / Math.SQRT2)).toBeLessThan(1.07);
  });

  it('a job of weight 0 says nothing; twins of weight 1/2 say what one says of the mean', () => {
    const prior: Prior = { mean: 0, meanU: 1, spread: 0.5, source: 'here' };
    const one = [{ job: 'a', value: 3, u: 0.2, weight: 1 }];
    expect(pool(prior, [...one, { job: 'b', value: -9, u: 0.1, weight: 0 }], null)).toEqual(
      pool(prior, one, null),
    );
    const halves = [
      { job: 'a', value: 3, u: 0.2, weight: 0.5 },
      { job: 'b', value: 3, u: 0.2, weight: 0.5 },
    ];
    expect(pool(prior, halves, null).mean).toBeCloseTo(pool(prior, one, null).mean, 12);
  });

  it('what tells jobs apart is a straight line learnt from them, and its prior without them', () => {
    const prior: Prior = { mean: 0, meanU: 10, spread: 0.5, source: 'here' };
    const on = (x: number): Estimate => ({ job: `${x}`, value: 1 + 0.5 * x, u: 0.01, weight: 1, apart: x });
    const jobs = [-3, -2, -1, 1, 2, 3, 4].map(on);
    const term = { slope: 0.2, slopeU: 1 };
    const learnt = pool(prior, jobs, null, term);
    expect(learnt.slope!.mean).toBeCloseTo(0.5, 2);
    expect(learnt.mean).toBeCloseTo(1, 2);
    // Without the term the line is taken for spread between jobs, and the job at hand for one like their mean.
    expect(pool(prior, jobs, null).mean).toBeCloseTo(1 + (0.5 * 4) / 7, 1);
    expect(pool(prior, jobs, null).sd).toBeGreaterThan(10 * learnt.sd);
    // A prior said of a job two further along says of this one 2 × 0.2 less, with 2 × 0.1 of its own doubt in squares.
    const alone = pool({ ...prior, meanU: 0.3 }, [], null, { slope: 0.2, slopeU: 0.1, priorApart: 2 });
    expect(alone.mean).toBeCloseTo(-0.4, 12);
    const spreadOnly = pool({ ...prior, meanU: 1e-6 }, [], null).sd ** 2;
    expect(alone.sd ** 2 - spreadOnly).toBeCloseTo(0.3 ** 2 + 0.2 ** 2, 6);
    expect(alone.slope!.sd).toBeCloseTo(0.1, 12);
  });

  it('quantiles and draws are of the same mixture', () => {
    const pooled = pool(PRIOR, schools(), null);
    const uniform = seededUniform(7);
    const normal = seededNormal(uniform);
    const draws = Array.from({ length: 20_000 }, () => drawPooled(pooled, uniform, normal)).sort(
      (a, b) => a - b,
    );
    for (const p of [0.1, 0.5, 0.9]) {
      const q = pooledQuantile(pooled, p);
      const below = draws.filter((draw) => draw < q).length / draws.length;
      // Four standard errors of a share among 20,000.
      expect(Math.abs(below - p)).toBeLessThan(4 * Math.sqrt((p * (1 - p)) / draws.length));
    }
  });
});

describe('a term asked for elsewhere', () => {
  it('is what pooling for that place gives: mean and sd of the mixture', () => {
    const prior = { mean: 2, meanU: 0.5, spread: 0.2, farthest: 3, source: 'the test' };
    const term = { slope: -0.2, slopeU: 0.3 };
    const jobs = [0.3, -0.6, 1.1, 0.2].map((apart, i) => ({
      ...{ job: `${i}`, value: 2 - 0.4 * apart + 0.05 * i, u: 0.1, weight: 0.5 + 0.1 * i, apart },
    }));
    const here = pool(prior, jobs, null, { ...term, priorApart: 0.4 });
    const there = pool(
      prior,
      jobs.map((each) => ({ ...each, apart: each.apart - 0.7 })),
      null,
      { ...term, priorApart: -0.3 },
    );
    // The same draws of chance: whatever is drawn for a job 0.7 further on must be what that job is pooled to.
    const drawn = (pooled: typeof here, apart: number) => {
      const uniform = seededUniform(7);
      const normal = seededNormal(uniform);
      return Array.from({ length: 400 }, () => drawPooled(pooled, uniform, normal, apart));
    };
    const [a, b] = [drawn(here, 0.7), drawn(there, 0)];
    for (const [i, value] of a.entries()) expect(value).toBeCloseTo(b[i]!, 9);
    expect(Math.abs(drawn(here, 0)[0]! - a[0]!)).toBeGreaterThan(0.05);
  });
});

describe('days of other work', () => {
  it('a day on which two kinds were done counts once: by hand', () => {
    const { of } = quantityOf('days: painting', null, null);
    const [record] = makeAgency('days', 1, false).past;
    const days = (all: number) =>
      of({ ...record!, days: { heating: 10, painting: 3, inspection: 3, all } }, 0)!.value ** 2 - 0.375;
    // 13 dates less 10 of heating leave 3 for 6 days of the two: half of each. With 16 dates or more none is shared.
    expect(days(13)).toBeCloseTo(1.5, 9);
    expect(days(16)).toBeCloseTo(3, 9);
    expect(days(20)).toBeCloseTo(3, 9);
  });
});
