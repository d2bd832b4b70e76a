import { describe, expect, it } from 'vitest';
import type { ScanLine } from '../../src/scan/line-frame.ts';
import {
  createRandom,
  edgeErrors,
  hardware,
  pickedLine,
  scanOf,
  shapeOf,
  struckGirder,
} from './scan-girder.ts';
import { type GirderShape, straightShape } from './synthetic-scanner.ts';
import { takeAlone } from './taking.ts';

/**
 * An edge taken alone, without the flange behind it (lines that are not sweep lines may ask for `"feature": "edge"`), held
 * against the same simulated girders as the flange is.
 */
const worst = (values: readonly number[]) => Math.max(...values.map(Math.abs));
const rms = (values: readonly number[]) => Math.sqrt(values.reduce((s, v) => s + v * v, 0) / values.length);

function take(shape: GirderShape, points: Float64Array) {
  const line: ScanLine = { ...pickedLine(shape), reach: 0.5, band: [-0.09, 0.09] };
  return takeAlone(line, shape.flangeThickness, points, 0.0003);
}

describe('an edge taken alone', () => {
  it('struck girder, clean: every station within 1 mm at 2 mm range noise, u neither too small nor idle', () => {
    const random = createRandom('clean 1');
    const shape = shapeOf(struckGirder(random));
    const profile = take(shape, scanOf(shape, random, { step: 0.0012 }));
    const errors = edgeErrors(profile, shape);
    expect(profile.unread).toEqual([]);
    expect(errors.length).toBe(Math.floor(shape.span / 0.3048 + 1e-9) + 1);
    expect(worst(errors.map((e) => e.error))).toBeLessThan(0.001);
    expect(rms(errors.map((e) => e.error))).toBeLessThan(0.0004);
    expect(rms(errors.map((e) => e.error / e.u))).toBeLessThan(1.3);
    expect(rms(errors.map((e) => e.error / e.u))).toBeGreaterThan(0.3);
  });

  it('struck girder with clamps, a jack, a column and growth: what is read is within 1 mm, the rest is named', () => {
    const random = createRandom('clutter 2');
    const shape = shapeOf(struckGirder(random));
    const boxes = hardware(shape, random);
    const growth = [{ from: 0.4 * shape.span, to: 0.6 * shape.span, chance: 0.25 }];
    const profile = take(shape, scanOf(shape, random, { boxes, growth, step: 0.0012 }));
    const errors = edgeErrors(profile, shape);
    expect(worst(errors.map((e) => e.error))).toBeLessThan(0.001);
    const stands = (s: number) => boxes.some((b) => b.y[1] > 0 && s > b.x[0] - 0.16 && s < b.x[1] + 0.16);
    for (const each of profile.unread)
      expect(stands(each.station) || /hidden|too few/.test(each.reason), each.reason).toBe(true);
    expect(errors.length).toBeGreaterThan(0.7 * (errors.length + profile.unread.length));
    expect(profile.rejected.jumps).toBeGreaterThan(0);
    expect(profile.rejected.offSteel).toBeGreaterThan(0);
  });

  it.each([
    [0.2, 0],
    [-0.3, 0.02],
  ])(
    'an edge that turns by %d rad at once, %d m off a station, is read there within 1.5 mm and 2.5 u',
    (angle, off) => {
      const at = 3.048 + off;
      const plain = straightShape(6);
      const centre = (x: number) => angle * (Math.max(0, x - at) - ((plain.span - at) * x) / plain.span);
      const shape = { ...plain, centre };
      const profile = take(shape, scanOf(shape, createRandom(`kink ${angle} ${off}`), { step: 0.0011 }));
      const near = edgeErrors(profile, shape).filter((each) => Math.abs(each.station - at) < 0.4);
      expect(near.length).toBeGreaterThan(1);
      for (const each of near) {
        expect(Math.abs(each.error)).toBeLessThan(0.0015);
        expect(Math.abs(each.error)).toBeLessThan(2.5 * each.u);
      }
    },
  );
});
