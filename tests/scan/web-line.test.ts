import { describe, expect, it } from 'vitest';
import { extractLine } from '../../src/scan/extract-line.ts';
import { webFeet } from '../../src/scan/web-foot.ts';
import { GIRDER, type GirderSpec, sectionAt } from '../bench/raycast/girder.ts';
import { castCloud, standsAlong } from '../bench/raycast/scanner.ts';
import { createRandom } from '../mechanics/random.ts';
import { feed, flangeOf, girderLines } from './taking.ts';

/** Truth: the web of a girder cast ray by ray from both sides, both its faces in one cloud; see tests/bench/raycast. */
function girder(push: number, tilt: number, lift: number): GirderSpec {
  return { ...GIRDER, span: 8, struckAt: 3.6, hit: { push, tilt, lift } };
}

/** How far the top of the web stands beyond its foot, m: by the vertices of its two faces. */
function leanAt(g: GirderSpec, x: number): number {
  const section = sectionAt(g, x);
  // Two rows of nine vertices of the flange come first, then those of each face of the web from the foot up.
  const middle = (k: number) => (section[18 + k]!.y + section[19 + g.webParts + k]!.y) / 2;
  return middle(g.webParts) - middle(0);
}

/** @param onFlange whether the flange the web stands on is followed in the same cloud */
function take(g: GirderSpec, sides: readonly (1 | -1)[], onFlange: boolean) {
  const stands = sides.flatMap((side) => standsAlong(g, 1, side));
  const spec = { stands, spacing: 0.012, noise: 0.002, step: 0, mast: false };
  const points = castCloud(g, spec, createRandom(`web ${JSON.stringify(g.hit)} ${sides}`));
  const { edge, plumb } = girderLines(g);
  const web = extractLine(plumb, 1, { flangeThickness: g.flangeThickness, leastU: 0 });
  feed(points, web);
  const feet = onFlange ? webFeet(flangeOf(g, [edge], points).view(), web.frame, plumb.extent) : [];
  const profile = web.profile(feet);
  const errors = profile.stations.map((each) => ({
    error: each.offset - leanAt(g, each.station),
    u: each.u,
  }));
  const rms = Math.sqrt(errors.reduce((sum, { error }) => sum + error ** 2, 0) / errors.length);
  const covered = errors.filter(({ error, u }) => Math.abs(error) <= 1.96 * u).length / errors.length;
  return {
    read: errors.length,
    unread: profile.unread.length,
    feet: feet.length,
    notes: profile.notes.join(),
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
    const found = take(girder(push, tilt, 0), [1, -1], false);
    expect(found.read).toBeGreaterThan(0.9 * (found.read + found.unread));
    // One face joined to the other (11 mm apart) would show as that much.
    expect(found.worst).toBeLessThan(0.004);
    expect(found.rms).toBeLessThan(0.0013);
    expect(found.covered).toBeGreaterThan(0.88);
    // Where the web is bent its unseen ends are most of the doubt, and the flange would tell.
    expect(found.notes).toMatch(push > 0 ? /a line of the flange it stands on/ : /^$/);
  });

  it('struck and lifted 0.2 m: read to where it stands on the flange, which was followed in the same cloud', () => {
    const found = take(girder(0.3, 0.3, 0.2), [1, -1], true);
    expect(found.feet).toBeGreaterThan(100);
    expect(found.notes).toBe('');
    // Without the flange: 11 mm.
    expect(found.rms).toBeLessThan(0.003);
    expect(found.covered).toBeGreaterThan(0.9);
  });

  it('seen far along the member, a column of points a slice: noise that lies in the plane of its rays is no slope', () => {
    const random = createRandom('columns');
    const { plumb } = girderLines(girder(0, 0, 0));
    const [low, high] = [plumb.from[2] - plumb.extent / 2, plumb.from[2] + plumb.extent / 2];
    // Rays 70 degrees off square; a web that leans 8 mm over its depth, in a straight line.
    const [dx, dy] = [Math.sin(1.22), -Math.cos(1.22)];
    const points: number[] = [];
    for (let x = 0; x <= 8; x += 0.047)
      for (let z = low + 0.06; z < high - 0.02; z += 0.02) {
        const noise = 0.002 * random.normal();
        points.push(x + noise * dx, 0.0055 + (0.008 * (z - low)) / (high - low) + noise * dy, z);
      }
    const web = extractLine(plumb, 1, { flangeThickness: GIRDER.flangeThickness, leastU: 0 });
    feed(Float64Array.from(points), web);
    const { stations } = web.profile([]);
    expect(stations.length).toBeGreaterThan(10);
    for (const { station, offset, u } of stations) {
      expect(Math.abs(offset - 0.008), `${station} m, u ${u}`).toBeLessThan(4 * u);
      expect(u).toBeGreaterThan(0.0002);
      expect(u).toBeLessThan(0.003);
    }
  });

  it('scanned from a place turned against the flange it is held at: the turn is no lean', () => {
    const random = createRandom('turned place');
    const { plumb } = girderLines(girder(0, 0, 0));
    const [low, high] = [plumb.from[2] - plumb.extent / 2, plumb.from[2] + plumb.extent / 2];
    // A web that leans 8 mm over its depth in a straight line; of its lowest sixth nothing is seen.
    const points: number[] = [];
    for (let n = 0; n < 60_000; n++) {
      const z = low + (0.16 + (0.98 - 0.16) * random.uniform()) * (high - low);
      points.push(
        8 * random.uniform(),
        0.0055 + (0.008 * (z - low)) / (high - low) + 0.002 * random.normal(),
        z,
      );
    }
    const web = extractLine(plumb, 1, { flangeThickness: GIRDER.flangeThickness, leastU: 0 });
    feed(Float64Array.from(points), web);
    // The flange as all places together have it, turned so much against this one.
    const read = (turn: number) =>
      web.profile(
        Array.from({ length: 161 }, (_, k) => ({
          at: 0.05 * k,
          toward: turn * (0.05 * k - 4),
          across: -plumb.extent / 2,
          u: 0.0003,
        })),
      ).stations;
    const [straight, turned] = [read(0), read(0.0008)];
    expect(turned.length).toBeGreaterThan(25);
    expect(turned.length).toBe(straight.length);
    // Held at the flange as it stands, the ends of the member would be off by 3 mm.
    turned.forEach(({ offset, u }, i) => {
      expect(Math.abs(offset - straight[i]!.offset)).toBeLessThan(0.0005);
      expect(Math.abs(offset - 0.008)).toBeLessThan(3 * u);
    });
  });

  describe.each([
    ['at a third of its height', 0.33],
    ['just above the flange, hidden by it', 0.08],
  ])('broken along a line %s, and otherwise flat', (_, share) => {
    it('points many and quiet do not make u smaller than what the shape leaves open', () => {
      const random = createRandom(`hinge ${share}`);
      const { plumb } = girderLines(girder(0, 0, 0));
      const [low, high] = [plumb.from[2] - plumb.extent / 2, plumb.from[2] + plumb.extent / 2];
      const height = high - low;
      // Pushed at its foot by up to 0.15 m where it was struck; below the line it stands square to a flange turned by 0.35.
      const pushed = (x: number) => 0.15 * Math.exp(-(((x - 4) / 0.8) ** 2) / 2);
      const place = (x: number, z: number) => {
        const bend = low + share * height;
        const atBend = pushed(x) - (0.35 * share * height * pushed(x)) / 0.15;
        const [below, above] = [
          pushed(x) + ((z - low) / (bend - low)) * (atBend - pushed(x)),
          atBend * ((high - z) / (high - bend)),
        ];
        const mix = 1 / (1 + Math.exp(-(z - bend) / 0.012));
        return 0.0055 + below * (1 - mix) + above * mix;
      };
      const points: number[] = [];
      for (let n = 0; n < 150_000; n++) {
        const [x, z] = [8 * random.uniform(), low + (0.15 + 0.81 * random.uniform()) * height];
        points.push(x, place(x, z) + 0.0008 * random.normal(), z);
      }
      const line = { ...plumb, band: [-0.47 * height, 0.47 * height] as const };
      const web = extractLine(line, 1, { flangeThickness: GIRDER.flangeThickness, leastU: 0 });
      feed(Float64Array.from(points), web);
      const feet = Array.from({ length: 161 }, (_, k) => ({
        at: 0.05 * k,
        toward: pushed(0.05 * k),
        across: -plumb.extent / 2,
        u: 0.0003,
      }));
      // With the flange that was followed, and by itself.
      for (const [stands, most] of [
        [feet, 0.006],
        [[], 0.025],
      ] as const) {
        const { stations } = web.profile(stands);
        expect(stations.length).toBeGreaterThan(28);
        let [within, squares] = [0, 0];
        for (const { station, offset, u } of stations) {
          const error = Math.abs(offset + pushed(station));
          expect(error, `${station} m, ${stands.length} feet, u ${u}`).toBeLessThan(4 * u);
          if (error < 1.96 * u) within++;
          squares += error ** 2;
        }
        expect(within / stations.length).toBeGreaterThan(0.85);
        expect(Math.sqrt(squares / stations.length)).toBeLessThan(most);
      }
    });
  });
});
