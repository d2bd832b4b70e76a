import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { addFiles } from '../../src/cli/store/add-files.ts';
import { hashBytes } from '../../src/cli/store/hash-file.ts';
import { keepFiles } from '../../src/cli/store/keep-files.ts';
import { keepPhoto } from '../../src/cli/store/keep-photo.ts';
import { appendToLedger, readLedger } from '../../src/cli/store/ledger.ts';
import { declareSheet } from '../../src/cli/store/mark-readings.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { leaveOutCopies } from '../../src/doubts/copies.ts';
import { InputError } from '../../src/input-error.ts';
import { createRandom } from '../../src/practice/random.ts';
import { readReadings } from '../../src/read/readings-csv.ts';

vi.setConfig({ testTimeout: 1_800_000, hookTimeout: 600_000 });

/** More of everything with `npm run fuzz`. */
const WHOLE = process.env.FUZZ_CASES !== undefined;
const SEED = Number(process.env.FUZZ_SEED ?? 16);

const JOB = {
  ...{ job: 'Fuzzed', units: 'us' },
  member: { span: '40 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
  lines: {
    flange: {
      ...{ kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'north' },
      baseline: { method: 'reference', file: 'as-built.csv' },
    },
  },
  acceptance: [{ presetFile: 'rules.json' }],
};
const RULES = {
  ...{ schema: 'sweepbook/preset/1', key: 'our-district', title: 'Ours', source: 'our manual' },
  rules: [{ kind: 'sweep', limit: '1/2 in', over: 'whole line', source: 'clause 4' }],
};

describe('one byte of any file of a job changed', () => {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bytes-'));
  const LOGS = {
    'heats.csv': 'cycle,line,station\n1,flange,20\n',
    'costs.csv': 'date,kind,amount\n2025-05-01,labour,120\n',
    'checks.csv': 'date,when,method,where,result\n2025-05-01,before,MT,20 ft,none\n',
  };
  const files = [
    ...['job.json', 'as-built.csv', 'rules.json', ...Object.keys(LOGS), 'ledger.jsonl', '.ledger-head'],
    ...['readings/day-0.csv', 'readings/day-1.csv', 'scans/cloud.csv'],
    ...['panels/cycle-0-w1.json', 'panels/cycle-0-w1.csv', 'photos/cycle-00-corner.png'],
  ];

  beforeAll(async () => {
    for (const name of ['readings', 'panels']) mkdirSync(join(folder, name));
    writeFileSync(join(folder, 'job.json'), `${JSON.stringify(JOB, null, 1)}\n`);
    writeFileSync(join(folder, 'rules.json'), JSON.stringify(RULES));
    writeFileSync(join(folder, 'as-built.csv'), 'station,offset\n0,0\n20,0.125\n40,0\n');
    for (const [name, text] of Object.entries(LOGS)) writeFileSync(join(folder, name), text);
    let minute = 0;
    const when = () => new Date(Date.UTC(2025, 4, 1, 8, minute++)).toISOString();
    const sheet = (cycle: number) =>
      [0, 8, 16, 24, 32, 40].map((at, i) => `${cycle},${at},${(i * (5 - i) * (9 - cycle)) / 16}`).join('\n');
    for (const cycle of [0, 1]) {
      const path = join(folder, `day-${cycle}.csv`);
      writeFileSync(path, `cycle,station,offset\n${sheet(cycle)}\n`);
      await addFiles(folder, [path], { setAside: false, when, waitMs: 1000 });
      rmSync(path);
    }
    const cloud = `cycle,station,offset\n${sheet(2)}\n`;
    const facts = {
      ...{ original: 'cloud.csv', rows: 6, readings: 6, setAside: [] },
      surveys: [{ line: 'flange', cycle: 2, state: 'released' as const, readings: 6 }],
      source: { name: 'cloud.ply', sha256: 'c'.repeat(64) },
    };
    await keepFiles(
      folder,
      [{ from: { text: cloud }, sha256: hashBytes(cloud), into: 'scans', name: 'cloud.csv', facts }],
      when,
      1000,
    );
    const maps = {
      'panels/cycle-0-w1.json': '{"map":{"cells":[1,2]}}\n',
      'panels/cycle-0-w1.csv': 'u,v\n0,1\n',
    };
    for (const [name, text] of Object.entries(maps)) writeFileSync(join(folder, name), text);
    appendToLedger(
      folder,
      {
        ...{ kind: 'panel', panel: 'w1', cycle: 0, source: { name: 'w.ply', sha256: 'd'.repeat(64) } },
        files: Object.entries(maps).map(([file, text]) => ({ file, sha256: hashBytes(text) })),
      },
      when(),
    );
    const picture = new URL('../photos/fixtures/corner.png', import.meta.url).pathname;
    await keepPhoto(folder, picture, { cycle: 0, caption: 'the corner' }, when, 1000);
    const said = { action: 'genuine' as const, file: 'day-1.csv', who: 'a', why: 'b', cycles: null };
    await declareSheet(folder, said, when, 1000);
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it('is as recorded to begin with, and every file of the folder is among these', async () => {
    const before = await verifyJob(folder, null);
    expect(before.findings).toEqual([]);
    expect(before.notCompared).toEqual(['reports/'].filter((each) => existsSync(join(folder, each))));
    expect(before.files.map((each) => [each.file, each.standing]).sort()).toEqual(
      files
        .filter((each) => !/ledger/.test(each))
        .map((each) => [each, 'known'])
        .sort(),
    );
    expect(walk(folder).sort()).toEqual([...files].sort());
  });

  it.each(files)('%s: a command says so, whichever byte it is', async (file) => {
    const random = createRandom(SEED).uniform;
    const path = join(folder, file);
    const whole = readFileSync(path);
    const unseen: string[] = [];
    for (let at = 0; at < whole.length; at++) {
      const changed = Buffer.from(whole);
      changed[at] = (changed[at]! + 1 + Math.floor(random() * 255)) % 256;
      writeFileSync(path, changed);
      if (!(await said())) unseen.push(`byte ${at}: ${whole[at]} to ${changed[at]}`);
    }
    writeFileSync(path, whole);
    expect(unseen).toEqual([]);
  });

  it.each(files.filter((each) => each !== '.ledger-head'))(
    '%s: status, page and report say it at the top, or do not open the job',
    async (file) => {
      const path = join(folder, file);
      const whole = readFileSync(path);
      const changed = Buffer.from(whole);
      // Somewhere in the middle, in what was counted: another digit, letter or bit.
      const at = Math.floor(whole.length * 0.6);
      changed[at] = changed[at]! ^ 1;
      writeFileSync(path, changed);
      try {
        const { findings } = await openJob(folder);
        const stops = findings.filter((each) => each.severity === 'stop');
        expect(stops.map((each) => each.file)).toContain(file);
      } catch (error) {
        if (!(error instanceof InputError)) throw error;
        expect(JSON.stringify([error.message, error.problems])).toContain(file);
      } finally {
        writeFileSync(path, whole);
      }
    },
  );

  async function said(): Promise<boolean> {
    try {
      // `verify` says all of these, and hashes every file besides: the ledger's own thousands of bytes need no more.
      if (readLedger(folder).findings.length > 0) return true;
      const verified = await verifyJob(folder, null);
      if (verified.findings.length > 0) return true;
      await openJob(folder);
      return false;
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return true;
    }
  }
});

/** Job-relative names of every file in a folder, hidden ones too. */
function walk(folder: string, within = ''): string[] {
  return readdirSync(join(folder, within), { withFileTypes: true }).flatMap((entry) => {
    const name = within === '' ? entry.name : `${within}/${entry.name}`;
    return entry.isDirectory() ? walk(folder, name) : [name];
  });
}

describe('the same evidence in other bytes', () => {
  const options = { units: 'us' as const, lines: null };

  it('counts once, however it is written', () => {
    const random = createRandom(SEED).uniform;
    const pick = <T>(of: readonly T[]): T => of[Math.floor(random() * of.length)]!;
    for (let n = 0; n < (WHOLE ? 20_000 : 300); n++) {
      const count = 5 + Math.floor(random() * 20);
      const rows = Array.from({ length: count }, (_, i) => ({
        station: i * 2,
        sixteenths: i < 3 ? i * 7 : Math.floor(random() * 64),
      }));
      const text = (written: readonly (typeof rows)[number][], kind: string): string => {
        const inMillimetres = kind === 'millimetres';
        const mark = kind === 'semicolons' ? ';' : ',';
        const end = kind === 'line ends' ? '\r\n' : '\n';
        const cell = ({ station, sixteenths }: (typeof rows)[number]) => {
          const offset = inMillimetres ? ((sixteenths * 25.4) / 16).toFixed(4) : String(sixteenths / 16);
          const cells = kind === 'columns' ? [offset, station, 'f', 3] : [3, 'f', station, offset];
          return cells.join(mark);
        };
        const unit = inMillimetres ? 'mm' : 'in';
        const heads = ['cycle', 'line', 'station (ft)', `offset (${unit})`];
        const head = (kind === 'columns' ? [...heads].reverse() : heads).join(mark);
        const comment = kind === 'comments' ? `# again${end}` : '';
        return `${kind === 'byte order mark' ? '\ufeff' : ''}${comment}${[head, ...written.map(cell)].join(end)}${end}`;
      };
      const kind = pick([
        'line ends',
        'semicolons',
        'columns',
        'comments',
        'byte order mark',
        'millimetres',
        'rows',
      ]);
      const again = kind === 'rows' ? [...rows].reverse() : rows;
      const a = readReadings(text(rows, ''), { ...options, file: 'readings/a.csv' });
      const b = readReadings(text(again, kind), { ...options, file: 'readings/b.csv' });
      expect([a.problems, b.problems, b.count], kind).toEqual([[], [], count]);
      const counted = leaveOutCopies([...a.readings, ...b.readings]);
      expect(counted.readings, `${kind}, case ${n}`).toEqual(a.readings);
      expect(counted.findings.map((each) => each.code)).toEqual(['readings-copied']);
      // One reading a sixteenth out at every fourth station: two people.
      const second = rows.map((row, i) => (i % 4 === 1 ? { ...row, sixteenths: row.sixteenths + 1 } : row));
      const c = readReadings(text(second, ''), { ...options, file: 'readings/c.csv' });
      const both = [...a.readings, ...c.readings];
      expect(leaveOutCopies(both)).toEqual({ readings: both, findings: [] });
    }
  });
});
