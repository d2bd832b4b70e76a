import { describe, expect, it } from 'vitest';
import { assemble, createGrid, curvatureOf, factorize, internalForces, unitLoad, valueAt } from './beam.ts';

// Inches and kips here, as the published table has them: E = 29,000 ksi, I = 2,100 in⁴ (W24x76), L = 480 in.
const L = 480;
const EI = 29000 * 2100;
const grid = createGrid(L, 2);
const rigid = EI / grid.spacing ** 3;

function solver(supports: readonly number[]) {
  const springs = supports.map((station) => ({ station, stiffness: rigid }));
  return factorize(
    assemble(
      grid,
      grid.stations.map(() => EI),
      springs,
      0,
    ),
  );
}

const simple = solver([0, L]);

describe('beam on springs', () => {
  // AISC Steel Construction Manual, Table 3-23 (simple beam, concentrated load at centre; formula from memory).
  it.each([
    [120, 0.2600985],
    [180, 0.3458128],
    [240, 0.3783251],
  ])('deflects %d in along as the handbook under 10 kip at midspan', (x, y) => {
    const w = simple(unitLoad(grid, L / 2, 0).map((f) => 10 * f));
    expect(valueAt(grid, w, x) / y).toBeCloseTo(1, 4);
  });

  // AISC Table 3-23, concentrated load at any point: 10 kip at 160 in.
  it.each([
    [80, 0.1774859],
    [160, 0.2989236],
    [240, 0.322277],
    [320, 0.2615581],
  ])('deflects %d in along as the handbook under 10 kip at 160 in', (x, y) => {
    const w = simple(unitLoad(grid, 160, 0).map((f) => 10 * f));
    expect(valueAt(grid, w, x) / y).toBeCloseTo(1, 4);
  });

  // AISC Table 3-23, uniformly distributed load: 0.1 kip/in.
  it.each([
    [120, 0.80867, 3.5468e-5],
    [180, 1.050739, 4.4335e-5],
    [240, 1.134975, 4.72906e-5],
  ])('deflects and curves %d in along as the handbook under 0.1 kip/in', (x, y, curvature) => {
    const w = simple(grid.stations.map((_, i) => 0.1 * grid.spacing * (i === 0 || i === L / 2 ? 0.5 : 1)));
    expect(valueAt(grid, w, x) / y).toBeCloseTo(1, 4);
    expect(-valueAt(grid, curvatureOf(grid, w), x) / curvature).toBeCloseTo(1, 3);
  });

  // AISC Table 3-23, two equal spans, load at the centre of one: reactions 13/32, 11/16, −3/32 of the load (from memory).
  it('shares a load between three supports as the handbook', () => {
    const w = solver([0, L / 2, L])(unitLoad(grid, L / 4, 0));
    const reactions = [0, L / 2, L].map((x) => rigid * valueAt(grid, w, x));
    expect(reactions[0]).toBeCloseTo(13 / 32, 3);
    expect(reactions[1]).toBeCloseTo(11 / 16, 3);
    expect(reactions[2]).toBeCloseTo(-3 / 32, 3);
  });

  // A kink φ between held ends a and b away stands φ a b/(a + b) off: plane geometry.
  it.each([
    [0.03, 240, 3.6],
    [0.05, 300, 5.625],
  ])('an imposed kink of %d rad at %d in stands %d in off the chord', (angle, at, offset) => {
    const plastic = grid.stations.map((s) => (s === at ? -(EI * angle) / grid.spacing : 0));
    const w = simple(internalForces(grid, plastic));
    expect(valueAt(grid, w, at)).toBeCloseTo(offset, 5);
    expect(valueAt(grid, w, at / 2)).toBeCloseTo(offset / 2, 5);
  });

  it('refuses a beam that nothing holds', () => {
    expect(() => solver([])).toThrow(/not held/);
  });
});

describe('beam on an elastic bedding', () => {
  // Hetényi, Beams on Elastic Foundation (from memory): deflection P λ/(2k) and moment P/(4λ) under the load of a long beam.
  it('deflects P λ / 2k and bends P / 4λ under a point load', () => {
    const k = 0.5;
    const long = createGrid(4000, 2);
    const lambda = (k / (4 * EI)) ** 0.25;
    const w = factorize(
      assemble(
        long,
        long.stations.map(() => EI),
        [],
        k,
      ),
    )(unitLoad(long, 2000, 0));
    expect(valueAt(long, w, 2000) / (lambda / (2 * k))).toBeCloseTo(1, 3);
    expect((-EI * valueAt(long, curvatureOf(long, w), 2000)) / (1 / (4 * lambda))).toBeCloseTo(1, 2);
  });
});
