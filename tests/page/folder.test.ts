import {
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  utimesSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { addFiles } from '../../src/cli/store/add-files.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { writeWholeJob } from '../../src/cli/store/write-whole-job.ts';
import { pageLockText } from '../../src/folder/page-lock.ts';
import { withId } from '../../src/ledger/identity.ts';
import { readSheet, type SheetRead } from '../../src/page/all-readings.ts';
import { keyReading, openSheet } from '../../src/page/book.ts';
import { bundleOfFolder } from '../../src/page/folder/bundle-of-folder.ts';
import { doorOf, type FolderDoor } from '../../src/page/folder/folder-door.ts';
import { changesSince, type FolderFiles, readFolder } from '../../src/page/folder/folder-now.ts';
import { planFolder } from '../../src/page/folder/folder-plan.ts';
import { knownBefore } from '../../src/page/folder/known-before.ts';
import { keyedTwice, takeIn } from '../../src/page/folder/take-in.ts';
import { writeFolder } from '../../src/page/folder/write-folder.ts';
import { bundleOf, bundleText, type JobBundle } from '../../src/page/job-bundle.ts';
import { withRecord } from '../../src/page/ledger/record.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { filesOfBook } from '../../src/page/papers/files-of-book.ts';
import { emptyBook } from '../../src/page/session.ts';
import { folderHandle } from './fake-folder.ts';

const SAMPLE = new URL('../../sample-surveys/tannery-street/', import.meta.url).pathname;
const CYCLES = readdirSync(join(SAMPLE, 'readings')).sort();
/** A job nobody has yet: the id of the sample would tell of a copied one. */
const JOB = readFileSync(join(SAMPLE, 'job.json'), 'utf8').replace(/^\s*"id":.*\n/m, '');
const WHEN = '2031-03-04T15:00:00.000Z';
const LATER = '2031-03-05T15:00:00.000Z';
const SAID = { who: 'R. Alder', why: 'string touched the hanger' };
let top: string;

beforeAll(() => {
  top = mkdtempSync(join(tmpdir(), 'sweepbook-folder-'));
});
afterAll(() => rmSync(top, { recursive: true, force: true }));

const addOptions = (when: string) => ({ setAside: true, when: () => when, waitMs: 1000 });

/** A job folder with two cycles, written by the command line's own store. */
async function jobFolder(name: string): Promise<string> {
  const folder = join(top, name);
  mkdirSync(folder);
  writeFileSync(join(folder, 'job.json'), JOB);
  cpSync(join(SAMPLE, 'heats.csv'), join(folder, 'heats.csv'));
  const given = CYCLES.slice(0, 2).map((file) => join(SAMPLE, 'readings', file));
  await addFiles(folder, given, addOptions('2031-03-01T15:00:00.000Z'));
  return folder;
}

/** The day's sheet keyed on the page: five stations of a later cycle. */
function keyed(bundle: JobBundle, texts = ['0', '1/8', '1/4', '3/16', '1/16']): SheetRead[] {
  const opened = openBundle(bundle);
  let book = openSheet(emptyBook(opened.job), 30, '2031-03-04', []);
  const line = opened.job.lines[0]!.name;
  for (const [i, text] of texts.entries()) {
    book = keyReading(book, { cycle: 30, line, state: 'released', station: i * 2 * 0.3048 }, 0, text, i);
  }
  return book.sheets.map((sheet) => readSheet(sheet, opened));
}

interface AtPage {
  readonly door: FolderDoor;
  readonly before: FolderFiles;
  readonly bundle: JobBundle;
}

async function onPage(folder: string, onWrite?: () => void): Promise<AtPage> {
  const door = doorOf(folderHandle(folder, onWrite));
  const before = await readFolder(door);
  return { door, before, bundle: bundleOfFolder(door.name, before) };
}

const plan = ({ before, bundle }: AtPage, when: string, sheets = keyed(bundle)) =>
  planFolder(before, filesOfBook(bundle, sheets), openBundle(bundle).job, when, 'id-of-the-test');

const write = (at: AtPage, when: string, sheets?: SheetRead[]) =>
  writeFolder(at.door, plan(at, when, sheets), 'abc123', Date.parse(when));

/** As if it had last been written two minutes ago. */
function aged(file: string): void {
  const then = new Date(statSync(file).mtimeMs - 120_000);
  utimesSync(file, then, then);
}

describe('a job folder the page was let into', () => {
  it('is written so that verify is clean and the command line reads what was keyed; and back again', async () => {
    const folder = await jobFolder('both-ways');
    const at = await onPage(folder);
    expect(await write(at, WHEN)).toEqual({ kind: 'written' });
    const verified = await verifyJob(folder, null);
    expect(verified).toMatchObject({ ok: true, findings: [], records: 2 });
    const opened = await openJob(folder);
    expect(opened.readings.filter(({ cycle }) => cycle === 30)).toHaveLength(5);
    expect(opened.files.map(({ standing }) => standing)).toEqual(['known', 'known', 'known']);
    expect(readdirSync(folder).filter((name) => /busy|swap/.test(name))).toEqual([]);
    // More keyed on the same sheet goes into a file of its own: what is filed stays as it is, and counts once.
    const more = keyed((await onPage(folder)).bundle, ['0', '1/8', '1/4', '3/16', '1/16', '1/32', '0']);
    expect(more[0]!.readings).toHaveLength(2);
    const rest = plan(await onPage(folder), LATER, more).steps.map(({ file }) => file);
    expect(rest).toContain('readings/cycle-30-2031-03-04-2.csv');
    expect(rest).not.toContain('readings/cycle-30-2031-03-04.csv');
    // Written once, nothing is left to write: the sheet counts as filed.
    const again = await onPage(folder);
    expect(keyed(again.bundle)[0]!.filed).toBe(true);
    expect(plan(again, LATER).steps).toEqual([]);
    // The command line goes on from the page's record, the page from the command line's.
    await addFiles(folder, [join(SAMPLE, 'readings', CYCLES.at(-1)!)], addOptions(LATER));
    const { file } = again.bundle.files[0]!;
    const mine = await onPage(folder);
    const marked = withRecord(
      mine.bundle,
      { kind: 'mark', action: 'set-aside', file, rows: [2], ...SAID },
      '2031-03-06T15:00:00.000Z',
      'unused',
    );
    expect(await write({ ...mine, bundle: marked }, LATER, [])).toEqual({ kind: 'written' });
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true, findings: [], records: 4 });
    expect((await openJob(folder)).marks).toMatchObject([{ file, row: 2, ...SAID }]);
  });

  it('is not written over when somebody else wrote meanwhile, and what changed is said', async () => {
    const folder = await jobFolder('meanwhile');
    const at = await onPage(folder);
    await addFiles(folder, [join(SAMPLE, 'readings', CYCLES.at(-1)!)], addOptions(WHEN));
    writeFileSync(join(folder, 'heats.csv'), 'cycle,station,pattern\n');
    const ledger = readFileSync(join(folder, 'ledger.jsonl'), 'utf8');
    const result = await write(at, LATER);
    expect(result.kind).toBe('changed');
    const said = result.kind === 'changed' ? result.changes.join(' ') : '';
    expect(said).toMatch(/new record: imported readings\//);
    expect(said).toContain('heats.csv was changed');
    expect(readFileSync(join(folder, 'ledger.jsonl'), 'utf8')).toBe(ledger);
    // Read again, what was keyed goes in after it.
    expect(await write(await onPage(folder), LATER)).toEqual({ kind: 'written' });
    expect((await openJob(folder)).readings.filter(({ cycle }) => cycle === 30)).toHaveLength(5);
    // While the command line writes, the page waits; a lock of yesterday does not keep it out.
    writeFileSync(join(folder, '.busy-a1-b2-3-4-c5'), '');
    const busy = await onPage(folder);
    const steps = plan(busy, LATER);
    expect(await writeFolder(busy.door, steps, 'x', Date.now())).toMatchObject({ kind: 'busy' });
    expect(await writeFolder(busy.door, steps, 'x', Date.now() + 3_600_000)).toEqual({ kind: 'written' });
  });

  it('what somebody else wrote is taken in under what is the page’s own: records, rows of logs, sheets', async () => {
    const folder = await jobFolder('taken-in');
    const at = await onPage(folder);
    const { file } = at.bundle.files[0]!;
    const entry = { kind: 'mark' as const, action: 'set-aside' as const, file, rows: [2], ...SAID };
    const marked = withRecord(at.bundle, entry, WHEN, 'unused');
    const log = readFileSync(join(folder, 'heats.csv'), 'utf8');
    const [ours, theirs] = log.trimEnd().split('\n').slice(-2);
    const mine = {
      ...marked,
      others: marked.others.map((each) =>
        each.file === 'heats.csv' ? { ...each, text: `${log}${ours}\n` } : each,
      ),
    };
    writeFileSync(join(folder, 'heats.csv'), `${log}${theirs}\n`);
    await addFiles(folder, [join(SAMPLE, 'readings', CYCLES.at(-1)!)], addOptions(LATER));
    const taken = takeIn('taken-in', at.before, await readFolder(at.door), mine, LATER, 'unused');
    expect(taken.apart).toEqual([]);
    const again = { door: at.door, before: await readFolder(at.door), bundle: taken.bundle };
    expect(await write(again, '2031-03-06T15:00:00.000Z')).toEqual({ kind: 'written' });
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true, findings: [], records: 4 });
    expect(readFileSync(join(folder, 'heats.csv'), 'utf8')).toBe(`${log}${theirs}\n${ours}\n`);
    const opened = await openJob(folder);
    expect(opened.marks).toMatchObject([{ file, row: 2 }]);
    expect(opened.files).toHaveLength(4);
    expect(keyedTwice([30], openBundle(at.bundle).readings, opened.readings)).toEqual([30]);
    // The settings changed on both sides: the folder's stand, the page's are handed back.
    const apart = takeIn(
      'taken-in',
      at.before,
      new Map(at.before).set('job.json', new Uint8Array(Buffer.from(JOB.replace('36 ksi', '50 ksi')))),
      { ...at.bundle, job: JOB.replace('Tannery', 'Tanners') },
      LATER,
      'unused',
    );
    expect(apart.apart.map((each) => each.file)).toEqual(['job.json']);
  });

  it('that a page comes back to is told from what the page has by what it saw of it last', async () => {
    const folder = await jobFolder('again');
    const at = await onPage(folder);
    const log = readFileSync(join(folder, 'heats.csv'), 'utf8');
    const rows = log.trimEnd().split('\n');
    const having = (text: string): JobBundle => ({
      ...at.bundle,
      others: at.bundle.others.map((each) => (each.file === 'heats.csv' ? { ...each, text } : each)),
    });
    const mine = having(`${log}${rows.at(-1)}\n`);
    const own = (bundle: JobBundle) => filesOfBook(bundle, []);
    // Nobody was there: what the page has more is the page's.
    expect(changesSince(knownBefore(at.before, at.before, own(mine)), at.before)).toEqual([]);
    // A row and a record of somebody else, the page away: told, and both rows stay.
    writeFileSync(join(folder, 'heats.csv'), `${log}${rows.at(-2)}\n`);
    await addFiles(folder, [join(SAMPLE, 'readings', CYCLES.at(-1)!)], addOptions(WHEN));
    const now = await readFolder(at.door);
    const before = knownBefore(at.before, now, own(mine));
    expect(changesSince(before, now).join(' ')).toMatch(/new record: imported.*heats\.csv was changed/);
    const taken = takeIn('again', before, now, mine, LATER, 'unused');
    expect(taken.apart).toEqual([]);
    expect(taken.bundle.others.find(({ file }) => file === 'heats.csv')!.text).toBe(
      `${log}${rows.at(-2)}\n${rows.at(-1)}\n`,
    );
    // A page that never saw the folder knows nothing of who wrote what: it is told, and what is not taken is handed back.
    const never = knownBefore(null, now, own(mine));
    expect(changesSince(never, now).join(' ')).toContain('heats.csv is new to this page');
    const both = takeIn('again', never, now, mine, LATER, 'unused');
    expect(both.apart).toMatchObject([{ file: 'heats.csv', text: `${log}${rows.at(-1)}\n` }]);
    const further = takeIn(
      'again',
      never,
      now,
      having(`${log}${rows.at(-2)}\n${rows.at(-1)}\n`),
      LATER,
      'unused',
    );
    expect(further.apart).toEqual([]);
  });

  it('stopped at any write, reads and verifies, with the sheet whole or not in it at all', async () => {
    let writes = 0;
    const counted = await jobFolder('counted');
    await write(await onPage(counted, () => writes++), WHEN);
    expect(writes).toBeGreaterThan(6);
    for (let stop = 0; stop < writes; stop++) {
      const folder = await jobFolder(`stopped-${stop}`);
      let left = stop;
      const at = await onPage(folder, () => {
        if (left-- <= 0) throw new Error('the tab was closed');
      });
      await write(at, WHEN).catch(() => undefined);
      const { findings, ok } = await verifyJob(folder, null);
      expect([stop, ok, findings]).toEqual([stop, true, []]);
      const { readings } = await openJob(folder);
      expect([0, 5]).toContain(readings.filter(({ cycle }) => cycle === 30).length);
      // The page opens it too, and writes the rest.
      for (const left of readdirSync(folder).filter((name) => name.startsWith('.busy-')))
        aged(join(folder, left));
      const next = await onPage(folder);
      expect(await writeFolder(next.door, plan(next, LATER), 'y', Date.now() + 3_600_000)).toEqual({
        kind: 'written',
      });
      expect(await verifyJob(folder, null)).toMatchObject({ ok: true, findings: [], records: 2 });
      expect((await openJob(folder)).readings.filter(({ cycle }) => cycle === 30)).toHaveLength(5);
    }
  });

  it('is not held up by a window that died while it wrote, and still waits for one of another device', async () => {
    const folder = await jobFolder('dead-window');
    const at = await onPage(folder);
    const gone = (token: string) => Promise.resolve(token === 'here-1');
    writeFileSync(join(folder, '.busy-page-elsewhere-1'), '');
    writeFileSync(join(folder, '.busy-page-here-1'), '');
    const go = () => writeFolder(at.door, plan(at, WHEN), 'here-2', Date.now(), gone);
    expect(await go()).toEqual({ kind: 'busy', file: '.busy-page-elsewhere-1', since: null });
    // One that gives signs of life is waited for, whatever the clock says, until it gave none for a minute.
    const elsewhere = join(folder, '.busy-page-elsewhere-1');
    writeFileSync(elsewhere, pageLockText(WHEN, 7));
    expect(await go()).toEqual({ kind: 'busy', file: '.busy-page-elsewhere-1', since: WHEN.slice(0, 16) });
    aged(elsewhere);
    expect(await go()).toEqual({ kind: 'written' });
    expect(readdirSync(folder).filter((name) => name.startsWith('.busy-'))).toEqual([]);
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true, findings: [], records: 2 });
  });

  it('stops where it was held up so long that another program took it for gone; what it had written is whole', async () => {
    const folder = await jobFolder('held-up');
    const lock = join(folder, '.busy-page-abc123');
    let writes = 0;
    // The ledger names the sheet, which waits under another name.
    const at = await onPage(folder, () => {
      if (++writes === 4) rmSync(lock);
    });
    expect(await write(at, WHEN)).toEqual({ kind: 'held-up' });
    // The one more is its own announcement, taken back.
    expect(writes).toBe(5);
    expect(existsSync(lock)).toBe(false);
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true });
    expect(await write(await onPage(folder), LATER)).toEqual({ kind: 'written' });
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true, findings: [], records: 2 });
  });

  it('of a file that was changed stays the stop it is: writing the rest makes no record of the change', async () => {
    const folder = await jobFolder('changed-reading');
    const first = readdirSync(join(folder, 'readings')).sort()[0]!;
    const path = join(folder, 'readings', first);
    writeFileSync(path, readFileSync(path, 'utf8').replace('1/8', '3/8'));
    const stops = async () => (await verifyJob(folder, null)).findings.map(({ code, file }) => [code, file]);
    const before = await stops();
    expect(before).toEqual([['file-changed', `readings/${first}`]]);
    expect(await write(await onPage(folder), WHEN)).toEqual({ kind: 'written' });
    expect(await stops()).toEqual(before);
  });

  it('is made again by the command line from the one file, sheets keyed on the page recorded; changes in it stay stops', async () => {
    const folder = await jobFolder('as-one-file');
    const { bundle } = await onPage(folder);
    const sheets = keyed(bundle).map(({ sheet }) => sheet);
    const options = { schema: '{}', when: LATER, fresh: 'id-of-the-test', waitMs: 1000 };
    const back = (name: string, given: JobBundle) =>
      writeWholeJob(join(top, name), bundleText(given), 'whole.json', options);
    const made = await back('made-again', { ...bundle, sheets });
    expect(made.records).toBe(2);
    expect(await verifyJob(join(top, 'made-again'), null)).toMatchObject({
      ok: true,
      findings: [],
      records: 2,
    });
    const opened = await openJob(join(top, 'made-again'));
    expect(opened.readings.filter(({ cycle }) => cycle === 30)).toHaveLength(5);
    for (const { file, text } of [...bundle.files, ...bundle.others])
      expect(readFileSync(join(top, 'made-again', file), 'utf8')).toBe(text);
    const [first, ...rest] = bundle.files;
    const text = first!.text.replace('1/8', '3/8');
    await back('changed-inside', { ...bundle, files: [{ ...first!, text }, ...rest] });
    const { findings, records } = await verifyJob(join(top, 'changed-inside'), null);
    expect([records, findings.map(({ code, file }) => [code, file])]).toEqual([
      1,
      [['file-changed', first!.file]],
    ]);
    for (const file of [
      '../out.csv',
      '/etc/out.csv',
      'readings/../../out.csv',
      '.hidden.csv',
      'a\\b.csv',
      'run.sh',
    ]) {
      const others = [...bundle.others, { file, text: 'x' }];
      await expect(back('outside', { ...bundle, others })).rejects.toThrow(/whole.json could not be used/);
    }
    expect(readdirSync(top)).not.toContain('outside');
    await expect(back('made-again', bundle)).rejects.toThrow(/is a job already/);
  });

  it('may be new: a job begun on the page is written into an empty folder', async () => {
    const folder = join(top, 'new');
    mkdirSync(folder);
    const door = doorOf(folderHandle(folder));
    const bundle = bundleOf(withId(JOB, 'page-0123456789abcdef'));
    const at = { door, before: await readFolder(door), bundle };
    expect(await write(at, WHEN)).toEqual({ kind: 'written' });
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true, findings: [], records: 1 });
    expect((await openJob(folder)).readings).toHaveLength(5);
  });
});
