import { describe, expect, it } from 'vitest';
import { extractLine } from '../../src/scan/extract-line.ts';
import type { ScanLine } from '../../src/scan/line-frame.ts';
import { GIRDER, type GirderSpec, sectionAt } from '../bench/raycast/girder.ts';
import { castCloud, standsAlong } from '../bench/raycast/scanner.ts';
import { createRandom } from '../mechanics/random.ts';

/** Truth: the web of a girder cast ray by ray from both sides, both its faces in one cloud; see tests/bench/raycast. */
function girder(push: number, tilt: number): GirderSpec {
  return { ...GIRDER, span: 10, struckAt: 4.4, hit: { push, tilt, lift: 0 } };
}

/** How far the top of the web stands beyond its foot, m: by the vertices of its two faces. */
function leanAt(g: GirderSpec, x: number): number {
  const section = sectionAt(g, x);
  // Two rows of nine vertices of the flange come first, then nine of each face of the web from the foot up.
  const middle = (k: number) => (section[18 + k]!.y + section[27 + k]!.y) / 2;
  return middle(8) - middle(0);
}

function take(g: GirderSpec, sides: readonly (1 | -1)[]) {
  const stands = sides.flatMap((side) => standsAlong(g, 2, side));
  const spec = { stands, spacing: 0.012, noise: 0.002, step: 0, mast: false };
  const points = castCloud(g, spec, createRandom(`web ${JSON.stringify(g.hit)} ${sides}`));
  const line: ScanLine = {
    name: 'plumb',
    kind: 'plumb',
    units: 'si',
    from: [0, 0, g.depth / 2],
    to: [g.span, 0, g.depth / 2],
    stations: [0, g.span],
    direction: [0, 1, 0],
    feature: 'face',
    edge: 'positive',
    across: [0, 0, 1],
    reach: 0.7,
    band: [-0.4 * g.depth, 0.4 * g.depth],
    spacing: 0.25,
    slice: 0.15,
    extent: g.depth - 2 * g.flangeThickness,
  };
  const extractor = extractLine(line, 1, { flangeThickness: g.flangeThickness, leastU: 0 });
  const n = points.length / 3;
  const axis = (k: number) => Float64Array.from({ length: n }, (_, i) => points[3 * i + k]!);
  extractor.sink(axis(0), axis(1), axis(2), n);
  const profile = extractor.profile();
  const errors = profile.stations.map((each) => ({
    error: each.offset - leanAt(g, each.station),
    u: each.u,
  }));
  const rms = Math.sqrt(errors.reduce((sum, { error }) => sum + error ** 2, 0) / errors.length);
  const covered = errors.filter(({ error, u }) => Math.abs(error) <= 1.96 * u).length / errors.length;
  return {
    read: errors.length,
    unread: profile.unread.length,
    rms,
    covered,
    worst: Math.max(...errors.map(({ error }) => Math.abs(error))),
  };
}

describe('plumb of a web seen from both sides', () => {
  it.each([
    ['straight', 0, 0],
    ['struck: pushed 0.3 m with its flange turned 0.3 rad', 0.3, 0.3],
  ])("%s: no face is joined to the other, and the bend is followed to the web's ends", (_, push, tilt) => {
    const found = take(girder(push, tilt), [1, -1]);
    expect(found.read).toBeGreaterThan(0.9 * (found.read + found.unread));
    // One face joined to the other (11 mm apart) would show as that much.
    expect(found.worst).toBeLessThan(0.004);
    expect(found.rms).toBeLessThan(0.0013);
    expect(found.covered).toBeGreaterThan(0.88);
  });
});
