import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/input-error.ts';
import { mapBulge } from '../../src/scan/bulge-map.ts';
import type { PanelSpec } from '../../src/scan/panel.ts';
import { createRandom } from '../mechanics/random.ts';
import { dent, halfWaves, type PanelTruth, panelPoints } from './panel-cloud.ts';
import { feed as feedColumns } from './taking.ts';

/** Target: amplitude within 5 % at 2 mm range noise, with growth, a cable, a plate and leaning corners in the way. */
const cases: [string, PanelTruth, number][] = [
  ['one half wave over the whole panel', halfWaves(1.5, 1.2, 0.02), 0.02],
  ['a shallow one the other way', halfWaves(1.5, 1.2, -0.012), -0.012],
  ['a dent', dent(1.8, 1.2, 0.025, [0.7, 0.7], 0.3), 0.025],
  ['a small dent', dent(1.8, 1.2, 0.015, [1.1, 0.6], 0.22), 0.015],
];

function spec({ width, height }: PanelTruth): PanelSpec {
  const y = (u: number, v: number) => 0.02 * u - 0.01 * v;
  return {
    name: 'web 3',
    // Picked corners are a few millimetres off.
    corners: [
      [0, y(0, 0) + 0.004, 0],
      [width, y(width, 0) - 0.003, 0],
      [width, y(width, height) + 0.002, height],
      [0, y(0, height), height],
    ],
    positive: [0, 1, 0],
    held: ['1-2', '2-3', '3-4', '4-1'],
    margin: 0.02,
    reach: 0.15,
    cell: 0.025,
  };
}

function feed(points: Float64Array, panel: PanelSpec, metres = 1) {
  const mapper = mapBulge(panel, metres);
  feedColumns(points, mapper);
  return mapper.map();
}

