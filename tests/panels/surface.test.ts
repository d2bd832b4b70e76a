import { describe, expect, it } from 'vitest';
import { dampedQr } from '../../src/maths/damped-qr.ts';
import { Qr } from '../../src/maths/qr.ts';
import { seededNormal, seededUniform } from '../../src/maths/seeded.ts';
import { fitSurface, type PanelPoint, type PanelShape } from '../../src/panels/surface.ts';
import { clampedPlate, dent } from './plates.ts';

const ALL: PanelShape = { width: 1.5, height: 1, held: ['bottom', 'top', 'from', 'to'] };
const FLANGES: PanelShape = { ...ALL, held: ['bottom', 'top'] };

function readings(
  nx: number,
  ny: number,
  truth: (x: number, y: number) => number,
  sd: number,
  seed = 1,
  skip: (x: number, y: number) => boolean = () => false,
): PanelPoint[] {
  const normal = seededNormal(seededUniform(seed));
  const points: PanelPoint[] = [];
  for (let j = 0; j <= ny; j++) {
    for (let i = 0; i <= nx; i++) {
      const [x, y] = [i / nx, j / ny];
      const z = truth(x, y) + sd * normal();
      if (!skip(x, y)) points.push({ x, y, z, sd });
    }
  }
  return points;
}

describe('the plate under the fit is a real one', () => {
  it('agrees with the table of clamped rectangular plates under uniform load', () => {
    // Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, table 35: α of w = α·q·a⁴/D (square SEEN in references H
    // as from memory; 1.5 to 1 from memory). The net's error is of order 1/24².
    expect(clampedPlate(1).middle).toBeCloseTo(0.00126, 4);
    expect(Math.abs(clampedPlate(1).middle / 0.00126 - 1)).toBeLessThan(0.03);
    expect(Math.abs(clampedPlate(1.5).middle / 0.0022 - 1)).toBeLessThan(0.03);
  });
});

