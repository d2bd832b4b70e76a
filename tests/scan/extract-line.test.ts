import { describe, expect, it } from 'vitest';
import {
  createRandom,
  edgeErrors,
  hardware,
  pickedLine,
  scanOf,
  shapeOf,
  struckGirder,
  takeLine,
} from './scan-girder.ts';
import { straightShape } from './synthetic-scanner.ts';

/**
 * Truth: girders of the mechanics simulation in front of a synthetic scanner that knows nothing of the extraction.
 * Range noise 2 mm; the target is every station within 1 mm.
 */
const worst = (values: readonly number[]) => Math.max(...values.map(Math.abs));
const rms = (values: readonly number[]) => Math.sqrt(values.reduce((s, v) => s + v * v, 0) / values.length);

describe('flange edge from a scan', () => {
  for (const seed of [1, 2]) {
    it(`struck girder ${seed}, clean: every station within 1 mm at 2 mm range noise`, () => {
      const random = createRandom(`clean ${seed}`);
      const truth = struckGirder(random);
      const shape = shapeOf(truth);
      const profile = takeLine(pickedLine(shape), shape, scanOf(shape, random));
      const errors = edgeErrors(profile, shape);
      expect(profile.unread).toEqual([]);
      expect(errors.length).toBe(Math.floor(shape.span / 0.3048 + 1e-9) + 1);
      expect(worst(errors.map((e) => e.error))).toBeLessThan(0.001);
      expect(rms(errors.map((e) => e.error))).toBeLessThan(0.0004);
      // The stated uncertainty is neither too small nor idle.
      expect(rms(errors.map((e) => e.error / e.u))).toBeLessThan(1.3);
      expect(rms(errors.map((e) => e.error / e.u))).toBeGreaterThan(0.3);
    });

    it(`struck girder ${seed} with clamps, a jack, a column and growth: what is read is within 1 mm, the rest is named`, () => {
      const random = createRandom(`clutter ${seed}`);
      const truth = struckGirder(random);
      const shape = shapeOf(truth);
      const boxes = hardware(shape, random);
      const growth = [{ from: 0.4 * shape.span, to: 0.6 * shape.span, chance: 0.25 }];
      const profile = takeLine(pickedLine(shape), shape, scanOf(shape, random, { boxes, growth }));
      const errors = edgeErrors(profile, shape);
      expect(worst(errors.map((e) => e.error))).toBeLessThan(0.001);
      // Stations may be lost only where something stands within the slice or next to it.
      const stands = (s: number) => boxes.some((b) => b.y[1] > 0 && s > b.x[0] - 0.16 && s < b.x[1] + 0.16);
      for (const each of profile.unread) {
        expect(
          stands(each.station) || /hidden|too few/.test(each.reason),
          `${each.station}: ${each.reason}`,
        ).toBe(true);
      }
      expect(errors.length).toBeGreaterThan(0.7 * (errors.length + profile.unread.length));
      expect(profile.rejected.jumps).toBeGreaterThan(0);
      expect(profile.rejected.offSteel).toBeGreaterThan(0);
    });
  }

  // An ideal kink, all at once: sharper than a heat-straightened or struck flange has it, whose zones are a hand or more long.
  it.each([
    [0.1, 0],
    [0.2, 0],
    [0.3, 0.05],
    [-0.2, 0],
    [-0.3, 0.02],
  ])(
    'an edge that turns by %d rad at once, %d m off a station, is read there within 1.5 mm and 2.5 u',
    (angle, off) => {
      const at = 3.048 + off;
      const plain = straightShape(6);
      const centre = (x: number) => angle * (Math.max(0, x - at) - ((plain.span - at) * x) / plain.span);
      const shape = { ...plain, centre };
      const points = scanOf(shape, createRandom(`kink ${angle} ${off}`), { step: 0.0011 });
      const profile = takeLine(pickedLine(shape), shape, points);
      const near = edgeErrors(profile, shape).filter((each) => Math.abs(each.station - at) < 0.4);
      expect(near.length).toBeGreaterThan(1);
      for (const each of near) {
        expect(Math.abs(each.error)).toBeLessThan(0.0015);
        expect(Math.abs(each.error)).toBeLessThan(2.5 * each.u);
      }
      const bend = profile.stations.find((each) => Math.abs(each.station - 3.048) < 0.01)?.sharpBend;
      if (Math.abs(angle) > 0.15) expect(Math.abs(bend! / angle - 1)).toBeLessThan(0.25);
    },
  );

  it('accounts for every point once', () => {
    const random = createRandom('count');
    const shape = shapeOf(struckGirder(random));
    const points = scanOf(shape, random, { step: 0.002 });
    const profile = takeLine(pickedLine(shape), shape, points);
    const { outsideWindow, ...inside } = profile.rejected;
    const rejected = Object.values(inside).reduce((a, b) => a + b, 0);
    expect(rejected + outsideWindow).toBeLessThanOrEqual(points.length / 3);
  });

  it('gives the same answer twice, and the same in millimetres and turned axes', () => {
    const random = createRandom('axes');
    const shape = shapeOf(struckGirder(random));
    const points = scanOf(shape, random, { step: 0.002 });
    const line = pickedLine(shape);
    const once = takeLine(line, shape, points);
    expect(takeLine(line, shape, points)).toEqual(once);
    // z, x, y order, far from the origin as site coordinates are.
    const turn = (p: readonly [number, number, number]) => [p[2] + 1e4, p[0] - 5e4, p[1]] as const;
    const turned = new Float64Array(points.length);
    for (let i = 0; i < points.length; i += 3)
      turned.set(turn([points[i]!, points[i + 1]!, points[i + 2]!]), i);
    const moved = takeLine(
      {
        ...line,
        from: turn(line.from),
        to: turn(line.to),
        direction: [line.direction[2], line.direction[0], line.direction[1]],
      },
      shape,
      turned,
    );
    expect(moved.stations.length).toBe(once.stations.length);
    const drift = moved.stations.map((s, i) => s.offset - once.stations[i]!.offset);
    // Rounding to 4-byte numbers puts a point in or out of a slice here and there, and a rule about how many then takes
    // one slice more or less: a station may move by a fraction of its sd, the others hardly.
    expect(drift.filter((d) => Math.abs(d) < 2e-5).length).toBeGreaterThan(0.95 * drift.length);
    expect(worst(drift.map((d, i) => d / once.stations[i]!.u))).toBeLessThan(0.25);
  });
});
