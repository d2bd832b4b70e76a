import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { readLedger } from '../../src/cli/store/ledger.ts';
import { idInJob, idInLedger, withId } from '../../src/ledger/identity.ts';
import { runInProcess } from '../cli/in-process.ts';

let top: string;
beforeEach(() => {
  top = mkdtempSync(join(tmpdir(), 'sweepbook-identity-'));
});
afterEach(() => rmSync(top, { recursive: true, force: true }));

const BY_HAND = `{
  "job": "Quarry Lane, girder 1",
  "units": "us",
  "member": { "span": "40 ft", "yieldStress": "36 ksi", "flangeWidth": "12 in", "flangeThickness": "1 in" },
  "lines": { "edge": { "kind": "sweep", "bearings": ["0 ft", "40 ft"], "positive": "north" } }
}
`;
const NEW = [
  '--span',
  '40 ft',
  '--flange-width',
  '12 in',
  '--flange-thickness',
  '1 in',
  '--line',
  'edge:sweep',
];
let minute = 0;
const run = (...args: string[]) =>
  runInProcess(args, COMMANDS, { cwd: top, now: () => new Date(Date.UTC(2031, 4, 4, 8, minute++)) });
const jobOf = (name: string) => readFileSync(join(top, name, 'job.json'), 'utf8');
/** A day's sheet whose offsets nobody else reads. */
function day(name: string, cycle: number, seed: number): string {
  const rows = Array.from(
    { length: 11 },
    (_, i) => `${cycle},${4 * i},${((i * (10 - i) * 3 + seed * 7 + i * i * seed) % 50) / 16}`,
  );
  writeFileSync(join(top, name), `cycle,station,offset\n${rows.join('\n')}\n`);
  return name;
}
const stops = async (name: string) => {
  const { out } = await run('verify', name, '--json');
  return (JSON.parse(out) as { findings: { severity: string; code: string }[] }).findings
    .filter((each) => each.severity === 'stop')
    .map((each) => each.code);
};

describe('the id of a job', () => {
  it('is in job.json and in the first record of a new one', async () => {
    await run('new', 'a', ...NEW);
    const id = idInJob(jobOf('a'));
    expect(id).toMatch(/^[0-9a-f-]{36}$/);
    expect(readLedger(join(top, 'a')).records).toMatchObject([{ kind: 'start', id }]);
  });

  it('is given to an older job with its first record, and job.json is otherwise the same to the byte', async () => {
    await run('new', 'a', ...NEW);
    writeFileSync(join(top, 'a', 'job.json'), BY_HAND);
    rmSync(join(top, 'a', 'ledger.jsonl'));
    rmSync(join(top, 'a', '.ledger-head'));
    expect((await run('add', 'a', day('day-0.csv', 0, 1))).status).toBe(0);
    const id = idInJob(jobOf('a'));
    expect(id).not.toBeNull();
    expect(jobOf('a').replace(`"id": "${id}",\n  `, '')).toBe(BY_HAND);
    expect(idInLedger(readLedger(join(top, 'a')).records)).toBe(id);
    expect((await run('verify', 'a')).out).not.toMatch(/edited|CHANGED|stop/);
    // Later records change neither.
    await run('add', 'a', day('day-1.csv', 1, 2));
    expect(idInJob(jobOf('a'))).toBe(id);
    expect(readLedger(join(top, 'a')).records.map((each) => each.id)).toEqual([id, undefined]);
    // Killed before job.json was written: the ledger knows it, and the next record puts it in.
    writeFileSync(join(top, 'a', 'job.json'), BY_HAND);
    expect(await stops('a')).toEqual([]);
    await run('add', 'a', day('day-2.csv', 2, 3));
    expect(idInJob(jobOf('a'))).toBe(id);
  });

  it('is put into any job.json without touching another byte', () => {
    const id = '0123456789ab';
    for (const text of [
      '{"job":"x","units":"us"}',
      '\ufeff{\r\n\t"$schema": "./s.json",\r\n\t"job": "x"\r\n}\r\n',
      '{\n    "job": "a \\"quoted\\" } name"\n}',
      '{}',
    ]) {
      const made = withId(text, id);
      expect(JSON.parse(made.replace('\ufeff', ''))).toEqual({
        ...JSON.parse(text.replace('\ufeff', '')),
        id,
      });
      // Everything that was there is there, in order, around one piece put in.
      let same = 0;
      while (made[same] === text[same]) same++;
      const tail = text.slice(same);
      expect(made.endsWith(tail)).toBe(true);
      expect(made.slice(same, made.length - tail.length)).toContain(id);
    }
    expect(withId('{"id":"old-old-old","job":"x"}', id)).toBe(`{"id":"${id}","job":"x"}`);
    expect(withId('{ not json', id)).toBe('{ not json');
  });

  it('of a job.json copied as a template is replaced, and that is said', async () => {
    await run('new', 'a', ...NEW);
    const id = idInJob(jobOf('a'));
    await run('new', 'b', ...NEW);
    for (const name of ['ledger.jsonl', '.ledger-head']) rmSync(join(top, 'b', name));
    cpSync(join(top, 'a', 'job.json'), join(top, 'b', 'job.json'));
    expect(await stops('b')).toEqual(['ledger-gone']);
    expect((await run('status', 'b')).out).toContain('STOP');
    await run('add', 'b', day('day-0.csv', 0, 1));
    const own = idInJob(jobOf('b'));
    expect(own).not.toBe(id);
    expect(readLedger(join(top, 'b')).records).toMatchObject([{ kind: 'import', id: own, copyOf: id }]);
    expect(await stops('b')).toEqual([]);
    const { out } = await run('status', 'b', '--json');
    expect(out).toContain('begun from a copy of another job’s job.json');
  });

  it('of another job over a ledger of its own is a stop, until somebody accepts it', async () => {
    await run('new', 'a', ...NEW);
    await run('new', 'b', ...NEW);
    await run('add', 'b', day('day-0.csv', 0, 1));
    const own = idInJob(jobOf('b'))!;
    cpSync(join(top, 'a', 'job.json'), join(top, 'b', 'job.json'));
    expect(await stops('b')).toContain('job-id-differs');
    expect((await run('verify', 'b')).status).toBe(1);
    await run('mark', 'b', '--file', 'job.json', '--accept', '--who', 'R. Alder', '--why', 'same set-up');
    expect(idInJob(jobOf('b'))).toBe(own);
    expect(await stops('b')).toEqual([]);
  });

  it('of a job begun on the readings page stays: it never had a ledger', async () => {
    await run('new', 'a', ...NEW);
    for (const name of ['ledger.jsonl', '.ledger-head']) rmSync(join(top, 'a', name));
    writeFileSync(join(top, 'a', 'job.json'), withId(BY_HAND, 'page-0123456789abcdef'));
    expect(await stops('a')).toEqual([]);
    await run('add', 'a', day('day-0.csv', 0, 1));
    expect(idInJob(jobOf('a'))).toBe('page-0123456789abcdef');
    expect(readLedger(join(top, 'a')).records[0]).toMatchObject({ id: 'page-0123456789abcdef' });
  });
});

