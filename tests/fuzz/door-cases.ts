import { execFileSync } from 'node:child_process';
import { cpSync, mkdirSync, readdirSync, readFileSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { readCloud } from '../../src/cli/scan/read-cloud.ts';
import { filesOfFolder } from '../../src/cli/store/files-of-folder.ts';
import { appendToLedger } from '../../src/cli/store/ledger.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { writeWholeJob } from '../../src/cli/store/write-whole-job.ts';
import { describeSystemError } from '../../src/cli/system-error.ts';
import { InputError } from '../../src/input-error.ts';
import type { Job } from '../../src/job/job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { PRACTICE_WARNING } from '../../src/job/practice-mark.ts';
import { allReadings, readSheet } from '../../src/page/all-readings.ts';
import { type Book, keyReading, openSheet, readingsAt } from '../../src/page/book.ts';
import { bundleOfFiles, type GivenFile, rehashed } from '../../src/page/folder-files.ts';
import { bundleText, type JobBundle, parseBundle } from '../../src/page/job-bundle.ts';
import { readStoredBook, readStoredBundle } from '../../src/page/kept-book.ts';
import { mergeBooks } from '../../src/page/merge-books.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { keysOf, sameJob } from '../../src/page/same-job.ts';
import { emptyBook, joinKept, wholeJob } from '../../src/page/session.ts';
import { readPanels } from '../../src/papers/panels.ts';
import { readPastJobs } from '../../src/past/record.ts';
import { parsePractice } from '../../src/practice/file.ts';
import { parseScanSetUp } from '../../src/scan/set-up.ts';
import { sha256Hex } from '../../src/sha256.ts';
import { runInProcess } from '../cli/in-process.ts';
import { damaged, jsonText, reshaped } from './damage.ts';
import type { Dice } from './dice.ts';
import { HOSTILE } from './hostile-texts.ts';

export type Outcome = 'taken' | 'refused';
/** One case: whatever happens that a user could not read is thrown. */
export type Door = (dice: Dice) => Promise<Outcome>;

/** Ways in, each made once in a folder of its own and then tried as often as wanted. */
export const DOORS: Readonly<Record<string, (folder: string, root: string) => Promise<Door>>> = {
  'files of every kind': filesDoor,
  'headers that lie': cloudsDoor,
  'JSON shapes': jsonDoor,
  'page bundles': bundlesDoor,
  'two tabs': tabsDoor,
};

/** A refusal in words is one; anything else is a defect and goes on. */
async function outcome(work: () => unknown): Promise<Outcome> {
  try {
    await work();
    return 'taken';
  } catch (error) {
    if (error instanceof InputError || describeSystemError(error) !== null) return 'refused';
    throw error;
  }
}

// ---- a job folder in which one file is another thing ----

const JOB = {
  ...{ job: 'Mill Lane over the brook', units: 'us' },
  member: {
    span: '40 ft',
    yieldStress: '36 ksi',
    flangeWidth: '12 in',
    flangeThickness: '1 in',
    diaphragms: [13, 27],
  },
  lines: {
    edge: {
      ...{ kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'toward the mill' },
      baseline: { method: 'reference', file: 'as-built.csv' },
    },
  },
  acceptance: [{ presetFile: 'rules.json' }, { line: 'edge', limit: '1/2 in', over: '20 ft' }],
};
const RULES = {
  ...{ schema: 'sweepbook/preset/1', key: 'our-district', title: 'Ours', source: 'our manual' },
  rules: [{ kind: 'sweep', limit: '1/2 in', over: 'whole line', source: 'clause 4' }],
};
const SET_UP = {
  units: 'm',
  lines: {
    edge: {
      from: [0, 0, 0],
      to: [12.19, 0, 0],
      direction: [0, 0, 1],
      stations: ['0 ft', '40 ft'],
      spacing: '2 ft',
    },
  },
};
const CELL = { column: 0, row: 0, u: 0.1, v: 0.1, deviation: 0.01, sd: 0.001, count: 9 };
const MAP = {
  ...{ schema: 'sweepbook/bulge/1', cycle: 0, date: null, source: { name: 's.ply', sha256: 'a'.repeat(64) } },
  map: {
    ...{
      panel: { name: 'W1' },
      seenFrom: 'positive',
      columns: 2,
      rows: 2,
      cells: [CELL, { ...CELL, row: 1, v: 0.2 }],
    },
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
  },
};
const sheet = (cycle: number) =>
  [0, 4, 8, 12, 16, 20, 24, 28, 32, 36, 40]
    .map((at, i) => `${cycle},${at},${((i * (10 - i) * (9 - cycle) + i * cycle) % 61) / 16}`)
    .join('\n');

/** A job with every kind of file it may have. */
async function makeJob(job: string): Promise<void> {
  for (const name of ['', 'readings', 'panels', 'photos']) mkdirSync(join(job, name), { recursive: true });
  const put = (name: string, text: string) => writeFileSync(join(job, name), text);
  put('job.json', JSON.stringify(JOB, null, 1));
  put('rules.json', JSON.stringify(RULES));
  put('scan.json', JSON.stringify(SET_UP));
  put('as-built.csv', 'station,offset\n0,0\n20,0.125\n40,0\n');
  put('heats.csv', 'cycle,line,station,pattern,temperature (F)\n1,edge,20,vee,1100\n');
  put('costs.csv', 'date,kind,amount\n2031-05-01,labour,120\n');
  put('checks.csv', 'date,when,method,where,result\n2031-05-01,before,MT,20 ft,none\n');
  let minute = 0;
  const now = () => new Date(Date.UTC(2031, 4, 4, 8, minute++));
  for (const cycle of [0, 1, 2]) {
    put('day.csv', `cycle,station,offset\n${sheet(cycle)}\n`);
    await runInProcess(['add', '.', 'day.csv'], COMMANDS, { cwd: job, now });
  }
  rmSync(join(job, 'day.csv'));
  put('panels/cycle-0-W1.json', JSON.stringify(MAP));
  put('panels/cycle-0-W1.csv', 'u,v\n0,1\n');
  const files = ['json', 'csv'].map((ending) => {
    const file = `panels/cycle-0-W1.${ending}`;
    return { file, sha256: sha256Hex(readFileSync(join(job, file))) };
  });
  const source = { name: 's.ply', sha256: 'a'.repeat(64) };
  appendToLedger(job, { kind: 'panel', panel: 'W1', cycle: 0, files, source }, now().toISOString());
}

function namesUnder(folder: string, within = ''): string[] {
  return readdirSync(join(folder, within), { withFileTypes: true }).flatMap((entry) => {
    const name = within === '' ? entry.name : `${within}/${entry.name}`;
    return entry.isDirectory() ? namesUnder(folder, name) : [name];
  });
}

async function filesDoor(folder: string): Promise<Door> {
  const good = join(folder, 'good');
  const job = join(folder, 'job');
  await makeJob(good);
  const files = new Map(namesUnder(good).map((name) => [name, readFileSync(join(good, name))]));
  const contents = [...files.values()];
  cpSync(good, job, { recursive: true });
  let minute = 0;
  const now = () => new Date(Date.UTC(2032, 0, 1, 0, minute++));
  const commands: readonly (readonly [number, readonly string[]])[] = [
    [40, ['verify', 'job']],
    [10, ['check', '@', '--job', 'job']],
    [20, ['check', '@']],
    [8, ['add', 'job', '@', '--set-aside']],
    [6, ['mark', 'job', '--list']],
    [1, ['mark', 'job', '--file', 'job.json', '--accept', '--who', 'a', '--why', 'b']],
    [1, ['mark', 'job', '--file', 'day.csv', '--row', '3', '--set-aside', '--who', 'a', '--why', 'b']],
    [1, ['photo', 'job', '@', '--caption', 'x']],
    [1, ['status', 'job']],
    [1, ['heats', 'job']],
    [1, ['export', 'job', '--json']],
    [1, ['past', 'add', '--past', '.', '--from', '@']],
    [1, ['bulge', '@', '--job', 'job', '--cycle', '3']],
    [1, ['scan', '@', '--job', 'job', '--cycle', '3']],
  ];
  const weighted = commands.flatMap(([weight, args]) => Array.from({ length: weight }, () => args));
  return async (dice) => {
    const name = dice.pick([...files.keys()]);
    const args = dice.pick(weighted);
    // The file given to a command stands beside the job; else it is one of the job's own.
    const given = args.includes('@');
    const path = given
      ? join(folder, dice.pick(['x.csv', 'x.json', 'x.ply', 'x.las', 'x.jpg', 'x.laz']))
      : join(job, name);
    rmSync(path, { recursive: true, force: true });
    place(path, files.get(name)!, contents, dice);
    const said = await runInProcess(
      args.map((each) => (each === '@' ? path : each)),
      COMMANDS,
      { cwd: folder, now },
    );
    rmSync(path, { recursive: true, force: true });
    if (!given) writeFileSync(path, files.get(name)!);
    // What a command wrote is taken back, so that every case begins the same.
    if (!['verify', 'check', 'status', 'heats', 'export'].includes(args[0]!)) {
      rmSync(join(folder, 'past.jsonl'), { force: true });
      rmSync(job, { recursive: true, force: true });
      cpSync(good, job, { recursive: true });
    }
    if (/inside the program|\n\s+at .*:\d+:\d+/.test(said.err))
      throw new Error(`${args.join(' ')}: ${said.err.slice(0, 400)}`);
    if (said.status !== 0 && said.err === '' && args[0] !== 'verify' && args[0] !== 'check')
      throw new Error(`${args.join(' ')}: status ${said.status} without a word`);
    return said.status === 0 ? 'taken' : 'refused';
  };
}

/** Puts something under a name: damaged bytes most of the time, else no regular file at all. */
function place(path: string, whole: Buffer, others: readonly Buffer[], dice: Dice): void {
  const kind = dice.below(60);
  if (kind === 0) execFileSync('mkfifo', [path]);
  else if (kind === 1)
    symlinkSync(dice.pick(['/dev/zero', '/dev/stdin', 'nowhere', '/proc/self/mem', '.', path]), path);
  else if (kind === 2) mkdirSync(path);
  else if (kind === 3) writeFileSync(path, '');
  else if (/[\]}]\s*$/.test(whole.toString('latin1').slice(-4)) && dice.chance(0.5)) {
    // JSON, or a line of JSON: another shape.
    const lines = whole.toString('utf8').trimEnd().split('\n');
    const text = jsonOf(lines.join('\n'));
    if (text !== undefined) writeFileSync(path, jsonText(reshaped(text, dice)));
    else {
      const at = dice.below(lines.length);
      lines[at] = jsonText(reshaped(jsonOf(lines[at]!) ?? {}, dice));
      writeFileSync(path, `${lines.join('\n')}\n`);
    }
  } else writeFileSync(path, damaged(whole, dice, others));
}

