import { createHash } from 'node:crypto';
import {
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  renameSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { withFolderLock } from '../../src/cli/store/folder-lock.ts';
import { hashBytes, hashFile } from '../../src/cli/store/hash-file.ts';
import { type FileToKeep, finishIncoming, keepFiles } from '../../src/cli/store/keep-files.ts';
import { incomingName } from '../../src/cli/store/layout.ts';
import { appendToLedger, readLedger } from '../../src/cli/store/ledger.ts';
import { parseRows } from '../../src/cli/store/parse-rows.ts';
import { withFile } from '../../src/cli/store/place.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { pageLockText } from '../../src/folder/page-lock.ts';
import { safeCsvName } from '../../src/job/csv-name.ts';

let folder: string;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'sweepbook-store-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

const WHEN = '2031-05-04T10:00:00.000Z';

function fileOf(text: string, name: string): FileToKeep {
  return {
    from: { text },
    sha256: hashBytes(text),
    into: 'readings',
    name,
    facts: { original: name, rows: 1, readings: 1, surveys: [], setAside: [] },
  };
}

function keep(...files: FileToKeep[]) {
  return keepFiles(folder, files, () => WHEN, 5000);
}

describe('hashes', () => {
  it('are SHA-256: the example of FIPS 180-4 (NIST example values, "abc"), and of a file of several blocks', () => {
    expect(hashBytes('abc')).toBe('ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad');
    const bytes = Buffer.alloc((1 << 20) * 2 + 17, 'a');
    writeFileSync(join(folder, 'x'), bytes);
    expect(hashFile(join(folder, 'x'))).toEqual({
      sha256: createHash('sha256').update(bytes).digest('hex'),
      bytes: bytes.length,
    });
  });
});

describe('keeping files', () => {
  it('keeps bytes as given, under a safe and free name, with one ledger record for all', async () => {
    const text = '\ufeffcycle,station,offset\r\n0,1,2\r\n';
    const result = await keep(fileOf(text, 'cycle 0.csv'), fileOf('other', 'cycle 0.csv'));
    expect(result.kept.map((each) => each.file)).toEqual(['readings/cycle-0.csv', 'readings/cycle-0-2.csv']);
    expect(readFileSync(join(folder, 'readings/cycle-0.csv'), 'utf8')).toBe(text);
    const ledger = readLedger(folder);
    expect(ledger.findings).toEqual([]);
    expect(ledger.records).toHaveLength(1);
    expect(readdirSync(join(folder, 'readings')).filter((name) => name.startsWith('.'))).toEqual([]);
    expect(readdirSync(folder).filter((name) => name.startsWith('.'))).toEqual(['.ledger-head']);
  });

  it('knows bytes it has kept before, whatever their name, and puts back a file that was lost', async () => {
    await keep(fileOf('a', 'a.csv'));
    const again = await keep(fileOf('a', 'b.csv'));
    expect(again).toMatchObject({ seq: null, kept: [], already: [{ file: 'readings/a.csv', when: WHEN }] });
    rmSync(join(folder, 'readings/a.csv'));
    expect((await verifyJob(folder, null)).ok).toBe(false);
    await keep(fileOf('a', 'b.csv'));
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true, records: 1 });
  });

  it('adopts a file put into the folder by hand instead of keeping it twice', async () => {
    await keep(fileOf('a', 'a.csv'));
    writeFileSync(join(folder, 'readings/mine.csv'), 'b');
    const result = await keep(fileOf('b', 'b.csv'));
    expect(result.kept.map((each) => each.file)).toEqual(['readings/mine.csv']);
    expect(readdirSync(join(folder, 'readings')).sort()).toEqual(['a.csv', 'mine.csv']);
  });

  it('keeps none when the bytes are no longer those that were read', async () => {
    const changed = { ...fileOf('b', 'b.csv'), from: { text: 'c' } };
    await expect(keep(fileOf('a', 'a.csv'), changed)).rejects.toThrow('changed while');
    expect(readLedger(folder).count).toBe(0);
    expect(readdirSync(join(folder, 'readings'))).toEqual([]);
  });

  it('finishes an import that was killed after its ledger record, and drops one killed before', async () => {
    await keep(fileOf('a', 'a.csv'));
    // As a kill leaves it: the record is in, the file still waits; another file waits without a record.
    rmSync(join(folder, 'readings/a.csv'));
    writeFileSync(join(folder, 'readings', incomingName(hashBytes('a'))), 'a');
    writeFileSync(join(folder, 'readings', incomingName(hashBytes('b'))), 'b');
    writeFileSync(join(folder, '.writing-1-ledger.jsonl'), '{"half');
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true, files: [{ file: 'readings/a.csv' }] });
    finishIncoming(folder);
    expect(readdirSync(join(folder, 'readings'))).toEqual(['a.csv']);
    expect(existsSync(join(folder, '.writing-1-ledger.jsonl'))).toBe(false);
  });

  it('never leaves its folder, whatever a ledger says', async () => {
    await keep(fileOf('a', 'a.csv'));
    const path = join(folder, 'ledger.jsonl');
    writeFileSync(path, readFileSync(path, 'utf8').replace('readings/a.csv', 'readings/../../out.csv'));
    const ledger = readLedger(folder);
    expect(ledger.records).toEqual([]);
    expect(ledger.findings[0]?.code).toBe('ledger-record-unreadable');
  });

  it.each([
    ['../../etc/passwd', 'passwd.csv'],
    ['C:\\jobs\\cycle 1.CSV', 'cycle-1.csv'],
    ['.hidden.csv', 'hidden.csv'],
    ['con.csv', 'readings-con.csv'],
    ['\u001b[31mred\u0007.csv', '31mred.csv'],
    ['Träger 4.csv', 'Träger-4.csv'],
    ['=cmd|calc.csv', 'cmd-calc.csv'],
    ['', 'readings.csv'],
    [`${'x'.repeat(300)}.csv`, `${'x'.repeat(80)}.csv`],
  ])('makes a safe name of %j', (given, expected) => {
    expect(safeCsvName(given)).toBe(expected);
  });
});

