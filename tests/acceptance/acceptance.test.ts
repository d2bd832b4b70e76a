import { describe, expect, it } from 'vitest';
import { judgeAcceptance, unmeasuredRules } from '../../src/acceptance/acceptance.ts';
import { governingChord } from '../../src/acceptance/chord.ts';
import { acceptanceFindings } from '../../src/acceptance/findings.ts';
import { conformanceProbability, guardedDecision } from '../../src/acceptance/guarded.ts';
import { sunBow } from '../../src/acceptance/sun-bow.ts';
import { normalCdf } from '../../src/maths/distributions.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { fitOf, LINE, MEMBER, rule, triangle } from '../line-fit-builder.ts';

const TWENTY = { kind: 'chord', length: 20 * FOOT } as const;

/** Exact ordinate of a circle over a chord through its ends. */
function circle(radius: number, span: number): (x: number) => number {
  const drop = Math.sqrt(radius ** 2 - (span / 2) ** 2);
  return (x) => Math.sqrt(radius ** 2 - (x - span / 2) ** 2) - drop;
}

describe('two limits of SPD 4-100 that act together', () => {
  // A circular sweep with a 1/2 in mid-ordinate in a 20 ft chord has R = c²/8m + m/2 = 14 400.25 in; over 60 ft its
  // mid-ordinate is 9 × 1/2 in: it meets "1/2 in in 20 ft" at the limit and fails "1/2 in over the length" by 4 in.
  const radius = 240 ** 2 / (8 * 0.5) + 0.25;
  const shape = circle(radius, 720);

  it('the radius is 14 400.25 in', () => {
    expect(radius).toBe(14_400.25);
  });

  it('every 20 ft chord shows 1/2 in, the whole length 4 1/2 in', () => {
    const fit = fitOf([{ cycle: 0, shape: (feet) => shape(12 * feet), u: 1e-6 }]);
    const [window, whole] = judgeAcceptance(LINE, MEMBER, fit, [rule(0.506, TWENTY), rule(0.5)]);
    // Stations at 2 ft see the arc as a polygon, up to 1/2 in × (2/20)² low between them.
    expect(Math.abs(window!.measured! / INCH - 0.5)).toBeLessThan(0.005);
    expect(window!.result).toBe('within');
    expect(window!.at!.to! - window!.at!.from!).toBeCloseTo(20 * FOOT, 9);
    expect(whole!.measured! / INCH).toBeCloseTo(4.5, 2);
    expect(whole!.result).toBe('outside');
    expect(whole!.at!.station / FOOT).toBeCloseTo(30, 9);
  });
});

describe('string-line rule: mid-ordinate on a 62 ft chord', () => {
  // R = 50/sin(D/2) ft; ordinates of the published table (US Army TR0671 practice; railway curve tables).
  it.each([
    [1, 1.00635],
    [4, 4.02508],
    [10, 10.0581],
  ])('a %i degree curve gives %f in', (degrees, inches) => {
    const radius = 50 / Math.sin((degrees * Math.PI) / 360);
    const stations = Array.from({ length: 101 }, (_, i) => i);
    const shape = circle(radius, 100);
    const found = governingChord(stations, stations.map(shape), 62)!;
    expect(Math.abs(found.departure * 12 - inches)).toBeLessThan(0.02 * inches);
  });
});

