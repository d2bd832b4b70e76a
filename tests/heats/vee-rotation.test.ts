import { describe, expect, it } from 'vitest';
import { expansionCoefficient, modulusRatio, yieldRatio } from '../../src/heats/temperature-functions.ts';
import {
  expectedRotation,
  FORMULA_TEMPERATURE,
  openWidth,
  perfectRestraintRotation,
} from '../../src/heats/vee-rotation.ts';
import { celsius, DEGREE, KSI } from './units.ts';

const E = 29_000 * KSI;
const vee = (degrees: number, loadRatio: number, temperature = FORMULA_TEMPERATURE) =>
  expectedRotation(
    { angle: degrees * DEGREE, temperature, loadRatio, shapeFactor: 1, axialFactor: 1 },
    36 * KSI,
    E,
  );

describe('steel when hot (from memory of FHWA-IF-08-999 chapter 4)', () => {
  // T °F, α·10⁶ per °F, E/E₀, Fy/F₀
  const table = [
    [100, 6.29, 1, 1],
    [400, 6.86, 0.94, 0.94857],
    [700, 7.43, 0.88, 0.89714],
    [800, 7.62, 0.85536, 0.87999],
    [1000, 8.0, 0.722, 0.73],
    [1100, 8.19, 0.62199, 0.5725],
    [1200, 8.38, 0.49976, 0.36],
  ] as const;
  for (const [t, alpha, e, fy] of table) {
    it(`${t} °F`, () => {
      expect(expansionCoefficient(celsius(t)) / 1.8).toBeCloseTo(alpha * 1e-6, 10);
      expect(modulusRatio(celsius(t))).toBeCloseTo(e, 4);
      expect(yieldRatio(celsius(t))).toBeCloseTo(fy, 4);
    });
  }

  it('gives nothing beyond the published range', () => {
    expect(() => yieldRatio(celsius(1250))).toThrow(RangeError);
    expect(modulusRatio(celsius(20))).toBe(1);
  });
});

describe('expected rotation of one vee heat at 1200 °F (formula from memory of FHWA-IF-08-999)', () => {
  // vee angle in degrees, then mrad at Mj/Mp = 0, 1/4, 1/3, 1/2, worked apart from the formula
  const table = [
    [20, 1.024, 1.877, 2.162, 2.731],
    [30, 1.532, 2.808, 3.233, 4.084],
    [45, 2.283, 4.185, 4.819, 6.087],
    [60, 3.017, 5.53, 6.368, 8.044],
    [82, 4.05, 7.425, 8.55, 10.8],
  ] as const;
  for (const [angle, ...rotations] of table) {
    it(`${angle}° vee`, () => {
      const ratios = [0, 1 / 4, 1 / 3, 1 / 2];
      rotations.forEach((mrad, i) => {
        expect(Math.abs(vee(angle, ratios[i]!) * 1000 - mrad)).toBeLessThan(mrad < 10 ? 0.001 : 0.01);
      });
    });
  }

  it('without jacking stays below the perfect-restraint bound of Holt (1971)', () => {
    const bounds = [
      [20, 3.024],
      [30, 4.595],
      [45, 7.104],
      [60, 9.902],
    ] as const;
    for (const [angle, mrad] of bounds) {
      const bound = perfectRestraintRotation(angle * DEGREE, FORMULA_TEMPERATURE, 36 * KSI, E);
      expect(bound * 1000).toBeCloseTo(mrad, 2);
      expect(vee(angle, 0)).toBeLessThan(bound);
    }
    for (let t = 700; t <= 1200; t += 50) {
      expect(vee(45, 0, celsius(t))).toBeLessThanOrEqual(
        perfectRestraintRotation(45 * DEGREE, celsius(t), 36 * KSI, E),
      );
    }
  });

  it('grows about in proportion to the vee angle and with temperature (fhwa.dot.gov/bridge/steel/05.cfm)', () => {
    const ratio = vee(45, 0) / vee(20, 0);
    expect(Math.abs(ratio / (45 / 20) - 1)).toBeLessThan(0.01);
    expect(vee(45, 0, celsius(1100))).toBeLessThan(vee(45, 0));
    expect(vee(45, 0, celsius(100))).toBe(0);
  });

  it('a 45° vee at half the plastic moment turns about 5 to 7 mrad, unloaded 2 to 3 (from memory of published plots)', () => {
    expect(vee(45, 0.5) * 1000).toBeGreaterThan(5);
    expect(vee(45, 0.5) * 1000).toBeLessThan(7);
    expect(vee(45, 0) * 1000).toBeGreaterThan(2);
    expect(vee(45, 0) * 1000).toBeLessThan(3);
  });
});

describe('geometry', () => {
  it('open width 2·d·tan(θ/2)', () => {
    const table = [
      [8.99, [3.17, 4.818, 7.448, 10.38]],
      [10.5, [3.703, 5.627, 8.699, 12.12]],
      [12, [4.232, 6.431, 9.941, 13.86]],
    ] as const;
    for (const [depth, widths] of table) {
      widths.forEach((width, i) => {
        expect(Math.abs(openWidth([20, 30, 45, 60][i]! * DEGREE, depth) - width)).toBeLessThan(0.006);
      });
    }
  });
});
