import { describe, expect, it } from 'vitest';
import { alignmentU, alignScans, motionRow } from '../../src/scan/align.ts';
import { extractLine } from '../../src/scan/extract-line.ts';
import { collectPatches, type PatchSpec } from '../../src/scan/patches.ts';
import { kabsch, move, type RigidMotion } from '../../src/scan/rigid-motion.ts';
import { uOfRow } from '../../src/scan/small-motion.ts';
import type { Vec3 } from '../../src/scan/vector.ts';
import { createRandom, type Random } from '../mechanics/random.ts';

/** Rotation about an axis by an angle, then a shift: made here with quaternions, not with the project's formula. */
function motionOf(axis: Vec3, angle: number, shift: Vec3): RigidMotion {
  const n = Math.hypot(...axis);
  const [x, y, z] = axis.map((v) => (v / n) * Math.sin(angle / 2)) as [number, number, number];
  const w = Math.cos(angle / 2);
  return {
    rotation: [
      [1 - 2 * (y * y + z * z), 2 * (x * y - w * z), 2 * (x * z + w * y)],
      [2 * (x * y + w * z), 1 - 2 * (x * x + z * z), 2 * (y * z - w * x)],
      [2 * (x * z - w * y), 2 * (y * z + w * x), 1 - 2 * (x * x + y * y)],
    ],
    shift,
  };
}

describe('targets (Kabsch)', () => {
  it('finds a known motion exactly, and never a mirror image', () => {
    const random = createRandom('kabsch');
    const truth = motionOf([1, -2, 0.5], 0.7, [3, -1, 12]);
    const from = Array.from({ length: 6 }, (): Vec3 => [random.normal(), random.normal(), random.normal()]);
    const found = kabsch(
      from,
      from.map((p) => move(truth, p)),
    );
    from.forEach((p) => {
      move(found, p).forEach((v, k) => {
        expect(v).toBeCloseTo(move(truth, p)[k]!, 12);
      });
    });
    const mirrored = kabsch(
      from,
      from.map(([x, y, z]): Vec3 => [-x, y, z]),
    );
    const [a, b, c] = mirrored.rotation;
    const det =
      a![0] * (b![1] * c![2] - b![2] * c![1]) -
      a![1] * (b![0] * c![2] - b![2] * c![0]) +
      a![2] * (b![0] * c![1] - b![1] * c![0]);
    expect(det).toBeCloseTo(1, 12);
  });
  it('refuses points in one line', () => {
    const line: Vec3[] = [
      [0, 0, 0],
      [1, 1, 1],
      [2, 2, 2],
    ];
    expect(() => kabsch(line, line)).toThrow(RangeError);
  });
});

/** Patches on piers, bearings and the undamaged ends: facing three ways over 18 m. */
const PATCHES: (PatchSpec & { normal: Vec3 })[] = [
  { name: 'west pier face', at: [0, 0.4, -0.8], radius: 0.15, normal: [0, 1, 0] },
  { name: 'east pier face', at: [18, 0.4, -0.8], radius: 0.15, normal: [0, 1, 0] },
  { name: 'west seat', at: [0.3, 0.1, -0.2], radius: 0.12, normal: [0, 0, 1] },
  { name: 'east seat', at: [18.2, 0.2, -0.2], radius: 0.12, normal: [0, 0.1, 1] },
  { name: 'west stiffener', at: [0.5, 0.1, 0.5], radius: 0.1, normal: [1, 0, 0] },
  { name: 'deck fascia', at: [9, 0.8, 1.4], radius: 0.15, normal: [0.05, 0.4, 1] },
];

function cloud(random: Random, motion: RigidMotion | null, changed: Partial<Record<string, Vec3>> = {}) {
  const out: number[] = [];
  for (const patch of PATCHES) {
    const n = patch.normal;
    const size = Math.hypot(...n);
    for (let i = 0; i < 1500; i++) {
      const p = [0, 1, 2].map(() => random.between(-0.28, 0.28));
      const off = (p[0]! * n[0] + p[1]! * n[1] + p[2]! * n[2]) / size - 0.002 * random.normal();
      let q: Vec3 = [0, 1, 2].map((k) => patch.at[k]! + p[k]! - (off * n[k]!) / size) as unknown as Vec3;
      const shift = changed[patch.name];
      if (shift !== undefined) q = [q[0] + shift[0], q[1] + shift[1], q[2] + shift[2]];
      // Growth in front of one point in twelve.
      if (random.uniform() < 0.08) q = [q[0] + random.between(0, 0.1), q[1] + random.between(0, 0.2), q[2]];
      out.push(...(motion === null ? q : move(motion, q)));
    }
  }
  return out;
}

