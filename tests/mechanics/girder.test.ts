import { describe, expect, it } from 'vitest';
import { valueAt } from './beam.ts';
import { type GirderOptions, simulateGirder } from './girder.ts';
import { randomGirder } from './population.ts';
import { createRandom } from './random.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const KSI = 6.894757293168361e6;

const bare: GirderOptions = {
  span: 40 * FOOT,
  flangeWidth: 12 * INCH,
  flangeThickness: 0.94 * INCH,
  yieldStress: 36 * KSI,
  hardening: 1e-5,
  diaphragms: [],
  impacts: [{ station: 20 * FOOT, patch: 0, set: 2 * INCH }],
};

const braced: GirderOptions = {
  ...bare,
  span: 62 * FOOT,
  hardening: 0.008,
  diaphragms: [15, 31, 47].map((feet) => ({ station: feet * FOOT, stiffness: 9e6 })),
  impacts: [{ station: 26 * FOOT, patch: 1 * FOOT, set: 4 * INCH }],
};

describe('simply supported girder', () => {
  const truth = simulateGirder(bare);

  it('takes the plastic collapse load 4 Mp / L at midspan (plastic theory, e.g. Neal; from memory)', () => {
    const collapse = (4 * truth.section.plasticModulus * bare.yieldStress) / bare.span;
    expect(truth.peakForces[0]! / collapse).toBeGreaterThan(0.99);
    expect(truth.peakForces[0]! / collapse).toBeLessThan(1.01);
  });

  it('yields over a third of the span: 1 − My/Mp of a rectangle (plastic theory, e.g. Neal; from memory)', () => {
    expect(truth.zones).toHaveLength(1);
    const { from, to, centre } = truth.zones[0]!;
    expect((to - from) / bare.span).toBeCloseTo(1 / 3, 1.6);
    expect(centre).toBeCloseTo(20 * FOOT, 3);
  });

  it('is left with the wished set and, nothing holding it, no moment: total curvature is plastic', () => {
    expect(valueAt(truth.grid, truth.profile, 20 * FOOT)).toBeCloseTo(2 * INCH, 3);
    const yieldMoment = (bare.yieldStress * truth.section.inertia) / truth.section.extreme;
    expect(Math.max(...truth.moment.map(Math.abs)) / yieldMoment).toBeLessThan(1e-4);
    expect(truth.zones[0]!.plasticRotation).toBeCloseTo(truth.zones[0]!.rotation, 5);
  });

  it('is straight outside the zone, its angle the sum of the two end slopes', () => {
    const slope = truth.displacement[1]! / truth.grid.spacing;
    expect(truth.zones[0]!.rotation).toBeCloseTo(-2 * slope, 6);
    expect(valueAt(truth.grid, truth.displacement, 5 * FOOT)).toBeCloseTo(5 * FOOT * slope, 6);
  });
});

describe('girder held by diaphragms', () => {
  const truth = simulateGirder(braced);

  it('is in equilibrium: forces and their moments sum to zero, moments follow from the reactions', () => {
    const total = truth.reactions.reduce((sum, r) => sum + r.force, 0);
    const size = Math.max(...truth.reactions.map((r) => Math.abs(r.force)));
    expect(size).toBeGreaterThan(1000);
    expect(Math.abs(total) / size).toBeLessThan(1e-6);
    const turning = truth.reactions.reduce((sum, r) => sum + r.force * r.station, 0);
    expect(Math.abs(turning) / (size * braced.span)).toBeLessThan(1e-6);
    const most = Math.max(...truth.moment.map(Math.abs));
    for (const station of [5, 12, 20, 26, 33, 40, 55]) {
      const x = station * FOOT;
      const statics = truth.reactions.reduce(
        (sum, r) => (r.station < x ? sum + r.force * (x - r.station) : sum),
        0,
      );
      // The beam's M = EI w″; a force up on the left turns it the same way.
      expect(Math.abs(valueAt(truth.grid, truth.moment, x) - statics) / most).toBeLessThan(0.02);
    }
  });

  it('bends away at the blow and back on both sides', () => {
    const blow = truth.zones.find((z) => z.from < 26 * FOOT && z.to > 26 * FOOT)!;
    expect(blow.rotation).toBeLessThan(0);
    expect(truth.zones.filter((z) => z.rotation > 0).length).toBeGreaterThanOrEqual(2);
    expect(blow.core.from).toBeGreaterThanOrEqual(blow.from);
    expect(blow.core.to).toBeLessThanOrEqual(blow.to);
    expect(Math.abs(blow.core.rotation)).toBeGreaterThan(0.9 * Math.abs(blow.rotation));
  });

  it('does not hang on the grid: half the spacing moves the shape by under 1 % and the rotations by under 2 %', () => {
    const fine = simulateGirder({ ...braced, grid: 0.75 * INCH });
    for (const station of [10, 20, 26, 35, 50]) {
      const a = valueAt(truth.grid, truth.profile, station * FOOT);
      const b = valueAt(fine.grid, fine.profile, station * FOOT);
      expect(Math.abs(a - b)).toBeLessThan(0.01 * 4 * INCH);
    }
    expect(fine.zones).toHaveLength(truth.zones.length);
    truth.zones.forEach((zone, i) => {
      const biggest = Math.max(...truth.zones.map((z) => Math.abs(z.rotation)));
      expect(Math.abs(zone.rotation - fine.zones[i]!.rotation)).toBeLessThan(0.02 * biggest);
    });
  });

  it('gives the mirror image for a blow from the other side', () => {
    const other = simulateGirder({
      ...braced,
      impacts: braced.impacts.map((i) => ({ ...i, set: -i.set })),
    });
    expect(other.zones.map((z) => z.rotation)).toEqual(
      truth.zones.map((z) => expect.closeTo(-z.rotation, 6)),
    );
  });
});

describe('population', () => {
  it('every girder drawn stands, reaches its set and is in equilibrium', () => {
    for (let i = 0; i < 12; i++) {
      const options = randomGirder(createRandom(`population/${i}`));
      const truth = simulateGirder(options);
      const last = options.impacts.at(-1)!;
      expect(truth.zones.length).toBeGreaterThan(0);
      // The set is of the patch's mean; the point in its middle stands a little further out.
      const share = valueAt(truth.grid, truth.displacement, last.station) / last.set;
      expect(share).toBeGreaterThan(0.97);
      expect(share).toBeLessThan(1.1);
      const size = Math.max(...truth.reactions.map((r) => Math.abs(r.force)));
      const total = truth.reactions.reduce((sum, r) => sum + r.force, 0);
      expect(Math.abs(total)).toBeLessThan(1e-5 * Math.max(size, 1));
    }
  });
});
