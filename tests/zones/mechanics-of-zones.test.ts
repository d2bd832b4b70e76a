import { describe, expect, it } from 'vitest';
import { tent, tentDeflection } from '../../src/zones/elastic.ts';
import { curvatureAt, flangeLaw, HARDENING, momentAt } from '../../src/zones/flange-law.ts';
import {
  withRotation,
  type ZoneShape,
  zoneCurvature,
  zoneDeflection,
} from '../../src/zones/separate/shape.ts';
import { firstIntegral, secondIntegral, yieldingOf } from '../../src/zones/separate/yielding.ts';

const steel = yieldingOf(0.01);
const zone: ZoneShape = {
  peak: 10,
  left: 2,
  right: 3,
  over: momentAt(20) - 1,
  patch: 0.6,
  anchor: 'none',
  about: 10,
  sign: 1,
  steel,
};

describe('moment and curvature past yield', () => {
  // Gere & Timoshenko, Mechanics of Materials, § 6.10 (from memory): M/M_y = 3/2 − (κ_y/κ)²/2, M_p/M_y = 3/2.
  it('is the textbook rectangle without hardening', () => {
    for (const k of [1, 1.5, 2, 5, 50]) expect(momentAt(k, 0)).toBeCloseTo(1.5 - 0.5 / k ** 2, 14);
    expect(momentAt(1e6, 0)).toBeCloseTo(1.5, 9);
    expect(curvatureAt(1.375, flangeLaw(1e-12))).toBeCloseTo(2, 9);
  });

  it('inverts, and its tables integrate it', () => {
    for (const k of [1.1, 3, 20, 150])
      expect(curvatureAt(momentAt(k), flangeLaw(HARDENING))).toBeCloseTo(k, 8);
    const m = momentAt(30);
    let [sum, second] = [0, 0];
    const n = 40000;
    for (let i = 0; i < n; i++) {
      const at = 1 + ((m - 1) * (i + 0.5)) / n;
      const p = curvatureAt(at, flangeLaw(HARDENING)) - at;
      sum += (p * (m - 1)) / n;
      second += (p * (m - at) * (m - 1)) / n;
    }
    expect(Math.abs(firstIntegral(steel, m) / sum - 1)).toBeLessThan(2e-4);
    expect(Math.abs(secondIntegral(steel, m) / second - 1)).toBeLessThan(2e-4);
  });
});

describe('zone shape', () => {
  it('has its own curvature as second derivative, unit rotation, and nothing before it', () => {
    expect(zoneDeflection(zone, 7.9)).toBe(0);
    expect(zoneDeflection(zone, 15) - zoneDeflection(zone, 14)).toBeCloseTo(1, 9);
    for (const x of [8.5, 9.5, 10.5, 12]) {
      const h = 2e-3;
      const second =
        (zoneDeflection(zone, x - h) - 2 * zoneDeflection(zone, x) + zoneDeflection(zone, x + h)) / h ** 2;
      expect(Math.abs(second / zoneCurvature(zone, x) - 1)).toBeLessThan(3e-3);
    }
  });

  it('takes the peak moment a rotation asks for', () => {
    const bent = withRotation(zone, -0.05, 0.008);
    let rotation = 0;
    for (let x = 8; x < 13; x += 1e-3) rotation += zoneCurvature(bent, x) * 1e-3;
    expect(rotation).toBeCloseTo(1, 3);
    expect(bent.sign).toBe(-1);
    expect(bent.over).toBeLessThan(zone.over * 2);
  });
});

describe('elastic reactions', () => {
  it('is the deflection of a broken-line curvature, 0 at both bearings', () => {
    const nodes = { stations: [0, 4, 9, 15] };
    expect(tentDeflection(nodes, 1, 0)).toBe(0);
    expect(tentDeflection(nodes, 1, 15)).toBeCloseTo(0, 12);
    for (const x of [2, 6, 8]) {
      const h = 1e-3;
      const second =
        (tentDeflection(nodes, 1, x - h) -
          2 * tentDeflection(nodes, 1, x) +
          tentDeflection(nodes, 1, x + h)) /
        h ** 2;
      expect(second).toBeCloseTo(tent(nodes, 1, x), 4);
    }
  });

  it('one node at midspan is the simple beam with a central load: δ = κ·L²/12 (AISC Table 3-23: P·L³/48EI)', () => {
    // κ = M/EI = P·L/4EI at midspan, so P·L³/48EI = κ·L²/12.
    expect(Math.abs(tentDeflection({ stations: [0, 6, 12] }, 1, 6))).toBeCloseTo((1 * 12 ** 2) / 12, 10);
  });
});