describe('fitSurface', () => {
  const plate = clampedPlate(1.5);
  const shape = (x: number, y: number) => plate.value(x, y) / plate.middle;

  it('gives the crest of a clamped plate on grids of twelfths and of sixths', () => {
    for (const [nx, ny] of [
      [18, 12],
      [9, 6],
    ] as const) {
      const fit = fitSurface(
        readings(nx, ny, (x, y) => 0.05 * shape(x, y), 0.0008),
        ALL,
      );
      const { value, u } = fit.bulge(0.5, 0.5);
      expect(Math.abs(value - 0.05)).toBeLessThan(2.5 * u);
      expect(u).toBeLessThan(0.0015);
    }
  });

  it('gives the curvature at the middle of a clamped plate', () => {
    const size = 0.02 / plate.middle;
    const true_ = plate.curvature(plate.nx / 2, plate.ny / 2);
    const fit = fitSurface(
      readings(24, 16, (x, y) => 0.02 * shape(x, y), 0.0003),
      ALL,
    );
    const { along, up } = fit.bending(0.5, 0.5);
    expect(Math.abs(along.value - size * true_.along)).toBeLessThan(
      Math.max(2.5 * along.u, 0.1 * Math.abs(size * true_.along)),
    );
    expect(Math.abs(up.value - size * true_.up)).toBeLessThan(
      Math.max(2.5 * up.u, 0.1 * Math.abs(size * true_.up)),
    );
  });

  it('calls a flat panel flat, however far it sways, twists and bows with its flange', () => {
    // 2 in of sway, 1 in of twist and a bottom flange bowed by 3/4 in: all of it taken off.
    const sway = (x: number, y: number) =>
      0.0508 * (1 - y) + 0.0254 * x * y + 0.019 * 4 * x * (1 - x) * (1 - y);
    for (const held of [ALL, FLANGES]) {
      const fit = fitSurface(readings(12, 8, sway, 0.0008, 5), held);
      for (const x of [0.2, 0.5, 0.8]) {
        for (const y of [0.2, 0.5, 0.8]) {
          const { value, u } = fit.bulge(x, y);
          expect(Math.abs(value)).toBeLessThan(Math.max(3 * u, 0.0015));
        }
      }
      expect(fit.bow('bottom', 0.5).value).toBeCloseTo(0.019, 2);
      expect(fit.reference(0.5, 0).value - fit.reference(0.5, 1).value).toBeCloseTo(
        0.0508 + 0.019 - 0.0127,
        2,
      );
    }
  });

  it('is the same fit whatever the set-up of the survey was', () => {
    const truth = (x: number, y: number) => 0.03 * dent(x, y, 0.6, 0.45, 0.3, 1.5);
    const points = readings(12, 8, truth, 0.0008, 3);
    const tilted = points.map((p) => ({ ...p, z: p.z + 0.4 + 0.08 * p.x - 0.03 * p.y + 0.02 * p.x * p.y }));
    const [a, b] = [fitSurface(points, ALL), fitSurface(tilted, ALL)];
    for (const [x, y] of [
      [0.6, 0.45],
      [0.2, 0.8],
    ] as const)
      expect(b.bulge(x, y).value).toBeCloseTo(a.bulge(x, y).value, 5);
  });

  it('knows less in a hole than beside it, and its doubt covers what is there', () => {
    const truth = (x: number, y: number) => 0.05 * dent(x, y, 0.5, 0.5, 0.4, 1.5);
    const hole = (x: number, y: number) => Math.abs(x - 0.5) < 0.13 && Math.abs(y - 0.5) < 0.2;
    const fit = fitSurface(readings(18, 12, truth, 0.0008, 2, hole), ALL);
    const inside = fit.bulge(0.5, 0.5);
    expect(inside.u).toBeGreaterThan(3 * fit.bulge(0.25, 0.5).u);
    expect(Math.abs(inside.value - 0.05)).toBeLessThan(3 * inside.u);
  });

  it('mirrored, turned readings give the mirrored answer', () => {
    const truth = (x: number, y: number) => 0.03 * dent(x, y, 0.3, 0.4, 0.35, 1.5);
    const points = readings(10, 7, truth, 0.0008, 8);
    const mirrored = points.map((p) => ({ ...p, x: 1 - p.x, z: -p.z }));
    const [a, b] = [fitSurface(points, FLANGES), fitSurface(mirrored, FLANGES)];
    expect(b.bulge(0.7, 0.4).value).toBeCloseTo(-a.bulge(0.3, 0.4).value, 6);
    expect(b.bulge(0.7, 0.4).u).toBeCloseTo(a.bulge(0.3, 0.4).u, 6);
  });
});

describe('dampedQr', () => {
  it('is the full factorization of the stacked equations', () => {
    const normal = seededNormal(seededUniform(11));
    const m = 7;
    const upper = Array.from({ length: m }, (_, j) => Float64Array.from({ length: j + 1 }, () => normal()));
    const right = Float64Array.from({ length: m }, () => normal());
    const sds = Array.from({ length: m }, (_, j) => 0.3 + j);
    const full = new Qr(2 * m);
    upper.forEach((column, j) => {
      const longer = new Float64Array(2 * m);
      longer.set(column);
      longer[m + j] = 1 / sds[j]!;
      full.push(longer);
    });
    const turned = new Float64Array(2 * m);
    turned.set(right);
    full.apply(turned);
    const damped = dampedQr(upper, right, sds);
    full.solve(turned).forEach((c, j) => {
      expect(damped.coefficients[j]).toBeCloseTo(c, 12);
    });
    expect(damped.logDeterminant).toBeCloseTo(full.logDeterminant(), 12);
    const whole = full.unscaledCovariance();
    const inverse = damped.inverseUpper();
    for (let a = 0; a < m; a++)
      for (let b = 0; b < m; b++) {
        let sum = 0;
        for (let k = Math.max(a, b); k < m; k++) sum += inverse[a]![k]! * inverse[b]![k]!;
        expect(sum).toBeCloseTo(whole[a]![b]!, 12);
      }
  });
});
