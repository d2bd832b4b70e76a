import { describe, expect, it } from 'vitest';
import { movements, springback } from '../../src/survey/movement.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { fitOf, triangle } from '../line-fit-builder.ts';

const zones = (rotation: number) => [{ zone: 'A', rotation, u: 0.0003 }];

describe('movement between judged surveys', () => {
  const fit = fitOf([
    { cycle: 0, shape: triangle(3), zones: zones(0.02) },
    { cycle: 1, shape: triangle(0.1), state: 'restrained', zones: zones(0.001) },
    { cycle: 1, shape: triangle(2.6), zones: zones(0.018) },
    { cycle: 2, shape: triangle(9), temperature: 200, zones: zones(0.06) },
    { cycle: 3, shape: triangle(2.2), zones: zones(0.015) },
  ]);

  it('leaves out restrained and hot surveys', () => {
    expect(movements(fit).map((m) => [m.fromCycle, m.toCycle])).toEqual([
      [0, 1],
      [1, 3],
    ]);
  });

  it('is the change of deviation at each station, with both uncertainties (JCGM 100:2008, 5.1.2)', () => {
    const [first] = movements(fit);
    const middle = first!.stations.find((s) => Math.abs(s.station - 30 * FOOT) < 1e-9)!;
    expect(middle.movement / INCH).toBeCloseTo(-0.4, 12);
    expect(middle.u).toBeCloseTo(Math.SQRT2 * 1.4 * (INCH / 32), 12);
    expect(first!.largest.movement / INCH).toBeCloseTo(-0.4, 12);
  });

  it('of a zone is the change of its rotation', () => {
    expect(movements(fit)[1]!.zones).toEqual([
      { zone: 'A', rotation: expect.closeTo(-0.003, 12), u: expect.closeTo(0.0003 * Math.SQRT2, 12) },
    ]);
  });

  it('is told only where both surveys were read', () => {
    const [before, after] = [fit.surveys[0]!, fit.surveys[2]!];
    const half = { ...after, stations: after.stations.filter((_, i) => i % 2 === 0) };
    const [only] = movements({ ...fit, surveys: [before, half] });
    expect(only!.stations).toHaveLength(half.stations.length);
  });
});

describe('springback', () => {
  it('is released minus restrained in one cycle, largest named', () => {
    const fit = fitOf([
      { cycle: 2, shape: triangle(0.4), state: 'restrained' },
      { cycle: 2, shape: triangle(1.1) },
      { cycle: 3, shape: triangle(1) },
    ]);
    const [back, ...more] = springback(fit);
    expect(more).toHaveLength(0);
    expect(back!.cycle).toBe(2);
    expect(back!.largest.station / FOOT).toBeCloseTo(30, 9);
    expect(back!.largest.springback / INCH).toBeCloseTo(0.7, 12);
  });
});
