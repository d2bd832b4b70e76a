/**
 * The readings page in headless Chromium with a 40-cycle, 60-station job: from opening the file (or picking the job's
 * files) to the verdict on the screen, and from a key to the next answer. Beside it the floors of the same run: an empty
 * page, a page of the same bytes that runs nothing, and the analysis alone in Node. Times within a page count from the
 * start of its navigation. Usage: npm run bench:page [-- runs]
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { buildPage } from '../../build-page.mjs';
import { largeSample } from '../../sample-surveys/scenarios/large.ts';
import { analyse } from '../../src/analyse.ts';
import { finishedAnswer } from '../../src/page/finished-answer.ts';
import { withFiles } from '../../src/page/folder-files.ts';
import { bundleOf } from '../../src/page/job-bundle.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { pageWithJob } from '../../src/page/page-file.ts';
import { launch } from '../page/browser.ts';

const runs = Number(process.argv[2] ?? 5);
const PAUSE = 700;

async function main(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bench-'));
  const at = (name: string) => join(folder, name);
  const sample = largeSample({ cycles: 40, stations: 60, lines: 1 });
  // Known again at the next opening by its id and its files, as a job written into a page is.
  const job = JSON.stringify({ id: 'b3a1c5d7e9f00112', ...(sample.job as object) });
  const given = sample.files.map((file) => ({ path: file.name, text: file.text }));
  const added = withFiles(bundleOf(job), given);
  const bundle = { ...added, files: added.files.map((file) => ({ ...file, note: 'as imported' })) };
  const { core } = await buildPage(at('empty.html'));
  const template = readFileSync(at('empty.html'), 'utf8');
  const finished = finishedAnswer(bundle, core);
  const text = pageWithJob(template, bundle, finished);
  writeFileSync(at('with.html'), text);
  writeFileSync(at('without.html'), pageWithJob(template, bundle));
  writeFileSync(at('blank.html'), '<!DOCTYPE html><title>floor</title><p>x');
  writeFileSync(
    at('inert.html'),
    `<!DOCTYPE html><title>floor</title><p>x<script type="text/plain">${'x'.repeat(text.length)}</script>`,
  );
  const picked = [
    { name: 'job.json', mimeType: 'application/json', buffer: Buffer.from(job) },
    ...sample.files.map(({ name, text }) => ({ name, mimeType: 'text/csv', buffer: Buffer.from(text) })),
  ];

  const opened = openBundle(bundle);
  const alone: number[] = [];
  for (let i = 0; i < Math.max(5, runs); i++) {
    const start = performance.now();
    analyse(opened.job, opened.readings);
    alone.push(performance.now() - start);
  }

  const browser = await launch();
  const took: Record<string, number[]> = {};
  const note = (name: string, ms: number) => {
    took[name] ??= [];
    took[name].push(ms);
  };
  for (let i = 0; i < runs; i++) {
    for (const floor of ['blank', 'inert']) {
      await inPage(browser, at(`${floor}.html`), async (page) => {
        note(floor, await page.evaluate(() => performance.getEntriesByType('navigation')[0]!.duration));
      });
    }
    await inPage(browser, at('with.html'), async (page) => {
      note('with', (await marked(page, 'sweepbook-shown', 1)).at);
      await marked(page, 'sweepbook-answer', 1);
      await page.click('#keys [data-key="digit 1"]');
      const keyed = await page.evaluate(() => performance.now());
      note('next', (await marked(page, 'sweepbook-answer', 2)).at - keyed);
      await page.waitForTimeout(3500);
      await page.reload();
      note('again', (await marked(page, 'sweepbook-shown', 1)).at);
    });
    await inPage(browser, at('without.html'), async (page) => {
      const first = await marked(page, 'sweepbook-answer', 1);
      note('without', first.at);
      note('worker', first.ms);
    });
    await inPage(browser, at('empty.html'), async (page) => {
      await page.waitForSelector('#new-job input');
      await page.evaluate(() =>
        document.addEventListener('change', () => performance.mark('picked'), { capture: true }),
      );
      await page.setInputFiles('#pick-files', picked);
      const shown = await marked(page, 'sweepbook-shown', 1);
      note('picked', shown.at - (await marked(page, 'picked', 1)).at);
    });
  }
  await browser.close();
  rmSync(folder, { recursive: true, force: true });

  const middle = (values: readonly number[]) => [...values].sort((a, b) => a - b)[values.length >> 1]!;
  const floor = middle(took.inert!);
  const row = (name: string, values: readonly number[], compared = true) =>
    console.log(
      `  ${name.padEnd(58)} ${`${Math.round(middle(values))} ms`.padStart(8)}${compared ? `${(middle(values) / floor).toFixed(1).padStart(8)} ×` : ''}`,
    );
  console.log(
    `readings page, 40 cycles of 60 stations, ${(text.length / 1e6).toFixed(2)} MB with its answer, median of ${runs}`,
  );
  row('empty page', took.blank!, false);
  row('page of these bytes that runs nothing (floor)', took.inert!);
  row('analysis alone in Node, warm', alone, false);
  row('analysis alone in Node, first', [alone[0]!], false);
  row('opening to the answer shown: answer in the page', took.with!);
  row('opening to the answer shown: answer kept on the device', took.again!);
  row('opening to the answer shown: worked out there', took.without!);
  row('  of it the analysis in the worker', took.worker!);
  row('picking the job’s files to the answer shown', took.picked!);
  row(`key to next answer, ${PAUSE} ms pause in it`, took.next!);
}

async function inPage(browser: Browser, path: string, work: (page: Page) => Promise<void>): Promise<void> {
  const context = await browser.newContext();
  const page = await context.newPage();
  await page.goto(`file://${path}`);
  await work(page);
  await context.close();
}

/** The n-th mark of a name, waited for. */
async function marked(page: Page, name: string, n: number): Promise<{ at: number; ms: number }> {
  await page.waitForFunction(
    ([name, n]) => performance.getEntriesByName(name).length >= n,
    [name, n] as const,
    {
      polling: 20,
      timeout: 120_000,
    },
  );
  return page.evaluate(
    ([name, n]) => {
      const mark = performance.getEntriesByName(name)[n - 1] as PerformanceMark;
      return { at: mark.startTime, ms: (mark.detail as { ms?: number } | null)?.ms ?? 0 };
    },
    [name, n] as const,
  );
}

void main();
