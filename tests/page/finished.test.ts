import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildPage } from '../../build-page.mjs';
import { analyse, analyseOpened } from '../../src/analyse.ts';
import { type Answer, analysisOf, answerText } from '../../src/answer/answer-text.ts';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { writtenPage } from '../../src/cli/written-page.ts';
import { allReadings, readSheet } from '../../src/page/all-readings.ts';
import { answerInShort } from '../../src/page/answer.ts';
import { answerKey, jobKey } from '../../src/page/answer-key.ts';
import { keyReading, openSheet } from '../../src/page/book.ts';
import { finishedAnswer } from '../../src/page/finished-answer.ts';
import { bundleText, type JobBundle, parseBundle } from '../../src/page/job-bundle.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { emptyBook } from '../../src/page/session.ts';
import { renderDaily } from '../../src/report/daily.ts';
import { statusDocument } from '../../src/status/status-document.ts';
import { hasBrowser, launch, tapReading, watchedPage } from './browser.ts';

const SAMPLES = new URL('../../sample-surveys/', import.meta.url).pathname;
const NAMES = ['juniper-lane', 'tannery-street', 'saltmarsh-road'];
const CORE = 'c0'.repeat(32);

const statusText = (analysis: ReturnType<typeof analyse>) =>
  `${JSON.stringify(statusDocument(analysis), null, 2)}\n`;
const opened = (name: string) => openJob(join(SAMPLES, name));

describe('a finished answer', () => {
  it.each(NAMES)(
    'of %s gives the status document and the daily sheet of the command line, to the letter',
    async (name) => {
      const folder = await opened(name);
      const own = analyseOpened(folder);
      const bundle = pageBundle(folder);
      const { text } = finishedAnswer(bundle, CORE)!;
      const page = openBundle(bundle);
      const again = analysisOf(JSON.parse(text) as Answer, page.job, allReadings(page, []));
      expect(statusText(again)).toBe(statusText(own));
      const daily = (analysis: typeof own) =>
        renderDaily(analysis, {
          generated: '2026-03-04',
          tool: 'test',
          fraction: 16,
          files: [],
          ledger: [],
          ledgerSeal: null,
          plotly: null,
        });
      expect(daily(again)).toBe(daily(own));
    },
  );

  it('is refused rather than carried with a number JSON cannot hold', async () => {
    const own = analyseOpened(await opened('tannery-street'));
    const broken = {
      ...own,
      lines: own.lines.map((line) => ({
        ...line,
        progress: { ...line.progress, probabilityWithin: Number.NaN },
      })),
    };
    expect(() => answerText(broken)).toThrow('lines.0.progress.probabilityWithin');
  });

  it('has another key for any other input, and for another core', async () => {
    const bundle = parseBundle(bundleText(pageBundle(await opened('tannery-street'))), 'job');
    const key = (changed: Partial<JobBundle>, core = CORE) => jobKey(core, { ...bundle, ...changed });
    const [file, ...files] = bundle.files;
    const mark = { file: file!.file, row: 2, action: 'set-aside', who: 'a', why: 'b', when: 'c' } as const;
    const keys = [
      key({}),
      key({}, 'c1'.repeat(32)),
      key({ job: bundle.job.replace('1/2 in', '5/8 in') }),
      key({ files: [{ ...file!, text: file!.text.replace('0', '1') }, ...files] }),
      key({ files: [{ ...file!, aside: [2] }, ...files] }),
      key({ files }),
      key({ others: [{ file: 'neighbour.csv', text: 'station,offset\n' }] }),
      key({ marks: [mark] }),
      key({ findings: [{ severity: 'note', code: 'x', message: 'y' }] }),
    ];
    const { job } = openBundle(bundle);
    const page = openBundle(bundle);
    const begun = openSheet(emptyBook(job), 15, '2026-03-04', []);
    const place = { cycle: 15, line: job.lines[0]!.name, state: 'released', station: 3.048 } as const;
    const keyed = keyReading(begun, place, 0, '1/4', 1);
    const other = keyReading(begun, place, 0, '3/8', 1);
    for (const book of [keyed, other]) {
      keys.push(
        answerKey(
          key({}),
          book.sheets.map((sheet) => readSheet(sheet, page)),
        ),
      );
    }
    expect(new Set(keys).size).toBe(keys.length);
    // A sheet nobody has keyed anything on changes nothing.
    expect(
      answerKey(
        key({}),
        begun.sheets.map((sheet) => readSheet(sheet, page)),
      ),
    ).toBe(answerKey(key({}), []));
  });
});

