import { describe, expect, it } from 'vitest';
import { heatLimits } from '../../src/heats/heat-limits.ts';
import { proposeLayout } from '../../src/heats/layout.ts';
import { plannedVee } from '../../src/heats/planned-vee.ts';
import { zoneHeats } from '../../src/heats/zone-heats.ts';
import { fitWith, jobWith, zone } from './fixtures.ts';

const FOOT = 0.3048;
const job = jobWith();
const line = job.lines[0]!;
const limits = heatLimits('A36', job.member.flangeWidth, null);
const vee = plannedVee(job, limits);

function layoutFor(zones: ReturnType<typeof zone>[], u = 1e-5) {
  const fit = fitWith(zones, [{ cycle: 0, rotations: zones.map((z) => z.rotation), u }]);
  return proposeLayout(
    line,
    job.member,
    fit,
    zoneHeats(job, line, fit, null, [], limits, null),
    vee,
    limits,
    20,
    'us',
  );
}

describe('layout of the next vees', () => {
  it('the planned vee keeps inside the limits: 12 in deep, open end at most 10 in, so 45° (9.94 in)', () => {
    expect(vee.angle).toBeCloseTo(Math.PI / 4, 12);
    expect(vee.openWidth / 0.0254).toBeCloseTo(9.941, 2);
  });

  it('a bulge toward + gets its open end on the + side (apex −): the convex side is shortened', () => {
    const out = layoutFor([zone('A', 29 * FOOT, 33 * FOOT, -0.04)]);
    expect(out.vees.length).toBeGreaterThan(0);
    for (const v of out.vees) expect(v.apex).toBe('negative');
    for (const v of layoutFor([zone('A', 29 * FOOT, 33 * FOOT, 0.04)]).vees) expect(v.apex).toBe('positive');
  });

  it('keeps the spacing and stays inside the zones', () => {
    const zones = [
      zone('A', 20 * FOOT, 24.7 * FOOT, 0.03),
      zone('B', 29 * FOOT, 33 * FOOT, -0.06),
      zone('C', 33.4 * FOOT, 36 * FOOT, 0.04),
    ];
    const out = layoutFor(zones);
    const stations = out.vees.map((v) => v.station);
    expect(stations.length).toBeGreaterThan(4);
    for (let i = 1; i < stations.length; i++)
      expect(stations[i]! - stations[i - 1]!).toBeGreaterThan(12 * 0.0254 - 1e-6);
    for (const v of out.vees) {
      const z = zones.find((each) => each.zone === v.zone)!;
      expect(v.station).toBeGreaterThanOrEqual(z.from - 1e-9);
      expect(v.station).toBeLessThanOrEqual(z.to + 1e-9);
    }
  });

  it('predicts φ·a·b/(a + b) less at the bend for one vee in a short zone (from statics of held ends)', () => {
    const z = zone('A', 30.9 * FOOT, 31.1 * FOOT, -0.02);
    const out = layoutFor([z]);
    expect(out.vees).toHaveLength(1);
    const gone = out.largestBefore - out.largestAfter;
    const expected = (out.vees[0]!.rotation * 31 * FOOT * 31) / 62;
    expect(Math.abs(gone / expected - 1)).toBeLessThan(0.01);
  });

  it('stands vees in the core of a zone that is bent sharply in its middle and hardly at its edges', () => {
    const core = { centre: 24 * FOOT, spread: 0.5 * FOOT, from: 23.2 * FOOT, to: 24.7 * FOOT };
    const out = layoutFor([zone('A', 20 * FOOT, 25 * FOOT, -0.06, { core })]);
    expect(out.vees.length).toBeGreaterThan(0);
    for (const v of out.vees) {
      expect(v.station).toBeGreaterThanOrEqual(core.from);
      expect(v.station).toBeLessThanOrEqual(core.to);
    }
  });

  // 12 in is 304.8 mm; chalked to the centimetre two vees 305 mm apart stood 300 mm apart on the card.
  it('keeps the spacing as it is chalked and written down', () => {
    const z = zone('A', 9.004, 10.871, -0.06);
    const fit = fitWith([z], [{ cycle: 0, rotations: [z.rotation], u: 1e-5 }]);
    const heats = zoneHeats(job, line, fit, null, [], limits, null);
    for (const [units, chalk] of [
      ['si', 0.01],
      ['us', 0.0127],
    ] as const) {
      const { vees } = proposeLayout(line, job.member, fit, heats, vee, limits, 20, units);
      expect(vees.length).toBeGreaterThan(3);
      const marks = vees.map(({ station }) => Math.round(station / chalk));
      vees.forEach((_, i) => {
        if (i > 0)
          expect((marks[i]! - marks[i - 1]!) * chalk).toBeGreaterThanOrEqual(limits.spacing.value - 1e-9);
      });
    }
  });

  it('always leaves the residual shape smaller, and never worse than no heat', () => {
    for (const [a, b, c] of [
      [0.03, -0.06, 0.03],
      [0.01, -0.05, 0.004],
      [-0.02, -0.02, 0.01],
    ] as const) {
      const out = layoutFor([
        zone('A', 15 * FOOT, 17 * FOOT, a),
        zone('B', 29 * FOOT, 33 * FOOT, b),
        zone('C', 46 * FOOT, 48 * FOOT, c),
      ]);
      expect(out.largestAfter).toBeLessThan(out.largestBefore);
    }
  });

  it('takes a bulge out together with the counter-bends beside it where one or two vees gain nothing', () => {
    const zones = [
      zone('A', 22.8 * FOOT, 24.4 * FOOT, 0.015),
      zone('B', 28.4 * FOOT, 29.8 * FOOT, -0.03),
      zone('C', 35.4 * FOOT, 37.4 * FOOT, 0.015),
    ];
    const fit = fitWith(zones, [{ cycle: 0, rotations: zones.map((z) => z.rotation), u: 1e-5 }]);
    // Jacked at B: one heat there turns so much that alone it would only move the bend elsewhere.
    const heats = zoneHeats(job, line, fit, null, [], limits, null).map((z) =>
      z.zone === 'B' ? { ...z, planned: 6e-3 } : z,
    );
    for (const most of [1, 2])
      expect(proposeLayout(line, job.member, fit, heats, vee, limits, most, 'us').vees).toEqual([]);
    const four = proposeLayout(line, job.member, fit, heats, vee, limits, 4, 'us');
    expect(new Set(four.vees.map((v) => v.zone)).size).toBeGreaterThan(1);
    expect(four.largestAfter).toBeLessThan(0.7 * four.largestBefore);
  });

  it('proposes nothing where less than half a heat is left, or the readings do not see a bend', () => {
    expect(layoutFor([zone('A', 30.9 * FOOT, 31.1 * FOOT, -0.001)]).vees).toEqual([]);
    expect(layoutFor([zone('A', 30 * FOOT, 32 * FOOT, -0.01)], 0.006).vees).toEqual([]);
  });
});
