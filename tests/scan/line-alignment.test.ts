import { describe, expect, it } from 'vitest';
import { InputError } from '../../src/input-error.ts';
import type { Alignment } from '../../src/scan/align.ts';
import { lineAlignment, type ReadPlace } from '../../src/scan/line-alignment.ts';
import { lineFrame, type ScanLine } from '../../src/scan/line-frame.ts';
import { move, rotationOf } from '../../src/scan/rigid-motion.ts';
import { add, type Vec3 } from '../../src/scan/vector.ts';
import { createRandom } from '../mechanics/random.ts';

/** A flange in space: pushed 0.4 m along straight legs rounded over half a metre, lifted 0.25 m over a shorter reach. */
const LENGTH = 18;
const softLeg = (t: number) => 0.5 * Math.log1p(Math.exp(t / 0.5));
const pushed = (x: number) => 0.1 * softLeg(x - 5) - 0.18 * softLeg(x - 9) + 0.08 * softLeg(x - 14);
const lifted = (x: number) => 0.25 * Math.exp(-(((x - 9) / 2) ** 2));

const sweep: ScanLine = {
  name: 'bottom-flange',
  kind: 'sweep',
  units: 'si',
  from: [0, 0, 0],
  to: [LENGTH, 0, 0],
  stations: [0, LENGTH],
  direction: [0, 1, 0],
  feature: 'edge',
  edge: 'positive',
  across: null,
  reach: 0.6,
  band: [-0.5, 0.5],
  spacing: 1,
  slice: 0.15,
  extent: 0.3,
};
const camber: ScanLine = { ...sweep, name: 'camber', kind: 'camber', direction: [0, 0, 1], feature: 'face' };

/** Six small motions known to these sds, each by itself. */
const sds = [0.004, 0.003, 0.003, 0.0015, 0.0004, 0.0003];
const alignment: Alignment = {
  motion: { rotation: rotationOf([0, 0, 0]), shift: [0, 0, 0] },
  shift: [0, 0, 0],
  shiftU: [0, 0, 0],
  turn: [0, 0, 0],
  turnU: [0, 0, 0],
  middle: [7, 1, -1],
  covariance: sds.map((sd, i) => sds.map((_, j) => (i === j ? sd * sd : 0))),
  excess: 1,
  free: [],
  freeDirections: [],
  closure: [],
};
const stations = Array.from({ length: 19 }, (_, i) => i);
const placesOf = (line: ScanLine): ReadPlace[] =>
  stations.map((s) =>
    line === sweep
      ? { s, toward: pushed(s), across: lifted(s) }
      : // Along × up: across points away from positive sweep.
        { s, toward: lifted(s), across: -pushed(s) },
  );

/** The steel moved as a body, and read anew where it then crosses each station: the difference, less that of the chord. */
function readAnew(line: ScanLine, turns: Vec3, shift: Vec3): number[] {
  const rotation = rotationOf(turns);
  const curve = Array.from({ length: 4001 }, (_, i) => {
    const x = -1 + (i * (LENGTH + 2)) / 4000;
    const p: Vec3 = [x, pushed(x), lifted(x)];
    const arm: Vec3 = [p[0] - 7, p[1] - 1, p[2] + 1];
    return add(add(move({ rotation, shift: [0, 0, 0] }, arm), [7, 1, -1]), shift);
  });
  const axis = line === sweep ? 1 : 2;
  const [before, after] = [line === sweep ? pushed : lifted, at];
  function at(s: number): number {
    const i = curve.findIndex((p) => p[0] >= s);
    const [a, b] = [curve[i - 1]!, curve[i]!];
    return a[axis] + ((s - a[0]) / (b[0] - a[0])) * (b[axis] - a[axis]);
  }
  const off = stations.map((s) => after(s) - before(s));
  return off.map((o, i) => o - off[0]! - (stations[i]! / LENGTH) * (off.at(-1)! - off[0]!));
}

describe('what an alignment leaves in a line with a set-up of its own', () => {
  for (const line of [sweep, camber]) {
    it(`is as large as it says on a bent flange moved as a body (${line.name})`, () => {
      const frame = lineFrame(line, 1);
      const { u, placeU, slides } = lineAlignment(line, frame, alignment, placesOf(line));
      const random = createRandom(`moved as a body ${line.name}`);
      const squares = stations.map(() => 0);
      const draws = 400;
      for (let k = 0; k < draws; k++) {
        const m = sds.map((sd) => sd * random.normal());
        const off = readAnew(line, m.slice(3) as unknown as Vec3, m.slice(0, 3) as unknown as Vec3);
        off.forEach((o, i) => {
          squares[i]! += o * o;
        });
      }
      expect(slides).toBe(false);
      // A tenth or so of what it leaves in where the line stands, and most where the steel slopes or is displaced the other way.
      expect(Math.max(...u)).toBeLessThan(0.3 * Math.max(...placeU));
      expect(Math.max(...u)).toBeGreaterThan(0.0002);
      stations.slice(1, -1).forEach((_, i) => {
        const rms = Math.sqrt(squares[i + 1]! / draws);
        // 400 draws tell an rms to 3.5 %; slopes are taken over two stations, and the ends have some of their own.
        expect(Math.abs(rms - u[i + 1]!), `station ${i + 1}`).toBeLessThan(0.2 * u[i + 1]! + 0.00006);
      });
    });
  }

  it('of a slope the whole turn counts: nothing takes it up', () => {
    const tilt: ScanLine = {
      ...sweep,
      name: 'tilt',
      kind: 'tilt',
      direction: [0, 0, 1],
      across: [0, 1, 0],
      feature: 'face',
    };
    const { u, placeU } = lineAlignment(
      tilt,
      lineFrame(tilt, 1),
      alignment,
      stations.map((s) => ({ s, toward: 0.02, across: 0 })),
    );
    for (const each of u) expect(each).toBeCloseTo(0.3 * 0.0015, 12);
    expect(placeU).toEqual(u);
  });

  it('where nothing holds it along the member it may have slid: in u where the steel slopes, and said', () => {
    const free = { ...alignment, freeDirections: [[1, 0, 0, 0, 0, 0]], free: ['shift along x'] };
    const frame = lineFrame(sweep, 1);
    const { u, slides } = lineAlignment(sweep, frame, free, placesOf(sweep));
    expect(slides).toBe(true);
    const held = lineAlignment(sweep, frame, alignment, placesOf(sweep));
    // Patches are found within 0.1 m, any place as likely: 0.058 m, times a slope of some 0.09 and of none.
    expect(u[7]! / (0.1 / Math.sqrt(3))).toBeCloseTo((pushed(8) - pushed(6)) / 2, 3);
    expect(u[0]!).toBeLessThan(held.u[7]!);
    const sideways = { ...alignment, freeDirections: [[0, 1, 0, 0, 0, 0]], free: ['shift along y'] };
    expect(() => lineAlignment(sweep, frame, sideways, placesOf(sweep))).toThrow(InputError);
  });
});
