import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/input-error.ts';
import { type Alignment, alignmentU, alignScans, motionRow, unnoticed } from '../../src/scan/align.ts';
import type { PatchPlane } from '../../src/scan/patches.ts';
import { kabsch, move, rotationOf, turnOf } from '../../src/scan/rigid-motion.ts';
import { alignTargets, readTargets, type Target } from '../../src/scan/targets.ts';
import { length, scale, subtract, type Vec3 } from '../../src/scan/vector.ts';
import { createRandom } from '../mechanics/random.ts';

interface Case {
  readonly name: string;
  readonly here: Vec3[];
  readonly there: Vec3[];
  readonly rotation: number[][];
  readonly shift: number[];
  readonly rssd: number;
}
/** Made by make-targets.py beside it with SciPy's Rotation.align_vectors. */
const CASES = JSON.parse(
  readFileSync(join(import.meta.dirname, 'fixtures/targets-scipy.json'), 'utf8'),
) as Case[];

const problemsOf = (run: () => unknown) => {
  try {
    run();
  } catch (error) {
    if (error instanceof InputError) return error.problems;
    throw error;
  }
  return [];
};

describe('the motion targets give', () => {
  for (const { name, here, there, rotation, shift, rssd } of CASES) {
    it(`is SciPy's: ${name}`, () => {
      const found = kabsch(here, there);
      found.rotation.forEach((row, i) => {
        row.forEach((v, j) => {
          expect(v).toBeCloseTo(rotation[i]![j]!, 9);
        });
        // A turn times the distance from the origin of the coordinates: 1e-9 there is 0.4 mm at state-plane size.
        expect(Math.abs(found.shift[i]! - shift[i]!)).toBeLessThan(1e-6);
      });
      const left = Math.hypot(...here.map((p, i) => length(subtract(move(found, p), there[i]!))));
      expect(left).toBeCloseTo(rssd, 6);
    });
  }

  it('a turn and its vector are inverse', () => {
    for (const turn of [
      [0.3, -0.2, 2.9],
      [1e-6, 0, 0],
      [0, 0, 0],
    ] as Vec3[])
      turnOf(rotationOf(turn) as never).forEach((v, k) => {
        expect(v).toBeCloseTo(turn[k]!, 12);
      });
  });
});

/** Named points around a girder, and the same from another place: turned by 2 rad, 300 m off, picked to 3 mm. */
const PLACES: Record<string, Vec3> = {
  T1: [-1, 2, 1],
  T2: [19, 3, 0.5],
  T3: [9, -4, 2],
  T4: [4, 5, -2],
  T5: [15, -3, -2],
};
function targets(
  names: readonly string[],
  seed: string,
  wrong: Record<string, Vec3> = {},
  sd = 0.003,
): Target[] {
  const random = createRandom(seed);
  const turned = rotationOf([0.02, -0.03, 2]);
  const away = { rotation: turned, shift: [300, -120, 8] as Vec3 };
  return names.map((name) => {
    const by = wrong[name] ?? [0, 0, 0];
    const at = move(away, PLACES[name]!);
    return {
      name,
      there: PLACES[name]!,
      here: at.map((v, k) => v + by[k]! + sd * random.normal()) as unknown as Vec3,
    };
  });
}

