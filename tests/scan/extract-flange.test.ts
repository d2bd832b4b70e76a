import { describe, expect, it } from 'vitest';
import { extractFlange } from '../../src/scan/extract-flange.ts';
import type { ScanProfile } from '../../src/scan/extract-line.ts';
import type { ScanLine } from '../../src/scan/line-frame.ts';
import { GIRDER, type GirderSpec, truthAt } from '../bench/raycast/girder.ts';
import { castCloud, standsAlong } from '../bench/raycast/scanner.ts';
import { createRandom } from '../mechanics/random.ts';
import { edgeOf, type Look, type SweptFlange, strewn, struckFlange } from './swept-flange.ts';
import { feed, flangeOf, girderLines, scanLine } from './taking.ts';

/** Truth: a rectangle swept along a path worked out by its own formulas; see swept-flange.ts. */
const SPAN = 18.3;
const INSIDE: Look['from'] = [
  [4.5, -3, -3.5],
  [13.5, -3.2, -3.5],
];
const BOTH: Look['from'] = [
  [4.5, -4, -3.5],
  [13.5, 4, -3.5],
];
const degrees = Math.PI / 180;

function lines(flange: SweptFlange): ScanLine[] {
  const [near, far] = [edgeOf(flange, 0, 1), edgeOf(flange, flange.span, 1)];
  const more = { spacing: 0.45, extent: flange.width };
  const sweep = scanLine('sweep', [0, near.y, near.z], [flange.span, far.y, far.z], more);
  const under = -flange.thickness / 2;
  const camber = scanLine('camber', [0, 0, under], [flange.span, 0, under], more);
  return [
    sweep,
    { ...sweep, name: 'other edge', edge: 'negative' },
    camber,
    { ...camber, name: 'tilt', kind: 'tilt', across: [0, 1, 0] },
  ];
}

/** True readings, m. */
function truth(flange: SweptFlange, name: string, x: number): number {
  const start = edgeOf(flange, 0, 1).y;
  if (name === 'sweep') return edgeOf(flange, x, 1).y - start;
  if (name === 'other edge') return edgeOf(flange, x, -1).y - start;
  if (name === 'tilt') return Math.tan(flange.tilt(x)) * flange.width;
  return flange.z(x) + (flange.thickness / 2) * (1 - Math.cos(flange.tilt(x)));
}

function take(flange: SweptFlange, points: Float64Array, change: (line: ScanLine) => ScanLine = (l) => l) {
  const extractor = extractFlange(lines(flange).map(change), 1, {
    flangeWidth: flange.width,
    flangeThickness: flange.thickness,
    leastU: 0.0003,
  });
  feed(points, extractor);
  return extractor.profiles();
}

function errors(flange: SweptFlange, profile: ScanProfile) {
  return profile.stations.map((s) => ({
    ...s,
    error: s.offset - truth(flange, profile.line.name, s.station),
  }));
}
const rms = (values: readonly number[]) => Math.sqrt(values.reduce((s, v) => s + v * v, 0) / values.length);
const worst = (values: readonly number[]) => Math.max(...values.map(Math.abs));

