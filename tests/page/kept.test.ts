import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, BrowserContext, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildPage } from '../../build-page.mjs';
import { parseJob } from '../../src/job/job-file.ts';
import { type Book, keyReading, openSheet, type Place, readingsAt } from '../../src/page/book.ts';
import { bundleOf, bundleText, type JobBundle } from '../../src/page/job-bundle.ts';
import { readStoredBook } from '../../src/page/kept-book.ts';
import { mergeBooks } from '../../src/page/merge-books.ts';
import { pageWithJob } from '../../src/page/page-file.ts';
import { emptyBook } from '../../src/page/session.ts';
import { discardUnfitted, mapUnfitted, unfitted, unfittedCsv } from '../../src/page/unfitted.ts';
import { hasBrowser, launch, tapReading, watchedPage } from './browser.ts';

function jobText(lines: readonly string[], more: object = {}): string {
  return JSON.stringify({
    job: 'Mill Lane over the brook, girder 2',
    id: 'b3a1c5d7e9f00112',
    units: 'us',
    member: { span: '40 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '3/4 in' },
    lines: Object.fromEntries(
      lines.map((name) => [
        name,
        { kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: 'toward the mill' },
      ]),
    ),
    acceptance: [{ line: lines[0], limit: '1/2 in', over: 'whole line' }],
    ...more,
  });
}

const FOUND = `cycle,station,offset\n${[0, 4, 8, 12, 16, 20, 24, 28, 32, 36, 40]
  .map((feet, i) => `0,${feet},${[0, 0, 0, '1/16', 1, 2, 1, 0, 0, 0, 0][i]}`)
  .join('\n')}\n`;

/** A job whose as-found readings are on its first line. */
function bundle(lines: readonly string[], more: object = {}): JobBundle {
  return {
    ...bundleOf(jobText(lines, more)),
    files: [
      {
        file: 'readings/found.csv',
        text: FOUND.replaceAll('\n0,', `\n${lines[0]},0,`).replace('cycle', 'line,cycle'),
        aside: [],
        sha256: '',
        rows: 11,
        note: 'as imported',
      },
    ],
  };
}

const job = parseJob(jobText(['edge']));
const at = (feet: number, line = 'edge'): Place => ({
  cycle: 1,
  line,
  state: 'released',
  station: feet * 0.3048,
});
const keyed = (pairs: readonly (readonly [number, string])[], from?: Book): Book =>
  pairs.reduce(
    (book, [feet, text], visit) => keyReading(book, at(feet), 0, text, visit),
    from ?? openSheet(emptyBook(job), 1, '2026-03-04', []),
  );

describe('two windows merged', () => {
  const base = keyed([
    [0, '1'],
    [4, '2'],
    [8, '3'],
  ]);

  it('take what only one of them changed, rubbed out readings too', () => {
    const mine = keyed(
      [
        [4, '2 1/8'],
        [12, '4'],
      ],
      base,
    );
    const theirs = keyed(
      [
        [8, ''],
        [16, '5'],
      ],
      base,
    );
    const { book, differing } = mergeBooks(base, mine, theirs);
    expect([0, 4, 8, 12, 16].map((feet) => readingsAt(book, at(feet)))).toEqual([
      ['1'],
      ['2 1/8'],
      [],
      ['4'],
      ['5'],
    ]);
    expect(differing).toEqual([]);
  });

  it('tell what both changed differently, and every difference where nothing is known of before', () => {
    const mine = keyed([[4, '2 1/8']], base);
    const theirs = keyed([[4, '2 1/4']], base);
    const both = mergeBooks(base, mine, theirs);
    expect(readingsAt(both.book, at(4))).toEqual(['2 1/4']);
    expect(both.differing).toEqual([1]);
    expect(mergeBooks(null, mine, theirs).differing).toEqual([1]);
    expect(mergeBooks(null, mine, mine).differing).toEqual([]);
  });
});

describe('a record of the device’s store', () => {
  const sound = {
    id: 'x',
    name: 'Mill Lane',
    saved: '2026-03-04T10:00:00Z',
    revision: 3,
    book: keyed([
      [0, '1'],
      [4, '2'],
    ]),
  };

  it('comes back whole when it is', () => {
    expect(readStoredBook('x', structuredClone(sound))).toEqual({ stored: sound, whole: true });
    expect(readStoredBook('x', undefined)).toBeNull();
  });

  it('gives every sound cell of a damaged one, and says it is not whole', () => {
    const damaged = structuredClone(sound) as unknown as { book: { sheets: { cells: object[] }[] } };
    (damaged.book.sheets[0]!.cells[0] as { readings: unknown }).readings = 'x';
    const read = readStoredBook('x', damaged)!;
    expect(read.whole).toBe(false);
    expect(readingsAt(read.stored.book, at(4))).toEqual(['2']);
    expect(readingsAt(read.stored.book, at(0))).toEqual([]);
    const twice = structuredClone(sound) as unknown as { book: { sheets: object[] } };
    twice.book.sheets.push(twice.book.sheets[0]!);
    expect(readStoredBook('x', twice)!.whole).toBe(false);
    for (const odd of [3, 'x', [], {}, { book: null }, { book: { sheets: 7 } }]) {
      expect(readStoredBook('x', odd)!.whole).toBe(false);
    }
  });
});

describe('readings on a line the job no longer has', () => {
  const renamed = parseJob(jobText(['north edge', 'south edge']));
  const book = keyed([
    [0, '1'],
    [4, '2 1/16'],
  ]);

  it('are listed, come out as CSV under their own line, and go where they are put', () => {
    const [one] = unfitted(book, renamed);
    expect(one).toEqual({ cycle: 1, line: 'edge', count: 2, onPanel: false });
    expect(unfittedCsv(book, renamed, one!).text).toMatch(/^1,edge,4,2 1\/16,released/m);
    const mapped = mapUnfitted(book, renamed, one!, 'south edge');
    expect(unfitted(mapped, renamed)).toEqual([]);
    expect(readingsAt(mapped, at(4, 'south edge'))).toEqual(['2 1/16']);
    expect(unfitted(discardUnfitted(book, renamed, one!), renamed)).toEqual([]);
  });

  it('stay where they are when their place is taken', () => {
    const taken = keyReading(book, at(4, 'south edge'), 0, '3', 9);
    const mapped = mapUnfitted(taken, renamed, unfitted(taken, renamed)[0]!, 'south edge');
    expect(unfitted(mapped, renamed)).toEqual([{ cycle: 1, line: 'edge', count: 1, onPanel: false }]);
    expect(readingsAt(mapped, at(4, 'south edge'))).toEqual(['3']);
    expect(readingsAt(mapped, at(0, 'south edge'))).toEqual(['1']);
  });
});

describe.runIf(hasBrowser)('what the device kept', () => {
  let browser: Browser;
  let folder: string;
  let empty: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-kept-'));
    empty = join(folder, 'empty.html');
    await buildPage(empty);
    browser = await launch();
  }, 120_000);

  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  function pageOf(name: string, inside: JobBundle): string {
    const path = join(folder, `${name}.html`);
    writeFileSync(path, pageWithJob(readFileSync(empty, 'utf8'), inside));
    return `file://${path}`;
  }

  async function begun(context: BrowserContext, inside: JobBundle, name = 'first') {
    const page = await watchedPage(context);
    await page.goto(pageOf(name, inside));
    await page.waitForSelector('#rows input');
    await page.waitForSelector('#saved[data-state="saved"]');
    return page;
  }

  async function keyedTwo(context: BrowserContext) {
    const page = await begun(context, bundle(['edge']));
    await tapReading(page, '1/16');
    await page.click('#next');
    await tapReading(page, '3/8');
    await page.click('#next');
    await savedCells(page, 2);
    return page;
  }

  /** Waits until the device holds so many cells of the job. */
  async function savedCells(page: Page, count: number): Promise<void> {
    await expect
      .poll(async () => (await records(page, 'books')).match(/"readings":\["/g)?.length ?? 0)
      .toBe(count);
  }

  function records(page: Page, store: string): Promise<string> {
    return page.evaluate(
      (name) =>
        new Promise<string>((resolve, reject) => {
          const open = indexedDB.open('sweepbook-readings');
          open.onerror = () => reject(open.error);
          open.onsuccess = () => {
            const got = open.result.transaction(name).objectStore(name).getAll();
            got.onsuccess = () => {
              open.result.close();
              resolve(JSON.stringify(got.result));
            };
          };
        }),
      store,
    );
  }

  /** Does to the one record of a store what a faulty device might: spoils a cell, or loses the record. */
  function harm(page: Page, store: string, how: 'spoil' | 'lose'): Promise<void> {
    return page.evaluate(
      ([name, what]) =>
        new Promise<void>((resolve, reject) => {
          const open = indexedDB.open('sweepbook-readings');
          open.onerror = () => reject(open.error);
          open.onsuccess = () => {
            const transaction = open.result.transaction(name!, 'readwrite');
            const records = transaction.objectStore(name!);
            if (what === 'lose') records.clear();
            else {
              records.getAll().onsuccess = (event) => {
                const [record] = (event.target as IDBRequest).result;
                record.book.sheets[0].cells[0].readings = 7;
                record.book.sheets[0].cells[0].spoilt = 'spoilt mark';
                records.put(record);
              };
            }
            transaction.oncomplete = () => {
              open.result.close();
              resolve();
            };
            transaction.onerror = () => reject(transaction.error);
          };
        }),
      [store, how],
    );
  }

  async function fileFrom(page: Page, selector: string): Promise<string> {
    const [download] = await Promise.all([page.waitForEvent('download'), page.click(selector)]);
    return readFileSync(await download.path(), 'utf8');
  }

  const csvOfDay = (page: Page) => fileFrom(page, '#out-body [data-do="csv"]');

  it('is listed where the office renamed the line: downloaded, put on a line, counted', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    await (await keyedTwo(context)).close();
    const page = await begun(context, bundle(['south edge', 'north edge']), 'renamed');
    expect(await page.textContent('#notices .stop')).toMatch(
      /2 keyed readings are on a line this job does not have \(edge\)/,
    );
    await page.click('[data-view="out"]');
    expect(await fileFrom(page, '[data-unfitted="download"]')).toMatch(/^1,edge,4,3\/8,released/m);
    await page.selectOption('#out-body select', 'north edge');
    // The view drawn again, as when an answer arrives just then: what was chosen stays chosen.
    await page.click('[data-view="out"]');
    await page.click('[data-unfitted="map"]');
    expect(await page.locator('[data-unfitted]').count()).toBe(0);
    expect(await csvOfDay(page)).toMatch(/^1,north edge,4,3\/8,released/m);
    expect(page.watched.errors).toEqual([]);
    await context.close();
  }, 120_000);

  it('is discarded by a second click only', async () => {
    const context = await browser.newContext();
    await (await keyedTwo(context)).close();
    const page = await begun(context, bundle(['south edge']), 'removed');
    await page.click('[data-view="out"]');
    await page.click('[data-unfitted="discard"]');
    expect(await page.textContent('[data-unfitted="discard"]')).toBe('Discard for good?');
    expect(await records(page, 'books')).toContain('"3/8"');
    await page.click('[data-unfitted="discard"]');
    await savedCells(page, 0);
    await context.close();
  }, 120_000);

  it('opens beside a damaged record, whose text is put aside and can be downloaded', async () => {
    const context = await browser.newContext();
    const first = await keyedTwo(context);
    await harm(first, 'books', 'spoil');
    await first.reload();
    await first.waitForSelector('#rows input');
    expect(await first.textContent('#notices .stop')).toMatch(/cannot be read/);
    await savedCells(first, 1);
    await first.click('[data-view="out"]');
    expect(await csvOfDay(first)).toMatch(/^1,edge,4,3\/8/m);
    expect(await fileFrom(first, '[data-aside="download"]')).toContain('spoilt mark');
    await first.click('[data-aside="discard"]');
    expect(await records(first, 'asides')).toContain('spoilt mark');
    await first.click('[data-aside="discard"]');
    await expect.poll(() => records(first, 'asides')).toBe('[]');
    await context.close();
  }, 120_000);

  it('is not lost where the store took half: what was keyed joins the job opened from its files', async () => {
    const context = await browser.newContext();
    const first = await keyedTwo(context);
    await harm(first, 'bundles', 'lose');
    await first.goto(`file://${empty}`);
    await first.waitForSelector('#stored [data-raw]');
    expect(await first.textContent('#stored')).toMatch(/Only what was keyed is here/);
    expect(await fileFrom(first, '#stored [data-raw]')).toContain('"3/8"');
    await first.click('#stored [data-remove]');
    expect(await records(first, 'books')).toContain('"3/8"');
    await first.setInputFiles('#pick-files', {
      name: 'job.json',
      mimeType: 'application/json',
      buffer: Buffer.from(bundleText(bundle(['edge']))),
    });
    await first.waitForSelector('#rows input');
    expect(await first.locator('#rows .row input[data-slot="0"]').nth(1).inputValue()).toBe('3/8');
    // Not while a save is under way: a record that is gone when it is read back is one that was not saved.
    await first.waitForSelector('#saved[data-state="saved"]');
    // The other half: the job is there, what was keyed is not.
    await harm(first, 'books', 'lose');
    await first.goto(`file://${empty}`);
    await first.waitForSelector('#rows input');
    await context.close();
  }, 120_000);

  it('is called saved only when it was read back the same', async () => {
    const context = await browser.newContext();
    const page = await begun(context, bundle(['edge']));
    await page.evaluate(() => {
      const put = IDBObjectStore.prototype.put;
      IDBObjectStore.prototype.put = function (this: IDBObjectStore, value: unknown, key?: IDBValidKey) {
        const other = structuredClone(value) as { book?: { sheets: unknown[] } };
        if (other.book !== undefined) other.book.sheets = [];
        return key === undefined ? put.call(this, other) : put.call(this, other, key);
      };
    });
    await tapReading(page, '1/4');
    await page.waitForSelector('#saved[data-state="not-saved"]');
    expect(await page.textContent('#notices')).toMatch(/gave back something else than was stored/);
    await context.close();
  }, 120_000);

  it('comes together from two windows: a download first, then both windows’ readings', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    const first = await begun(context, bundle(['edge']));
    const second = await begun(context, bundle(['edge']));
    await tapReading(second, '1/4');
    await savedCells(second, 1);
    await first.bringToFront();
    await first.click('#next');
    await tapReading(first, '5/8');
    await first.waitForSelector('[data-merge="merge"]');
    expect(await first.textContent('#notices')).not.toMatch(/reload/);
    expect(await first.isDisabled('[data-merge="merge"]')).toBe(true);
    expect(await fileFrom(first, '[data-merge="download"]')).toContain('"5/8"');
    await first.click('[data-merge="merge"]');
    await savedCells(first, 2);
    const kept = await records(first, 'books');
    expect(kept).toContain('"1/4"');
    expect(kept).toContain('"5/8"');
    await context.close();
  }, 120_000);

  it('and a file that both have something the other has not are put together only when somebody says so', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    const first = await begun(context, bundle(['edge']));
    await tapReading(first, '3/8');
    await savedCells(first, 1);
    await first.close();
    const theirs = keyed([[8, '7/8']]);
    const sent = join(folder, 'sent.json');
    writeFileSync(sent, bundleText({ ...bundle(['edge']), sheets: [...theirs.sheets] }));
    const page = await watchedPage(context);
    await page.goto(`file://${empty}`);
    await page.waitForSelector('#rows input');
    const ask = async (answer: 'yes' | 'no') => {
      await page.setInputFiles('#pick-files', sent);
      const question = page.locator('#notices .notice', { hasText: 'Nothing has been taken yet' });
      await expect.poll(() => question.textContent()).toMatch(/Only in the file: cycle \d, keyed at 1 place/);
      expect(await question.textContent()).toContain('Only on this device: cycle 1, keyed at 1 place');
      await page.click(`[data-choose="${answer}"]`);
    };
    await ask('no');
    expect(await records(page, 'books')).not.toContain('"7/8"');
    await ask('yes');
    await savedCells(page, 2);
    expect(await records(page, 'books')).toContain('"7/8"');
    expect(page.watched.errors).toEqual([]);
    await context.close();
  }, 120_000);

  it('is not joined by likeness without asking: another girder’s readings stay out', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    const alike = bundle(['edge'], { id: undefined });
    const first = await begun(context, alike, 'alike');
    await tapReading(first, '3/8');
    await savedCells(first, 1);
    await first.reload();
    await first.waitForSelector('#rows input');
    expect(await first.locator('#rows .row input').first().inputValue()).toBe('3/8');
    await first.close();
    const other = { ...alike, job: alike.job.replace('toward the mill', 'toward the brook') };
    const page = await watchedPage(context);
    await page.goto(pageOf('other', other));
    await page.click('[data-choose="no"]');
    await page.waitForSelector('#rows input');
    expect(await page.locator('#rows .row input').first().inputValue()).toBe('');
    await page.waitForSelector('#saved[data-state="saved"]');
    expect(await records(page, 'books')).toContain('"3/8"');
    await page.goto(pageOf('other-with-id', bundle(['edge'])));
    await page.click('[data-choose="yes"]');
    await page.waitForSelector('#rows input');
    expect(await page.locator('#rows .row input').first().inputValue()).toBe('3/8');
    expect(page.watched.errors).toEqual([]);
    await context.close();
  }, 120_000);

  /** A ledger of a start and as many further records as there are reasons, each record after the one before. */
  function ledger(reasons: readonly string[], id?: string): string {
    let previous = '0'.repeat(64);
    const common = { when: '2031-05-04T10:00:00.000Z' };
    const lines = [
      { kind: 'start', job: 'Mill Lane', ...(id === undefined ? {} : { id }) },
      ...reasons.map((why) => ({ kind: 'accept', file: 'heats.csv', who: 'R. Alder', why })),
    ].map((entry, i) => {
      const line = JSON.stringify({ seq: i + 1, ...common, ...entry, previous });
      previous = createHash('sha256').update(line).digest('hex');
      return line;
    });
    return `${lines.join('\n')}\n`;
  }

  it('knows an older job by its ledger and then by its id, and asks about a folder that was copied', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    const older = { ...bundle(['edge'], { id: undefined }), ledgerText: ledger(['one']) };
    const first = await begun(context, older, 'older');
    await tapReading(first, '3/8');
    await savedCells(first, 1);
    await first.close();
    const shown = async (name: string, what: JobBundle, answer: 'yes' | 'no' | null, said = '') => {
      const page = await watchedPage(context);
      await page.goto(pageOf(name, what));
      if (answer !== null) await page.click(`[data-choose="${answer}"]`);
      await page.waitForSelector('#rows input');
      await page.waitForSelector('#saved[data-state="saved"]');
      expect(await page.locator('[data-choose]').count()).toBe(0);
      expect(await page.textContent('#notices')).toContain(said);
      const value = await page.locator('#rows .row input').first().inputValue();
      expect(page.watched.errors).toEqual([]);
      await page.close();
      return value;
    };
    // It got its id and a record since: the same job. The file from before opens it too.
    const newer = { ...bundle(['edge']), ledgerText: ledger(['one', 'two']) };
    expect(await shown('newer', newer, 'yes', 'New from the file: 2031-05-04 R. Alder let heats.csv')).toBe(
      '3/8',
    );
    // A copy of the folder, gone on with other records: asked once, then known as the other girder it is.
    const copied = { ...bundle(['edge']), ledgerText: ledger(['one', 'other']) };
    expect(await shown('copied', copied, 'no')).toBe('');
    expect(
      await shown('copied-again', { ...copied, ledgerText: ledger(['one', 'other', 'more']) }, null),
    ).toBe('');
    expect(await shown('newer-again', newer, null)).toBe('3/8');
    expect(await shown('older-again', older, null, 'its ledger ends 1 record before')).toBe('3/8');
    await context.close();
  }, 180_000);

  it('says the seal of a whole-job file where it is opened', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    const page = await watchedPage(context);
    await page.goto(`file://${empty}`);
    const ledgerText = ledger(['one']);
    const sha256 = createHash('sha256').update(ledgerText.trimEnd().split('\n').at(-1)!).digest('hex');
    const whole = { ...bundle(['edge']), ledgerText, seal: { records: 2, sha256 } };
    await page.setInputFiles('#pick-files', {
      ...{ name: 'whole.json', mimeType: 'application/json' },
      buffer: Buffer.from(bundleText(whole)),
    });
    await page.waitForSelector('#rows input');
    await expect.poll(() => page.textContent('#notices')).toContain(`seal ${sha256.slice(0, 16)}…`);
    await page.click('[data-view="out"]');
    expect(await page.textContent('#out-body')).toContain(sha256);
    await page.screenshot({ path: process.env.SHOT ?? join(folder, 'seal.png'), fullPage: true });
    await context.close();
  }, 120_000);
});