describe('governing chord', () => {
  it('finds the chord between stations that brute force finds', () => {
    const stations = [0, 3, 5, 9, 14, 18, 21, 27, 33, 40];
    const values = [0, 0.4, 0.1, 1.3, 0.9, 2.1, 0.2, -0.7, 0.3, 0];
    const found = governingChord(stations, values, 12)!;
    let brute = 0;
    for (let a = 0; a <= 28; a += 0.001) {
      stations.forEach((x, i) => {
        if (x < a || x > a + 12) return;
        const at = (s: number) => {
          const k = Math.max(
            1,
            stations.findIndex((t) => t >= s - 1e-12),
          );
          const share = (s - stations[k - 1]!) / (stations[k]! - stations[k - 1]!);
          return values[k - 1]! * (1 - share) + values[k]! * share;
        };
        const chord = (at(a) * (a + 12 - x) + at(a + 12) * (x - a)) / 12;
        brute = Math.max(brute, Math.abs(values[i]! - chord));
      });
    }
    expect(Math.abs(found.departure)).toBeGreaterThanOrEqual(brute - 1e-12);
    expect(Math.abs(found.departure)).toBeLessThan(brute + 1e-3);
    expect(found.to - found.from).toBeCloseTo(12, 12);
    expect(found.from).toBeLessThanOrEqual(found.station);
    expect(found.station).toBeLessThanOrEqual(found.to);
  });

  it('does not see where the string was tied', () => {
    const stations = [0, 4, 8, 12, 16, 20, 24, 28];
    const values = [0, 0.1, 0.5, 1.4, 0.6, 0.2, 0, 0.1];
    const tilted = values.map((v, i) => v + 0.7 - 0.05 * stations[i]!);
    const a = governingChord(stations, values, 10)!;
    const b = governingChord(stations, tilted, 10)!;
    expect(b.departure).toBeCloseTo(a.departure, 12);
    expect(b.from).toBeCloseTo(a.from, 9);
  });

  it('is null where the readings do not reach', () => {
    expect(governingChord([0, 5, 9], [0, 1, 0], 10)).toBeNull();
  });
});

describe('guarded decision, JCGM 106:2012', () => {
  it('conformance probability, upper limit: breakdown voltage -5.47 V, u 0.05 V, limit -5.40 V gives 92 %', () => {
    // From memory of JCGM 106:2012, 7.4, example 1; Φ(1.4) = 0.9192 is in every normal table.
    expect(conformanceProbability(-5.47, 0.05, -5.4)).toBeCloseTo(0.9192, 4);
  });

  it('probability of false acceptance below 2.5 % for w = U (ILAC-G8:09/2019, 4.2.2)', () => {
    for (let beyond = 0; beyond < 0.2; beyond += 0.01) {
      // Reading of a member truly `beyond` outside the limit; accepted below limit − 2u.
      expect(normalCdf((-2 * 0.05 - beyond) / 0.05)).toBeLessThan(0.025);
    }
  });

  it('guard band w = U = 2u: at the limit a faulty item is accepted with 2.3 % (8.3.2, r = 1)', () => {
    // Accepted if the reading is below limit − 2u; true value at the limit.
    expect(normalCdf(-2)).toBeCloseTo(0.0228, 4);
    expect(guardedDecision(0.4, 0.05, 0.5)).toBe('within');
    expect(guardedDecision(0.4001, 0.05, 0.5)).toBe('undetermined');
    expect(guardedDecision(0.5999, 0.05, 0.5)).toBe('undetermined');
    expect(guardedDecision(0.6001, 0.05, 0.5)).toBe('outside');
  });

  it('the share of wrongly accepted items is 2.3 % by count', () => {
    // 100 000 evenly spaced quantiles of a normal reading of an item exactly at the limit.
    let accepted = 0;
    const n = 20_000;
    for (let i = 0; i < n; i++) {
      const z = -4 + (8 * (i + 0.5)) / n;
      const weight = (Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI)) * (8 / n);
      if (guardedDecision(0.5 + 0.05 * z, 0.05, 0.5) === 'within') accepted += weight;
    }
    expect(accepted).toBeCloseTo(0.0228, 3);
  });
});

