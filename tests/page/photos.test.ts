import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import jpeg from 'jpeg-js';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { addFiles } from '../../src/cli/store/add-files.ts';
import { keepPhoto, withdrawPhoto } from '../../src/cli/store/keep-photo.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { writeWholeJob } from '../../src/cli/store/write-whole-job.ts';
import { bundleOfFolder } from '../../src/page/folder/bundle-of-folder.ts';
import { doorOf } from '../../src/page/folder/folder-door.ts';
import { changesSince, readFolder } from '../../src/page/folder/folder-now.ts';
import { planFolder } from '../../src/page/folder/folder-plan.ts';
import { writeFolder } from '../../src/page/folder/write-folder.ts';
import { bundleOfFiles } from '../../src/page/folder-files.ts';
import { bundleText, type JobBundle } from '../../src/page/job-bundle.ts';
import { withRecord } from '../../src/page/ledger/record.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { filesOfBook } from '../../src/page/papers/files-of-book.ts';
import { carriedPhoto, MOST_PHOTO_BYTES, photoBytes } from '../../src/page/photos/carried.ts';
import { withPhoto } from '../../src/page/photos/photos-part.ts';
import { folderHandle } from './fake-folder.ts';

const SAMPLE = new URL('../../sample-surveys/tannery-street/', import.meta.url).pathname;
const JOB = readFileSync(join(SAMPLE, 'job.json'), 'utf8').replace(/^\s*"id":.*\n/m, '');
const WHEN = '2031-03-04T15:00:00.000Z';
const FOUND = { cycle: 0, caption: 'station 31 ft, as found' };
let top: string;

beforeAll(() => {
  top = mkdtempSync(join(tmpdir(), 'sweepbook-photos-'));
});
afterAll(() => rmSync(top, { recursive: true, force: true }));

/** A picture of one shade, as a camera would write it. */
function picture(shade: number): Uint8Array<ArrayBuffer> {
  const data = Buffer.alloc(8 * 8 * 4, shade);
  return new Uint8Array(jpeg.encode({ data, width: 8, height: 8 }, 80).data);
}

async function jobFolder(name: string): Promise<string> {
  const folder = join(top, name);
  mkdirSync(folder);
  writeFileSync(join(folder, 'job.json'), JOB);
  const given = [join(SAMPLE, 'readings', 'sheet-1.csv')];
  await addFiles(folder, given, { setAside: true, when: () => '2031-03-01T15:00:00.000Z', waitMs: 1000 });
  return folder;
}

async function inPage(folder: string): Promise<JobBundle> {
  return pageBundle(await openJob(folder));
}

const codes = (bundle: JobBundle) => bundle.findings.map(({ code }) => code);

