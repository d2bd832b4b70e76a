import { describe, expect, it } from 'vitest';
import type { ScanLine } from '../../src/scan/line-frame.ts';
import { createRandom, type Random } from '../mechanics/random.ts';
import { takeAlone } from './taking.ts';

/** A strip of surface along x: height over y, with boards and growth off it. 2 mm noise. */
function strip(
  random: Random,
  half: number,
  height: (x: number, y: number) => number,
  hangs: number,
): Float64Array {
  const points: number[] = [];
  for (let x = -0.2; x < 12.2; x += 0.006) {
    for (let y = -half; y < half; y += 0.006) {
      if (random.uniform() < 0.3) continue;
      const z = height(x, y) + 0.002 * random.normal();
      // A board over a stretch, wider than half of the strip; growth elsewhere.
      const board = x > 5 && x < 5.12 && y > -0.6 * half;
      if (board) points.push(x, y, hangs + z);
      else if (random.uniform() < 0.06) points.push(x, y, z + hangs * random.uniform());
      else points.push(x, y, z);
    }
  }
  return Float64Array.from(points);
}

const take = (line: ScanLine, points: Float64Array) => takeAlone(line, 0.02, points, 0.0002);

const base: ScanLine = {
  name: 'line',
  kind: 'camber',
  from: [0, 0, 0.003],
  to: [12, 0, -0.002],
  units: 'si',
  stations: [0, 12],
  direction: [0, 0, 1],
  feature: 'face',
  edge: 'positive',
  across: null,
  reach: 0.3,
  band: [-0.13, 0.13],
  spacing: 0.25,
  slice: 0.15,
  extent: 0.3,
};
const rms = (values: readonly number[]) => Math.sqrt(values.reduce((s, v) => s + v * v, 0) / values.length);

describe('faces: camber, tilt, plumb', () => {
  const camber = (x: number) => 0.03 * Math.sin((Math.PI * x) / 12);
  const twist = (x: number) => 0.04 * Math.exp(-(((x - 7) / 1.5) ** 2));
  const height = (x: number, y: number) => camber(x) + Math.tan(twist(x)) * y;

  it('camber of a twisted flange within 1 mm, with a board and growth below it', () => {
    const profile = take(base, strip(createRandom('camber'), 0.15, height, -0.08));
    expect(profile.stations.length).toBeGreaterThan(45);
    const errors = profile.stations.map(
      (s) => s.offset + 0.003 - (0.005 * s.station) / 12 - camber(s.station),
    );
    expect(Math.max(...errors.map(Math.abs))).toBeLessThan(0.001);
    expect(rms(errors.map((e, i) => e / profile.stations[i]!.u))).toBeLessThan(1.4);
    expect(profile.rejected.jumps + profile.rejected.offSteel).toBeGreaterThan(1000);
  });

  it('flange tilt as the difference across its width, with the sign the set-up asks for', () => {
    const points = strip(createRandom('tilt'), 0.15, height, -0.08);
    const tilt = take({ ...base, kind: 'tilt', across: [0, 1, 0] }, points);
    const errors = tilt.stations.map((s) => s.offset - 0.3 * Math.tan(twist(s.station)));
    expect(Math.max(...errors.map(Math.abs))).toBeLessThan(0.0015);
    expect(rms(errors.map((e, i) => e / tilt.stations[i]!.u))).toBeLessThan(1.5);
    const other = take({ ...base, kind: 'tilt', across: [0, -1, 0] }, points);
    other.stations.forEach((s, i) => {
      expect(s.offset).toBeCloseTo(-tilt.stations[i]!.offset, 3);
    });
  });

  it('web plumb over its depth', () => {
    // The same strip stood on edge: y is up the web, z out of it.
    const lean = (x: number) => 0.02 * Math.sin((2 * Math.PI * x) / 12);
    const points = strip(createRandom('plumb'), 0.4, (x, y) => lean(x) * y, 0.1);
    const plumb = take(
      { ...base, kind: 'plumb', across: [0, 1, 0], band: [-0.36, 0.36], extent: 0.9 },
      points,
    );
    const errors = plumb.stations.map((s) => s.offset - 0.9 * lean(s.station));
    expect(plumb.stations.length).toBeGreaterThan(45);
    expect(Math.max(...errors.map(Math.abs))).toBeLessThan(0.0015);
  });
});
