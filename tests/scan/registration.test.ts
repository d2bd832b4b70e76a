import { describe, expect, it } from 'vitest';
import { GIRDER, type GirderSpec, truthAt } from '../bench/raycast/girder.ts';
import { castCloud, standsAlong } from '../bench/raycast/scanner.ts';
import { createRandom } from '../mechanics/random.ts';
import { flangeOf, girderLines } from './taking.ts';

/** Truth: a struck girder cast ray by ray from places that do not fit each other; see tests/bench/raycast. */
const struck: GirderSpec = {
  ...GIRDER,
  span: 12,
  struckAt: 5.2,
  hit: { push: 0.25, tilt: 0.2, lift: 0.05 },
};
const clouds = new Map<string, Float64Array>();
/** Cast once for all tests that look at it. */
function cast(places: number, step: number): Float64Array {
  const key = `${places} places, ${step}`;
  const spec = { spacing: 0.012, noise: 0.002, step, mast: false };
  const cloud =
    clouds.get(key) ??
    castCloud(struck, { ...spec, stands: standsAlong(struck, places, 1) }, createRandom(key));
  clouds.set(key, cloud);
  return cloud;
}

function take(points: Float64Array, registration: number | null = null, g: GirderSpec = struck) {
  const { edge, camber } = girderLines(g);
  const extractor = flangeOf(g, [edge, camber], points, registration);
  const view = extractor.view();
  const [first, last] = [truthAt(g, 0), truthAt(g, g.span)];
  const profiles = extractor.profiles(view).map((profile) => {
    const sideways = profile.line.kind === 'sweep';
    const errors = profile.stations.map((each) => {
      const [t, share] = [truthAt(g, each.station), each.station / g.span];
      const chord = sideways
        ? first.positive.y + share * (last.positive.y - first.positive.y)
        : first.under.z + share * (last.under.z - first.under.z);
      const error = each.offset - ((sideways ? t.positive.y : t.under.z) - chord);
      return { error, u: each.u };
    });
    const rms = Math.sqrt(errors.reduce((sum, { error }) => sum + error ** 2, 0) / errors.length);
    const covered = errors.filter(({ error, u }) => Math.abs(error) <= 1.96 * u).length / errors.length;
    const worst = Math.max(...errors.map(({ error, u }) => Math.abs(error) / u));
    return {
      rms,
      covered,
      worst,
      notes: profile.notes.join('; '),
      u: errors.map(({ u }) => u).sort()[errors.length >> 1]!,
    };
  });
  return { how: view.registration.how, sd: view.registration.sd, edge: profiles[0]!, camber: profiles[1]! };
}

describe('scans from several places that do not fit each other', () => {
  it.each([
    [2, 0.005],
    [3, 0.005],
    [4, 0.002],
  ])(
    '%d places with steps of %d m are fitted to each other on the steel, and u covers what is left',
    (places, step) => {
      const points = cast(places, step);
      const found = take(points);
      expect(found.how).toBe('found');
      expect(found.sd).toBeGreaterThan(step / 12);
      expect(found.edge.rms).toBeLessThan(0.0008);
      expect(found.camber.rms).toBeLessThan(0.0004);
      expect(found.edge.covered).toBeGreaterThan(0.9);
      expect(found.camber.covered).toBeGreaterThan(0.9);
      expect(found.edge.notes).toMatch(/scans from different places differ by .* fitted to each other/);
      // Taken as they are the places leave more than that.
      if (places === 3) expect(take(points, 0).edge.rms).toBeGreaterThan(1.5 * found.edge.rms);
    },
  );

  it('one place alone adds nothing; a shuffled file says that its places are lost, and doubts all it scatters by', () => {
    const one = take(cast(1, 0));
    expect(one.how).toBe('one');
    expect(one.edge.u).toBeLessThan(0.001);
    const lost = take(shuffled(cast(2, 0.005)));
    expect(lost.how).toBe('lost');
    expect(lost.edge.notes).toMatch(/order of the points does not tell where they were scanned from/);
    expect(lost.edge.u).toBeGreaterThan(0.0015);
    expect(lost.edge.covered).toBeGreaterThan(0.9);
  });

  it('places of a shuffled file that lie off sideways show at the edges alone, where both see them, and u covers it all along', () => {
    // 8 mm from one place to the other, none of it in height: the face lies as it would in one scan.
    const halves = standsAlong(struck, 2, 1).map((stand, k) => {
      const spec = { spacing: 0.012, noise: 0.002, step: 0, mast: false, stands: [stand] };
      return castCloud(struck, spec, createRandom(`half ${k}`)).map((v, i) =>
        i % 3 === 1 ? v + (k === 0 ? 0.004 : -0.004) : v,
      );
    });
    const lost = take(shuffled(Float64Array.from(halves.flatMap((half) => [...half]))));
    expect(lost.how).toBe('lost');
    expect(lost.edge.rms).toBeGreaterThan(0.002);
    expect(lost.edge.covered).toBeGreaterThan(0.9);
    expect(lost.edge.u).toBeLessThan(0.007);
    // In height they fit, and u says so.
    expect(lost.camber.u).toBeLessThan(0.0025);
  });

  it('a registration that is given stands as it is', () => {
    const given = take(cast(2, 0.005), 0.004);
    expect(given.how).toBe('given');
    expect(given.camber.u).toBeGreaterThan(0.004);
    expect(given.camber.u).toBeLessThan(0.0045);
  });
});

/** Every point once, in an order that says nothing: by a stride that shares no factor with the count. */
function shuffled(points: Float64Array): Float64Array {
  const out = new Float64Array(points.length);
  const n = points.length / 3;
  let stride = Math.floor(0.618 * n) | 1;
  while (gcd(stride, n) !== 1) stride += 2;
  for (let i = 0; i < n; i++)
    out.set(points.subarray(3 * ((i * stride) % n), 3 * ((i * stride) % n) + 3), 3 * i);
  return out;
}

function gcd(a: number, b: number): number {
  return b === 0 ? a : gcd(b, a % b);
}