describe('what is said beside the results', () => {
  it('sun on one side: 80 ft, 12 in, 20 °F bows 1.248 in; 40 ft, 8.99 in, 15 °F 0.3123 in (6.5e-6 ΔT L²/8b)', () => {
    expect(sunBow(80 * FOOT, 12 * INCH, 20 / 1.8) / INCH).toBeCloseTo(1.248, 2);
    expect(sunBow(40 * FOOT, 8.99 * INCH, 15 / 1.8) / INCH).toBeCloseTo(0.3123, 3);
  });

  const findings = (surveys: Parameters<typeof fitOf>[0]) => {
    const fit = fitOf(surveys);
    const results = judgeAcceptance(LINE, MEMBER, fit, [rule(0.5)]);
    return acceptanceFindings(LINE, MEMBER, fit, results, 'us').map((f) => f.code);
  };

  it('a result near its limit without a temperature carries a note, one far from it does not', () => {
    expect(findings([{ cycle: 0, shape: triangle(0.48) }])).toEqual(['near-limit-without-temperature']);
    expect(findings([{ cycle: 0, shape: triangle(4) }])).toEqual([]);
  });

  it('a survey on hot steel is named as not judged', () => {
    expect(
      findings([
        { cycle: 0, shape: triangle(4) },
        { cycle: 1, shape: triangle(3), temperature: 200 },
      ]),
    ).toEqual(['steel-too-hot-to-judge']);
  });

  it('steel 70 °F warmer than the survey before is cautioned with both temperatures and the bow 6.5e-6·ΔT·L²/8b', () => {
    const of = (now: number) => {
      const fit = fitOf([
        { cycle: 0, shape: triangle(4), temperature: 21 },
        { cycle: 1, shape: triangle(3) },
        { cycle: 2, shape: triangle(2), temperature: now },
      ]);
      return acceptanceFindings(LINE, MEMBER, fit, [], 'us');
    };
    // By hand, 60 ft and 12 in: 11.7e-6 × 39 °C × (18.288 m)² / (8 × 0.3048 m) = 0.06258 m = 2.46 in (free member).
    expect(of(60)).toMatchObject([
      {
        severity: 'caution',
        code: 'steel-warmer-than-before',
        cycle: 2,
        message: expect.stringMatching(
          /Cycle 2 of bottom-flange was read on steel at 140 °F, cycle 0 at 70 °F.* by 2 7\/16 in /,
        ) as unknown,
      },
    ]);
    // 30 °F is weather, and cooler steel than before is what the work waits for.
    expect(of(21 + 30 / 1.8)).toEqual([]);
    expect(of(0)).toEqual([]);
  });
});

describe('rules on a line', () => {
  const fit = fitOf([
    { cycle: 0, shape: triangle(3) },
    { cycle: 1, shape: triangle(0.3) },
    { cycle: 1, shape: triangle(0.1), state: 'restrained' },
    { cycle: 2, shape: triangle(0.1), temperature: 300 },
  ]);

  it('are judged on the last released, cooled survey', () => {
    const [result] = judgeAcceptance(LINE, MEMBER, fit, [rule(0.5)]);
    expect(result!.measured! / INCH).toBeCloseTo(0.3, 9);
    expect(result!.result).toBe('within');
    expect(result!.reason).toContain('cycle 1');
  });

  it('at impact reads the station of the blow, and says so when it is not known', () => {
    const [at] = judgeAcceptance(LINE, MEMBER, fit, [rule(0.5, { kind: 'impact' })]);
    expect(at!.at!.station).toBe(30 * FOOT);
    const [unknown] = judgeAcceptance({ ...LINE, impact: null }, MEMBER, fit, [
      rule(0.5, { kind: 'impact' }),
    ]);
    expect(unknown).toMatchObject({ measured: null, result: 'undetermined' });
    expect(unknown!.reason).toContain('impact');
  });

  it('a reading that stands out from the fitted shape is believed over it', () => {
    const sound = fitOf([{ cycle: 0, shape: triangle(0.2) }]);
    const survey = sound.surveys[0]!;
    const bumped = {
      ...sound,
      surveys: [
        {
          ...survey,
          stations: survey.stations.map((s, i) => (i === 10 ? { ...s, deviation: 0.9 * INCH } : s)),
        },
      ],
    };
    expect(judgeAcceptance(LINE, MEMBER, sound, [rule(0.5)])[0]!.result).toBe('within');
    expect(judgeAcceptance(LINE, MEMBER, bumped, [rule(0.5)])[0]!.result).toBe('outside');
  });

  it('a rule no line answers is not measured and says what to read', () => {
    const [result] = unmeasuredRules([{ ...rule(0.25), line: null, kind: 'tilt' }]);
    expect(result).toMatchObject({ measured: null, result: 'undetermined' });
    expect(result!.reason).toContain('across the flange');
  });
});