describe('bulge map', () => {
  for (const [name, truth, amplitude] of cases) {
    it(`${name}: amplitude within 5 %, cells as certain as they say`, () => {
      const map = feed(panelPoints(truth, createRandom(name), 0.007, 0.002), spec(truth));
      expect(Math.abs(map.largest.deviation / amplitude - 1)).toBeLessThan(0.05);
      const z = map.cells.map((c) => (c.deviation - truth.bulge(c.u, c.v)) / c.sd);
      const rms = Math.sqrt(z.reduce((s, v) => s + v * v, 0) / z.length);
      expect(rms).toBeGreaterThan(0.8);
      expect(rms).toBeLessThan(1.3);
      expect(Math.max(...z.map(Math.abs))).toBeLessThan(5.5);
      expect(map.seen).toBeGreaterThan(0.8);
      expect(map.rejected.jumps).toBeGreaterThan(100);
      expect(map.rejected.offSurface).toBeGreaterThan(100);
    });
  }

  // A web 11 mm thick: its near face seen over the left of the panel, its far face over the right, both in between.
  it.each([
    ['flat', () => 0],
    [
      'bulged',
      (u: number, v: number) => 0.015 * Math.sin((Math.PI * u) / 1.5) * Math.sin((Math.PI * v) / 1.2),
    ],
  ])('a %s web seen from both sides is mapped on one face, the other left out', (name, bulge) => {
    const random = createRandom(`faces ${name}`);
    const [width, height, thick] = [1.5, 1.2, 0.011];
    const points: number[] = [];
    for (let n = 0; n < 90_000; n++) {
      const [u, v] = [random.between(-0.02, width + 0.02), random.between(-0.02, height + 0.02)];
      const far = random.uniform() < 0.5;
      if (far ? u < 0.55 : u > 1) continue;
      points.push(u, 0.02 * u - 0.01 * v + bulge(u, v) - (far ? thick : 0) + 0.002 * random.normal(), v);
    }
    const map = feed(Float64Array.from(points), spec({ width, height, bulge }));
    // Both faces together made 5 mm and more of a flat web.
    const worst = Math.max(...map.cells.map((c) => Math.abs(c.deviation - bulge(c.u, c.v))));
    expect(worst).toBeLessThan(0.003);
    expect(map.rejected.otherFace).toBeGreaterThan(5000);
    expect(map.facesApart).toBeGreaterThan(0.9 * thick);
    expect(map.facesApart).toBeLessThan(1.1 * thick);
    // What shows its other face only is not made up.
    expect(map.seen).toBeGreaterThan(0.55);
    expect(map.seen).toBeLessThan(0.8);
  });

  it.each([
    ['at its crest', 0.75, 0.6, true],
    ['away from it', 0.35, 0.9, false],
  ])('a hole %s: a least value only where it hides the crest', (_, x, y, bound) => {
    const truth = halfWaves(1.5, 1.2, 0.05);
    const points = panelPoints(truth, createRandom('hole'), 0.008, 0.0015);
    const kept: number[] = [];
    for (let i = 0; i < points.length; i += 3)
      if (Math.hypot(points[i]! - x, points[i + 2]! - y) > 0.09)
        kept.push(points[i]!, points[i + 1]!, points[i + 2]!);
    const { largest } = feed(Float64Array.from(kept), spec(truth));
    expect(largest.lowerBound).toBe(bound);
    // At 0.09 m from its middle a half wave of 1.2 m has fallen by 1 - cos(0.09·pi/1.2), 1.4 mm of 50.
    expect(largest.deviation).toBeGreaterThan(0.047);
    expect(largest.deviation).toBeLessThan(0.0515);
  });

  it('place, half-height extent and curvature of a half-wave bulge are those of the shape', () => {
    const truth = halfWaves(1.5, 1.2, 0.02);
    const map = feed(panelPoints(truth, createRandom('shape'), 0.006, 0.001), spec(truth));
    expect(map.largest.u).toBeCloseTo(0.75, 1);
    expect(map.largest.v).toBeCloseTo(0.6, 1);
    // sin is a half at a sixth and five sixths: two thirds of each side. Curvature A(pi/L)^2 each way.
    expect(Math.abs(map.extent.along - 1)).toBeLessThan(0.06);
    expect(Math.abs(map.extent.up - 0.8)).toBeLessThan(0.06);
    expect(Math.abs(map.curvature.greatest / (-0.02 * (Math.PI / 1.2) ** 2) - 1)).toBeLessThan(0.12);
    expect(Math.abs(map.curvature.least / (-0.02 * (Math.PI / 1.5) ** 2) - 1)).toBeLessThan(0.12);
  });

  it('a flat panel has no bulge to speak of, and the same cloud in inches gives the same map', () => {
    const truth = halfWaves(1.2, 1.2, 0);
    const points = panelPoints(truth, createRandom('flat'), 0.008, 0.002);
    const panel = spec(truth);
    const map = feed(points, panel);
    expect(Math.abs(map.largest.deviation)).toBeLessThan(0.001);
    const inches = feed(
      points.map((v) => v / 0.0254),
      {
        ...panel,
        corners: panel.corners.map((c) => c.map((v) => v / 0.0254)) as unknown as PanelSpec['corners'],
      },
      0.0254,
    );
    expect(inches.largest.deviation).toBeCloseTo(map.largest.deviation, 6);
    expect(inches.cells.length).toBe(map.cells.length);
  });

  it('a flat panel swayed by 2 in, twisted and bowed with its flange stays flat', () => {
    const [width, height] = [1.5, 1.2];
    const sway: PanelTruth = {
      width,
      height,
      bulge: (u, v) => {
        const [x, y] = [u / width, v / height];
        return 0.0508 * (1 - y) + 0.02 * x * (1 - y) + 0.015 * 4 * x * (1 - x) * (1 - y);
      },
    };
    const map = feed(panelPoints(sway, createRandom('sway'), 0.008, 0.002), spec(sway));
    expect(Math.abs(map.largest.deviation)).toBeLessThan(0.0015);
    expect(Math.abs(map.takenOff!.bows.find((b) => b.edge === '1-2')!.value - 0.015)).toBeLessThan(0.002);
  });

  it('refuses corners that cannot be a panel, and a cloud that does not show it', () => {
    const truth = halfWaves(1.2, 1.2, 0.01);
    const panel = spec(truth);
    const [a, b, c, d] = panel.corners;
    const refuse = (change: Partial<PanelSpec>) => () => mapBulge({ ...panel, ...change }, 1);
    expect(refuse({ corners: [a, c, b, d] })).toThrow(InputError);
    expect(refuse({ corners: [a, a, a, a] })).toThrow(/cannot be mapped/);
    expect(refuse({ positive: [1, 0, 0] })).toThrow(InputError);
    expect(refuse({ cell: 0.5 })).toThrow(InputError);
    expect(() => mapBulge(panel, 1).map()).toThrow(/cannot be mapped from this cloud/);
  });
});
