import { describe, expect, it } from 'vitest';
import { type SurfacePoint, supportPlane } from '../../src/plates/support-plane.ts';
import { createRandom } from '../../src/practice/random.ts';

const heightAt = (
  plane: NonNullable<ReturnType<typeof supportPlane>>,
  p: SurfacePoint,
  c: { along: number; across: number },
) => plane.level + plane.alongSlope * (p.along - c.along) + plane.acrossSlope * (p.across - c.across);

const row = (heights: readonly number[]): SurfacePoint[] =>
  heights.map((height, i) => ({ along: i, across: 0, height }));

describe('a rigid plate over one row of points rests on the hull edge over its middle', () => {
  // A parabola of mid-ordinate m over chord c, hollow toward the plate: the ends carry, the gap is m
  // (circle geometry of any field book: ordinate at the quarter point three quarters of m).
  it('hollow: on both ends, gap equal to the mid-ordinate, three quarters of it at the quarter points', () => {
    const points = row(Array.from({ length: 9 }, (_, i) => 0.016 * ((i - 4) / 4) ** 2));
    const plane = supportPlane(points, { along: 4, across: 0 })!;
    expect([...plane.contacts].sort((a, b) => a - b)).toEqual([0, 8]);
    expect(plane.level - points[4]!.height).toBeCloseTo(0.016, 12);
    expect(plane.level - points[2]!.height).toBeCloseTo(0.75 * 0.016, 12);
  });

  it('crown: rocks on the top, resting on the edge the centre lies over', () => {
    const plane = supportPlane(row([0, 3, 5, 4, 0]), { along: 2.4, across: 0 })!;
    expect([...plane.contacts].sort((a, b) => a - b)).toEqual([2, 3]);
  });

  it('cannot rest where the points lie on one side of the centre', () => {
    expect(supportPlane(row([0, 1, 2]), { along: 5, across: 0 })).toBeNull();
    expect(supportPlane([], { along: 0, across: 0 })).toBeNull();
  });
});

describe('a rigid plate over a surface', () => {
  const centre = { along: 1, across: 0 };
  const grid = (height: (x: number, z: number) => number): SurfacePoint[] =>
    [0, 0.5, 1, 1.5, 2].flatMap((along) =>
      [-0.15, 0.15].map((across) => ({ along, across, height: height(along, across) })),
    );

  it('lies flat on a plane, whatever its slopes', () => {
    const points = grid((x, z) => 0.01 + 0.02 * x - 0.05 * z);
    const plane = supportPlane(points, centre)!;
    expect(plane.alongSlope).toBeCloseTo(0.02, 9);
    expect(plane.acrossSlope).toBeCloseTo(-0.05, 9);
    for (const p of points) expect(heightAt(plane, p, centre) - p.height).toBeCloseTo(0, 9);
  });

  it('a twisted surface (height = k·x·z) is touched at two opposite corners at least', () => {
    const points = grid((x, z) => 0.1 * (x - 1) * z);
    const plane = supportPlane(points, centre)!;
    expect(plane.level).toBeCloseTo(0.015, 12); // the high corners stand at 0.1·1·0.15
    expect(plane.contacts.length).toBe(3);
  });

  it('is the lowest at the centre of all planes above the points: the best of every triple, 200 random clouds', () => {
    const random = createRandom(11).uniform;
    const middle = { along: 5, across: 0.01 };
    let rested = 0;
    for (let run = 0; run < 200; run++) {
      const cloud = Array.from({ length: 4 + Math.floor(random() * 9) }, () => ({
        along: 10 * random(),
        across: 0.4 * random() - 0.2,
        height: 0.1 * random() - 0.05,
      }));
      const plane = supportPlane(cloud, middle);
      const best = lowestByTriples(cloud, middle);
      expect(plane === null).toBe(best === null);
      if (plane === null || best === null) continue;
      rested++;
      expect(plane.level).toBeCloseTo(best, 9);
      for (const p of cloud) expect(heightAt(plane, p, middle) - p.height).toBeGreaterThan(-1e-8);
      const weights = plane.weightsAt(middle.along, middle.across);
      const mean = plane.contacts.reduce((sum, i, k) => sum + weights[k]! * cloud[i]!.height, 0);
      expect(mean).toBeCloseTo(plane.level, 9);
    }
    expect(rested).toBeGreaterThan(100);
  });
});

/** Highest, at the centre, of the planes through every triple of points around it: the hull above the centre. */
function lowestByTriples(
  cloud: readonly SurfacePoint[],
  centre: { along: number; across: number },
): number | null {
  let best: number | null = null;
  for (let i = 0; i < cloud.length; i++)
    for (let j = 0; j < i; j++)
      for (let k = 0; k < j; k++) {
        const [a, b, c] = [cloud[i]!, cloud[j]!, cloud[k]!];
        const cross = (p: typeof centre, q: typeof centre, r: typeof centre) =>
          (q.along - p.along) * (r.across - p.across) - (r.along - p.along) * (q.across - p.across);
        const whole = cross(a, b, c);
        const [wa, wb, wc] = [
          cross(centre, b, c) / whole,
          cross(a, centre, c) / whole,
          cross(a, b, centre) / whole,
        ];
        if (Math.min(wa, wb, wc) < 0) continue;
        const level = wa * a.height + wb * b.height + wc * c.height;
        if (best === null || level > best) best = level;
      }
  return best;
}
