import { describe, expect, it } from 'vitest';
import { flangePoint, GIRDER, poseAt, truthAt } from '../bench/raycast/girder.ts';
import { castCloud, standsAlong } from '../bench/raycast/scanner.ts';
import { createRandom } from '../mechanics/random.ts';

/** The caster behind `bench:scan-accuracy` against the geometry of a plate, worked out here by hand. */
const hit = { push: 0.4, tilt: 0.4, lift: 0.1 };
const struck = { ...GIRDER, hit };
const { span, flangeWidth: b, flangeThickness: t } = struck;

describe('cast clouds of struck girders', () => {
  it('the flange is where the hit put it, and whole at the bearings', () => {
    const at = truthAt(struck, struck.struckAt);
    // Push and lift to the waviness, tilt exactly; the width between the edges is the plate's.
    expect(Math.abs(at.under.y - hit.push)).toBeLessThan(0.005);
    expect(Math.abs(at.under.z - hit.lift)).toBeLessThan(0.004);
    expect(at.tilt).toBeCloseTo(hit.tilt, 6);
    expect(Math.hypot(at.positive.y - at.negative.y, at.positive.z - at.negative.z)).toBeCloseTo(b, 9);
    for (const x of [0, span]) {
      expect(poseAt(struck, x).y).toBeCloseTo(0, 6);
      expect(poseAt(struck, x).tilt).toBeCloseTo(0, 6);
    }
  });

  it('without noise every point near the flange lies on it, both edges are reached, and its far side is not seen', () => {
    const cloud = castCloud(
      struck,
      { stands: standsAlong(struck, 1, 1), spacing: 0.012, noise: 0, step: 0, mast: false },
      createRandom('cast'),
    );
    let [on, off, least, most, top] = [0, 0, 0, 0, 0];
    for (let i = 0; i < cloud.length; i += 3) {
      const [x, y, z] = [cloud[i]!, cloud[i + 1]!, cloud[i + 2]!];
      if (Math.abs(x - struck.struckAt) > 1.5) continue;
      const pose = poseAt(struck, x);
      const [c, s] = [Math.cos(pose.tilt), Math.sin(pose.tilt)];
      const u = (y - pose.y) * c + (z - pose.z) * s;
      const v = -(y - pose.y) * s + (z - pose.z) * c;
      if (Math.abs(u) > b / 2 + 0.02 || v < -0.05 || v > 0.02) continue;
      const surface = Math.min(Math.abs(v), Math.abs(u - b / 2));
      if (surface < 0.0005) on++;
      else off++;
      least = Math.min(least, u);
      most = Math.max(most, u);
      // The upper side faces away from a scanner on the ground.
      if (v > t - 0.001 && Math.abs(u) < b / 2 - 0.01) top++;
    }
    expect(on).toBeGreaterThan(3000);
    // Spots on two faces are the only points off the steel.
    expect(off / on).toBeLessThan(0.05);
    expect(top).toBe(0);
    expect(least).toBeLessThan(-b / 2 + 0.002);
    expect(least).toBeGreaterThan(-b / 2 - 0.002);
    expect(most).toBeGreaterThan(b / 2 - 0.002);
    expect(most).toBeLessThan(b / 2 + 0.002);
  });

  it('a bent web is cast as smooth as the plate that truth is taken from, not as a few flats', () => {
    const pushed = { ...GIRDER, span: 8, struckAt: 4, hit: { push: 0.457, tilt: 0, lift: 0 } };
    const cloud = castCloud(
      pushed,
      { stands: standsAlong(pushed, 1, 1), spacing: 0.012, noise: 0, step: 0, mast: false },
      createRandom('web'),
    );
    let [most, seen] = [0, 0];
    for (let i = 0; i < cloud.length; i += 3) {
      const [x, y, z] = [cloud[i]!, cloud[i + 1]!, cloud[i + 2]!];
      if (Math.abs(x - pushed.struckAt) > 0.3) continue;
      // Not turned and hardly lifted, the web is upright at both ends: by hand, 2s³ - 3s² + 1 of what its foot was pushed.
      const pose = poseAt(pushed, x);
      const s = (z - pose.z - t) / (pushed.depth - 2 * t - pose.z);
      if (s < 0.3 || s > 0.98) continue;
      const off = y - pushed.webThickness / 2 - (2 * s ** 3 - 3 * s ** 2 + 1) * pose.y;
      if (Math.abs(off) > 0.02) continue;
      most = Math.max(most, Math.abs(off));
      seen++;
    }
    expect(seen).toBeGreaterThan(500);
    expect(most).toBeLessThan(0.0006);
  });

  it('a post in front hides the steel behind it', () => {
    const spec = { stands: standsAlong(GIRDER, 1, 1), spacing: 0.02, noise: 0, step: 0 };
    const count = (mast: boolean) => {
      const cloud = castCloud(GIRDER, { ...spec, mast }, createRandom('post'));
      let points = 0;
      for (let i = 0; i < cloud.length; i += 3)
        if (cloud[i]! > 16 && cloud[i]! < 19 && Math.abs(cloud[i + 1]!) < 0.21) points++;
      return points;
    };
    const [open, behind] = [count(false), count(true)];
    expect(behind).toBeLessThan(0.98 * open);
    expect(behind).toBeGreaterThan(0.8 * open);
  });

  it('the same seed gives the same cloud; edges of a turned plate are its corners turned', () => {
    const spec = { stands: standsAlong(struck, 2, 1), spacing: 0.04, noise: 0.002, step: 0.005, mast: true };
    expect(castCloud(struck, spec, createRandom('s'))).toEqual(castCloud(struck, spec, createRandom('s')));
    // By hand: a quarter turn puts the +u edge straight up and the upper side toward -y.
    const p = flangePoint({ y: 1, z: 2, tilt: Math.PI / 2 }, 0.2, 0.03);
    expect(p.y).toBeCloseTo(0.97, 12);
    expect(p.z).toBeCloseTo(2.2, 12);
  });
});
