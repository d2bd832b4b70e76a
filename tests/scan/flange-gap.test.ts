import { describe, expect, it } from 'vitest';
import { acrossGap, atStation } from '../../src/scan/at-station.ts';
import type { ScanProfile } from '../../src/scan/extract-line.ts';
import { meanOf } from '../../src/scan/flange-profile.ts';
import { GIRDER, type GirderSpec, truthAt } from '../bench/raycast/girder.ts';
import { castCloud, standsAlong } from '../bench/raycast/scanner.ts';
import { createRandom } from '../mechanics/random.ts';
import { flangeOf, girderLines } from './taking.ts';

/** Slices of 50 mm about a station at nought: those within `gap` of it off by what is said, with an u that says so. */
function slices(shape: (x: number) => number, gap: number, off: number, gapU: number) {
  const random = createRandom('gap');
  return Array.from({ length: 41 }, (_, i) => {
    const at = 0.05 * (i - 20);
    const hidden = Math.abs(at) < gap;
    return { at, value: shape(at) + (hidden ? off : 0.0003 * random.normal()), u: hidden ? gapU : 0.0003 };
  });
}
const told = (series: ReturnType<typeof slices>) => {
  const alone = atStation(series, 0, 0.15, 0.05);
  return { alone, sides: acrossGap(series, 0, 0.15, 0.05, alone) };
};

describe('a station before which something stands', () => {
  it('is read from the steel on both sides, where its own slices tell it worse', () => {
    const series = slices((x) => 0.02 * x + 0.06 * x * x, 0.13, 0.005, 0.003);
    const { alone, sides } = told(series);
    expect(Math.abs(alone.value)).toBeGreaterThan(0.004);
    expect(Math.abs(sides!.value)).toBeLessThan(0.0008);
    expect(sides!.u).toBeLessThan(0.001);
    expect(Math.abs(sides!.value)).toBeLessThan(3 * sides!.u);
  });

  it('has in its u a turn of the steel behind the post, and what its own slices say against the sides', () => {
    for (const turn of [0.05, 0.1, 0.2]) {
      const { sides } = told(slices((x) => turn * Math.max(0, x), 0.13, 0, 0.004));
      expect(Math.abs(sides!.value), `${turn}`).toBeLessThan(3 * sides!.u);
    }
    const plain = told(slices(() => 0, 0.13, 0, 0.002)).sides!;
    const against = told(slices(() => 0, 0.13, 0.012, 0.002)).sides!;
    expect(against.u).toBeGreaterThan(2 * plain.u);
  });

  it('is left to its own slices where they are as good as others, or one side is not seen', () => {
    expect(told(slices(() => 0, 0.13, 0, 0.0004)).sides).toBeNull();
    const series = slices(() => 0, 0.13, 0.005, 0.003);
    expect(told(series.filter((p) => p.at < 0.15)).sides).toBeNull();
  });
});

it('an edge found far from where the other edge and the width put it does not pull a sharp one along', () => {
  const look = (value: number, u: number) => ({ value, u, rowU: 0, bias: [0.001, 0] as const });
  const both = meanOf([look(0.012, 0.0027), look(0, 0.0008)], false)!;
  expect(both.value).toBeLessThan(0.0005);
  expect(both.u).toBeGreaterThan(0.0012);
  // Looks that agree are a plain mean by weight, 1 : 9.
  expect(meanOf([look(0.001, 0.0024), look(0, 0.0008)], false)!.value).toBeCloseTo(0.0001, 9);
});

/** Stations of a line with how far they are off, m. */
function errors(g: GirderSpec, { line, stations }: ScanProfile) {
  const of = (x: number): number => {
    const { positive, negative, under } = truthAt(g, x);
    return line.name === 'edge' ? positive.y : line.name === 'other' ? negative.y : under.z;
  };
  return stations.map(({ station: x, offset, placeU: u }) => ({
    x,
    error: offset - (of(x) - of(0) - (x / g.span) * (of(g.span) - of(0))),
    u,
  }));
}

/**
 * Points 30 mm apart, from one stand: slices are up to half a metre long. Before they were joined by one smooth curve this
 * cloud's camber was 4.2 mm off, its edge 4.6 mm (rms 1.5), and 28 stations of the other edge were read.
 */
it('long slices follow a bend of the steel within them', () => {
  const g = { ...GIRDER, span: 16, struckAt: 7, hit: { push: 0.38, tilt: 0.4, lift: 0.09 } };
  const cloud = castCloud(
    g,
    { stands: standsAlong(g, 1, 1), spacing: 0.03, noise: 0.002, step: 0, mast: false },
    createRandom('long 7'),
  );
  const { edge, other, camber } = girderLines(g);
  const [first, second, level] = flangeOf(g, [edge, other, camber], cloud)
    .profiles()
    .map((profile) => errors(g, profile));
  const rms = (list: readonly { error: number }[]) =>
    Math.sqrt(list.reduce((sum, { error }) => sum + error ** 2, 0) / list.length);
  const worst = (list: readonly { error: number }[]) => Math.max(...list.map(({ error }) => Math.abs(error)));
  expect(worst(level!)).toBeLessThan(0.0015);
  expect(rms(level!)).toBeLessThan(0.0004);
  expect(worst(first!)).toBeLessThan(0.0035);
  expect(rms(first!)).toBeLessThan(0.0012);
  // Where only one edge is seen, and not sharply, it still tells the other one.
  expect(second!.length).toBeGreaterThan(33);
  for (const each of [...first!, ...second!, ...level!])
    expect(Math.abs(each.error), `${each.x}`).toBeLessThan(4 * each.u);
});
