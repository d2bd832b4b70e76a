import { describe, expect, it } from 'vitest';
import { secondDifference } from '../../src/maths/second-difference.ts';
import { degreeOfDamage, degreeOfDamageU } from '../../src/zones/degree-of-damage.ts';
import { pointCurvatures } from '../../src/zones/point-curvature.ts';

// No worked example of the angle of bend, the second difference or the strain ratio was found in print: two searches of
// public text in November 2026 gave the FHWA guide and manual and the AISC paper in their opening pages only, without one.
// So the formulas are held against shapes with a known answer (beam tables, parabolas, circles), each marked where from memory.

describe('three-point curvature', () => {
  // AISC Manual Table 3-23 (formulas from memory, self-derivable): E 29,000 ksi, I 2,100 in⁴, L 480 in.
  const EI = 29000 * 2100;
  const L = 480;
  const pointLoad = (x: number) => {
    const s = x <= L / 2 ? x : L - x;
    return (10 * s * (3 * L * L - 4 * s * s)) / (48 * EI);
  };
  const uniform = (x: number) => (0.1 * x * (L ** 3 - 2 * L * x * x + x ** 3)) / (24 * EI);
  const at = (y: (x: number) => number, x: number, h: number) =>
    -secondDifference([x - h, x, x + h], [y(x - h), y(x), y(x + h)]);

  it('is exact on a cubic: M/EI under a point load, 1.47783e-5 /in at x = 180 for h = 24 and 60', () => {
    expect(at(pointLoad, 180, 24)).toBeCloseTo(1.477833e-5, 10);
    expect(at(pointLoad, 180, 60)).toBeCloseTo(1.477833e-5, 10);
  });

  it('reads low by w·h²/(12·EI) on a uniform load', () => {
    expect(at(uniform, 240, 24)).toBeCloseTo(4.729064e-5 - (0.1 * 24 ** 2) / (12 * EI), 12);
    expect(at(uniform, 240, 60)).toBeCloseTo(4.679803e-5, 10);
  });

  it('averages at a point load, and at a pure kink gives angle over spacing: spacing, not steel, sets the answer', () => {
    expect(at(pointLoad, 240, 24)).toBeCloseTo(1.904762e-5, 10);
    expect(at(pointLoad, 240, 60)).toBeCloseTo(1.80624e-5, 10);
    const kink = (x: number) => Math.max(0, x - 100) * 0.03;
    for (const h of [12, 24, 60])
      expect(
        secondDifference([100 - h, 100, 100 + h], [kink(100 - h), kink(100), kink(100 + h)]),
      ).toBeCloseTo(0.03 / h, 12);
  });

  it('is zero on every straight line and exact on parabolas at uneven spacing', () => {
    for (const [a, b, c] of [
      [0, 300, 1000],
      [1150, 2600, 4000],
      [-3, 0.1, 0.2],
    ] as const) {
      expect(secondDifference([a, b, c], [2 + 3 * a, 2 + 3 * b, 2 + 3 * c])).toBeCloseTo(0, 10);
      expect(secondDifference([a, b, c], [a * a, b * b, c * c])).toBeCloseTo(2, 10);
    }
  });

  it('gives 1/R near the middle of a circle (exact circle geometry: R 1000, h 24)', () => {
    const R = 1000;
    const y = (x: number) => Math.sqrt(R * R - x * x);
    expect(at(y, 0, 24) * R).toBeCloseTo(1 + 24 ** 2 / (4 * R * R), 6);
  });

  it('u = √6·σ/h² (GUM 5.1.2): 1/16-in rounding, h = 12 in gives 3.0690e-4 /in', () => {
    const sd = 0.0625 / Math.sqrt(12);
    const stations = [0, 12, 24].map((station) => ({ station, y: 0, sd, count: 1, setAside: false }));
    expect(pointCurvatures(stations, 1)[0]!.u).toBeCloseTo(3.069e-4, 8);
  });
});

describe('strain ratio', () => {
  // FHWA-IF-99-004 / FHWA-IF-08-999 (formula from memory): μ = |second difference|/h²·(b/2)·E/Fy. E 29,000 ksi.
  const cases: [string, [number, number, number], number, number, number, number][] = [
    ['W24x76 flange, 36 ksi', [4, 4.5, 4.125], 12, 8.99, 36, 22.0],
    ['W24x76 flange, 50 ksi', [1.25, 2, 1.5], 6, 8.99, 50, 90.52],
    ['W36x150 flange, 36 ksi', [3, 3.375, 3], 12, 12, 36, 25.17],
    ['W33x130 flange, 36 ksi', [2.5, 3.25, 2.75], 12, 11.5, 36, 40.21],
    ['W30x99 flange, 50 ksi', [5, 5.5, 5.625], 12, 10.5, 50, 7.93],
    ['W27x94 flange, 33 ksi', [0.5, 0.75, 0.5], 24, 9.99, 33, 3.81],
    ['W21x62 flange, 36 ksi', [2, 2.875, 2], 3, 8.24, 36, 645.3],
    ['W36x150 flange, 50 ksi', [6, 7.5, 6.75], 6, 12, 50, 217.5],
  ];
  for (const [name, y, h, width, fy, wanted] of cases)
    it(`${name}: ${wanted}`, () => {
      const stations = y.map((offset, i) => ({
        station: i * h,
        y: offset,
        sd: 0.05,
        count: 1,
        setAside: false,
      }));
      const [middle] = pointCurvatures(stations, fy / 29000 / (width / 2));
      expect(Math.abs(middle!.strainRatio / wanted - 1)).toBeLessThan(6e-4);
    });
});

describe('degree of damage from offsets on straight reaches', () => {
  // FHWA-IF-99-004 / FHWA-IF-08-999 (formula from memory); inches.
  const cases: [[number, number, number], [number, number, number], number][] = [
    [[0, 2.5, 120], [3, 0.25, 132], 0.0416606],
    [[0.125, 1.625, 96], [2, 0.5, 72], 0.036454],
    [[0, 4.25, 240], [4.25, 0, 240], 0.035413],
    [[1, 5.5, 180], [6.25, 0.625, 150], 0.0624772],
    [[0, 0.5, 48], [0.5, 0, 48], 0.0208326],
  ];
  for (const [[y1, y2, l12], [y3, y4, l34], wanted] of cases)
    it(`${wanted} rad`, () => {
      expect(degreeOfDamage({ y1, y2, length: l12 }, { y3, y4, length: l34 })).toBeCloseTo(wanted, 6);
    });

  it('u at L = 120 in with 1/16-in rounding: 3.007e-4 rad', () => {
    const u = 0.0625 / Math.sqrt(12);
    expect(degreeOfDamageU([u, u, u, u], 120, 120)).toBeCloseTo(3.007e-4, 7);
  });
});
