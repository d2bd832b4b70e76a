import { createHash } from 'node:crypto';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addBulge } from '../../src/cli/commands/bulge.ts';
import { addReport } from '../../src/cli/commands/report.ts';
import { addScan } from '../../src/cli/commands/scan.ts';
import type { Io } from '../../src/cli/io.ts';
import { readLedger } from '../../src/cli/store/ledger.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { runInProcess } from '../cli/in-process.ts';
import { lasFile, type Point, plyFile } from './cloud-files.ts';
import { dent, panelPoints } from './panel-cloud.ts';
import {
  createRandom,
  edgeErrors,
  pickedLine,
  scanOf,
  shapeOf,
  struckGirder,
  takeLine,
} from './scan-girder.ts';

const folder = mkdtempSync(join(tmpdir(), 'sweepbook-scan-test-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const sweepbook = (...args: string[]) => runWith({}, ...args);

const runWith = (terminal: Partial<Io>, ...args: string[]) =>
  runInProcess(args, [addScan, addBulge, addReport], {
    cwd: folder,
    now: () => new Date('2031-05-06T07:08:09Z'),
    ...terminal,
  });

const truth = struckGirder(createRandom('command'));
const shape = shapeOf(truth);
const { span } = truth.options;
let cloud: Point[] = [];
const line = pickedLine(shape);
/** The survey, and beside it what the reports draw of it. */
const KEPT = ['cycle-0-as-found.csv', 'cycle-0-as-found.view.json'];
const text = (p: readonly number[]) => p.join(',');
const LINE = [
  '--line',
  'bottom-flange',
  '--from',
  text(line.from),
  '--to',
  text(line.to),
  '--direction',
  '0,1,0',
];

beforeAll(() => {
  const flat = scanOf(shape, createRandom('command cloud'), { step: 0.0014 });
  cloud = Array.from(
    { length: flat.length / 3 },
    (_, i): Point => [flat[3 * i]!, flat[3 * i + 1]!, flat[3 * i + 2]!],
  );
  writeFileSync(join(folder, 'as-found.ply'), plyFile(cloud, 'binary_little_endian', 'double'));
  writeFileSync(join(folder, 'as-found.las'), lasFile(cloud, { minor: 4, format: 6, scale: 0.0001 }));
  writeFileSync(
    join(folder, 'job.json'),
    JSON.stringify({
      job: 'Juniper Lane over the canal, girder 4',
      units: 'si',
      member: {
        span,
        yieldStress: '250 MPa',
        flangeWidth: shape.flangeWidth * 1000,
        flangeThickness: shape.flangeThickness * 1000,
        webThickness: 12,
        // Given, so that the report of the last test does not look for them.
        diaphragms: [span / 3, (2 * span) / 3].map((at) => Number(at.toFixed(2))),
      },
      lines: {
        'bottom-flange': {
          kind: 'sweep',
          bearings: [0, span],
          positive: 'toward the north shoulder',
          standoff: 50,
        },
      },
      acceptance: [{ line: 'bottom-flange', limit: 12, over: 'whole line' }],
    }),
  );
});

describe('sweepbook scan', () => {
  it('imports the line like any survey: true offsets, own sd, ledger record with the source and its SHA-256', async () => {
    const ran = await sweepbook(
      'scan',
      'as-found.ply',
      '--job',
      '.',
      '--cycle',
      '0',
      '--units',
      'm',
      ...LINE,
      '--date',
      '2031-05-06',
    );
    expect(ran).toMatchObject({ status: 0 });
    expect(ran.out).toMatch(/bottom-flange: \d+ stations from [\d,]+ points on the edge/);
    expect(ran.out).toMatch(/rejected: [\d,]+ points/);
    const job = await openJob(folder);
    expect(job.findings).toEqual([]);
    expect(job.files.map((f) => [f.file, f.standing])).toEqual([['scans/cycle-0-as-found.csv', 'known']]);
    const record = job.ledger.records.at(-1)!;
    expect(record.kind === 'import' && record.files[0]!.source).toEqual({
      name: 'as-found.ply',
      sha256: createHash('sha256')
        .update(readFileSync(join(folder, 'as-found.ply')))
        .digest('hex'),
    });
    const profile = takeLine(
      { ...line, spacing: 0.25, direction: [0, 1, 0] },
      shape,
      Float64Array.from(cloud.flat()),
    );
    expect(job.readings.length).toBe(profile.stations.length);
    // Offsets carry the line's standoff, as every reading of it does; error against the true edge under 1.5 mm at this thin scan.
    const errors = edgeErrors(
      {
        ...profile,
        stations: job.readings.map((r) => ({
          station: r.station,
          offset: r.offset - 0.05,
          u: r.sd!,
          alignmentU: 0,
          placeU: r.sd!,
          sharpBend: 0,
          count: 0,
        })),
      },
      shape,
    );
    expect(Math.max(...errors.map((e) => Math.abs(e.error)))).toBeLessThan(0.0015);
    expect(
      job.readings.every(
        (r) => r.sd! > 0.0004 && r.sd! < 0.002 && r.date === '2031-05-06' && r.state === 'released',
      ),
    ).toBe(true);
  });

  it('the same scan again changes nothing; the same points as LAS give the same survey', async () => {
    const before = (await openJob(folder)).ledger.count;
    const again = await sweepbook(
      'scan',
      'as-found.ply',
      '--job',
      '.',
      '--cycle',
      '0',
      '--units',
      'm',
      ...LINE,
      '--date',
      '2031-05-06',
    );
    expect(again.out).toMatch(/holds this survey already/);
    expect((await openJob(folder)).ledger.count).toBe(before);
    const csv = async (file: string) =>
      (await sweepbook('scan', file, '--job', '.', '--cycle', '1', '--units', 'm', ...LINE, '--csv')).out;
    const offsets = (s: string) =>
      s
        .split('\n')
        .filter((l) => l.startsWith('1,'))
        .map((l) => Number(l.split(',')[3]));
    const [ply, las] = [offsets(await csv('as-found.ply')), offsets(await csv('as-found.las'))];
    expect(ply.length).toBeGreaterThan(30);
    expect(las.length).toBe(ply.length);
    // mm; the LAS copy is rounded to 0.1 mm.
    expect(Math.max(...las.map((v, i) => Math.abs(v - ply[i]!)))).toBeLessThan(0.3);
    expect(readdirSync(join(folder, 'scans')).sort()).toEqual(KEPT);
  });

  it('never guesses: unit, line, columns; wrong unit is noticed', async () => {
    const none = await sweepbook('scan', 'as-found.ply', '--job', '.', '--cycle', '1', ...LINE);
    expect(none.status).toBe(2);
    expect(none.err).toMatch(/--units/);
    for (const [option, value, words] of [
      ['--units', 'km', /'--units' is one of m, cm/],
      ['--feature', 'corner', /'--feature <what>' argument 'corner' is invalid.*edge, face/],
      ['--cycle', 'x', /'--cycle' is a whole number/],
      ['--from', '0,0', /three numbers/],
    ] as const) {
      const args = [
        'scan',
        'as-found.ply',
        '--job',
        '.',
        '--cycle',
        '1',
        '--units',
        'm',
        ...LINE,
        option,
        value,
      ];
      const ran = await sweepbook(...args);
      expect(ran.status, option).toBe(2);
      expect(ran.err).toMatch(words);
    }
    // As viewers copy a point, spaces for commas: read, and refused only for what is wrong with them.
    const spaced = LINE.with(LINE.indexOf('--from') + 1, '0; 0 0');
    const copied = await sweepbook(
      'scan',
      'as-found.ply',
      '--job',
      '.',
      '--cycle',
      '1',
      '--units',
      'm',
      ...spaced.slice(0, 4),
      '--to',
      '0 0 0',
      '--direction',
      '0,1,0',
    );
    expect(copied.status).toBe(1);
    expect(copied.err).toMatch(/the same point twice/);
    const folderGiven = await sweepbook('scan', '.', '--job', '.', '--cycle', '1', '--units', 'm', ...LINE);
    expect(folderGiven.status).toBe(1);
    expect(folderGiven.err).toMatch(/not a regular file/);
    const wrong = await sweepbook(
      'scan',
      'as-found.ply',
      '--job',
      '.',
      '--cycle',
      '1',
      '--units',
      'ft',
      ...LINE,
    );
    expect(wrong.status).toBe(1);
    expect(wrong.err).toMatch(/is the unit right\?/);
    const setUp = await sweepbook('scan', 'as-found.ply', '--job', '.', '--cycle', '1');
    expect(setUp.status).toBe(1);
    expect(setUp.err).toMatch(/scan\.json: found no such file/);
    writeFileSync(
      join(folder, 'bad.json'),
      JSON.stringify({
        units: 'm',
        lines: { 'botom-flange': { from: [0, 0, 0], to: [1, 0, 0], direction: [0, 1, 0] } },
      }),
    );
    const bad = await sweepbook('scan', 'as-found.ply', '--job', '.', '--cycle', '1', '--set-up', 'bad.json');
    expect(bad.status).toBe(1);
    expect(bad.err).toMatch(/lines\.botom-flange: found a line/);
  });

  it('shows how far reading is, on stderr of a terminal only, and takes the bar away again', async () => {
    const args = ['scan', 'as-found.las', '--job', '.', '--cycle', '1', '--units', 'm', ...LINE, '--csv'];
    // A clock on which every look is a second later than the last.
    let seconds = 0;
    const now = () => new Date(Date.UTC(2031, 4, 6) + 1000 * seconds++);
    const shown = await runWith({ errIsTerminal: true, columns: 60, now }, ...args);
    expect(shown.status).toBe(0);
    const bars = shown.err.split('\r').filter((part) => part.includes('['));
    expect(bars.length).toBeGreaterThan(2);
    const percents = bars.map((bar) => Number(/^Reading as-found.* \[#*\.*\] +(\d+) %$/.exec(bar)?.[1]));
    expect(percents).toEqual([...percents].sort((a, b) => a - b));
    expect(percents.at(-1)).toBe(100);
    expect(Math.max(...bars.map((bar) => bar.length))).toBeLessThan(60);
    expect(shown.err).toMatch(/\r {59}\rRead as-found\.las/);
    expect(shown.out).not.toContain('\r');
    seconds = 0;
    const piped = await runWith({ errIsTerminal: false, now }, ...args);
    expect(piped.err).not.toMatch(/[\r#]/);
    expect(piped.out).toBe(shown.out);
    // A failure takes the bar away before it says what is wrong.
    writeFileSync(join(folder, 'short.las'), readFileSync(join(folder, 'as-found.las')).subarray(0, -100));
    const failed = await runWith(
      { errIsTerminal: true, columns: 60, now },
      'scan',
      'short.las',
      ...args.slice(2),
    );
    expect(failed.status).toBe(1);
    expect(failed.err).toMatch(/(^|\r)sweepbook: /);
  });

  it('damaged files leave the job as it was', async () => {
    const good = readFileSync(join(folder, 'as-found.las'));
    writeFileSync(join(folder, 'cut.las'), good.subarray(0, good.length / 2));
    const laz = Uint8Array.from(good.subarray(0, 60_000));
    laz[104] = 0x86;
    writeFileSync(join(folder, 'junk.laz'), laz);
    for (const file of ['cut.las', 'junk.laz']) {
      const ran = await sweepbook('scan', file, '--job', '.', '--cycle', '2', '--units', 'm', ...LINE);
      expect(ran.status, ran.err).toBe(1);
      expect(ran.err).toMatch(/could not be used/);
      expect(ran.out).toBe('');
    }
    expect(readdirSync(join(folder, 'scans')).sort()).toEqual(KEPT);
  });

  it('takes several lines from a set-up file and aligns nothing without patches', async () => {
    writeFileSync(
      join(folder, 'scan.json'),
      JSON.stringify({
        units: 'm',
        lines: { 'bottom-flange': { from: line.from, to: line.to, direction: [0, 1, 0], spacing: '50 cm' } },
      }),
    );
    const ran = await sweepbook('scan', 'as-found.ply', '--job', '.', '--cycle', '3', '--json');
    // The cloud is that of cycle 0: kept, but it leaves with 1 because the same evidence does not count twice.
    expect(ran.status, ran.err).toBe(1);
    expect(ran.err).toMatch(/the same evidence a second time/);
    const document = JSON.parse(ran.out);
    expect(document.schema).toBe('sweepbook/scan/1');
    expect(document.lines[0].stations.length).toBeLessThan(span / 0.5 + 2);
    const aligned = await sweepbook(
      'scan',
      'as-found.ply',
      '--job',
      '.',
      '--cycle',
      '4',
      '--align-to',
      'as-found.ply',
    );
    expect(aligned.status).toBe(1);
    expect(aligned.err).toMatch(/at least 3/);
  });
});

describe('sweepbook bulge', () => {
  it('writes the map as JSON and grid, and the report shows it', async () => {
    const points = panelPoints(
      dent(1.5, 1.2, 0.025, [0.6, 0.7], 0.3),
      createRandom('bulge command'),
      0.006,
      0.002,
    );
    const rows = Array.from({ length: points.length / 3 }, (_, i) =>
      text([...points.subarray(3 * i, 3 * i + 3)]),
    );
    writeFileSync(join(folder, 'panel.csv'), `x,y,z\n${rows.join('\n')}\n`);
    const ran = await sweepbook(
      'bulge',
      'panel.csv',
      '--job',
      '.',
      '--cycle',
      '0',
      '--units',
      'm',
      '--panel',
      'web 3',
      '--corners',
      '0,0,0 1.5,0.03,0 1.5,0.018,1.2 0,-0.012,1.2',
      '--positive',
      '0,1,0',
    );
    expect(ran.err).toBe('');
    expect(ran.status).toBe(0);
    const largest = Number(/largest bulge ([\d.]+) mm/.exec(ran.out)![1]);
    expect(Math.abs(largest / 25 - 1)).toBeLessThan(0.05);
    expect(readdirSync(join(folder, 'panels')).sort()).toEqual(['cycle-0-web-3.csv', 'cycle-0-web-3.json']);
    // The ledger knows the map: the same again adds nothing, a changed one is told, one taken away is no loss.
    const record = readLedger(folder).records.at(-1)!;
    expect(record).toMatchObject({ kind: 'panel', panel: 'web 3', cycle: 0, source: { name: 'panel.csv' } });
    expect((await verifyJob(folder, null)).ok).toBe(true);
    const [json, grid] = ['json', 'csv'].map((ending) => join(folder, 'panels', `cycle-0-web-3.${ending}`));
    const whole = readFileSync(json!, 'utf8');
    writeFileSync(json!, whole.replace('"deviation":0.0', '"deviation":0.1'));
    const altered = await verifyJob(folder, null);
    expect(altered.ok).toBe(false);
    expect(altered.findings).toMatchObject([{ code: 'panel-changed', file: 'panels/cycle-0-web-3.json' }]);
    writeFileSync(json!, whole);
    const kept = readFileSync(grid!);
    rmSync(grid!);
    const missing = await verifyJob(folder, null);
    expect([missing.ok, missing.findings[0]!.code]).toEqual([true, 'panel-missing']);
    writeFileSync(grid!, kept);
    writeFileSync(join(folder, 'panels', 'mine.json'), whole);
    expect((await verifyJob(folder, null)).findings.map((each) => each.code)).toEqual([
      'panel-not-in-ledger',
    ]);
    rmSync(join(folder, 'panels', 'mine.json'));
    const report = await sweepbook('report', '.', '--full', '--plain', '--out', join(folder, 'r.html'));
    expect(report.status).toBe(0);
    const page = readFileSync(join(folder, 'r.html'), 'utf8');
    expect(page).toContain('Panels mapped from scans');
    // And how the flange of the survey above was followed in its scan.
    expect(page).toMatch(/<h2 id="scans">Followed in scans<\/h2>.*<h3>Cycle \d/s);
    expect(page).toContain('Panel web 3, cycle 0');
    expect(page).toMatch(/seen from the negative side/);
    // Its table stays on one printed page.
    expect(page).toMatch(/<h3>Panel web 3, cycle 0<\/h3><div class="keep"><table>/);
  });
});