describe('the ledger', () => {
  const mark = (why: string) =>
    appendToLedger(
      folder,
      { kind: 'mark', action: 'set-aside', file: 'readings/a.csv', rows: [2], who: 'R. Alder', why },
      WHEN,
    );
  const path = () => join(folder, 'ledger.jsonl');
  const lines = () => readFileSync(path(), 'utf8').trimEnd().split('\n');
  const codes = () => readLedger(folder).findings.map((each) => [each.code, each.row]);

  beforeEach(() => {
    for (const why of ['one', 'two', 'three', 'four']) mark(why);
  });

  it('chains each record to the one before', () => {
    expect(codes()).toEqual([]);
    expect(readLedger(folder).records.map((each) => each.seq)).toEqual([1, 2, 3, 4]);
    const [first, second] = lines();
    expect(JSON.parse(second!).previous).toBe(createHash('sha256').update(first!).digest('hex'));
  });

  it('shows a changed record at the one after it', () => {
    writeFileSync(path(), readFileSync(path(), 'utf8').replace('"two"', '"2"'));
    expect(codes()).toEqual([['ledger-chain-broken', 3]]);
  });

  it('shows a removed, a swapped, an inserted and a damaged record', () => {
    const all = lines();
    const write = (some: readonly string[]) => writeFileSync(path(), `${some.join('\n')}\n`);
    write([all[0]!, all[2]!, all[3]!]);
    expect(codes()[0]).toEqual(['ledger-chain-broken', 2]);
    write([all[0]!, all[2]!, all[1]!, all[3]!]);
    expect(codes()[0]).toEqual(['ledger-chain-broken', 2]);
    write([all[0]!, all[0]!, ...all.slice(1)]);
    expect(codes()[0]).toEqual(['ledger-chain-broken', 2]);
    write([all[0]!, all[1]!.slice(0, 40), all[2]!, all[3]!]);
    expect(codes()[0]).toEqual(['ledger-record-unreadable', 2]);
  });

  it('shows a changed or lost end, and remembers the loss when it goes on', () => {
    const all = lines();
    writeFileSync(path(), readFileSync(path(), 'utf8').replace('"four"', '"4"'));
    expect(codes()).toEqual([['ledger-cut-short', 4]]);
    writeFileSync(path(), `${all.slice(0, 2).join('\n')}\n`);
    expect(codes()).toEqual([['ledger-cut-short', 2]]);
    mark('five');
    expect(codes()).toEqual([['ledger-records-lost', 3]]);
  });

  it('knows a seal noted earlier, and that of another ledger not', async () => {
    const seal = readLedger(folder).seals[1]!;
    expect((await verifyJob(folder, seal.slice(0, 12))).ok).toBe(true);
    expect((await verifyJob(folder, '0123456789ab')).findings.map((each) => each.code)).toEqual([
      'seal-not-in-ledger',
    ]);
  });

  it('goes on after a damaged last line without altering it, and bears line ends another tool changed', () => {
    const text = readFileSync(path(), 'utf8');
    const head = readFileSync(join(folder, '.ledger-head'));
    writeFileSync(path(), `${text}{"seq":5,"ki`);
    mark('six');
    expect(readFileSync(path(), 'utf8').startsWith(`${text}{"seq":5,"ki\n`)).toBe(true);
    expect(codes()).toEqual([['ledger-record-unreadable', 5]]);
    writeFileSync(path(), text.replaceAll('\n', '\r\n'));
    writeFileSync(join(folder, '.ledger-head'), head);
    expect(codes()).toEqual([]);
    // Without the seal, a ledger that was cut cannot be told from a whole one.
    rmSync(join(folder, '.ledger-head'));
    expect(codes()).toEqual([['ledger-seal-gone', 4]]);
  });
});

