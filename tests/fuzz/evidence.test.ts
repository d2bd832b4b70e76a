import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { addFiles } from '../../src/cli/store/add-files.ts';
import { declareSheet } from '../../src/cli/store/mark-readings.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { leaveOutCopies } from '../../src/doubts/copies.ts';
import { InputError } from '../../src/input-error.ts';
import { readReadings } from '../../src/read/readings-csv.ts';

vi.setConfig({ testTimeout: 1_800_000, hookTimeout: 600_000 });

/** Every byte with `npm run fuzz`, every few with the tests. */
const WHOLE = process.env.FUZZ_CASES !== undefined;
const STEP = WHOLE ? 1 : 23;
const SEED = Number(process.env.FUZZ_SEED ?? 16);

/** Numbers from 0 up to 1, the same for a seed (mulberry32). */
function numbers(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

const JOB = {
  ...{ job: 'Fuzzed', units: 'us' },
  member: { span: '40 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '1 in' },
  lines: {
    flange: {
      ...{ kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'north' },
      baseline: { method: 'reference', file: 'as-built.csv' },
    },
  },
  acceptance: [{ line: 'flange', limit: '1/2 in', over: 'whole line' }],
};

describe('one byte of any file of a job changed', () => {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bytes-'));
  const files = [
    ...['job.json', 'as-built.csv', 'heats.csv', 'ledger.jsonl', '.ledger-head'],
    ...['readings/day-0.csv', 'readings/day-1.csv'],
  ];

  beforeAll(async () => {
    mkdirSync(join(folder, 'readings'));
    writeFileSync(join(folder, 'job.json'), `${JSON.stringify(JOB, null, 1)}\n`);
    writeFileSync(join(folder, 'as-built.csv'), 'station,offset\n0,0\n20,0.125\n40,0\n');
    writeFileSync(join(folder, 'heats.csv'), 'cycle,line,station\n1,flange,20\n');
    for (const cycle of [0, 1]) {
      const path = join(folder, `day-${cycle}.csv`);
      const rows = [0, 8, 16, 24, 32, 40].map(
        (at, i) => `${cycle},${at},${(i * (5 - i) * (9 - cycle)) / 16}`,
      );
      writeFileSync(path, `cycle,station,offset\n${rows.join('\n')}\n`);
      await addFiles(folder, [path], {
        setAside: false,
        when: () => `2025-05-0${cycle + 1}T08:00:00.000Z`,
        waitMs: 1000,
      });
    }
    const said = { action: 'genuine' as const, file: 'day-1.csv', who: 'a', why: 'b', cycles: null };
    await declareSheet(folder, said, () => '2025-05-03T08:00:00.000Z', 1000);
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  it('is as recorded to begin with', async () => {
    const before = await verifyJob(folder, null);
    expect(before.findings).toEqual([]);
    expect(before.files.map((each) => [each.file, each.standing])).toEqual(
      [...files.filter((each) => !/ledger/.test(each))].map((each) => [each, 'known']),
    );
  });

  it.each(files)('%s: a command says so', async (file) => {
    const random = numbers(SEED);
    const path = join(folder, file);
    const whole = readFileSync(path);
    const unseen: string[] = [];
    const first = WHOLE ? 0 : Math.floor(random() * STEP);
    for (let at = first; at < whole.length; at += STEP) {
      const changed = Buffer.from(whole);
      changed[at] = (changed[at]! + 1 + Math.floor(random() * 255)) % 256;
      writeFileSync(path, changed);
      if (!(await said())) unseen.push(`byte ${at}: ${whole[at]} to ${changed[at]}`);
    }
    writeFileSync(path, whole);
    expect(unseen).toEqual([]);
  });

  async function said(): Promise<boolean> {
    try {
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

describe('the same evidence in other bytes', () => {
  const options = { units: 'us' as const, lines: null };

  it('counts once, however it is written', () => {
    const random = numbers(SEED);
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
