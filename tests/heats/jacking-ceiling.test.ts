import { describe, expect, it } from 'vitest';
import { jackingCeiling } from '../../src/heats/jacking-ceiling.ts';
import { loadLimit } from '../../src/heats/load-limit.ts';
import { governingMoment, type SpanSetUp } from '../../src/heats/moment-set-up.ts';
import { InputError } from '../../src/input-error.ts';
import { bendingProperties } from '../../src/section/rectangles.ts';
import { plateSection, teeSection } from '../../src/section/shapes.ts';
import { INCH, KIP, KSI, PSI } from './units.ts';

const flange = (b: number, t: number) => bendingProperties(plateSection(b, t), 'vertical').plasticModulus;
const tee = (b: number, t: number, h: number, tw: number) =>
  bendingProperties(teeSection(b, t, h, tw), 'vertical').plasticModulus;

/**
 * Worked by hand from M = k·Fy·Z and the beam formulas of AISC Manual Table 3-23 (from memory of it);
 * D4 and D5 take Z from the AISC shape tables. Inches, ksi, kip, in².
 */
const WORKED = [
  {
    id: 'D1 flange of W24x76',
    z: flange(8.99, 0.68),
    fy: 36,
    k: 0.5,
    kind: 'simple',
    L: 240,
    a: 120,
    ram: 2.24,
    P: 4.1218,
    psi: 1840.1,
  },
  {
    id: 'D2 flange of W36x150',
    z: flange(12, 0.94),
    fy: 36,
    k: 0.5,
    kind: 'simple',
    L: 300,
    a: 150,
    ram: 5.16,
    P: 8.1216,
    psi: 1574.0,
  },
  {
    id: 'D3 flange of W33x130',
    z: flange(11.5, 0.855),
    fy: 50,
    k: 1 / 3,
    kind: 'fixed',
    L: 288,
    a: 144,
    ram: 4.43,
    P: 13.087,
    psi: 2954.2,
  },
  {
    id: 'D4 W27x94, weak axis',
    z: 38.8,
    fy: 36,
    k: 0.5,
    kind: 'simple',
    L: 360,
    a: 120,
    ram: 5.16,
    P: 8.73,
    psi: 1691.9,
  },
  {
    id: 'D5 W30x99, strong axis',
    z: 312,
    fy: 50,
    k: 0.25,
    kind: 'simple',
    L: 480,
    a: 240,
    ram: 20.6,
    P: 32.5,
    psi: 1577.7,
  },
  {
    id: 'D6 tee, cantilever',
    z: tee(8.99, 0.68, 3, 0.44),
    fy: 36,
    k: 0.33,
    kind: 'cantilever',
    L: 60,
    a: 60,
    ram: 2.24,
    P: 2.7492,
    psi: 1227.3,
  },
  {
    id: 'D7 flange of W21x62, near end governs',
    z: flange(8.24, 0.615),
    fy: 36,
    k: 0.5,
    kind: 'fixed',
    L: 240,
    a: 96,
    ram: 2.24,
    P: 5.4371,
    psi: 2427.3,
  },
] as const;

const ceilingOf = (w: (typeof WORKED)[number], division = PSI) =>
  jackingCeiling({
    plasticModulus: w.z * INCH ** 3,
    yieldStress: w.fy * KSI,
    limit: { fraction: w.k, source: 'worked example' },
    setUp: { kind: w.kind, from: 0, to: w.L * INCH },
    jacks: [{ name: 'jack', station: w.a * INCH, ramArea: w.ram * INCH ** 2 }],
    gaugeDivision: division,
  });