describe('a flange followed as a body', () => {
  it.each([
    ['not struck', 0, 0, 0, INSIDE],
    ['9 in, 14 degrees', 0.229, 14, 0.05, INSIDE],
    ['18 in, 27 degrees', 0.457, 27, 0.12, BOTH],
    ['25 in, 30 degrees, 10 in up', 0.635, 30, 0.254, INSIDE],
    ['25 in, 30 degrees the other way', 0.635, -30, 0.254, INSIDE],
  ] as const)('%s: both edges within 3 mm, camber and tilt within 1 mm', (name, push, tilt, lift, from) => {
    const flange = struckFlange(SPAN, 8.2, push, tilt * degrees, lift);
    const points = strewn(flange, { from, spacing: 0.01, noise: 0.002 }, createRandom(name));
    for (const profile of take(flange, points)) {
      const found = errors(flange, profile);
      expect(found.length, profile.line.name).toBeGreaterThan(0.85 * (found.length + profile.unread.length));
      const edge = profile.line.kind === 'sweep';
      expect(worst(found.map((e) => e.error)), profile.line.name).toBeLessThan(edge ? 0.003 : 0.0015);
      expect(rms(found.map((e) => e.error)), profile.line.name).toBeLessThan(edge ? 0.0017 : 0.0006);
      for (const each of found) expect(Math.abs(each.error), profile.line.name).toBeLessThan(6 * each.u);
    }
  });

  it('points some 30 mm apart are read from longer slices, and it says what would do', () => {
    const flange = struckFlange(SPAN, 8.2, 0.3, 15 * degrees, 0.08);
    const points = strewn(flange, { from: BOTH, spacing: 0.02, noise: 0.002 }, createRandom('sparse'));
    const [sweep] = take(flange, points);
    expect(sweep!.notes.join()).toMatch(
      /points on the flange are as far as \d\d mm apart, so slices are up to \d+ mm long .* would do/,
    );
    const found = errors(flange, sweep!);
    expect(found.length).toBeGreaterThan(30);
    expect(worst(found.map((e) => e.error))).toBeLessThan(0.005);
    for (const each of found) expect(Math.abs(each.error)).toBeLessThan(4 * each.u);
  });

  const plain = struckFlange(SPAN, 8.2, 0.3, 15 * degrees, 0.08);
  const cloud = strewn(plain, { from: BOTH, spacing: 0.012, noise: 0.002 }, createRandom('refusals'));
  const refusal = (points: Float64Array, change?: (line: ScanLine) => ScanLine): string => {
    try {
      take(plain, points, change);
    } catch (error) {
      const [problem] = (error as { problems: { found: string; expected: string }[] }).problems;
      return `${problem!.found}; ${problem!.expected}`;
    }
    return 'taken';
  };

  it('refuses picks that are not on one flange, and a search too narrow, with the reason', () => {
    expect(refusal(cloud)).toBe('taken');
    // The second pick on the next girder, 2.4 m to the side.
    expect(
      refusal(cloud, (line) => ({
        ...line,
        to: [line.to[0], line.to[1] - 2.4, line.to[2]],
        reach: 3,
        band: line.kind === 'sweep' ? line.band : [-3, 3],
      })),
    ).toMatch(/ends \d+ mm off the other|hardly a point|no flange/);
    // Half a metre under the flange: nothing there.
    expect(
      refusal(cloud, (line) => ({ ...line, from: [line.from[0], line.from[1], line.from[2] - 0.4] })),
    ).toMatch(/no flange of 406 mm x 32 mm at the picked point|hardly a point/);
    // 0.3 m of push of the edge does not fit into 0.27 m of search to that side. (The line of the other edge has its picks
    // on this one, and finds the flange within a width of its reach: it is left out.)
    expect(
      refusal(cloud, (line) =>
        line.kind === 'sweep' ? { ...line, edge: 'positive', reach: 0.27 } : { ...line, band: [-0.3, 0.3] },
      ),
    ).toMatch(/limit of what was searched|ends \d+ mm off/);
  });

  it('refuses coordinates rounded by single precision far from the origin, and says what to do', () => {
    // A state-plane grid in metres: 24 bits at 600,000 leave 1/16 m.
    const shift = [632_145.25, 4_187_322.5, 210];
    const far = cloud.map((v, i) => Math.fround(v + shift[i % 3]!));
    const moved = (line: ScanLine): ScanLine => ({
      ...line,
      from: [line.from[0] + shift[0]!, line.from[1] + shift[1]!, line.from[2] + shift[2]!],
      to: [line.to[0] + shift[0]!, line.to[1] + shift[1]!, line.to[2] + shift[2]!],
    });
    expect(refusal(far, moved)).toMatch(/coordinates rounded to \d+ mm; .*double precision/);
    // The same in double precision, in millimetres as total stations write them, is taken.
    expect(
      refusal(
        cloud.map((v, i) => Math.round((v + shift[i % 3]!) * 1000) / 1000),
        moved,
      ),
    ).toBe('taken');
  });

  it('scans from two places that differ by 5 mm say so and are fitted to each other, and u has what is left', () => {
    const random = createRandom('steps');
    const from: Look['from'] = [
      [4.5, -4, -3.5],
      [13.5, -4, -3.5],
    ];
    // Truth is the frame of both together: what is common to them goes into the string of the survey.
    const shift = [
      [0, -0.0015, -0.002],
      [0, 0.0015, 0.002],
    ] as const;
    const stepped = strewn(plain, { from, spacing: 0.009, noise: 0.002, shift }, random);
    const profiles = take(plain, stepped);
    expect(profiles[0]!.notes.join()).toMatch(/differ by \d\.\d mm .* fitted to each other/);
    const camber = errors(plain, profiles[2]!);
    const covered = camber.filter((e) => Math.abs(e.error) < 1.96 * e.u).length / camber.length;
    expect(covered).toBeGreaterThan(0.92);
    expect(rms(camber.map((e) => e.error))).toBeLessThan(0.0004);
  });

  it("a stretch where the plate's other face was followed for this one is left out and named, not imported 32 mm off", () => {
    // This cloud, cast ray by ray from four places that do not fit, made the tracker take the upper face between 7 and 9 m.
    const long: GirderSpec = {
      ...GIRDER,
      hit: { push: 18 * 0.0254, tilt: 14 * degrees, lift: 2.5 * 0.0254 },
    };
    const spec = { spacing: 0.01, noise: 0.002, step: 0.005, mast: true, stands: standsAlong(long, 4, 1) };
    const random = createRandom(`4 ${JSON.stringify([long.hit, spec])}`).fork('cloud');
    const { camber } = girderLines(long);
    const extractor = flangeOf(long, [camber], castCloud(long, spec, random));
    const [profile] = extractor.profiles();
    const [from, to] = [camber.from[2], camber.to[2]];
    const chord = (x: number) => from + (x / long.span) * (to - from);
    for (const { station, offset, u } of profile!.stations) {
      const error = offset - (truthAt(long, station).under.z - chord(station));
      expect(Math.abs(error), `at ${station} m`).toBeLessThan(4 * u);
    }
    expect(profile!.unread.map((each) => each.reason).join()).toMatch(/it is the plate's other face/);
  });
});