describe('a scan brought into another frame by targets', () => {
  const back = (t: readonly Target[]) => alignTargets(t, 0.003, 'targets.csv', 'si');

  it('is as near as it says, at every place of the girder', () => {
    const off: number[] = [];
    const truth = { rotation: rotationOf([0.02, -0.03, 2]), shift: [300, -120, 8] as Vec3 };
    let refused = 0;
    for (let seed = 0; seed < 60; seed++) {
      const given = targets(['T1', 'T2', 'T3', 'T4'], `near ${seed}`);
      // One in two hundred is refused by chance.
      if (problemsOf(() => back(given)).length > 0) {
        refused++;
        continue;
      }
      const found = back(given);
      for (const p of [
        [0, 0, 0],
        [9, 0, 0],
        [19, 0.2, 0],
      ] as Vec3[]) {
        const q = move(found.motion, move(truth, p));
        for (const axis of [
          [0, 1, 0],
          [0, 0, 1],
        ] as Vec3[]) {
          const error = subtract(q, p).reduce((sum, v, k) => sum + v * axis[k]!, 0);
          off.push(error / alignmentU(found, p, axis));
        }
      }
    }
    expect(refused).toBeLessThan(3);
    const rms = Math.sqrt(off.reduce((sum, e) => sum + e * e, 0) / off.length);
    expect(rms).toBeGreaterThan(0.6);
    expect(rms).toBeLessThan(1.15);
  });

  it('of five with one wrong names that one and no other, whichever it is', () => {
    for (const wrong of Object.keys(PLACES))
      for (const by of [
        [0.04, 0, 0],
        [0, 0, -0.05],
      ] as Vec3[]) {
        const found = problemsOf(() => back(targets(Object.keys(PLACES), `wrong ${wrong}`, { [wrong]: by })));
        expect(found.map((p) => p.column)).toEqual([`target ${wrong}`]);
      }
  });

  it('of three says which is wrong only where their distances tell', () => {
    const three = (by: Vec3) => {
      const good = targets(['T1', 'T2', 'T3'], 'three');
      return problemsOf(() =>
        back(
          good.map((t) =>
            t.name === 'T2' ? { ...t, there: t.there.map((v, k) => v + by[k]!) as unknown as Vec3 } : t,
          ),
        ),
      );
    };
    // Both distances to T2 off: T2. Moved square to T3 only the distance T1 to T2 is off: either.
    expect(three([0.1, 0.1, 0]).map((p) => p.column)).toEqual(['target T2']);
    const either = three([0.057, -0.082, 0]);
    expect(either.map((p) => p.column)).toEqual(['target T1', 'target T2']);
    expect(either[0]!.expected).toMatch(/one of those named here is wrong/);
  });

  it('refuses another unit, exchanged names and targets in one line', () => {
    const good = targets(['T1', 'T2', 'T3', 'T4'], 'good');
    const feet = good.map((t) => ({ ...t, here: scale(t.here, 1 / 0.3048) }));
    expect(problemsOf(() => back(feet))[0]!.found).toMatch(/^targets 0\.30\d+ times as far apart/);
    const exchanged = good.map((t, i) => ({ ...t, here: good[[1, 0, 2, 3][i]!]!.here }));
    expect(problemsOf(() => back(exchanged)).length).toBeGreaterThan(0);
    const mirrored = good.map((t) => ({ ...t, here: [t.here[0], -t.here[1], t.here[2]] as Vec3 }));
    expect(problemsOf(() => back(mirrored)).map((p) => p.found)).toEqual([
      'targets that are the mirror image of those of the set-up',
    ]);
    const line = good.map((t, i) => ({ ...t, here: [i, 2 * i, 0] as Vec3, there: [i, 0, 2 * i] as Vec3 }));
    expect(problemsOf(() => back(line))[0]!.found).toMatch(/one line/);
  });
});

describe('targets as a CSV', () => {
  const known = new Map<string, Vec3>([['T1', [1, 2, 3]]]);
  const read = (text: string) => readTargets(text, 't.csv', known, 'ft', 'us');

  it('takes reference coordinates from the set-up or from the row, in the unit of the cloud', () => {
    const found = read(
      'name,x,y,z,reference_x,reference_y,reference_z\nT1,4,5,6,,,\nT9,1,1,1,10,20,30\nT8,0,1,1,3,3,3\n',
    );
    expect(found[0]!.there.map((v) => v / 0.3048)).toEqual([1, 2, 3].map((v) => expect.closeTo(v, 12)));
    expect(found[1]!.there[2]! / 0.3048).toBeCloseTo(30, 12);
    expect(found[1]!.here[0]! / 0.3048).toBeCloseTo(1, 12);
  });

  it('takes a name however it is capitalised and spaced', () => {
    expect(
      read(
        'name,x,y,z,reference_x,reference_y,reference_z\n t1 ,4,5,6,,,\nT9,1,1,1,10,20,30\nT8,0,1,1,3,3,3\n',
      )[0],
    ).toMatchObject({ name: 'T1' });
  });

  it('names row and column of what cannot be read', () => {
    const text = 'name,x,y,z\nT1,4,five,6\nT2,1,2,3\nT1,1,2,\n';
    expect(problemsOf(() => read(text)).map((p) => [p.row, p.column])).toEqual([
      [2, 'y'],
      [3, 'name'],
      [4, 'z'],
    ]);
    expect(problemsOf(() => read('name,x (m),y,z\nT1,1,2,3\n'))[0]).toMatchObject({
      column: 'x',
      expected: expect.stringContaining('ft'),
    });
    expect(problemsOf(() => read('name,x,y,z\nT1,1,2,3\n'))[0]!.found).toBe('1 targets');
    expect(problemsOf(() => read('name,x,y,z\nT1,1,2,3\nT1,1,2,3\n'))[0]).toMatchObject({
      row: 3,
      column: 'name',
    });
  });
});