describe('force and gauge pressure, worked examples D1 to D7', () => {
  for (const example of WORKED) {
    it(example.id, () => {
      const ceiling = ceilingOf(example);
      expect(Math.abs(ceiling.jacks[0]!.force / KIP / example.P - 1)).toBeLessThan(3e-5);
      expect(Math.abs(ceiling.exactPressure / PSI / example.psi - 1)).toBeLessThan(4e-5);
      expect(ceiling.psi).toBeLessThanOrEqual(example.psi);
      expect(ceiling.psi).toBeGreaterThan(example.psi - 1.05);
    });
  }

  it('rounds down, never up, to the gauge division and in both units', () => {
    const ceiling = ceilingOf(WORKED[0], 50 * PSI);
    expect(ceiling.psi).toBe(1800);
    expect(ceiling.megapascals).toBe(12.4); // 1800 psi is 12.411 MPa
    for (const example of WORKED) {
      const c = ceilingOf(example, 25 * PSI);
      expect(c.pressure).toBeLessThanOrEqual(c.exactPressure);
      expect(c.psi * PSI).toBeLessThanOrEqual(c.pressure * (1 + 1e-9));
      expect(c.megapascals * 1e6).toBeLessThanOrEqual(c.pressure * (1 + 1e-9));
    }
  });

  it('two jacks at one pressure share the moment: D1 with two equal jacks at midspan halves it', () => {
    const single = ceilingOf(WORKED[0]);
    const jack = { name: 'a', station: 120 * INCH, ramArea: 2.24 * INCH ** 2 };
    const double = jackingCeiling({
      plasticModulus: WORKED[0].z * INCH ** 3,
      yieldStress: 36 * KSI,
      limit: { fraction: 0.5, source: 'worked example' },
      setUp: { kind: 'simple', from: 0, to: 240 * INCH },
      jacks: [jack, { ...jack, name: 'b' }],
      gaugeDivision: PSI,
    });
    expect(double.exactPressure).toBeCloseTo(single.exactPressure / 2, 3);
  });
});

describe('moment of a unit force (AISC Manual Table 3-23, from memory of it)', () => {
  const L = 10;
  const unit = (kind: SpanSetUp['kind'], a: number) =>
    governingMoment({ kind, from: 0, to: L }, [{ station: a, force: 1 }]);

  it('simple: a·b/L at the force', () => {
    expect(unit('simple', 3).moment).toBeCloseTo(2.1, 12);
    expect(unit('simple', 3).station).toBe(3);
  });

  it('fixed: a·b²/L² at the near end; 2a²b²/L³ at the force; L/8 all three at midspan', () => {
    expect(unit('fixed', 3).moment).toBeCloseTo((3 * 49) / 100, 12);
    expect(unit('fixed', 3).station).toBe(0);
    expect(unit('fixed', 7).station).toBe(10);
    expect(unit('fixed', 5).moment).toBeCloseTo(L / 8, 12);
  });

  it('fixed: near-end moment of a force at 96 of 240 is 34.56 per unit force', () => {
    const m = governingMoment({ kind: 'fixed', from: 0, to: 240 }, [{ station: 96, force: 1 }]);
    expect(m.moment).toBeCloseTo(34.56, 10);
  });

  it('cantilever: the arm, whichever way it points', () => {
    expect(unit('cantilever', 4).moment).toBe(4);
    const back = governingMoment({ kind: 'cantilever', from: 10, to: 0 }, [{ station: 7, force: 1 }]);
    expect(back).toEqual({ moment: 3, station: 10 });
  });

  it('simple, third-point forces: P·L/3 (AISC Table 3-23, two equal symmetric loads)', () => {
    const m = governingMoment({ kind: 'simple', from: 0, to: 9 }, [
      { station: 3, force: 1 },
      { station: 6, force: 1 },
    ]);
    expect(m.moment).toBeCloseTo(3, 12);
  });

  it('fixed ends, uniform load by many forces: w·L²/12 at the ends (AISC Table 3-23)', () => {
    const n = 4000;
    const forces = Array.from({ length: n }, (_, i) => ({ station: ((i + 0.5) * L) / n, force: L / n }));
    expect(governingMoment({ kind: 'fixed', from: 0, to: L }, forces).moment).toBeCloseTo(L ** 2 / 12, 5);
  });

  it('refuses a force outside the supports', () => {
    expect(() => unit('simple', 11)).toThrow(RangeError);
  });
});

describe('share of the plastic moment', () => {
  it('only primary members have a built-in share: 0.50 (from memory of FHWA-IF-08-999)', () => {
    expect(loadLimit('primary', null).fraction).toBe(0.5);
    for (const importance of ['secondary', 'fracture-critical', 'unknown-load'] as const) {
      expect(() => loadLimit(importance, null)).toThrow(InputError);
      expect(loadLimit(importance, { value: 0.25, source: 'owner' }).fraction).toBe(0.25);
    }
  });
});