describe.runIf(hasBrowser)('a finished answer in the page', () => {
  let browser: Browser;
  let folder: string;
  let template: string;
  let core: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-finished-'));
    ({ core } = await buildPage(join(folder, 'empty.html')));
    template = readFileSync(join(folder, 'empty.html'), 'utf8');
    browser = await launch();
  });

  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  /** A page whose worker never answers: what it shows it brought along. */
  async function withoutWorker(text: string, name: string) {
    writeFileSync(join(folder, name), text);
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    await context.addInitScript(() => {
      globalThis.Worker = class {
        postMessage() {}
        terminate() {}
      } as unknown as typeof Worker;
    });
    const page = await watchedPage(context);
    await page.goto(`file://${join(folder, name)}`);
    await page.waitForSelector('#rows input');
    return page;
  }

  const verdict = (page: import('playwright-core').Page) => page.textContent('#strip-verdict');

  it('is shown at once, and is marked at the first key', async () => {
    const job = await opened('tannery-street');
    const page = await withoutWorker(writtenPage(template, job, core), 'whole.html');
    expect(await verdict(page)).not.toBe('Working it out');
    expect(await page.isVisible('#strip-old')).toBe(false);
    await tapReading(page, '1/4');
    expect(await page.isVisible('#strip-old')).toBe(true);
    await page.click('[data-view="answer"]');
    expect(await page.textContent('#answer-state')).toContain('from before the last keys');
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 120_000);

  it('is never shown beside other readings, another limit or another core', async () => {
    const job = await opened('tannery-street');
    const whole = writtenPage(template, job, core);
    const block = /(<script type="application\/json" id="job-inside">)(.*?)(<\/script>)/s;
    const withOther = (change: (bundle: JobBundle) => void) =>
      whole.replace(block, (_, start: string, json: string, end: string) => {
        const bundle = JSON.parse(json) as JobBundle;
        change(bundle);
        return `${start}${JSON.stringify(bundle).replaceAll('<', '\\u003c')}${end}`;
      });
    const limit = withOther((bundle) => {
      bundle.job = bundle.job.replace('1/2 in', '5/8 in');
    });
    const reading = withOther((bundle) => {
      bundle.files[0]!.text = bundle.files[0]!.text.replace('1/8', '3/8');
    });
    // Taken apart and put together again it is the same page.
    expect(withOther(() => {})).toBe(whole);
    for (const [name, text] of [
      ['limit', limit],
      ['reading', reading],
      ['core', writtenPage(template, job, CORE)],
    ] as const) {
      if (name !== 'core') expect(text).not.toBe(whole);
      const page = await withoutWorker(text, `${name}.html`);
      expect([name, await verdict(page)]).toEqual([name, 'Working it out']);
      await page.context().close();
    }
  }, 120_000);

  it('is kept on the device and shown at the next opening, only to the same readings', async () => {
    writeFileSync(join(folder, 'kept.html'), writtenPage(template, await opened('tannery-street'), core));
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    const page = await watchedPage(context);
    await page.goto(`file://${join(folder, 'kept.html')}`);
    await page.waitForFunction(() => performance.getEntriesByName('sweepbook-answer').length > 0, null, {
      timeout: 60_000,
    });
    const asWritten = await page.textContent('#strip-figure');
    for (const text of ['1/8', '1/4', '3/16']) {
      await tapReading(page, text);
      await page.click('#next');
    }
    await page.waitForSelector('#saved[data-state="saved"]');
    await page.waitForSelector('.strip:not([data-old])');
    // Longer than an answer must stand before it is kept.
    await page.waitForTimeout(3500);
    const [says, figure] = [await verdict(page), await page.textContent('#strip-figure')];
    expect(figure).not.toBe(asWritten);
    await context.addInitScript(() => {
      globalThis.Worker = class {
        postMessage() {}
        terminate() {}
      } as unknown as typeof Worker;
    });
    await page.reload();
    await page.waitForSelector('#rows input');
    expect(await page.inputValue('#rows input >> nth=0')).toBe('1/8');
    expect([await verdict(page), await page.textContent('#strip-figure')]).toEqual([says, figure]);
    expect(await page.isVisible('#strip-old')).toBe(false);
    expect(page.watched.errors).toEqual([]);
    await context.close();
  }, 180_000);

  it('is worked out on the page’s own thread where the browser refuses workers', async () => {
    writeFileSync(join(folder, 'thread.html'), writtenPage(template, await opened('tannery-street'), null));
    const context = await browser.newContext();
    await context.addInitScript(() => {
      globalThis.Worker = class {
        constructor() {
          throw new DOMException('no', 'SecurityError');
        }
      } as unknown as typeof Worker;
    });
    const page = await watchedPage(context);
    await page.goto(`file://${join(folder, 'thread.html')}`);
    await page.waitForFunction(() => performance.getEntriesByName('sweepbook-answer').length > 0, null, {
      timeout: 60_000,
    });
    expect(await verdict(page)).not.toBe('Working it out');
    expect(page.watched.errors).toEqual([]);
    await context.close();
  }, 120_000);
});

describe('a cycle only begun', () => {
  it('asks to read on: at the first station, and until the survey reaches the bend with half its stations', async () => {
    const page = openBundle(pageBundle(await opened('tannery-street')));
    const [line] = page.job.lines;
    const last = page.readings.filter((reading) => reading.cycle === 14);
    const stations = [...new Set(last.map((reading) => reading.station))].sort((a, b) => a - b);
    const said = (count: number) => {
      const keyed = last
        .filter((reading) => stations.indexOf(reading.station) < count)
        // As people read again: a 1/32 in here and there. The very same numbers would be a copy, which does not count.
        .map((reading, i) => ({
          ...reading,
          offset: reading.offset + ((i % 3) - 1) * (0.0254 / 32),
          cycle: 15,
          file: 'readings/new.csv',
        }));
      const analysis = analyse(page.job, [...page.readings, ...keyed], page.marks, page.findings);
      return answerInShort(analysis, line!.name, 15);
    };
    expect(said(1)).toEqual({
      verdict: 'Read on',
      figure: `${line!.name}: 1 of ${stations.length} stations`,
    });
    expect(said(Math.floor(stations.length / 2)).verdict).toBe('Read on');
    expect(said(stations.length).verdict).not.toBe('Read on');
  });
});