/** Two surfaces facing each way at both ends and in the middle. */
const FACES: [string, Vec3, Vec3][] = [0, 9, 18].flatMap((x): [string, Vec3, Vec3][] => [
  [`wall ${x}`, [x, 0.5, -0.8], [0, 1, 0]],
  [`cap ${x}`, [x + 0.4, 0.9, -0.3], [0, 0, 1]],
  [`face ${x}`, [x + 0.2, -0.6, 0.7], [1, 0, 0]],
  [`soffit ${x}`, [x - 0.3, -1.6, 1.4], [0, 0.1, -0.995]],
]);
function planes(seed: string, moved: string | null, by: number): PatchPlane[] {
  const random = createRandom(seed);
  return FACES.map(([name, at, normal]) => {
    const off = 0.0004 * random.normal() + (name === moved ? by : 0);
    return {
      name,
      point: at.map((v, k) => v + off * normal[k]!) as unknown as Vec3,
      normal,
      u: 0.0003,
      tiltU: 0.0015,
      points: 500,
    };
  });
}

describe('patches held against each other', () => {
  const still = planes('still', null, 0);

  const openFor = (moved: string, seed: number) =>
    alignScans(still, planes(`${moved} ${seed}`, moved, 0.01)).closure.filter((c) => !c.agrees);

  it('the one of six that moved by 10 mm is named, good ones are not', () => {
    for (const [moved] of FACES.filter(([name]) => /cap|soffit/.test(name)))
      for (let seed = 0; seed < 4; seed++)
        expect(openFor(moved, seed).map((c) => [c.name, c.unsure])).toEqual([[moved, false]]);
  });

  it('of three walls in a row, which any two explain, all three are named as such and nothing else', () => {
    for (let seed = 0; seed < 4; seed++) {
      const open = openFor('wall 0', seed);
      expect(open.map((c) => c.name)).toEqual(['wall 0', 'wall 9', 'wall 18']);
      expect(open.every((c) => c.unsure)).toBe(true);
    }
  });

  it('where nothing moved hardly ever names one', () => {
    let open = 0;
    for (let seed = 0; seed < 50; seed++)
      if (alignScans(still, planes(`calm ${seed}`, null, 0)).closure.some((c) => !c.agrees)) open++;
    expect(open).toBeLessThan(4);
  });

  const sideways = (found: Alignment) => motionRow(found, [9, 0.2, 0], [0, 1, 0]);

  it('says what the tests would miss: with few patches much, with many little', () => {
    const only = (names: readonly string[]) => {
      const list = (all: readonly PatchPlane[]) => all.filter((p) => names.includes(p.name));
      const found = alignScans(list(still), list(planes('few', null, 0)));
      return unnoticed(found, sideways(found))!;
    };
    const all = alignScans(still, planes('all', null, 0));
    expect(unnoticed(all, sideways(all))!.effect).toBeLessThan(0.004);
    // Five patches, as a surveyor may take: nothing tells when one of the walls has moved.
    const five = only(['wall 0', 'wall 18', 'cap 0', 'cap 18', 'face 0']);
    expect(five.name).toMatch(/wall/);
    expect(five.effect).toBe(Number.POSITIVE_INFINITY);
  });
});