describe('the folder lock', () => {
  it('lets one through at a time', async () => {
    let inside = 0;
    let most = 0;
    await Promise.all(
      Array.from({ length: 8 }, () =>
        withFolderLock(folder, 20_000, async () => {
          inside++;
          most = Math.max(most, inside);
          await new Promise((done) => setTimeout(done, 5));
          inside--;
        }),
      ),
    );
    expect(most).toBe(1);
    expect(readdirSync(folder)).toEqual([]);
  });

  it('says busy after its time and changes nothing', async () => {
    await withFolderLock(folder, 1000, async () => {
      await expect(withFolderLock(folder, 100, async () => 1)).rejects.toThrow(
        /^busy: process \d+ is writing/,
      );
    });
  });

  it('passes over a lock whose process is gone, also where its number is in use again', async () => {
    let mine = '';
    await withFolderLock(folder, 1000, async () => {
      mine = readdirSync(folder)[0]!;
    });
    const parts = mine.split('-');
    const gone = [...parts];
    gone[3] = '4194000';
    writeFileSync(join(folder, gone.join('-')), '');
    const reused = [...parts];
    reused[4] = '1';
    writeFileSync(join(folder, reused.join('-')), '');
    await withFolderLock(folder, 100, async () => {
      expect(readdirSync(folder)).toHaveLength(1);
    });
  });

  it('is busy while another computer may be writing, until its lock is half an hour old', async () => {
    const foreign = `.busy-${'ab'.repeat(6)}-${'cd'.repeat(6)}-12-34-${'ef'.repeat(6)}`;
    writeFileSync(join(folder, foreign), '');
    await expect(withFolderLock(folder, 50, async () => 1)).rejects.toThrow('on another computer');
  });
});

describe('a page that writes in the folder', () => {
  it('is waited for while it gives signs of life, is named with since when, and is gone after a minute without', async () => {
    const lock = join(folder, '.busy-page-abc-1');
    writeFileSync(lock, pageLockText('2031-03-04T15:00:00.000Z', 3));
    await expect(withFolderLock(folder, 50, async () => 1)).rejects.toThrow(
      /a readings page.*since 2031-03-04 15:00 UTC.*last sign of life was \d s ago.*no sign for 60 s.*delete .*\.busy-page-abc-1/,
    );
    expect(readdirSync(folder).filter((name) => name.startsWith('.'))).toEqual(['.busy-page-abc-1']);
    // Two minutes by the clock of the folder's files, whatever this computer's own says.
    const then = new Date(statSync(lock).mtimeMs - 120_000);
    utimesSync(lock, then, then);
    await withFolderLock(folder, 50, async () => {
      expect(existsSync(lock)).toBe(false);
    });
  });
});

describe('rows of a mark', () => {
  it.each([
    ['12', [12]],
    ['12, 14-16,3', [3, 12, 14, 15, 16]],
    ['4-4,4', [4]],
    ['', null],
    ['0', null],
    ['9-3', null],
    ['1e3', null],
    ['1-999999999', null],
    ['two', null],
  ])('%j', (text, rows) => {
    expect(parseRows(text)).toEqual(rows);
  });
});

describe('a file that gets its final name while it is looked for', () => {
  it('is looked for again', async () => {
    await keep(fileOf('a', 'a.csv'));
    const final = join(folder, 'readings/a.csv');
    const waiting = join(folder, 'readings', incomingName(hashBytes('a')));
    renameSync(final, waiting);
    let looks = 0;
    const text = await withFile(folder, 'readings/a.csv', hashBytes('a'), (path) => {
      // The importing process finishes between finding and opening.
      if (++looks === 1) renameSync(waiting, final);
      return readFileSync(path, 'utf8');
    });
    expect([text, looks]).toEqual(['a', 2]);
    rmSync(final);
    expect(await withFile(folder, 'readings/a.csv', hashBytes('a'), () => 'never')).toBeNull();
  });
});

describe('the heat log', () => {
  const log = () => join(folder, 'heats.csv');
  const codes = async () => (await verifyJob(folder, null)).findings.map((each) => each.code);
  beforeEach(() => writeFileSync(join(folder, 'job.json'), '{}'));

  it('may grow; rows logged by a ledger record and changed later are told, with that record', async () => {
    const first = 'cycle,line,station\n1,bottom-flange,31\n';
    writeFileSync(log(), first);
    await keep(fileOf('one', 'a.csv'));
    expect(await codes()).toEqual([]);
    writeFileSync(log(), `${first}2,bottom-flange,32\n`);
    await keep(fileOf('two', 'b.csv'));
    writeFileSync(log(), `${first}2,bottom-flange,32\n3,bottom-flange,33\n`);
    expect(await codes()).toEqual([]);
    writeFileSync(log(), `${first}2,bottom-flange,37\n3,bottom-flange,33\n`);
    const changed = await verifyJob(folder, null);
    expect(changed.findings).toMatchObject([
      { severity: 'stop', code: 'heat-log-edited', file: 'heats.csv' },
    ]);
    expect(changed.ok).toBe(false);
    expect(changed.findings[0]!.message).toMatch(/ledger record 2 .* rows logged by then were changed/);
    rmSync(log());
    expect((await verifyJob(folder, null)).findings[0]!.message).toMatch(/record 2 .* gone or empty/);
  });

  it('that was never there, or only after the last record, is no finding', async () => {
    await keep(fileOf('one', 'a.csv'));
    expect(await codes()).toEqual([]);
    writeFileSync(log(), 'cycle\n');
    expect(await codes()).toEqual([]);
  });
});