function jsonOf(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

// ---- clouds whose headers say what is not so ----

async function cloudsDoor(folder: string, root: string): Promise<Door> {
  const fixtures = join(root, 'tests/scan/fixtures');
  const clouds = readdirSync(fixtures)
    .filter((name) => /\.(las|laz|ply)$/.test(name))
    .map((name) => ({ ending: name.slice(-4), bytes: readFileSync(join(fixtures, name)) }));
  const points = Array.from({ length: 60 }, (_, i) => `${(i * 0.2).toFixed(3)} 0.1 ${(i % 7) / 100} 40`).join(
    '\n',
  );
  clouds.push({ ending: '.xyz', bytes: Buffer.from(`${points}\n`) });
  clouds.push({ ending: '.pts', bytes: Buffer.from(`60\n${points}\n`) });
  const others = clouds.map((each) => each.bytes.subarray(0, 4000));
  return async (dice) => {
    const cloud = dice.pick(clouds);
    const bytes = Buffer.from(
      dice.chance(0.75) ? liar(cloud.bytes, dice) : damaged(cloud.bytes, dice, others),
    );
    const path = join(
      folder,
      `cloud${dice.chance(0.95) ? cloud.ending : dice.pick(['.las', '.laz', '.ply', '.xyz', '.pts'])}`,
    );
    writeFileSync(path, bytes);
    let count = 0;
    const sink = (x: Float64Array, y: Float64Array, z: Float64Array, batch: number) => {
      for (let i = 0; i < batch; i++) {
        if (!Number.isFinite(x[i]! + y[i]! + z[i]!)) throw new Error(`point ${count + i} is not finite`);
      }
      count += batch;
    };
    return outcome(async () => {
      const read = await readCloud(path, { columns: null, staleBounds: dice.chance(0.2) }, sink, () => {});
      if (read.points !== count) throw new Error(`${read.points} points said, ${count} given`);
    });
  };
}

/** A header in which counts, sizes and places are others: whole words of it, at the ends of what they can hold. */
function liar(whole: Buffer, dice: Dice): Buffer {
  const bytes = Buffer.from(whole);
  const reach = Math.min(bytes.length, dice.pick([120, 400, 800]));
  for (let n = 1 + dice.below(3); n > 0; n--) {
    const at = dice.below(Math.max(1, reach - 8));
    if (bytes.length < at + 8) continue;
    switch (dice.below(6)) {
      case 0:
        bytes.writeUInt32LE(dice.pick([0, 1, 2, 255, 65_535, 0x7fffffff, 0xfffffffe, 0xffffffff]), at);
        break;
      case 1:
        bytes.writeUInt16LE(dice.pick([0, 1, 20, 255, 65_535]), at);
        break;
      case 2:
        bytes.writeDoubleLE(dice.pick([0, -1, 1e308, Number.NaN, Number.POSITIVE_INFINITY, 1e-300]), at);
        break;
      case 3:
        bytes.writeBigInt64LE(dice.pick([-1n, 0n, 1n << 62n, BigInt(bytes.length) - 4n]), at);
        break;
      default:
        bytes[at] = dice.below(256);
    }
  }
  if (!/^ply/.test(bytes.toString('latin1', 0, 3)) || dice.chance(0.3)) return bytes;
  // A text header: its words, and counts beyond what follows.
  const text = whole.toString('latin1');
  const words = [
    'vertex',
    'property',
    'float',
    'double',
    'uchar',
    'list',
    'element',
    'end_header',
    '__proto__',
    '4294967295',
    '-1',
    '1e9',
  ];
  return Buffer.from(
    text.replace(/\b(?:vertex|property|float|double|uchar|x|y|z|\d+)\b/g, (word) =>
      dice.chance(0.15) ? dice.pick(words) : word,
    ),
    'latin1',
  );
}

// ---- JSON of other shapes ----

async function jsonDoor(folder: string): Promise<Door> {
  mkdirSync(join(folder, 'panels'), { recursive: true });
  const good = parseJob(
    JSON.stringify({ ...JOB, acceptance: [], lines: { edge: { ...JOB.lines.edge, baseline: 'auto' } } }),
  );
  const past = {
    ...{
      schema: 'sweepbook/past/1',
      job: 'x',
      span: 12,
      cycles: [{ closing: 0.01 }, { closing: 0.002 }],
      vees: 12,
      hours: 30,
    },
  };
  const practice = {
    ...{ schema: 'sweepbook/practice/1', warning: PRACTICE_WARNING },
    setUp: { seed: '7', units: 'us', blows: 1, spacing: 0.6 },
    cycles: [{ heat: null, underLoad: [false] }],
  };
  const texts = (dice: Dice, value: unknown) => {
    const text = jsonText(dice.chance(0.9) ? reshaped(value, dice) : value);
    return dice.chance(0.15) ? damaged(Buffer.from(text), dice).toString('utf8') : text;
  };
  return async (dice) => {
    switch (dice.below(6)) {
      case 0:
        return outcome(() => finite(parseJob(texts(dice, JOB), { readText: () => jsonText(RULES) })));
      case 1:
        return outcome(() =>
          parseJob(jsonText(JOB), {
            readText: (file) => (/csv$/.test(file) ? 'station,offset\n0,0\n40,0\n' : texts(dice, RULES)),
          }),
        );
      case 2:
        return outcome(() => parseScanSetUp(texts(dice, SET_UP), 'scan.json', good));
      case 3:
        writeFileSync(join(folder, 'panels/cycle-0-W1.json'), texts(dice, MAP));
        return outcome(() => readPanels(filesOfFolder(folder)));
      case 4:
        return outcome(() => parsePractice(texts(dice, practice)));
      default:
        return outcome(() => {
          const { problems } = readPastJobs(`${texts(dice, past)}\n`, 'past.jsonl', (text) =>
            sha256Hex(text),
          );
          if (problems.length > 0) throw new InputError('not usable', problems);
        });
    }
  };
}

function finite(job: Job): void {
  JSON.stringify(job, (_, value: unknown) => {
    if (typeof value === 'number' && !Number.isFinite(value))
      throw new Error('a number of the job is not finite');
    return value;
  });
}

// ---- what the page is given, and what its store gives back ----

async function bundlesDoor(folder: string): Promise<Door> {
  const path = join(folder, 'job');
  await makeJob(path);
  const whole = pageBundle(await openJob(path));
  const { job } = openBundle(whole);
  let book = openSheet(emptyBook(job), 3, '2031-05-07', []);
  for (const [i, text] of ['3/8', '1 1/2', '', ...HOSTILE.slice(0, 6)].entries())
    book = keyReading(book, { cycle: 3, line: 'edge', state: 'released', station: i }, 0, text, i);
  const base = wholeJob(whole, book);
  const stored = { id: 'id x', name: 'Mill Lane', saved: '2031-05-07T10:00:00.000Z', revision: 3, book };
  const given = namesUnder(path).map(
    (name): GivenFile => ({ path: `job/${name}`, text: readFileSync(join(path, name), 'utf8') }),
  );
  const sound = (made: JobBundle) => {
    keysOf(made);
    sameJob(base, made);
    sameJob(made, base);
    rehashed(made);
    const opened = openBundle(made);
    const joined = joinKept(made, opened.job, { bundle: base, book });
    allReadings(
      opened,
      joined.book.sheets.map((each) => readSheet(each, opened)),
    );
    parseBundle(bundleText(wholeJob(made, joined.book)), 'again');
  };
  return async (dice) => {
    const door = dice.below(6);
    if (door === 5) {
      const text = dice.chance(0.7)
        ? jsonText(reshaped(base, dice))
        : damaged(Buffer.from(bundleText(base)), dice).toString('utf8');
      const into = join(folder, 'back');
      const options = { schema: '{}', when: '2031-05-08T10:00:00.000Z', fresh: 'id-of-the-door', waitMs: 0 };
      const done = await outcome(() => writeWholeJob(into, text, 'w.json', options));
      rmSync(into, { recursive: true, force: true });
      const strange = readdirSync(folder).filter((name) => name !== 'job');
      if (strange.length > 0) throw new Error(`written outside its folder: ${strange.join(', ')}`);
      return done;
    }
    if (door === 0) {
      const text = jsonText(reshaped(base, dice));
      return outcome(() => sound(bundleOfFiles([{ path: 'w.json', text }])));
    }
    if (door === 1) {
      const text = damaged(Buffer.from(bundleText(base)), dice).toString('utf8');
      return outcome(() => sound(bundleOfFiles([{ path: 'w.json', text }])));
    }
    if (door === 2) {
      const at = dice.below(given.length);
      const files = given.flatMap((each, i) => {
        if (i !== at) return dice.chance(0.05) ? [] : [each];
        const raw = jsonOf(each.text);
        const text =
          raw !== undefined && dice.chance(0.5)
            ? jsonText(reshaped(raw, dice))
            : damaged(Buffer.from(each.text), dice).toString('utf8');
        return [{ ...each, text }];
      });
      return outcome(() => sound(bundleOfFiles(files)));
    }
    if (door === 3) {
      const made = readStoredBundle(reshaped(base, dice));
      return made === null ? 'refused' : outcome(() => sound(made));
    }
    // What the device's store gives back is never thrown at anybody: whatever is sound in it is taken.
    const read = readStoredBook('id x', reshaped(stored, dice));
    if (read === null) return 'refused';
    mergeBooks(book, read.stored.book, book);
    mergeBooks(null, book, read.stored.book);
    joinKept(base, job, { bundle: base, book: read.stored.book });
    return read.whole ? 'taken' : 'refused';
  };
}

// ---- two windows of one browser ----

/** A window of the page: what it shows, and what it last saw in the store. */
interface Tab {
  book: Book;
  seen: Book | null;
  revision: number;
}

/**
 * Two windows key, take back, save and merge in any order, by the rules of `saver` and `mergeWindows`. Every text has its
 * own words; at the end each one that nobody who saw it replaced stands in the book that both then have, or aside.
 */
async function tabsDoor(): Promise<Door> {
  const job = parseJob(
    JSON.stringify({ ...JOB, acceptance: [], lines: { edge: { ...JOB.lines.edge, baseline: 'auto' } } }),
  );
  const begin = openSheet(emptyBook(job), 1, '2031-05-05', []);
  return async (dice) => {
    const store = { book: begin, revision: 0 };
    const aside: Book[] = [];
    const tabs = [0, 1].map((): Tab => ({ book: begin, seen: begin, revision: 0 }));
    const owed = new Set<string>();
    let words = 0;
    let merges = 0;
    const save = (tab: Tab) => {
      if (store.revision >= tab.revision + 1) {
        const merged = mergeBooks(tab.seen, tab.book, store.book);
        if (merged.differing.length > 0) aside.push(tab.book);
        merges++;
        Object.assign(tab, { book: merged.book, seen: store.book, revision: store.revision });
      }
      store.book = tab.book;
      store.revision = tab.revision + 1;
      Object.assign(tab, { seen: tab.book, revision: store.revision });
    };
    for (let step = 5 + dice.below(25); step > 0; step--) {
      const tab = dice.pick(tabs);
      const place = {
        cycle: 1 + dice.below(2),
        line: 'edge',
        state: 'released' as const,
        station: dice.below(4),
      };
      tab.book = openSheet(tab.book, place.cycle, dice.pick(['', '2031-05-06']), []);
      for (const old of readingsAt(tab.book, place)) owed.delete(old);
      if (dice.chance(0.85)) {
        const text = `w${words++}`;
        for (const [slot] of readingsAt(tab.book, place).entries())
          tab.book = keyReading(tab.book, place, slot, '', step);
        tab.book = keyReading(tab.book, place, 0, text, step);
        owed.add(text);
      } else {
        for (const [slot] of readingsAt(tab.book, place).entries())
          tab.book = keyReading(tab.book, place, slot, '', step);
      }
      if (dice.chance(0.5)) save(tab);
    }
    for (const tab of [...tabs, tabs[0]!]) save(tab);
    const kept = JSON.stringify([store.book.sheets, aside.map((each) => each.sheets)]);
    for (const text of owed)
      if (!kept.includes(`"${text}"`)) throw new Error(`what was keyed as ${text} is nowhere`);
    if (JSON.stringify(tabs[0]!.book.sheets) !== JSON.stringify(store.book.sheets))
      throw new Error('window and store differ');
    return merges > 0 ? 'taken' : 'refused';
  };
}