describe('a ledger that was cut', () => {
  it('down to its first record, its seal and its readings gone with the rest, is a stop', async () => {
    await run('new', 'a', ...NEW);
    await run('add', 'a', day('day-0.csv', 0, 1));
    const path = join(top, 'a', 'ledger.jsonl');
    writeFileSync(path, `${readFileSync(path, 'utf8').split('\n')[0]}\n`);
    rmSync(join(top, 'a', '.ledger-head'));
    rmSync(join(top, 'a', 'readings', 'day-0.csv'));
    expect((await run('verify', 'a')).status).toBe(1);
    expect(await stops('a')).toEqual(['ledger-seal-gone']);
    expect((await run('status', 'a')).out).toContain('STOP');
  });
});

describe('an agency’s own rule set', () => {
  it('is an input of the verdict: changed, it is a stop in verify and status', async () => {
    await run('new', 'a', ...NEW);
    const rules = (limit: string) =>
      JSON.stringify({
        ...{
          schema: 'sweepbook/preset/1',
          key: 'our-district',
          title: 'Ours',
          source: 'our manual, 3rd edition',
        },
        rules: [{ kind: 'sweep', limit, over: 'whole line', source: 'clause 4.2' }],
      });
    writeFileSync(join(top, 'a', 'rules.json'), rules('3/8 in'));
    const job = JSON.parse(jobOf('a'));
    writeFileSync(
      join(top, 'a', 'job.json'),
      JSON.stringify({ ...job, acceptance: [{ presetFile: './rules.json' }] }),
    );
    await run('add', 'a', day('day-0.csv', 0, 1));
    expect(await stops('a')).toEqual([]);
    writeFileSync(join(top, 'a', 'rules.json'), rules('4 in'));
    expect(await stops('a')).toEqual(['rule-set-changed']);
    expect((await run('status', 'a')).out).toMatch(/STOP: rules\.json is not the file it was/);
    const said = await run(
      'mark',
      'a',
      '--accept',
      '--file',
      'rules.json',
      '--who',
      'R. Alder',
      '--why',
      '4th edition',
    );
    expect(said.status).toBe(0);
    expect(await stops('a')).toEqual([]);
  });
});

describe('what add does with readings the job has already', () => {
  it('keeps them, names them, leaves with 1, and the stop stands until it is settled', async () => {
    await run('new', 'a', ...NEW);
    await run('add', 'a', day('day-0.csv', 0, 1));
    const text = readFileSync(join(top, 'day-0.csv'), 'utf8');
    writeFileSync(join(top, 'again.csv'), text.replaceAll('\n', '\r\n').replace(/^0,/gm, '1,'));
    const checked = await run('check', 'again.csv', '--job', 'a');
    expect([checked.status, checked.out.includes('stop: again.csv:2: again.csv, cycle 1 holds')]).toEqual([
      1,
      true,
    ]);
    const added = await run('add', 'a', 'again.csv');
    expect(added.status).toBe(1);
    expect(added.out).toContain('Imported again.csv');
    expect(added.err).toMatch(
      /^stop: again\.csv:2: again\.csv, cycle 1 holds the very 11 readings of readings\/day-0\.csv/,
    );
    expect((await run('status', 'a')).out).toMatch(/STOP: readings\/again\.csv, cycle 1/);
    await run(
      'mark',
      'a',
      '--file',
      'readings/again.csv',
      '--copy',
      '--who',
      'R. Alder',
      '--why',
      'sent twice',
    );
    expect((await run('status', 'a')).out).not.toContain('STOP');
    // The same bytes once more are no error.
    expect((await run('add', 'a', 'again.csv')).status).toBe(0);
    // A file put into the folder by hand and then imported is no copy of itself.
    cpSync(join(top, day('day-2.csv', 2, 4)), join(top, 'a', 'readings', 'day-2.csv'));
    expect((await run('add', 'a', 'day-2.csv')).status).toBe(0);
  });
});