describe('photographs on the page', () => {
  it('are kept by the very record the command line writes, under the same name', async () => {
    const folder = await jobFolder('kept');
    const before = await inPage(folder);
    const bytes = picture(90);
    writeFileSync(join(top, 'IMG 0412.jpg'), bytes);
    const kept = await keepPhoto(folder, join(top, 'IMG 0412.jpg'), FOUND, () => WHEN, 1000);
    const onPage = withPhoto(before, { name: 'IMG 0412.jpg', bytes }, FOUND, WHEN, '');
    expect(onPage.ledgerText).toBe(readFileSync(join(folder, 'ledger.jsonl'), 'utf8'));
    expect(onPage.photos!.map(({ file }) => file)).toEqual([kept.file]);
    expect(photoBytes(onPage.photos![0]!)).toEqual(bytes);
    // The same picture again: its caption is said anew, and it is carried once.
    const again = withPhoto(
      onPage,
      { name: 'other.jpg', bytes },
      { ...FOUND, caption: 'crack check' },
      WHEN,
      '',
    );
    expect(again.photos).toHaveLength(1);
    // Another picture under the same name gets a name of its own, as there.
    writeFileSync(join(top, 'IMG 0412.jpg'), picture(200));
    const second = await keepPhoto(folder, join(top, 'IMG 0412.jpg'), FOUND, () => WHEN, 1000);
    const two = withPhoto(onPage, { name: 'IMG 0412.jpg', bytes: picture(200) }, FOUND, WHEN, '');
    expect(two.photos!.map(({ file }) => file)).toEqual([kept.file, second.file]);
    expect(two.ledgerText).toBe(readFileSync(join(folder, 'ledger.jsonl'), 'utf8'));
  });

  it('go from a folder into the page, one file, and back into a folder that verifies clean', async () => {
    const folder = await jobFolder('carried');
    writeFileSync(join(top, 'a.jpg'), picture(30));
    await keepPhoto(folder, join(top, 'a.jpg'), FOUND, () => WHEN, 1000);
    const door = doorOf(folderHandle(folder));
    const now = await readFolder(door);
    const opened = bundleOfFolder('carried', now);
    expect(opened.photos).toEqual((await inPage(folder)).photos);
    expect(codes(opened).filter((code) => code.startsWith('photo'))).toEqual([]);
    const added = withPhoto(opened, { name: 'b.jpg', bytes: picture(60) }, FOUND, WHEN, '');
    // Handed over as one file and opened again, all of it hashed anew.
    const whole = bundleOfFiles([{ path: 'x.json', text: bundleText(added) }]);
    expect(whole.photos).toEqual(added.photos);
    expect(codes(whole).filter((code) => code.startsWith('photo'))).toEqual([]);
    const job = openBundle(whole).job;
    const plan = planFolder(now, filesOfBook(whole, []), job, WHEN, 'abcd1234');
    expect(plan.said).toContain('photos/cycle-00-b.jpg');
    expect(plan.said).not.toContain('photos/cycle-00-a.jpg');
    expect((await writeFolder(door, plan, 'token', Date.parse(WHEN))).kind).toBe('written');
    expect(await verifyJob(folder, null)).toMatchObject({ ok: true, findings: [], records: 3 });
    expect(new Uint8Array(readFileSync(join(folder, 'photos/cycle-00-b.jpg')))).toEqual(picture(60));
    const after = await readFolder(door);
    expect(
      planFolder(after, filesOfBook(bundleOfFolder('carried', after), []), job, WHEN, 'x').steps,
    ).toEqual([]);
    await withdrawPhoto(folder, 'cycle-00-a.jpg', { who: 'R. Alder', why: 'blurred' }, () => WHEN, 1000);
    expect(changesSince(after, await readFolder(door)).join()).toMatch(/new record/);
  });

  it('that were exchanged inside a whole-job file are a stop, and those left in the folder a note', async () => {
    const folder = await jobFolder('exchanged');
    const one = withPhoto(await inPage(folder), { name: 'a.jpg', bytes: picture(30) }, FOUND, WHEN, '');
    const other = { ...one, photos: [carriedPhoto(one.photos![0]!.file, picture(31))] };
    const whole = bundleOfFiles([{ path: 'x.json', text: bundleText(other) }]);
    expect(whole.findings.find(({ code }) => code === 'photo-changed')).toMatchObject({
      ...{ severity: 'stop', file: 'photos/cycle-00-a.jpg' },
    });
    // The command line makes the folder of it, and the exchange stays the stop it is; no name leads out of the folder.
    const options = { schema: '{}', when: WHEN, fresh: 'id-of-the-test', waitMs: 1000 };
    const made = (name: string, given: JobBundle) =>
      writeWholeJob(join(top, name), bundleText(given), 'whole.json', options);
    await made('made', one);
    expect(await verifyJob(join(top, 'made'), null)).toMatchObject({ ok: true, findings: [] });
    await made('made-exchanged', other);
    expect((await verifyJob(join(top, 'made-exchanged'), null)).findings).toMatchObject([
      { code: 'photo-changed' },
    ]);
    const out = { ...one, photos: [{ file: 'photos/../../a.jpg', base64: '' }] };
    await expect(made('out', out)).rejects.toThrow(/not a whole-job file/);
    const { photos, ...rest } = one;
    expect(photos).toHaveLength(1);
    const without = bundleOfFiles([{ path: 'x.json', text: bundleText(rest) }]);
    expect(codes(without)).toContain('photos-not-here');
    expect(codes(without)).not.toContain('photo-missing');
    // A record more on a device that has it not: nothing is said to be missing, nothing is lost.
    const more = withRecord(without, { kind: 'accept', file: 'heats.csv', who: 'x', why: 'y' }, WHEN, '');
    expect(codes(more)).not.toContain('photo-missing');
  });

  it('too large for the page, or no pictures, are refused in words', async () => {
    const bundle = await inPage(await jobFolder('large'));
    const large = new Uint8Array(MOST_PHOTO_BYTES + 1);
    large.set([0xff, 0xd8, 0xff]);
    expect(() => withPhoto(bundle, { name: 'big.jpg', bytes: large }, FOUND, WHEN, '')).toThrow(
      /big\.jpg is 24\.0 MB.*sweepbook photo/,
    );
    const text = new TextEncoder().encode('cycle,station');
    expect(() => withPhoto(bundle, { name: 'x.jpg', bytes: text }, FOUND, WHEN, '')).toThrow(
      /neither a JPEG/,
    );
  });
});
