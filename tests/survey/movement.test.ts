import { describe, expect, it } from 'vitest';
import { movements, springback, springbackFindings } from '../../src/survey/movement.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { fitOf, LINE, triangle } from '../line-fit-builder.ts';

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
    expect(movements(LINE, fit).map((m) => [m.fromCycle, m.toCycle])).toEqual([
      [0, 1],
      [1, 3],
    ]);
  });

  it('is the change of deviation at each station, with both uncertainties (JCGM 100:2008, 5.1.2)', () => {
    const [first] = movements(LINE, fit);
    const middle = first!.stations.find((s) => Math.abs(s.station - 30 * FOOT) < 1e-9)!;
    expect(middle.movement / INCH).toBeCloseTo(-0.4, 12);
    expect(middle.u).toBeCloseTo(Math.SQRT2 * 1.4 * (INCH / 32), 12);
    expect(first!.largest.movement / INCH).toBeCloseTo(-0.4, 12);
  });

  it('of a zone is the change of its rotation', () => {
    expect(movements(LINE, fit)[1]!.zones).toEqual([
      { zone: 'A', rotation: expect.closeTo(-0.003, 12), u: expect.closeTo(0.0003 * Math.SQRT2, 12) },
    ]);
  });

  it('is told only where both surveys were read', () => {
    const [before, after] = [fit.surveys[0]!, fit.surveys[2]!];
    const half = { ...after, stations: after.stations.filter((_, i) => i % 2 === 0) };
    const [only] = movements(LINE, { ...fit, surveys: [before, half] });
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
    const [back, ...more] = springback(LINE, fit);
    expect(more).toHaveLength(0);
    expect(back!.cycle).toBe(2);
    expect(back!.largest.station / FOOT).toBeCloseTo(30, 9);
    expect(back!.largest.springback / INCH).toBeCloseTo(0.7, 12);
  });
});

describe('springback that cannot be told', () => {
  it('of jacks-on readings over the bend alone there is no number, and the cycle is named', () => {
    const fit = fitOf([
      { cycle: 0, shape: triangle(3) },
      { cycle: 1, shape: triangle(0.4), state: 'restrained' },
      { cycle: 1, shape: triangle(1.1) },
    ]);
    const [asFound, on, off] = fit.surveys;
    const bend = on!.stations.filter((s) => Math.abs(s.station - 30 * FOOT) < 7 * FOOT);
    const part = { ...fit, surveys: [asFound!, { ...on!, stations: bend }, off!] };
    expect(springback(LINE, fit)).toHaveLength(1);
    expect(springback(LINE, part)).toEqual([]);
    const [said, ...more] = springbackFindings(LINE, part, 'us');
    expect(more).toEqual([]);
    expect(said!.message).toMatch(/springback of cycle 1 cannot be told: .*read the bend and both ends/);
  });

  it('nor where the string is loose by more than the number is worth', () => {
    const fit = fitOf([
      { cycle: 0, shape: triangle(3) },
      { cycle: 1, shape: triangle(0.4), state: 'restrained', u: 8 },
      { cycle: 1, shape: triangle(1.1) },
    ]);
    expect(springback(LINE, fit)).toEqual([]);
    expect(springbackFindings(LINE, fit, 'us')[0]!.message).toMatch(/loose by ± .* in: read both ends/);
  });
});
