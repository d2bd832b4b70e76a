import { describe, expect, it } from 'vitest';
import { bendCore } from '../../src/zones/bend-core.ts';
import { type ZoneShape, zoneDeflection, zoneTo } from '../../src/zones/separate/shape.ts';
import { coreOf as zoneCore } from '../../src/zones/separate/stretches.ts';
import { yieldingOf } from '../../src/zones/separate/yielding.ts';

/** Slices of a curvature given as a function, `count` of them. */
function coreOf(from: number, to: number, count: number, curvature: (x: number) => number) {
  const width = (to - from) / count;
  const middle = Array.from({ length: count }, (_, i) => from + (i + 0.5) * width);
  return bendCore(from, to, middle, Array(count).fill(width), middle.map(curvature));
}

describe('core of a bend', () => {
  // Standard uncertainty of a rectangular distribution of width 2a is a/√3: JCGM 100:2008, 4.3.7.
  it('of an evenly bent zone is the zone, however finely or coarsely it is cut', () => {
    for (const count of [1, 2, 7, 100])
      for (const k of [0.01, -0.04]) {
        const core = coreOf(9, 12, count, () => k);
        expect(core.from).toBeCloseTo(9, 12);
        expect(core.to).toBeCloseTo(12, 12);
        expect(core.centre).toBeCloseTo(10.5, 12);
        expect(core.spread).toBeCloseTo(1.5 / Math.sqrt(3), 12);
      }
  });

  // Centroid (a + b + c)/3 and radius of gyration √((a² + b² + c² − ab − ac − bc)/18) of a triangle: tables of plane areas.
  it('of a triangle of curvature is its middle two thirds, about its centroid', () => {
    const [a, b, c] = [4, 10, 5.5];
    const core = coreOf(a, b, 3000, (x) => (x < c ? (x - a) / (c - a) : (b - x) / (b - c)));
    expect(core.centre).toBeCloseTo((a + b + c) / 3, 5);
    expect(core.spread).toBeCloseTo(Math.sqrt((a * a + b * b + c * c - a * b - a * c - b * c) / 18), 5);
    expect(core.from).toBeCloseTo(a + (c - a) / 3, 2);
    expect(core.to).toBeCloseTo(b - (b - c) / 3, 2);
  });

  // Second moment-area theorem: beyond the bend the tangent passes through the centroid of the curvature
  // (Gere & Timoshenko, Mechanics of Materials, moment-area method; from memory).
  it('of a separate zone is centred where the straight steel on either side would meet', () => {
    const zone: ZoneShape = {
      peak: 10,
      left: 0.6,
      right: 2.1,
      over: 0.9,
      patch: 0.3,
      anchor: 'none',
      about: 10,
      sign: 1,
      steel: yieldingOf(0.008),
    };
    for (const patch of [0, 0.3]) {
      const one = { ...zone, patch };
      const core = zoneCore([one], [-0.05], [0]);
      const beyond = zoneTo(one) + 1;
      expect(Math.abs(core.centre - (beyond - zoneDeflection(one, beyond)))).toBeLessThan(2e-3);
      expect(core.from).toBeGreaterThan(zone.peak - zone.left);
      expect(core.to).toBeLessThan(zone.peak + zone.right);
    }
  });
});
