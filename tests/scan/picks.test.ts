import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addScan } from '../../src/cli/commands/scan.ts';
import { unitOfDistance } from '../../src/scan/from-picks.ts';
import { runInProcess } from '../cli/in-process.ts';
import { createRandom } from '../mechanics/random.ts';
import { lasFile, type Point } from './cloud-files.ts';
import { edgeOf, strewn, struckFlange } from './swept-flange.ts';

/** From two clicks to a survey: a flange swept by its own formulas (swept-flange.ts), in feet and in a frame of its own. */
const SPAN = 12;
const FOOT = 0.3048;
const flange = struckFlange(SPAN, 5, 0.2, 0.15, 0.03);
const folder = mkdtempSync(join(tmpdir(), 'sweepbook-picks-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** As the cloud has it: feet, 1000 and 2000 ft off, turned by 40 degrees about the vertical, so that y is not across. */
const turn = (40 * Math.PI) / 180;
function inCloud([x, y, z]: Point, yUp = false): Point {
  const [a, b] = [x * Math.cos(turn) - y * Math.sin(turn), x * Math.sin(turn) + y * Math.cos(turn)];
  return yUp
    ? [a / FOOT + 1000, z / FOOT + 50, -b / FOOT + 2000]
    : [a / FOOT + 1000, b / FOOT + 2000, z / FOOT + 50];
}
const pick = (x: number, yUp = false) => {
  const { y, z } = edgeOf(flange, x, 1);
  return inCloud([x + 0.02, y - 0.03, z - 0.01], yUp)
    .map((v) => v.toFixed(3))
    .join(',');
};

function makeJob(name: string, more: Record<string, unknown> = {}) {
  const at = join(folder, name);
  mkdirSync(join(at, 'readings'), { recursive: true });
  writeFileSync(
    join(at, 'job.json'),
    JSON.stringify({
      job: 'Withy Lane over the drain, girder 2',
      units: 'us',
      member: {
        span: `${SPAN} m`,
        yieldStress: '36 ksi',
        flangeWidth: '406 mm',
        flangeThickness: '32 mm',
        depth: '1.2 m',
      },
      lines: {
        flange: { kind: 'sweep', bearings: ['0 m', `${SPAN} m`], positive: 'toward the river' },
        ...more,
      },
    }),
  );
  return at;
}
const run = (...args: string[]) =>
  runInProcess(['scan', ...args], [addScan], { cwd: folder, now: () => new Date('2031-05-06T07:08:09Z') });

let near: Point[] = [];
beforeAll(() => {
  const seenFrom = (y: number): Point[] => {
    const flat = strewn(
      flange,
      {
        from: [
          [3, y, -3.5],
          [9, y, -3.5],
        ],
        spacing: 0.015,
        noise: 0.0015,
      },
      createRandom('picks'),
    );
    return Array.from(
      { length: flat.length / 3 },
      (_, i): Point => [flat[3 * i]!, flat[3 * i + 1]!, flat[3 * i + 2]!],
    );
  };
  near = seenFrom(4);
  const write = (name: string, yUp: boolean, points = near) =>
    writeFileSync(
      join(folder, name),
      lasFile(
        points.map((p) => inCloud(p, yUp)),
        { minor: 2, format: 0, scale: 0.0002 },
      ),
    );
  write('found.las', false);
  write('y-up.las', true);
  write('behind.las', false, seenFrom(-4));
});

describe('the unit of two picks', () => {
  it('is the one in which they are as far apart as their stations', () => {
    // 62 ft is 18.8976 m, 744 in, 18897.6 mm: exact factors.
    expect(unitOfDistance(18.89, 18.8976)).toBe('m');
    expect(unitOfDistance(62.1, 18.8976)).toBe('ft');
    expect(unitOfDistance(744, 18.8976)).toBe('in');
    expect(unitOfDistance(18900, 18.8976)).toBe('mm');
    expect(unitOfDistance(1889, 18.8976)).toBe('cm');
    expect(unitOfDistance(30, 18.8976)).toBeNull();
  });
});

describe('two picks on a flange', () => {
  it('are enough: unit, up, side and edge are shown first, imported on --yes, and kept as set-up', async () => {
    makeJob('job');
    const args = ['found.las', '--job', 'job', '--cycle', '0', '--from', pick(0), '--to', pick(SPAN)];
    const shown = await run(...args, '--preview', 'shown.html');
    expect(shown.status, shown.err).toBe(0);
    expect(shown.out).toMatch(/Unit: ft/);
    expect(shown.out).toMatch(/Up: the z axis/);
    expect(shown.out).toMatch(/Positive side: left, .* taken to be the side the flange is pushed to/);
    expect(shown.out).toMatch(/Flange: (15 15\/16|16|16 1\/16) in across/);
    expect(shown.out).toMatch(/Nothing was imported/);
    expect(existsSync(join(folder, 'job/scans'))).toBe(false);
    expect(existsSync(join(folder, 'job/scan.json'))).toBe(false);
    const page = readFileSync(join(folder, 'shown.html'), 'utf8');
    expect(page).toContain('default-src &#39;none&#39;');
    expect(page).not.toMatch(/<script|https?:\/\/(?!www\.w3\.org)/);
    expect(page).toContain('Nothing was imported yet.');

    const kept = await run(...args, '--yes');
    expect(kept.status, kept.err).toBe(0);
    const setUp = JSON.parse(readFileSync(join(folder, 'job/scan.json'), 'utf8'));
    expect(setUp.units).toBe('ft');
    // Across the girder: the turned +y of the shape, by hand (-sin 40, cos 40).
    expect(setUp.lines.flange.direction.map((v: number) => Number(v.toFixed(2)))).toEqual([-0.64, 0.77, 0]);
    // The next scan in the same coordinates needs no picks; it gives the same.
    const again = await run('found.las', '--job', 'job', '--cycle', '1', '--csv');
    expect(again.status, again.err).toBe(0);
    const rows = again.out
      .split('\n')
      .filter((l) => l.startsWith('1,'))
      .map((l) => l.split(','));
    expect(rows.length).toBeGreaterThan(35);
    // Against the shape itself: the picks only set the string, so a straight line is free (here: the chord of the picks).
    const chord = edgeOf(flange, 0, 1).y - 0.03;
    for (const row of rows) {
      const x = Number(row[2]) * FOOT;
      const wanted = edgeOf(flange, x, 1).y - chord;
      expect(Math.abs(Number(row[3]) * 0.0254 - wanted), `at ${x}`).toBeLessThan(0.004);
    }
  });

  it('camber, tilt and plumb lines need no more than two picks either', async () => {
    const line = (kind: string, positive: string) => ({ kind, bearings: ['0 m', `${SPAN} m`], positive });
    makeJob('kinds', {
      camber: line('camber', 'up'),
      tilt: line('tilt', 'north edge high'),
      plumb: line('plumb', 'top toward the river'),
    });
    const taken = async (name: string, height: number, ...more: string[]) => {
      const at = (x: number) =>
        inCloud([x, flange.y(x), flange.z(x) + height])
          .map((v) => v.toFixed(3))
          .join(',');
      const args = [
        'found.las',
        '--job',
        'kinds',
        '--cycle',
        '0',
        '--line',
        name,
        '--from',
        at(0),
        '--to',
        at(SPAN),
      ];
      const shown = await run(...args, '--yes', ...more);
      expect(shown.status, shown.err).toBe(0);
      const csv = readFileSync(join(folder, 'kinds', /Kept as (\S+),/.exec(shown.out)![1]!), 'utf8');
      const rows = csv.split('\n').filter((l) => l.startsWith('0,'));
      const offsets = rows.map((l) => ({
        x: Number(l.split(',')[2]) * FOOT,
        mm: 25.4 * Number(l.split(',')[3]),
      }));
      expect(offsets.length).toBeGreaterThan(30);
      return { said: shown.out, near: offsets.sort((a, b) => Math.abs(a.x - 5) - Math.abs(b.x - 5))[0]! };
    };
    const camber = await taken('camber', -0.016);
    expect(camber.said).toMatch(/Positive: up: \(0\.000, 0\.000, 1\.000\)/);
    const { x } = camber.near;
    // The underside's middle, by the shape's own formulas.
    expect(camber.near.mm).toBeCloseTo(1000 * (flange.z(x) + 0.016 * (1 - Math.cos(flange.tilt(x)))), -0.5);
    const tilt = await taken('tilt', -0.016);
    expect(tilt.said).toMatch(/Positive: the left edge up, .*taken to be the way the flange is turned most/);
    expect(Math.abs(tilt.near.mm - 406 * Math.tan(flange.tilt(tilt.near.x)))).toBeLessThan(2);
    // The web is straight from the flange's middle to the deck, which did not move: the top stands back from the foot.
    const plumb = await taken('plumb', 0.6, '--positive', 'left', '--preview', 'web.html');
    expect(plumb.said).toMatch(/Positive: its top leaning to the left, .*as told/);
    expect(Math.abs(plumb.near.mm + 1000 * flange.y(plumb.near.x))).toBeLessThan(15);
    // Drawn as read: the line through the points of a slice leans as the reading beside it, the web being straight.
    const kept = /Kept as (\S+)\.csv,/.exec(plumb.said)![1]!;
    const [web] = JSON.parse(readFileSync(join(folder, 'kinds', `${kept}.view.json`), 'utf8')).webs;
    const slices = (web.slices as { station: number; curves: number[][] }[]).filter(
      (s) => s.curves.length > 0,
    );
    expect(slices.length).toBeGreaterThan(6);
    for (const { station, curves } of slices) {
      const read = (web.readings as { station: number; offset: number }[]).sort(
        (a, b) => Math.abs(a.station - station) - Math.abs(b.station - station),
      )[0]!;
      for (const curve of curves) {
        const leans = ((curve.at(-1)! - curve[0]!) * web.extent) / (web.band[1] - web.band[0]);
        expect(Math.abs(leans - read.offset)).toBeLessThan(0.025);
      }
    }
    const page = readFileSync(join(folder, 'web.html'), 'utf8');
    expect(page).toMatch(/In every slice the blue line must lie on the web/);
    expect(page.match(/aria-label="Web at /g)!.length).toBe(web.slices.length);
  });

  it('a cloud whose y axis is up is found so', async () => {
    makeJob('upright');
    const shown = await run(
      'y-up.las',
      '--job',
      'upright',
      '--cycle',
      '0',
      '--from',
      pick(0, true),
      '--to',
      pick(SPAN, true),
    );
    expect(shown.status, shown.err).toBe(0);
    expect(shown.out).toMatch(/Up: the y axis/);
    expect(shown.out).toMatch(/Positive side: left/);
  });

  it('tell the side the flange is pushed to from the middle of the flange, scanned from behind the push', async () => {
    makeJob('behind');
    const middle = (x: number) => {
      const [p, q] = [edgeOf(flange, x, 1), edgeOf(flange, x, -1)];
      return inCloud([x, (p.y + q.y) / 2, (p.z + q.z) / 2])
        .map((v) => v.toFixed(3))
        .join(',');
    };
    const args = ['behind.las', '--job', 'behind', '--cycle', '0', '--from', middle(0), '--to', middle(SPAN)];
    const shown = await run(...args);
    expect(shown.status, shown.err).toBe(0);
    // The shape is pushed toward its +y, left of a line along x; the edge read is the one behind.
    expect(shown.out).toMatch(/Positive side: left, .* taken to be the side the flange is pushed to/);
    expect(shown.out).toMatch(/Edge: the one on the negative side/);
    const reversed = await run(...args.slice(0, 5), '--from', middle(SPAN), '--to', middle(0));
    expect(reversed.out).toMatch(/Positive side: right, .* taken to be the side the flange is pushed to/);
  });

  it('readings taken before tell which side is positive', async () => {
    const job = makeJob('read-before');
    // The same shape by hand with the other side positive.
    const rows = Array.from(
      { length: SPAN + 1 },
      (_, i) => `0,flange,${i} m,${(-1000 * flange.y(i)).toFixed(1)} mm`,
    );
    writeFileSync(join(job, 'readings/as-found.csv'), `cycle,line,station,offset\n${rows.join('\n')}\n`);
    const args = ['found.las', '--job', 'read-before', '--cycle', '1', '--from', pick(0), '--to', pick(SPAN)];
    expect((await run(...args)).out).toMatch(/Positive side: right, .*correlation (0\.9|1\.0)/);
    expect((await run(...args, '--positive', 'left')).out).toMatch(/Positive side: left, .*as told/);
  });

  it('refuses picks that fit no unit, a pick beside the steel, and lines it cannot tell apart', async () => {
    makeJob('refusals');
    const near = await run(
      'found.las',
      '--job',
      'refusals',
      '--cycle',
      '0',
      '--from',
      pick(2),
      '--to',
      pick(10),
    );
    expect(near.status).toBe(1);
    expect(near.err).toMatch(/unit of the cloud cannot be told.*if in m.*if in ft.*--stations/s);
    const told = await run(
      'found.las',
      '--job',
      'refusals',
      '--cycle',
      '0',
      '--from',
      pick(2),
      '--to',
      pick(10),
      '--stations',
      '2 m, 10 m',
    );
    expect(told.status, told.err).toBe(0);
    const off = inCloud([SPAN, 1.5, 0.5]).join(',');
    const beside = await run(
      'found.las',
      '--job',
      'refusals',
      '--cycle',
      '0',
      '--from',
      pick(0),
      '--to',
      off,
      '--preview',
      'refused.html',
    );
    expect(beside.status).toBe(1);
    expect(readFileSync(join(folder, 'refused.html'), 'utf8')).toMatch(
      /Nothing was imported: the flange could not be followed/,
    );
    makeJob('two', { top: { kind: 'sweep', bearings: ['0 m', `${SPAN} m`], positive: 'toward the river' } });
    const two = await run('found.las', '--job', 'two', '--cycle', '0', '--from', pick(0), '--to', pick(SPAN));
    expect(two.err).toMatch(/2 lines as long .*--line with one of "flange", "top"/s);
    const lone = await run('found.las', '--job', 'two', '--cycle', '0', '--from', pick(0));
    expect(lone.status).toBe(2);
  });

  it('without any pick the flange is found, with picks as near its ends as the cloud tells', async () => {
    makeJob('find');
    const found = await run('found.las', '--job', 'find', '--cycle', '0', '--find', '--json');
    expect(found.status, found.err).toBe(0);
    const [best] = JSON.parse(found.out).members;
    expect(best.units).toBe('ft');
    // The middle of the underside at the ends of the line, by the shape's own formulas; either end may be the first.
    const ends = [0, SPAN].map((x) => inCloud([x, flange.y(x), flange.z(x) - flange.thickness / 2]));
    const near = (p: Point, q: Point) => Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]) * FOOT;
    for (const [p, q] of [[best.from, best.to]])
      expect(
        Math.min(near(p, ends[0]!) + near(q, ends[1]!), near(p, ends[1]!) + near(q, ends[0]!)),
      ).toBeLessThan(0.6);
    // 0.2 m of push at 5 m from one end.
    expect(Math.abs(best.farthest.offset)).toBeGreaterThan(0.18);
    expect(Math.abs(best.farthest.offset)).toBeLessThan(0.21);
    expect(existsSync(join(folder, 'find/scans'))).toBe(false);
  });

  it('is drawn with its number, end on and in plan, and the next command reads the cloud the same way', async () => {
    makeJob('drawn');
    const rows = near.filter((_, i) => i % 3 === 0).map((p) => inCloud(p).map((v) => v.toFixed(3)));
    writeFileSync(join(folder, 'rows.xyz'), rows.map((row) => `${row.join(' ')}\n`).join(''));
    const args = ['rows.xyz', '--columns', 'x,y,z', '--job', 'drawn', '--cycle', '0', '--find'];
    const found = await run(...args, '--preview', 'drawn.html');
    expect(found.status, found.err).toBe(0);
    expect(found.err).toMatch(
      /Next: sweepbook scan \S*rows\.xyz --columns '?x,y,z'? --job drawn .*--preview/,
    );
    const page = readFileSync(join(folder, 'drawn.html'), 'utf8');
    expect(page).not.toMatch(/<script|https?:\/\/(?!www\.w3\.org)/);
    // The picks a reader is to copy are those of the list.
    expect(page).toContain(/--from \S+ --to \S+/.exec(found.out)![0]);
    for (const name of ['Cloud seen along the girders', 'Plan of the cloud']) {
      // Once for a page and once for a phone.
      const drawings = page.split('<svg').filter((each) => each.includes(name));
      expect(drawings.length).toBe(2);
      for (const drawing of drawings) {
        expect(drawing).toMatch(/class="pick-name"[^>]*>1</);
        expect(drawing.match(/h0/g)!.length).toBeGreaterThan(1000);
      }
    }
    expect(existsSync(join(folder, 'drawn/scans'))).toBe(false);
  });
});
