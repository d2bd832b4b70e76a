import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, it } from 'vitest';
import { addScan } from '../../src/cli/commands/scan.ts';
import type { Io } from '../../src/cli/io.ts';
import { run } from '../../src/cli/program.ts';
import type { Vec3 } from '../../src/scan/vector.ts';
import { type Point, plyFile } from './cloud-files.ts';
import { createRandom, pickedLine, scanOf, shapeOf, struckGirder } from './scan-girder.ts';

const folder = mkdtempSync(join(tmpdir(), 'sweepbook-aligned-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Piers, seats and a stiffener: patches that face three ways. */
const PATCHES: Record<string, { at: Vec3; normal: Vec3 }> = {
  'west pier': { at: [-0.6, 0.3, -0.6], normal: [0, 1, 0] },
  'east pier': { at: [19, 0.3, -0.6], normal: [0, 1, 0] },
  'west seat': { at: [-0.6, 1.2, -0.3], normal: [0, 0, 1] },
  'east seat': { at: [19, 1.2, -0.3], normal: [0, 0, 1] },
  'middle pier cap': { at: [9, -1.2, 0.8], normal: [0, 0, 1] },
  stiffener: { at: [-0.6, -1, 0.6], normal: [1, 0, 0] },
};

it('a scan that stands 12 mm and 1.5 mrad off gives the same offsets once aligned, and a moved patch stops it', async () => {
  const random = createRandom('aligned');
  const shape = shapeOf(struckGirder(random));
  const turn = 0.0015;
  const off = ([x, y, z]: Point): Point => [x - turn * y + 0.012, y + turn * x - 0.008, z + 0.01];
  const cloud = (name: string, moved: boolean, loose: string | null) => {
    const draw = random.fork(name);
    const flat = scanOf(shape, draw, { step: 0.0014 });
    const points: Point[] = Array.from(
      { length: flat.length / 3 },
      (_, i): Point => [flat[3 * i]!, flat[3 * i + 1]!, flat[3 * i + 2]!],
    );
    for (const [patch, { at, normal }] of Object.entries(PATCHES)) {
      for (let i = 0; i < 2500; i++) {
        const p = at.map((v, k) =>
          normal[k] === 1 ? v + 0.002 * draw.normal() : v + draw.between(-0.28, 0.28),
        );
        if (patch === loose) p[2]! += 0.015;
        points.push(p as unknown as Point);
      }
    }
    writeFileSync(
      join(folder, name),
      plyFile(moved ? points.map(off) : points, 'binary_little_endian', 'double'),
    );
  };
  cloud('first.ply', false, null);
  cloud('later.ply', true, null);
  cloud('loose.ply', true, 'middle pier cap');
  const { span } = shape;
  const line = pickedLine(shape);
  writeFileSync(
    join(folder, 'job.json'),
    JSON.stringify({
      job: 'Juniper Lane over the canal, girder 4',
      units: 'si',
      member: {
        span,
        yieldStress: '250 MPa',
        flangeWidth: Number((shape.flangeWidth * 1000).toFixed(6)),
        flangeThickness: Number((shape.flangeThickness * 1000).toFixed(6)),
      },
      lines: {
        'bottom-flange': { kind: 'sweep', bearings: [0, span], positive: 'toward the north shoulder' },
      },
      acceptance: [{ line: 'bottom-flange', limit: 12, over: 'whole line' }],
    }),
  );
  writeFileSync(
    join(folder, 'scan.json'),
    JSON.stringify({
      units: 'm',
      lines: { 'bottom-flange': { from: line.from, to: line.to, direction: [0, 1, 0], spacing: 0.5 } },
      patches: Object.fromEntries(
        Object.entries(PATCHES).map(([name, { at }]) => [name, { at, radius: 0.15 }]),
      ),
    }),
  );
  const take = async (...more: string[]) => {
    const ran = { out: '', err: '', status: 0 };
    const io: Io = {
      out: (text) => {
        ran.out += text;
      },
      err: (text) => {
        ran.err += text;
      },
      isTerminal: false,
      errIsTerminal: false,
      columns: 80,
      colour: false,
      now: () => new Date('2031-05-06T07:08:09Z'),
      cwd: folder,
      setExit: (status) => {
        ran.status = status;
      },
    };
    await run(['scan', ...more, '--job', '.', '--cycle', '1', '--csv'], io, [addScan]);
    return ran;
  };
  const offsets = (csv: string) =>
    new Map(
      csv
        .split('\n')
        .filter((l) => l.startsWith('1,'))
        .map((l) => [l.split(',')[2]!, Number(l.split(',')[3])]),
    );
  const first = offsets((await take('first.ply')).out);
  const later = await take('later.ply', '--align-to', 'first.ply');
  expect(later.status, later.err).toBe(0);
  expect(later.out).toMatch(/# Aligned to first\.ply on 6 patches/);
  const common = [...offsets(later.out)].filter(([station]) => first.has(station));
  expect(common.length).toBeGreaterThan(15);
  // Two scans of 2 mm noise and the alignment between them: within 2.5 mm everywhere, 1 mm in the mean.
  const drift = common.map(([station, offset]) => offset - first.get(station)!);
  expect(Math.max(...drift.map(Math.abs))).toBeLessThan(2.5);
  expect(Math.abs(drift.reduce((a, b) => a + b, 0) / drift.length)).toBeLessThan(1);
  const loose = await take('loose.ply', '--align-to', 'first.ply');
  expect(loose.status).toBe(1);
  expect(loose.err).toMatch(/do not close/);
  expect(loose.err).toMatch(/patch middle pier cap/);
});
