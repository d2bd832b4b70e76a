import { execFileSync, spawn } from 'node:child_process';
import {
  closeSync,
  cpSync,
  mkdirSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  symlinkSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { createServer, type Server } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { type BundledCli, bundleCli } from '../cli/run-cli.ts';

// Real processes, each of which must end by itself.
vi.setConfig({ testTimeout: 300_000, hookTimeout: 300_000 });

/** Processor time of one command, s: unlike wall time it is the same on a busy machine. */
const MOST_CPU = 5;
/** Wall time after which a command counts as hanging, s. */
const HANGS = 60;
/** Peak resident memory, MB; of a command that reads a cloud, whatever its header says. */
const MOST_MEMORY = 400;
const MOST_MEMORY_CLOUD = 150;

// Diaphragms are given: looking for them is seconds of work, and what is measured here is what the doors let in.
const SIZE = [
  ...['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'],
  ...['--diaphragms', '15 ft, 31 ft, 47 ft'],
];
/** The reach of the job's line in a cloud: 62 ft. */
const LINE = [
  '--units',
  'm',
  '--line',
  'bottom-flange',
  '--from',
  '0,0,0',
  '--to',
  '18.8976,0,0',
  '--direction',
  '0,0,1',
];
const tally = new Map<string, number>();
let cloudPeak = 0;

let cli: BundledCli;
let top: string;
let good: string;
let server: Server;
beforeAll(async () => {
  cli = await bundleCli();
  // The unpacker of clouds is not part of the bundle.
  symlinkSync(
    new URL('../../node_modules', import.meta.url).pathname,
    join(dirname(cli.path), 'node_modules'),
  );
  top = mkdtempSync(join(tmpdir(), 'sb-doors-'));
  good = join(top, 'good');
  expect((await cli.run(['new', good, ...SIZE])).status).toBe(0);
  writeFileSync(join(top, 'r.csv'), `cycle,station,offset\n${rows(0)}\n${rows(1)}\n`);
  expect((await cli.run(['add', good, join(top, 'r.csv')])).status).toBe(0);
  execFileSync('mkfifo', [join(top, 'fifo')]);
  symlinkSync('/dev/zero', join(top, 'zero'));
  mkdirSync(join(top, 'folder'));
  server = createServer();
  await new Promise<void>((done) => server.listen(join(top, 'socket'), done));
});
afterAll(() => {
  server?.close();
  cli.remove();
  rmSync(top, { recursive: true, force: true });
  console.log(
    `doors: ${[...tally].map(([what, count]) => `${count} ${what}`).join(', ')}; clouds at most ${cloudPeak.toFixed(0)} MB`,
  );
});

function rows(cycle: number): string {
  return Array.from(
    { length: 32 },
    (_, i) =>
      `${cycle},${i * 2},${(6 * Math.sin((i * 2 * Math.PI) / 62) ** 2 * (1 - cycle / 10)).toFixed(2)}`,
  ).join('\n');
}

/** Runs one command; it must end by itself, in little time and memory, and say no internal error. */
async function runs(args: readonly string[], most = MOST_MEMORY) {
  const watch = join(top, 'usage.mjs');
  writeFileSync(
    watch,
    // Linux counts into maxRSS what the parent had before the exec, so the process's own peak is read.
    `import { readFileSync, writeSync } from 'node:fs';
process.on('exit', () => {
  const { user, system } = process.cpuUsage();
  const peak = Number(/^VmHWM:\\s+(\\d+)/m.exec(readFileSync('/proc/self/status', 'utf8'))[1]) / 1000;
  writeSync(3, JSON.stringify({ cpu: (user + system) / 1e6, memory: peak }));
});
`,
  );
  const child = spawn(process.execPath, ['--import', watch, cli.path, ...args], {
    cwd: top,
    env: { ...process.env, NO_COLOR: '1' },
    stdio: ['ignore', 'pipe', 'pipe', 'pipe'],
  });
  const texts = ['', '', '', ''];
  for (const at of [1, 2, 3]) {
    child.stdio[at]!.on('data', (data: Buffer) => {
      texts[at] += data.toString('utf8');
    });
  }
  const late = setTimeout(() => child.kill('SIGKILL'), HANGS * 1000);
  const status = await new Promise<number | null>((done) => child.on('close', done));
  clearTimeout(late);
  const what = `${args.join(' ')}: ${texts[2]!.slice(0, 600)}`;
  expect(status, `${what} (killed: it hung)`).not.toBeNull();
  expect(texts[2], what).not.toMatch(/inside the program|\n\s+at .*:\d+:\d+/);
  const { cpu, memory } = JSON.parse(texts[3]!) as { cpu: number; memory: number };
  expect(cpu, what).toBeLessThan(MOST_CPU);
  expect(memory, what).toBeLessThan(most);
  if (most === MOST_MEMORY_CLOUD) cloudPeak = Math.max(cloudPeak, memory);
  tally.set(status === 0 ? 'taken' : 'refused', (tally.get(status === 0 ? 'taken' : 'refused') ?? 0) + 1);
  return { status, out: texts[1]!, err: texts[2]! };
}

const KINDS = {
  fifo: 'a pipe (FIFO)',
  zero: 'a device',
  folder: 'a folder',
  socket: 'a socket',
} as const;

describe('a file of another kind is named and not waited for', () => {
  for (const [kind, said] of Object.entries(KINDS)) {
    it(`${kind}, given to a command`, async () => {
      for (const args of [
        ['add', good, join(top, kind)],
        ['check', join(top, kind)],
        ['page', join(top, 'back'), '--back', join(top, kind)],
        ['past', 'add', '--past', top, '--from', join(top, kind)],
        ['scan', join(top, kind), '--job', good, '--cycle', '1', ...LINE],
      ]) {
        const ran = await runs(args);
        expect(ran.status, args[0]).not.toBe(0);
        expect(ran.err, args[0]).toContain(said);
      }
    });

    it(`${kind}, inside a job`, async () => {
      for (const file of [
        'job.json',
        'ledger.jsonl',
        '.ledger-head',
        'heats.csv',
        'costs.csv',
        'readings/x.csv',
        'readings/r.csv',
        'scan.json',
      ]) {
        const job = join(top, 'odd');
        cpSync(good, job, { recursive: true });
        rmSync(join(job, file), { force: true });
        if (kind === 'folder') mkdirSync(join(job, file));
        else if (kind === 'fifo') execFileSync('mkfifo', [join(job, file)]);
        else if (kind === 'zero') symlinkSync('/dev/zero', join(job, file));
        const held = kind === 'socket' ? createServer() : null;
        if (held !== null) await new Promise<void>((done) => held.listen(join(job, file), done));
        for (const args of [
          ['status', job],
          ['add', job, join(top, 'r.csv')],
          ['verify', job],
          ['heats', job],
          ['report', job, '--plain', '--out', join(top, 'out.html')],
        ]) {
          await runs(args);
        }
        const read = await runs(['status', job]);
        if (file === 'job.json' || file === 'ledger.jsonl' || file === '.ledger-head') {
          expect(read.status, file).toBe(1);
          expect(read.err, file).toMatch(
            kind === 'zero' ? /link/ : new RegExp(said.replace(/[()]/g, '\\$&')),
          );
        }
        held?.close();
        rmSync(job, { recursive: true, force: true });
      }
    });
  }

  it('larger than its kind may be, with the way to raise the limit', async () => {
    const job = join(top, 'big');
    cpSync(good, job, { recursive: true });
    writeFileSync(
      join(job, 'job.json'),
      `${readFileSync(join(job, 'job.json'), 'utf8')}${' '.repeat(6_000_000)}`,
    );
    const ran = await runs(['status', job]);
    expect(ran.status).toBe(1);
    expect(ran.err).toContain('SWEEPBOOK_LARGEST_MB');
    const raised = await cli.run(['status', job], { env: { SWEEPBOOK_LARGEST_MB: '8' } });
    expect(raised, raised.err).toMatchObject({ status: 0 });
  });
});

describe('rows without end', () => {
  const jobOf = (edit: (job: Record<string, never>) => void, name: string) => {
    const job = join(top, name);
    rmSync(job, { recursive: true, force: true });
    cpSync(good, job, { recursive: true });
    const text = JSON.parse(readFileSync(join(job, 'job.json'), 'utf8'));
    edit(text);
    writeFileSync(join(job, 'job.json'), JSON.stringify(text));
    return job;
  };
  const HEAD = 'cycle,station,offset\n';
  const TEXTS: Record<string, string> = {
    'blank lines': '\n'.repeat(10_000_000),
    'blank lines under a heading': HEAD + '\n'.repeat(10_000_000),
    'comment lines': '# x\n'.repeat(2_500_000),
    commas: ','.repeat(10_000_000),
    'lines of commas': HEAD + ',,\n'.repeat(3_300_000),
    'lines of many commas': HEAD + `${','.repeat(1000)}\n`.repeat(10_000),
    '150,000 commas in a ; file': `cycle;station;offset\n0;0;${','.repeat(150_000)}\n0;1;1\n`,
    '150,000 commas before a ;': `${','.repeat(150_000)};\n0;1;1\n`,
    'one endless word': 'a'.repeat(10_000_000),
    'one endless word under a heading': HEAD + '1'.repeat(10_000_000),
    'an open quote': `${HEAD}"${'x\n'.repeat(5_000_000)}`,
    'quotes and quotes': HEAD + '"'.repeat(10_000_000),
    spaces: ' '.repeat(10_000_000),
    nulls: '\0'.repeat(10_000_000),
  };
  for (const [name, text] of Object.entries(TEXTS)) {
    it(`as readings: ${name}`, async () => {
      const path = join(top, 'rows.csv');
      // A job of its own: what one case imports must not count in the next.
      const job = jobOf(() => {}, 'rows');
      writeFileSync(path, text);
      for (const args of [
        ['check', path],
        ['add', job, path, '--set-aside'],
      ]) {
        const ran = await runs(args);
        if (args[0] === 'add')
          expect(ran.status, ran.err.slice(0, 300)).toBe(name.startsWith('150,000 commas in') ? 0 : 1);
      }
    });
  }

  it('a line of more than 200,000 characters is called that', async () => {
    const path = join(top, 'rows.csv');
    writeFileSync(path, `cycle,station,offset\n0,1,${'1'.repeat(400_000)}\n`);
    const ran = await runs(['add', good, path]);
    expect(ran.err).toContain('a line of more than 200000 characters');
    expect(ran.err).not.toContain('quote that does not close');
  });

  it('as a heat log and a cost log', async () => {
    const job = jobOf(() => {}, 'logs');
    const heats = `cycle,line,station,pattern\n${'1,bottom-flange,30,vee\n'.repeat(200_000)}`;
    for (const text of [
      heats,
      '\n'.repeat(10_000_000),
      ','.repeat(10_000_000),
      `cycle;pattern;station\n1;vee;${','.repeat(150_000)}\n`,
    ]) {
      for (const file of ['heats.csv', 'costs.csv']) {
        writeFileSync(join(job, file), text);
        const ran = await runs(['heats', job]);
        if (text === heats && file === 'heats.csv') {
          expect(ran.status).toBe(1);
          expect(ran.err).toContain('at most 20000 rows');
        }
        rmSync(join(job, file));
      }
    }
  });

  it('more readings of a line than can be answered, even in two files, unless that is wanted', async () => {
    const job = jobOf(() => {}, 'many-readings');
    const file = (name: string, cycle: number, count: number) => {
      const lines = Array.from({ length: count }, (_, i) => `${cycle},${((i * 62) / count).toFixed(4)},1`);
      writeFileSync(join(top, name), `cycle,station,offset\n${lines.join('\n')}\n`);
      return join(top, name);
    };
    expect((await runs(['add', job, file('half.csv', 2, 26_000)])).status).toBe(0);
    const refused = await runs(['add', job, file('more.csv', 3, 26_000)]);
    expect(refused.status).toBe(1);
    expect(refused.err).toContain('found 52064 readings of bottom-flange');
    expect(refused.err).toContain('--any-size');
    expect((await runs(['add', job, join(top, 'half.csv')])).status).toBe(0);
    expect((await runs(['add', job, join(top, 'more.csv'), '--any-size'])).status).toBe(0);
  });

  it('as lists of job.json', async () => {
    const station = (at: number) => (at % 61) + 0.5;
    const many = <T>(make: (at: number) => T) => Array.from({ length: 20_000 }, (_, at) => make(at));
    const shapes: Record<string, (job: never) => void> = {
      diaphragms: (job: { member: { diaphragms: number[] } }) => {
        job.member.diaphragms = many(station);
      },
      lines: (job: { lines: Record<string, unknown> }) => {
        const [line] = Object.values(job.lines);
        job.lines = Object.fromEntries(many((at) => [`line ${at}`, line]));
      },
      acceptance: (job: { acceptance: unknown[] }) => {
        job.acceptance = many(() => ({ line: 'bottom-flange', limit: '1/2 in', over: '20 ft' }));
      },
      repairs: (job: { repairs: unknown[] }) => {
        job.repairs = many((at) => ({ from: station(at), to: station(at) + 0.1 }));
      },
      jacks: (job: { jacks: unknown[] }) => {
        job.jacks = many((at) => ({ name: `J${at}`, ramArea: 12 }));
      },
      plates: (job: { plates: unknown[] }) => {
        job.plates = many((at) => ({ name: `P${at}`, line: 'bottom-flange', from: 1, to: 2, thickness: 1 }));
      },
    } as never;
    for (const [name, edit] of Object.entries(shapes)) {
      const job = jobOf(edit as never, `many-${name}`);
      const ran = await runs(['status', job]);
      expect(ran.status, name).toBe(1);
      expect(ran.err, name).toMatch(
        name === 'lines' ? /at most 50 lines/ : /found 20000 entries, expected at most \d+ entries/,
      );
    }
  });
});

describe('places and maps', () => {
  it('a working folder that is gone gives a sentence', async () => {
    const gone = join(top, 'gone');
    mkdirSync(gone);
    const script = `cd '${gone}' && rmdir '${gone}' && exec '${process.execPath}' '${cli.path}' status .`;
    const child = spawn('sh', ['-c', script], { stdio: ['ignore', 'pipe', 'pipe'] });
    let err = '';
    child.stderr.on('data', (data: Buffer) => {
      err += data.toString('utf8');
    });
    expect(await new Promise((done) => child.on('close', done))).toBe(1);
    expect(err).toBe('sweepbook: the folder you are in does not exist any more; change to another one.\n');
  });

  it('damaged panel maps are named, not run into', async () => {
    const job = join(top, 'panels');
    cpSync(good, job, { recursive: true });
    mkdirSync(join(job, 'panels'));
    const cell = { column: 0, row: 0, u: 0.1, v: 0.1, deviation: 0.01, sd: 0.001, count: 9 };
    const map = {
      ...{ panel: { name: 'W1' }, seenFrom: 'positive', columns: 2, rows: 2, cells: [cell] },
      outline: [
        [0, 0],
        [1, 0],
        [1, 1],
        [0, 1],
      ],
      largest: { deviation: 0.01, sd: 0.001, u: 0.1, v: 0.1, point: [0, 0, 0] },
      extent: { along: 0.1, up: 0.1, area: 0.01 },
      curvature: { greatest: 0.1, least: 0.1, sd: 0.01, radius: 0.2 },
      ...{ planeScatter: 0.001, rejected: { jumps: 0, offSurface: 0 }, scatter: 0.001, seen: 0.9 },
    };
    const whole = {
      schema: 'sweepbook/bulge/1',
      cycle: 0,
      date: null,
      source: { name: 's.ply', sha256: 'a'.repeat(64) },
      map,
    };
    const path = join(job, 'panels', 'cycle-0-W1.json');
    const out = join(top, 'panel.html');
    writeFileSync(path, JSON.stringify(whole));
    const taken = await runs(['report', job, '--plain', '--out', out]);
    expect(taken, taken.err).toMatchObject({ status: 0 });
    const damage: [string, unknown][] = [
      ...['cycle', 'date', 'source', 'map'].map((key): [string, unknown] => [
        key,
        { ...whole, [key]: { wrong: 1 } },
      ]),
      ...Object.keys(map)
        .filter((key) => !['planeScatter', 'scatter'].includes(key))
        .map((key): [string, unknown] => [key, { ...whole, map: { ...map, [key]: null } }]),
    ];
    for (const [key, document] of damage) {
      writeFileSync(path, JSON.stringify(document));
      const ran = await runs(['report', job, '--plain', '--out', out]);
      expect(ran, key).toMatchObject({ status: 1 });
      expect(ran.err, key).toContain('panels/cycle-0-W1.json');
    }
  });
});

describe('clouds whose headers lie', () => {
  /** A LAS 1.2 header of 227 bytes, format 0, after the published field table (ASPRS, "LAS Specification 1.2", from memory). */
  function lasFile(points: number, packed: { chunkSize: number; chunks: number } | null): Buffer {
    const header = Buffer.alloc(227);
    header.write('LASF', 0, 'latin1');
    header[24] = 1;
    header[25] = 2;
    header.writeUInt16LE(227, 94);
    header.writeUInt32LE(227 + (packed === null ? 0 : 54 + 46), 96);
    header.writeUInt32LE(packed === null ? 0 : 1, 100);
    header[104] = packed === null ? 0 : 0x80;
    header.writeUInt16LE(20, 105);
    header.writeUInt32LE(points, 107);
    for (const at of [131, 139, 147]) header.writeDoubleLE(0.001, at);
    for (const at of [179, 195, 211]) header.writeDoubleLE(100, at);
    for (const at of [187, 203, 219]) header.writeDoubleLE(-100, at);
    if (packed === null) return Buffer.concat([header, Buffer.alloc(2000)]);
    const record = Buffer.alloc(54 + 46);
    record.write('laszip encoded', 2, 'latin1');
    record.writeUInt16LE(22204, 18);
    record.writeUInt16LE(46, 20);
    record.writeUInt16LE(2, 54);
    record[56] = 0;
    record[58] = 2;
    record[59] = 2;
    record.writeUInt32LE(packed.chunkSize, 54 + 12);
    record.writeBigInt64LE(-1n, 54 + 16);
    record.writeBigInt64LE(-1n, 54 + 24);
    record.writeUInt16LE(1, 54 + 32);
    record.writeUInt16LE(6, 54 + 34);
    record.writeUInt16LE(20, 54 + 36);
    record.writeUInt16LE(2, 54 + 38);
    const data = Buffer.alloc(2400, 0x5a);
    const at = 227 + 100;
    data.writeBigInt64LE(BigInt(at + 2392), 0);
    data.writeUInt32LE(packed.chunks, 2396);
    return Buffer.concat([header, record, data]);
  }
  /** A real file of packed points (made by LASzip itself) with some of its bytes other ones. */
  const changed = (name: string, bytes: Readonly<Record<number, number>>): Buffer => {
    const whole = readFileSync(new URL(`../scan/fixtures/${name}.laz`, import.meta.url));
    for (const [at, byte] of Object.entries(bytes)) whole[Number(at)] = byte;
    return whole;
  };
  const FILES: Record<string, Buffer> = {
    'laz, longer points than are packed': changed('laszip-las14-format8', { 105: 143 }),
    'laz, layers longer than the file': changed('laszip-las14-format6', {
      539: 0,
      543: 255,
      544: 255,
      545: 255,
    }),
    'las, 4·10⁹ points': lasFile(4_000_000_000, null),
    'laz, 4·10⁹ points in one chunk of 2³² − 2': lasFile(4_000_000_000, { chunkSize: 0xfffffffe, chunks: 1 }),
    'laz, 4·10⁹ points in chunks of any size': lasFile(4_000_000_000, { chunkSize: 0xffffffff, chunks: 1 }),
    'laz, 4·10⁹ points in 80,000 chunks': lasFile(4_000_000_000, { chunkSize: 50_000, chunks: 80_000 }),
    'laz, 4·10⁹ chunks of one point': lasFile(4_000_000_000, { chunkSize: 1, chunks: 4_000_000_000 }),
    'laz, 2,000 points in chunks of 2³²−2': lasFile(2000, { chunkSize: 0xfffffffe, chunks: 1 }),
  };
  for (const [name, bytes] of Object.entries(FILES)) {
    it(name, async () => {
      const path = join(top, name.startsWith('laz') ? 'lie.laz' : 'lie.las');
      writeFileSync(path, bytes);
      const ran = await runs(['scan', path, '--job', good, '--cycle', '1', ...LINE], MOST_MEMORY_CLOUD);
      expect(ran.status, ran.err).toBe(1);
      expect(ran.err).toContain(name.startsWith('laz') ? 'lie.laz' : 'lie.las');
    });
  }

  it('a PLY that claims 4·10⁹ points, or a list of lists', async () => {
    const path = join(top, 'lie.ply');
    for (const head of [
      'format binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\nproperty float y\nproperty float z',
      `format ascii 1.0\nelement vertex 1\n${'property float x\n'.repeat(20_000)}property float y\nproperty float z`,
      'format ascii 1.0\nelement __proto__ 99999999999999999999\nproperty list uchar int __proto__',
    ]) {
      const handle = openSync(path, 'w');
      writeSync(handle, `ply\n${head}\nend_header\n0 0 0\n`);
      closeSync(handle);
      const ran = await runs(['scan', path, '--job', good, '--cycle', '1', ...LINE], MOST_MEMORY_CLOUD);
      expect(ran.status, ran.err).toBe(1);
    }
  });
});