function planesOf(points: readonly number[], patches: readonly PatchSpec[] = PATCHES) {
  const collector = collectPatches(patches, 1);
  const axis = (k: number) => Float64Array.from({ length: points.length / 3 }, (_, i) => points[3 * i + k]!);
  collector.sink(axis(0), axis(1), axis(2), points.length / 3);
  return collector.planes('scan', 'si');
}

describe('alignment on undamaged patches', () => {
  const set = motionOf([0.2, -0.3, 1], 0.002, [0.012, -0.009, 0.015]);

  it('brings a scan back within 2 mm over the whole girder, as certain as it says, and closes', () => {
    const errors: number[] = [];
    for (let seed = 0; seed < 8; seed++) {
      const random = createRandom(`align ${seed}`);
      const a = alignScans(planesOf(cloud(random.fork('a'), null)), planesOf(cloud(random.fork('b'), set)));
      expect(a.free).toEqual([]);
      expect(a.closure.every((c) => c.agrees)).toBe(true);
      for (const p of [
        [0, 0.15, 0],
        [9, 0.15, 0],
        [18, 0.15, 0],
      ] as Vec3[]) {
        const back = move(a.motion, move(set, p));
        expect(Math.abs(back[1] - p[1])).toBeLessThan(0.002);
        expect(Math.abs(back[2] - p[2])).toBeLessThan(0.002);
      }
      const middle = move(a.motion, move(set, a.middle));
      errors.push(...[0, 1, 2].map((k) => (middle[k]! - a.middle[k]!) / a.shiftU[k]!));
    }
    const rms = Math.sqrt(errors.reduce((s, e) => s + e * e, 0) / errors.length);
    expect(rms).toBeGreaterThan(0.1);
    expect(rms).toBeLessThan(1.5);
  });

  it('says at every place of the girder how far it can be off there, and no more', () => {
    const off: number[] = [];
    for (let seed = 0; seed < 12; seed++) {
      const random = createRandom(`align place ${seed}`);
      const a = alignScans(planesOf(cloud(random.fork('a'), null)), planesOf(cloud(random.fork('b'), set)));
      for (const p of [
        [0, 0.15, 0],
        [9, 0.15, 0],
        [18, 0.15, 0],
        [9, 0.15, -3],
      ] as Vec3[]) {
        const back = move(a.motion, move(set, p));
        for (const [k, axis] of [
          [1, [0, 1, 0]],
          [2, [0, 0, 1]],
        ] as [number, Vec3][])
          off.push((back[k]! - p[k]!) / alignmentU(a, p, axis));
      }
    }
    const rms = Math.sqrt(off.reduce((s, e) => s + e * e, 0) / off.length);
    // The least registration sd allowed a patch is more than this simulation's, so the claim may be wide, never narrow.
    expect(rms).toBeGreaterThan(0.3);
    expect(rms).toBeLessThan(1.15);
    expect(off.filter((e) => Math.abs(e) > 2).length).toBeLessThan(0.08 * off.length);
  });

  it('grows with the distance from the patches, and a slope takes only the turn', () => {
    const random = createRandom('arm');
    const a = alignScans(planesOf(cloud(random.fork('a'), null)), planesOf(cloud(random.fork('b'), set)));
    const y: Vec3 = [0, 1, 0];
    const at = (x: number) => alignmentU(a, [x, 0.15, 0], y);
    expect(at(9)).toBeLessThan(at(30));
    expect(at(30)).toBeLessThan(at(60));
    // Over a width of 1 m up: the turn about x, times that width.
    const [up, foot] = [motionRow(a, [9, 0.15, 1], y), motionRow(a, [9, 0.15, 0], y)];
    const turned = uOfRow(
      a,
      up.map((v, k) => v - foot[k]!),
    );
    expect(turned).toBeCloseTo(a.turnU[0], 12);
  });

  it('patches that disagree among themselves widen what is claimed', () => {
    const random = createRandom('disagree');
    const seen = planesOf(cloud(random.fork('a'), null));
    // Twice as many, the others 3 m along: enough that their places do not fit any nudges.
    const first = [
      ...seen,
      ...seen.map((p) => ({ ...p, point: [p.point[0] + 3, p.point[1], p.point[2]] as Vec3 })),
    ];
    const nudge = (size: number) => {
      const draw = random.fork('nudges');
      return alignScans(
        first,
        first.map((p) => {
          const by = size * draw.normal();
          return { ...p, point: p.point.map((v, k) => v + by * p.normal[k]!) as unknown as Vec3 };
        }),
      );
    };
    expect(nudge(0).excess).toBe(1);
    const rough = nudge(0.003);
    expect(rough.excess).toBeGreaterThan(1.5);
    // Rows stand where the patches were brought to, so the ratio is the excess to a percent.
    expect(rough.shiftU[1] / nudge(0).shiftU[1] / rough.excess).toBeCloseTo(1, 2);
  });

  it('a line measured in a direction no patch holds is refused by name', () => {
    const level = PATCHES.map((p) => ({ ...p, normal: [0, 0, 1] as Vec3 }));
    const planes = level.map((p) => ({
      name: p.name,
      point: p.at,
      normal: p.normal,
      u: 0.0002,
      tiltU: 0.001,
      points: 500,
    }));
    const alignment = alignScans(planes, planes);
    expect(alignment.free).toContain('shift along y');
    const flange = {
      name: 'bottom-flange',
      kind: 'camber' as const,
      from: [0, 0.15, 0] as Vec3,
      to: [18, 0.15, 0] as Vec3,
      units: 'si' as const,
      stations: [0, 18] as const,
      feature: 'face' as const,
      edge: 'positive' as const,
      across: null,
      reach: 0.3,
      band: [-0.1, 0.1] as const,
      spacing: 1,
      slice: 0.15,
      extent: 0.3,
    };
    const take = (direction: Vec3) => {
      const line = extractLine({ ...flange, direction }, 1, { flangeThickness: 0.02, leastU: 0, alignment });
      const [x, y, z] = [new Float64Array(40_000), new Float64Array(40_000), new Float64Array(40_000)];
      const draw = createRandom('flat');
      for (let i = 0; i < x.length; i++) {
        x[i] = draw.between(0, 18);
        const [wide, thin] = [draw.between(-0.09, 0.09), 0.001 * draw.normal()];
        y[i] = 0.15 + (direction[1] === 1 ? thin : wide);
        z[i] = direction[1] === 1 ? wide : thin;
      }
      line.sink(x, y, z, x.length);
      return line.profile();
    };
    expect(() => take([0, 1, 0])).toThrow(/bottom-flange/);
    const camber = take([0, 0, 1]);
    expect(camber.stations.length).toBe(19);
    // Where the line as a whole stands goes with its set-up; of a straight line nothing else is left.
    const whole = camber.stations.map(({ station }) => alignmentU(alignment, [station, 0.15, 0], [0, 0, 1]));
    expect(camber.shared.wholeU).toBeCloseTo(Math.max(...whole), 9);
    for (const each of camber.stations) expect(each.alignmentU).toBeLessThan(0.05 * camber.shared.wholeU);
  });

  it('names the patch that moved', () => {
    const random = createRandom('moved');
    const moved = cloud(random.fork('b'), set, { 'deck fascia': [0, 0, 0.012] });
    const a = alignScans(planesOf(cloud(random.fork('a'), null)), planesOf(moved));
    const deck = a.closure.find((c) => c.name === 'deck fascia')!;
    expect(deck.agrees).toBe(false);
    expect(Math.abs(Math.abs(deck.gap) - 0.011)).toBeLessThan(0.004);
  });

  it('says which motion no patch holds, and leaves it alone', () => {
    const flat = PATCHES.filter((p) => p.name !== 'west stiffener').map((p) => ({
      ...p,
      normal: [0, p.normal[1], p.normal[2]] as Vec3,
    }));
    const random = createRandom('free');
    const points = cloud(random, null);
    const chosen = planesOf(points, flat).map((plane, i) => ({
      ...plane,
      normal: flat[i]!.normal.map((v) => v / Math.hypot(...flat[i]!.normal)) as unknown as Vec3,
    }));
    const a = alignScans(chosen, chosen);
    expect(a.free).toEqual(['shift along x']);
    expect(a.shift[0]).toBe(0);
  });

  it('refuses a patch that is not there', () => {
    expect(() => planesOf([0, 0, 0], PATCHES)).toThrow(/cannot be aligned/);
  });
});
