import { spawnSync } from 'node:child_process';
import {
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import type { Io } from '../../src/cli/io.ts';
import { buildProgram, run } from '../../src/cli/program.ts';
import { type BundledCli, bundleCli } from './run-cli.ts';

// Real processes: minutes on a busy machine, seconds on an idle one.
vi.setConfig({ testTimeout: 600_000, hookTimeout: 600_000 });

let cli: BundledCli;
let top: string;
beforeAll(async () => {
  cli = await bundleCli();
  top = mkdtempSync(join(tmpdir(), 'sweepbook-commands-'));
});
afterAll(() => {
  cli.remove();
  rmSync(top, { recursive: true, force: true });
});

const SIZE = ['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'];
const GOOD = 'cycle,station,offset\n0,0,0\n0,10 ft,1 1/2\n0,20,2.25\n';
const BAD = 'cycle,station,offset\n0,0,0\n0,10,x\n0,20,\n0,600,1\n';

function write(name: string, text: string): string {
  const path = join(top, name);
  writeFileSync(path, text);
  return path;
}

async function newJob(name: string): Promise<string> {
  const job = join(top, name);
  const ran = await cli.run(['new', job, ...SIZE]);
  expect(ran, ran.err).toMatchObject({ status: 0 });
  return job;
}

function silentIo(): { io: Io; out: string[]; err: string[]; exits: number[] } {
  const out: string[] = [];
  const err: string[] = [];
  const exits: number[] = [];
  const io: Io = {
    out: (text) => void out.push(text),
    err: (text) => void err.push(text),
    isTerminal: false,
    errIsTerminal: false,
    columns: 80,
    colour: false,
    now: () => new Date('2031-05-04T10:00:00Z'),
    cwd: top,
    setExit: (status) => void exits.push(status),
  };
  return { io, out, err, exits };
}

describe('every command', () => {
  const names = buildProgram(silentIo().io, COMMANDS).commands.map((command) => command.name());

  it('is in the help', async () => {
    const { io, out, exits } = silentIo();
    await run(['--help'], io, COMMANDS);
    expect(exits).toEqual([0]);
    for (const name of names) expect(out.join('')).toContain(`  ${name} `);
  });

  it.each(names)('%s has help with one worked example', async (name) => {
    const { io, out, err, exits } = silentIo();
    await run([name, '--help'], io, COMMANDS);
    expect(exits).toEqual([0]);
    expect(err).toEqual([]);
    expect(out.join('').match(/^Examples?:$/gm)).toHaveLength(1);
    expect(out.join('')).toContain(`  sweepbook ${name}`);
  });

  it.each(names)('%s refuses an unknown option with status 2 and leaves stdout empty', async (name) => {
    const { io, out, err, exits } = silentIo();
    await run([name, '--no-such-option'], io, COMMANDS);
    expect(exits).toEqual([2]);
    expect(out).toEqual([]);
    expect(err.join('')).toMatch(/^error: /);
  });
});

describe('wrong usage is status 2, unusable input is status 1', () => {
  it.each([
    [[], 2],
    [['nothing'], 2],
    [['add'], 2],
    [['new', 'x'], 2],
    [['new', 'x', ...SIZE, '--units', 'cubits'], 2],
    [['new', 'x', ...SIZE, '--line', 'edge:wobble'], 2],
    [['new', 'x', ...SIZE, '--line', 'web:bulge'], 2],
    [['new', 'x', ...SIZE, '--bearings', '1 ft'], 2],
    [['mark', 'x', '--file', 'a', '--row', '3', '--who', 'me', '--why', 'so'], 2],
    [['mark', 'x', '--file', 'a', '--row', 'three', '--set-aside', '--who', 'me', '--why', 'so'], 2],
    [['verify', 'x', '--seal', 'nothex!'], 2],
    [['add', 'no-such-job', 'no-such.csv'], 1],
    [['verify', 'no-such-job'], 1],
    [['new', 'x', '--span', 'long', '--flange-width', '12 in', '--flange-thickness', '1 in'], 1],
    [['new', 'x', ...SIZE, '--span', '58 ft, 0 ft, 58 ft'], 1],
    [['--version'], 0],
    [['help'], 0],
  ] as const)('%j', async (args, status) => {
    const ran = await cli.run(args, { cwd: top });
    expect(ran).toMatchObject({ status });
    expect(ran.err).not.toMatch(/\n\s+at /);
    if (status !== 0) expect(ran.out).toBe('');
    if (status !== 0) expect(ran.err).not.toBe('');
    expect(readdirSync(top).includes('x')).toBe(false);
  });
});

describe('new', () => {
  it('makes a folder that every other command can use, and says what it assumed', async () => {
    const ran = await cli.run(['new', 'fresh', ...SIZE], { cwd: top });
    expect(ran.status).toBe(0);
    expect(ran.out).toContain('Started fresh');
    expect(ran.err).toContain('yield stress 36 ksi');
    expect(ran.err).toContain('no acceptance limit');
    const job = JSON.parse(readFileSync(join(top, 'fresh/job.json'), 'utf8'));
    expect(job.member.span).toBe('62 ft');
    const schema = JSON.parse(readFileSync(join(top, 'fresh', job.$schema), 'utf8'));
    expect(schema.$schema).toContain('json-schema.org');
  });

  it('takes every option', async () => {
    const options = [
      ...['--name', 'Juniper Lane over the canal, girder 4', '--units', 'si', '--span', '18.9 m'],
      ...['--flange-width', '305 mm', '--flange-thickness', '24', '--yield', '345 MPa'],
      ...[
        '--diaphragms',
        '4.7 m, 9.45 m, 14.2 m',
        '--line',
        'bottom:sweep',
        '--line',
        'web:bulge:8 m..9.2 m:+toward the kerb',
      ],
      ...['--bearings', '0 m, 18.9 m', '--positive', 'toward the north', '--tolerance', '12 mm', '--json'],
    ];
    const ran = await cli.run(['new', 'full', ...options], { cwd: top });
    expect(ran, ran.err).toMatchObject({ status: 0, err: 'Next: sweepbook add full <readings.csv>\n' });
    const { job } = JSON.parse(ran.out);
    expect(Object.keys(job.lines)).toEqual(['bottom', 'web']);
    expect(job.lines.bottom).toMatchObject({ bearings: ['0 m', '18.9 m'], positive: 'toward the north' });
    expect(job.lines.web).toMatchObject({ bearings: ['8 m', '9.2 m'], positive: 'toward the kerb' });
    expect(job.acceptance).toHaveLength(2);
    expect(job.member.diaphragms).toEqual(['4.7 m', '9.45 m', '14.2 m']);
  });

  it('gives every kind of line ends and a side of its own', async () => {
    const lines = ['edge:sweep:0..62 ft', 'web:plumb', 'tilt:tilt', 'rise:camber', 'bulge:bulge:340..370 in'];
    const ran = await cli.run(
      [
        'new',
        'kinds',
        ...SIZE,
        '--positive',
        'toward the shoulder',
        '--json',
        ...lines.flatMap((l) => ['--line', l]),
      ],
      { cwd: top },
    );
    expect(ran, ran.err).toMatchObject({ status: 0 });
    const { job } = JSON.parse(ran.out);
    const of = (name: string) => [job.lines[name].bearings.join(), job.lines[name].positive];
    expect(of('edge')).toEqual(['0 ft,62 ft', 'toward the shoulder']);
    expect(of('web')).toEqual(['0 ft,62 ft', 'bottom of the web toward the shoulder']);
    expect(of('tilt')).toEqual(['0 ft,62 ft', 'edge toward the shoulder high']);
    expect(of('rise')).toEqual(['0 ft,62 ft', 'up']);
    // A bare number takes the unit of the other end: 340 is inches here, not feet.
    expect(of('bulge')).toEqual(['340 in,370 in', 'toward the shoulder']);
  });

  it('writes a template with a line of every kind and a panel, each saying how it is read', async () => {
    const options = ['--template', '--line', 'bottom-flange:sweep:+north', '--tolerance', '1/2 in', '--json'];
    const ran = await cli.run(['new', 'all-kinds', ...SIZE, ...options], { cwd: top });
    expect(ran, ran.err).toMatchObject({ status: 0 });
    expect(ran.err).toContain('take out of job.json those that are not read');
    const { job } = JSON.parse(ran.out) as {
      job: {
        lines: Record<string, Record<string, string>>;
        panels: Record<string, object>;
        acceptance: object[];
      };
    };
    const lines = Object.values(job.lines);
    expect(new Set(lines.map(({ kind }) => kind))).toEqual(
      new Set(['sweep', 'plumb', 'tilt', 'camber', 'bulge']),
    );
    expect(job.lines['bottom-flange']).toMatchObject({ positive: 'north' });
    expect(lines.filter(({ comment }) => comment === undefined)).toHaveLength(1);
    expect(job.lines['web-bulge']!.bearings).toEqual(['29 ft', '33 ft']);
    expect(job.panels['web-panel']).toMatchObject({ stations: ['29 ft', '33 ft'], held: ['bottom', 'top'] });
    // A limit of sweep is none of a tilt.
    expect(job.acceptance).toHaveLength(2);
    expect(await cli.run(['status', 'all-kinds'], { cwd: top })).toMatchObject({ status: 0 });
  });

  it('never overwrites', async () => {
    const job = await newJob('twice');
    const before = readFileSync(join(job, 'job.json'), 'utf8');
    expect(await cli.run(['new', job, ...SIZE])).toMatchObject({ status: 1 });
    expect(readFileSync(join(job, 'job.json'), 'utf8')).toBe(before);
    mkdirSync(join(top, 'used'));
    write('used/notes.txt', 'mine');
    const ran = await cli.run(['new', 'used', ...SIZE], { cwd: top });
    expect(ran).toMatchObject({ status: 1 });
    expect(ran.err).toContain('not empty');
    expect(readdirSync(join(top, 'used'))).toEqual(['notes.txt']);
  });
});

describe('add', () => {
  it('keeps the file byte for byte and says what it read and what is next', async () => {
    const job = await newJob('plain');
    const ran = await cli.run(['add', job, write('cycle 0.csv', GOOD)]);
    expect(ran).toMatchObject({ status: 0 });
    expect(ran.out).toContain('3 readings from 3 rows');
    expect(ran.out).toContain('bottom-flange  cycle 0: 3 readings');
    expect(ran.err).toContain('Next: sweepbook status');
    expect(readFileSync(join(job, 'readings/cycle-0.csv'), 'utf8')).toBe(GOOD);
  });

  it('refuses a file with unusable rows whole, naming every one', async () => {
    const job = await newJob('refuse');
    const ran = await cli.run(['add', job, write('good-too.csv', GOOD), write('bad.csv', BAD)]);
    expect(ran).toMatchObject({ status: 1, out: '' });
    for (const row of [3, 4, 5]) expect(ran.err).toContain(`bad.csv:${row}:`);
    expect(ran.err).toContain('--set-aside');
    expect(readdirSync(join(job, 'readings'))).toEqual([]);
    expect(readFileSync(join(job, 'ledger.jsonl'), 'utf8').trim().split('\n')).toHaveLength(1);
  });

  it('with --set-aside imports the rest and records each row with its reason', async () => {
    const job = await newJob('left-aside');
    const ran = await cli.run(['add', job, write('bad2.csv', BAD), '--set-aside', '--json']);
    expect(ran, ran.err).toMatchObject({ status: 0 });
    const result = JSON.parse(ran.out);
    expect(result).toMatchObject({ schema: 'sweepbook/add/1', kept: [{ rows: 4, readings: 1 }] });
    const record = JSON.parse(readFileSync(join(job, 'ledger.jsonl'), 'utf8').trim().split('\n')[1]!);
    const aside = record.files[0].setAside as { row: number; found: string; expected: string }[];
    expect(aside.map((each) => each.row)).toEqual([3, 4, 5]);
    for (const each of aside) expect(each.expected.length).toBeGreaterThan(5);
    expect(readFileSync(join(job, 'readings/bad2.csv'), 'utf8')).toBe(BAD);
    expect(await cli.run(['verify', job])).toMatchObject({ status: 0 });
  });

  it('refuses, even with --set-aside, a file whose heading cannot be read or of which nothing is left', async () => {
    const job = await newJob('hopeless');
    for (const text of ['a,b,c\n1,2,3\n', '', 'cycle,station,offset\n0,0,x\n', 'cycle,station,offset\n']) {
      const ran = await cli.run(['add', job, write('hopeless.csv', text), '--set-aside']);
      expect(ran, text).toMatchObject({ status: 1, out: '' });
    }
    expect(readdirSync(join(job, 'readings'))).toEqual([]);
  });

  it('knows the same bytes again, under any name', async () => {
    const job = await newJob('again');
    await cli.run(['add', job, write('first.csv', GOOD)]);
    const ran = await cli.run(['add', job, write('copy of first.csv', GOOD)]);
    expect(ran).toMatchObject({ status: 0 });
    expect(ran.out).toMatch(
      /is in the job already, imported \d{4}-\d\d-\d\d \d\d:\d\d UTC as readings\/first\.csv/,
    );
    expect(readdirSync(join(job, 'readings'))).toEqual(['first.csv']);
    expect(readFileSync(join(job, 'ledger.jsonl'), 'utf8').trim().split('\n')).toHaveLength(2);
  });
});

describe('check', () => {
  it('says what would be read and changes nothing', async () => {
    const job = await newJob('checked');
    const before = readdirSync(job, { recursive: true });
    const ran = await cli.run(['check', write('c.csv', GOOD), '--job', job]);
    expect(ran).toMatchObject({ status: 0, err: '' });
    expect(ran.out).toContain('c.csv: long form, comma between cells, 3 readings from 3 rows');
    expect(ran.out).toMatch(/bottom-flange {2}0 {6}released {2}3 {9}0'-0" to 20'-0" {2}0 in to 2 1\/4 in/);
    expect(ran.out).toContain('c.csv can be imported.');
    expect(readdirSync(job, { recursive: true })).toEqual(before);
  });

  it('names every problem with a suggestion where a near miss is plain, as text and as JSON', async () => {
    const job = await newJob('checked2');
    const text =
      'cycle,line,station,offset\n0,botom-flange,0,0\n0,bottom-flange,10,x\n0,bottom-flange,310,1\n0,bottom-flange,20,1\n';
    const path = write('near.csv', text);
    const ran = await cli.run(['check', path, '--job', job]);
    expect(ran).toMatchObject({ status: 1, err: '' });
    expect(ran.out).toContain('("bottom-flange"?)');
    expect(ran.out).toContain('inches in a feet column?');
    // As the sheet has it, and as it was read.
    expect(ran.out).toContain(`found "310", the station 310'-0"`);
    expect(ran.out).toContain('would be refused; with --set-aside 1 reading would be imported');
    const json = await cli.run(['check', path, '--job', job, '--json']);
    expect(json).toMatchObject({ status: 1, err: '' });
    const checked = JSON.parse(json.out);
    expect(checked).toMatchObject({
      schema: 'sweepbook/check/1',
      import: 'with --set-aside',
      imported: null,
    });
    expect(checked.read.problems.map((each: { row: number }) => each.row)).toEqual([2, 3, 4]);
  });

  it('compares with what the job holds: the cycle read before, the decimal point that slipped', async () => {
    const job = await newJob('checked3');
    const rows = (cycle: number, at30: string) =>
      `cycle,station,offset\n${Array.from({ length: 21 }, (_, i) => `${cycle},${3 * i},${i === 10 ? at30 : (3 * Math.sin((3 * i * Math.PI) / 62)).toFixed(2)}`).join('\n')}\n`;
    await cli.run(['add', job, write('k0.csv', rows(0, '3.00'))]);
    const again = await cli.run(['check', write('k0b.csv', `${rows(0, '3.00')}\n`), '--job', job]);
    expect(again.status).toBe(1);
    expect(again.out).toContain('holds the very 21 readings of readings/k0.csv');
    const other = await cli.run(['check', write('k0c.csv', rows(0, '3.05')), '--job', job]);
    expect(other.status).toBe(0);
    expect(other.out).toContain('Cycle 0 already has 21 released readings');
    const slipped = write('k1.csv', rows(1, '30.0'));
    expect((await cli.run(['check', slipped, '--job', job])).out).toMatch(/k1\.csv:12: .*read 30 in/);
    // The same is said when it is imported all the same.
    const added = await cli.run(['add', job, slipped]);
    expect(added).toMatchObject({ status: 0 });
    expect(added.err).toMatch(/caution: k1\.csv:12: .*read 30 in/);
    expect((await cli.run(['check', slipped, '--job', job])).out).toContain('is in the job already');
  });

  it('needs no job: any line name is taken', async () => {
    const path = write('alone.csv', 'cycle;line;station;offset\n4;edge;0;0\n4;edge;1;31,5\n');
    const ran = await cli.run(['check', path, '--units', 'si', '--json']);
    expect(ran, ran.err).toMatchObject({ status: 0 });
    expect(JSON.parse(ran.out).surveys).toMatchObject([{ line: 'edge', cycle: 4, to: 1, most: 0.0315 }]);
    expect(await cli.run(['check', path, '--units', 'cubits'])).toMatchObject({ status: 2 });
  });

  it('reads the folder of files it must refuse, and refuses each but the sound one', async () => {
    const folder = new URL('../../sample-surveys/broken/', import.meta.url).pathname;
    const files = readdirSync(folder).filter((name) => name.endsWith('.csv'));
    expect(files.length).toBeGreaterThan(20);
    for (const name of files) {
      const { io, out, exits } = silentIo();
      const job = join(folder, '..', 'juniper-lane');
      await run(['check', join(folder, name), '--job', job], io, COMMANDS);
      expect(exits, name).toEqual([name === 'sound.csv' ? 0 : 1]);
      expect(out.join(''), name).toMatch(/cannot be imported|would be refused|can be imported/);
    }
  });
});

describe('mark', () => {
  it('records who and why, lists what is in force, and takes it back', async () => {
    const job = await newJob('marked');
    await cli.run(['add', job, write('m.csv', GOOD)]);
    const mark = (row: string, what: string) =>
      cli.run([
        'mark',
        job,
        '--file',
        'm.csv',
        '--row',
        row,
        what,
        '--who',
        'R. Alder',
        '--why',
        'string touched',
      ]);
    expect(await mark('3,4', '--set-aside')).toMatchObject({ status: 0 });
    const listed = await cli.run(['mark', job, '--list', '--json']);
    expect(JSON.parse(listed.out).marks).toMatchObject([
      { file: 'readings/m.csv', row: 3, action: 'set-aside', who: 'R. Alder', why: 'string touched' },
      { row: 4, action: 'set-aside' },
    ]);
    expect(await mark('3', '--reinstate')).toMatchObject({ status: 0 });
    expect((await cli.run(['mark', job, '--list'])).out).toMatch(/reinstated {2}readings\/m\.csv:3 /);
    const wrong = await mark('2-9', '--set-aside');
    expect(wrong).toMatchObject({ status: 1, out: '' });
    // A fault that repeats is said once with its rows down the file; before, it was a line a row.
    expect(wrong.err).toMatch(/readings\/m.csv: found no reading, .*: 5 times, rows 5 to 9/);
    expect((await cli.run(['verify', job])).out).toContain('4 ledger records: everything is as recorded');
  });

  it('asks which cycle where a field-sheet row holds several', async () => {
    const job = await newJob('sheet');
    await cli.run(['add', job, write('sheet.csv', 'station,cycle 0,cycle 1\n0,0,0\n10,1,2\n20,1,1\n')]);
    const mark = (...more: string[]) =>
      cli.run([
        'mark',
        job,
        '--file',
        'sheet.csv',
        '--row',
        '3',
        '--set-aside',
        '--who',
        'a',
        '--why',
        'b',
        ...more,
      ]);
    const unclear = await mark();
    expect(unclear).toMatchObject({ status: 1 });
    expect(unclear.err).toContain('readings of cycles 0, 1 in this row');
    expect(await mark('--cycle', '1')).toMatchObject({ status: 0 });
    expect((await mark('--cycle', '7')).err).toContain('no reading of cycle 7');
    expect(await mark('--cycle', 'all')).toMatchObject({ status: 0 });
    expect(await mark('--cycle', 'one')).toMatchObject({ status: 2 });
  });
});

describe('verify', () => {
  it('is quiet when all is well and names what was changed, lost or put there by hand', async () => {
    const job = await newJob('verified');
    await cli.run(['add', job, write('v0.csv', GOOD)]);
    await cli.run(['add', job, write('v1.csv', GOOD.replace(/^0,/gm, '1,'))]);
    const seal = JSON.parse((await cli.run(['verify', job, '--json'])).out).seal as string;
    writeFileSync(join(job, 'readings/v0.csv'), GOOD.replace('2.25', '2.50'));
    writeFileSync(join(job, 'readings/hand.csv'), GOOD.replace(/^0,/gm, '2,'));
    rmSync(join(job, 'readings/v1.csv'));
    const ran = await cli.run(['verify', job, '--json']);
    expect(ran.status).toBe(1);
    const result = JSON.parse(ran.out);
    expect(result.ok).toBe(false);
    expect(
      result.files.map((each: { file: string; standing: string }) => [each.file, each.standing]),
    ).toEqual([
      ['job.json', 'known'],
      ['readings/v0.csv', 'changed'],
      ['readings/v1.csv', 'missing'],
      ['readings/hand.csv', 'unknown'],
    ]);
    expect((await cli.run(['verify', job])).out).toContain('NOT as recorded');
    // The original bytes make it whole again.
    writeFileSync(join(job, 'readings/v0.csv'), GOOD);
    await cli.run(['add', job, join(top, 'v1.csv')]);
    expect(await cli.run(['verify', job, '--seal', seal.slice(0, 16)])).toMatchObject({ status: 0 });
    expect(await cli.run(['verify', job, '--seal', '00000000'])).toMatchObject({ status: 1 });
  });
});

describe('an edited job.json', () => {
  it('is used, dated between two ledger records, and a stop until somebody lets it stand by name', async () => {
    const job = await newJob('edited');
    await cli.run(['add', job, write('e0.csv', GOOD)]);
    const path = join(job, 'job.json');
    writeFileSync(path, readFileSync(path, 'utf8').replace('36 ksi', '50 ksi'));
    const after = await cli.run(['verify', job]);
    expect(after).toMatchObject({ status: 1 });
    expect(after.out).toMatch(/stop: job\.json is not what the ledger recorded \(record 2, .*: member\./);
    expect(after.out).toMatch(/note: job\.json was edited after ledger record 2 \(\d{4}-\d\d-\d\d\)/);
    await cli.run(['add', job, write('e1.csv', GOOD.replace(/^0,/gm, '1,'))]);
    const still = await cli.run(['verify', job]);
    expect(still.out).toContain('was edited between ledger record 2 (');
    expect(still.status).toBe(1);
    // At the top of the status, before what it says of the steel.
    expect((await cli.run(['status', job])).out.split('\n').slice(0, 4).join(' ')).toContain(
      'STOP: job.json is not what the ledger recorded',
    );
    const accepted = ['--accept', '--file', 'job.json', '--who', 'R. Alder', '--why', 'mill certificate'];
    expect(await cli.run(['mark', job, ...accepted])).toMatchObject({ status: 0 });
    expect((await cli.run(['verify', job])).status).toBe(0);
    expect((await cli.run(['status', job])).out).not.toContain('STOP');
    // Spaces and the order of keys are no change.
    const parsed = JSON.parse(readFileSync(path, 'utf8'));
    writeFileSync(path, JSON.stringify(Object.fromEntries(Object.entries(parsed).reverse())));
    expect((await cli.run(['verify', job])).status).toBe(0);
    // And a file of readings is never accepted changed.
    const readings = ['--accept', '--file', 'readings/e0.csv', '--who', 'a', '--why', 'b'];
    expect((await cli.run(['mark', job, ...readings])).err).toContain('which stays as imported');
  });
});

describe('evidence', () => {
  it('a sheet sent twice is a stop on status until it is said what it is; genuine counts it', async () => {
    const job = await newJob('sent-twice');
    const rows = [0, 3, 9, 17, 26, 33, 31, 22, 12, 5, 1].map((offset, i) => `0,${i * 4},${offset / 16}`);
    const text = `cycle,station,offset\n${rows.join('\n')}\n`;
    await cli.run(['add', job, write('day.csv', text)]);
    await cli.run(['add', job, write('resaved.csv', text.replaceAll('\n', '\r\n'))]);
    await cli.run(['add', job, write('next.csv', text.replace(/^0,/gm, '1,'))]);
    const read = async () => {
      const status = JSON.parse((await cli.run(['status', job, '--json'])).out);
      return {
        counts: status.lines[0].surveys.map((each: { count: number }) => each.count),
        copied: status.findings
          .filter((each: { severity: string; code: string }) => each.severity === 'stop')
          .map((each: { file: string }) => each.file),
      };
    };
    expect(await read()).toEqual({ counts: [11], copied: ['readings/resaved.csv', 'readings/next.csv'] });
    const who = ['--who', 'R. Alder', '--why', 'asked the crew'];
    expect(
      await cli.run(['mark', job, '--genuine', '--file', 'readings/next.csv', '--cycle', '2', ...who]),
    ).toMatchObject({
      status: 1,
    });
    expect(await cli.run(['mark', job, '--genuine', '--file', 'readings/next.csv', ...who])).toMatchObject({
      status: 0,
    });
    expect(await cli.run(['mark', job, '--copy', '--file', 'readings/resaved.csv', ...who])).toMatchObject({
      status: 0,
    });
    expect(await read()).toEqual({ counts: [11, 11], copied: [] });
    expect((await cli.run(['verify', job])).status).toBe(0);
  });

  it('a profile edited after it was recorded is a stop on status and verify', async () => {
    const job = await newJob('profile');
    const path = join(job, 'job.json');
    const parsed = JSON.parse(readFileSync(path, 'utf8'));
    const line = Object.values(parsed.lines)[0] as Record<string, unknown>;
    line.baseline = { method: 'reference', file: 'as-built.csv' };
    writeFileSync(path, JSON.stringify(parsed));
    writeFileSync(join(job, 'as-built.csv'), 'station,offset\n0,0\n31,0\n62,0\n');
    const before = await cli.run(['status', job, '--json']);
    expect(before.out).toContain('input-not-recorded');
    await cli.run(['add', job, write('p0.csv', GOOD)]);
    expect((await cli.run(['verify', job])).status).toBe(0);
    writeFileSync(join(job, 'as-built.csv'), 'station,offset\n0,0\n31,1\n62,0\n');
    const verified = await cli.run(['verify', job]);
    expect(verified.status).toBe(1);
    expect(verified.out).toMatch(/CHANGED +[0-9a-f]{12} +as-built\.csv/);
    expect((await cli.run(['status', job])).out).toContain('STOP: as-built.csv is not the file it was');
    rmSync(join(job, 'as-built.csv'));
    expect((await cli.run(['verify', job])).out).toMatch(/MISSING +as-built\.csv/);
  });

  it('a ledger cut with its seal deleted, and a record dated before the one it follows, are found', async () => {
    const job = await newJob('cut');
    await cli.run(['add', job, write('x0.csv', GOOD)]);
    await cli.run(['add', job, write('x1.csv', GOOD.replace(/^0,/gm, '1,').replace('2.25', '2.5'))]);
    const path = join(job, 'ledger.jsonl');
    const text = readFileSync(path, 'utf8');
    const head = readFileSync(join(job, '.ledger-head'));
    rmSync(join(job, '.ledger-head'));
    writeFileSync(path, `${text.split('\n').slice(0, 2).join('\n')}\n`);
    const cut = await cli.run(['verify', job]);
    expect(cut.status).toBe(1);
    expect(cut.out).toContain('The seal of the ledger');
    writeFileSync(path, text);
    writeFileSync(join(job, '.ledger-head'), head);
    const clock = await cli.run(['mark', job, '--copy', '--file', 'x0.csv', '--who', 'a', '--why', 'b']);
    expect(clock.status).toBe(0);
    const lines = readFileSync(path, 'utf8').trimEnd().split('\n');
    lines[3] = lines[3]!.replace(/"when":"\d{4}/, '"when":"1999');
    writeFileSync(path, `${lines.join('\n')}\n`);
    const back = await cli.run(['verify', job]);
    expect(back.status).toBe(1);
    expect(back.out).toContain('is dated 1999');
  });

  it('a row said to be set aside does not count: two decimal marks, a stray quote over thirty rows', async () => {
    const job = await newJob('aside');
    const marks = 'cycle;station;offset\n0;0;0,25\n0;10;1.234\n0;20;0,75\n0;30;0,50\n';
    expect(await cli.run(['add', job, write('marks.csv', marks)])).toMatchObject({ status: 1 });
    expect(await cli.run(['add', job, '--set-aside', write('marks.csv', marks)])).toMatchObject({
      status: 0,
    });
    const rows = Array.from({ length: 40 }, (_, i) => `1,${i},0.${10 + i}${i === 4 || i === 34 ? '"' : ''}`);
    rows[4] = rows[4]!.replace('0.14"', '"0.14');
    const quoted = await cli.run([
      'add',
      job,
      '--set-aside',
      write('quote.csv', `cycle,station,offset\n${rows.join('\n')}\n`),
    ]);
    expect(quoted).toMatchObject({ status: 0 });
    expect(quoted.out).toContain('9 readings from 40 rows');
    expect(quoted.out).toContain('31 unusable cells or rows');
    const status = JSON.parse((await cli.run(['status', job, '--json'])).out);
    expect(status.lines[0].surveys.map((each: { count: number }) => each.count)).toEqual([3, 9]);
    // A job whose lines were renamed: what was imported is never to be edited.
    const path = join(job, 'job.json');
    writeFileSync(path, readFileSync(path, 'utf8').replace('"62 ft"', '"6 ft"').replace('"62 ft"', '"6 ft"'));
    const shrunk = await cli.run(['status', job]);
    expect(shrunk.status).toBe(1);
    expect(shrunk.err).not.toMatch(/Correct them|take the file out/);
  });

  it('names in a next step are one word for a shell; characters and keys that cannot be are said', async () => {
    const job = join(top, "it's; rm -rf here");
    expect((await cli.run(['new', job, ...SIZE])).err).toContain(
      `Next: sweepbook add '${job.replace("'", `'\\''`)}' <readings.csv>`,
    );
    const path = join(job, 'job.json');
    const text = readFileSync(path, 'utf8');
    writeFileSync(path, text.replace('{', '{\n  "__proto__": {},'));
    expect((await cli.run(['status', job])).err).toContain('found the name "__proto__"');
    writeFileSync(path, Buffer.from(text.replace(/"job": "[^"]*"/, '"job": "Br\u00fccke"'), 'latin1'));
    expect((await cli.run(['status', job])).err).toContain('saved as Latin-1');
    writeFileSync(path, text);
    const latin = join(top, 'latin.csv');
    writeFileSync(latin, Buffer.from(`${GOOD.trimEnd()}\n# Br\u00fccke\n`, 'latin1'));
    expect((await cli.run(['add', job, latin])).err).toContain('saved as Latin-1');
    // A lock whose owner cannot be read says how to be rid of it.
    writeFileSync(join(job, '.busy-somebody'), '');
    expect((await cli.run(['add', '--wait', '0', job, write('lock.csv', GOOD)])).err).toMatch(
      /delete .*\.busy-somebody/,
    );
  });

  it('a file put there by hand is named beside the headline', async () => {
    const job = await newJob('by-hand');
    await cli.run(['add', job, write('h0.csv', GOOD)]);
    writeFileSync(join(job, 'readings/h9.csv'), GOOD.replace(/^0,/gm, '1,').replace('2.25', '2.5'));
    const head = (await cli.run(['status', job])).out.split('NEXT')[1]!.split('\n\n')[0]!;
    expect(head).toContain('readings/h9.csv was put there by hand');
  });

  it('a link in a job folder is not followed', async () => {
    const job = await newJob('links');
    await cli.run(['add', job, write('l0.csv', GOOD)]);
    symlinkSync(write('elsewhere.csv', GOOD.replace(/^0,/gm, '1,')), join(job, 'readings/l1.csv'));
    for (const command of ['status', 'verify', 'report']) {
      const ran = await cli.run([command, job]);
      expect(ran.status).toBe(1);
      expect(ran.err).toMatch(/readings\/l1\.csv in this job folder is a link to another place/);
    }
    rmSync(join(job, 'readings/l1.csv'));
    rmSync(join(job, 'reports'), { recursive: true });
    mkdirSync(join(top, 'outside'));
    symlinkSync(join(top, 'outside'), join(job, 'reports'));
    expect((await cli.run(['report', job, '--plain'])).err).toContain('is a link to another place');
    expect(readdirSync(join(top, 'outside'))).toEqual([]);
  });
});

describe('pipes', () => {
  it('ends quietly when the reader stops early', async () => {
    const job = await newJob('pipe');
    const many = Array.from({ length: 4000 }, (_, i) => `0,${(i * 0.015).toFixed(3)},1`).join('\n');
    await cli.run(['add', job, write('many.csv', `cycle,station,offset\n${many}\n`)]);
    await cli.run([
      ...[
        'mark',
        job,
        '--file',
        'many.csv',
        '--row',
        '2-4001',
        '--set-aside',
        '--who',
        'a',
        '--why',
        'b'.repeat(200),
      ],
    ]);
    const ran = spawnSync(
      'bash',
      [
        '-c',
        `set -o pipefail; "$0" "$1" mark "$2" --list | head -1; echo "\${PIPESTATUS[0]}"`,
        process.execPath,
        cli.path,
        job,
      ],
      { encoding: 'utf8' },
    );
    expect(ran.stderr).toBe('');
    expect(ran.stdout.split('\n')[1]).toBe('0');
  });

  it('writes all of a long result into a pipe, without colour or progress', async () => {
    const ran = await cli.run(['mark', join(top, 'pipe'), '--list', '--json']);
    expect(JSON.parse(ran.out).marks).toHaveLength(4000);
    expect(ran.err).toBe('');
  });

  it('says in one line that stdout is full', () => {
    const ran = spawnSync(
      'bash',
      ['-c', '"$0" "$1" mark "$2" --list > /dev/full', process.execPath, cli.path, join(top, 'pipe')],
      {
        encoding: 'utf8',
      },
    );
    expect(ran.status).toBe(1);
    expect(ran.stderr).toMatch(/^sweepbook: .*no space is left.*\n$/);
  });
});

describe('what a wrong turn is told', () => {
  const refused = async (...args: string[]) => {
    const ran = await cli.run(args);
    expect(ran.status, ran.out + ran.err).toBe(1);
    return ran.out + ran.err;
  };

  it('a file of headings only cannot be imported, and check and add both say why', async () => {
    const job = await newJob('headings');
    const path = write('headings.csv', 'cycle,station,offset\n');
    expect(await refused('check', path, '--job', job)).toMatch(
      /cannot be imported: found no reading, expected at least one/,
    );
    expect(await refused('add', job, path)).toMatch(
      /the file cannot be used\. .*\n.*headings\.csv: found no reading, expected at least one reading/,
    );
  });

  it('a file in the place of a job folder is called a file', async () => {
    const path = write('not-a-folder.csv', GOOD);
    expect(await refused('status', path)).toMatch(/not-a-folder\.csv is a file, not a job folder/);
  });

  it('a file that is not text is refused for that alone, without its bytes as headings', async () => {
    const job = await newJob('bytes');
    const path = join(top, 'utf-16.csv');
    writeFileSync(path, Buffer.from(`\ufeff${GOOD}`, 'utf16le'));
    const said = await refused('add', job, path);
    expect(said).toMatch(
      /utf-16\.csv: found characters that are not UTF-8 text, expected a CSV saved as UTF-8/,
    );
    expect(said).not.toMatch(/heading/);
  });

  it('verify without a ledger does not say that everything is as recorded', async () => {
    const job = await newJob('unrecorded');
    for (const name of readdirSync(job)) if (/ledger/.test(name)) rmSync(join(job, name));
    const lost = await cli.run(['verify', job]);
    expect(lost.status).toBe(1);
    expect(lost.out).toContain('there is no ledger.jsonl here: it was lost, or job.json was copied');
    // A job.json written by hand never had one.
    const text = readFileSync(join(job, 'job.json'), 'utf8');
    writeFileSync(join(job, 'job.json'), text.replace(/ *"id": .*\n/, ''));
    const ran = await cli.run(['verify', job]);
    expect(ran.status).toBe(0);
    expect(ran.out).toMatch(/no ledger record: nothing was recorded here, so nothing could be compared/);
  });

  it('a report that cannot be written names the file asked for, not a temporary one', async () => {
    const job = await newJob('unwritable');
    await cli.run(['add', job, write('good.csv', GOOD)]);
    const said = await refused('report', job, '--plain', '--out', `/proc/self/sweepbook.html`);
    expect(said).toContain('/proc/self/sweepbook.html');
    expect(said).not.toContain('.writing-');
  });
});
