/**
 * First answer of the readings page in headless Chromium, for a 40-cycle, 60-station job: from opening the file to the
 * verdict on the screen. Beside it the floor of the same run: an empty page of the same size, and the analysis alone
 * in Node. Usage: npm run bench:page [-- runs]
 */
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { buildPage } from '../../build-page.mjs';
import { largeSample } from '../../sample-surveys/scenarios/large.ts';
import { analyse } from '../../src/analyse.ts';
import { withFiles } from '../../src/page/folder-files.ts';
import { bundleOf } from '../../src/page/job-bundle.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import { pageWithJob } from '../../src/page/page-file.ts';
import { launch } from '../page/browser.ts';

const runs = Number(process.argv[2] ?? 5);

async function main(): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bench-'));
  const sample = largeSample({ cycles: 40, stations: 60, lines: 1 });
  const bundle = withFiles(
    bundleOf(JSON.stringify(sample.job)),
    sample.files.map((file) => ({ path: file.name, text: file.text })),
  );
  const empty = join(folder, 'empty.html');
  await buildPage(empty);
  const path = join(folder, 'page.html');
  const text = pageWithJob(readFileSync(empty, 'utf8'), bundle);
  writeFileSync(path, text);
  const blank = join(folder, 'blank.html');
  writeFileSync(blank, `<!DOCTYPE html><title>floor</title><p>${'x'.repeat(text.length)}`);

  const opened = openBundle(bundle);
  const alone: number[] = [];
  for (let i = 0; i < runs; i++) {
    const start = performance.now();
    analyse(opened.job, opened.readings);
    alone.push(performance.now() - start);
  }

  const browser = await launch();
  const floors: number[] = [];
  const answers: { first: number; worker: number; next: number }[] = [];
  for (let i = 0; i < runs; i++) {
    const context = await browser.newContext();
    const page = await context.newPage();
    await page.goto(`file://${blank}`);
    floors.push(await page.evaluate(() => performance.getEntriesByType('navigation')[0]!.duration));
    await page.goto(`file://${path}`);
    const marks = () =>
      page.evaluate(() =>
        performance
          .getEntriesByName('sweepbook-answer')
          .map((each) => [each.startTime, (each as PerformanceMark).detail.ms as number] as const),
      );
    while ((await marks()).length === 0) await page.waitForTimeout(20);
    const [first, worker] = (await marks())[0]!;
    await page.click('#keys [data-key="digit 1"]');
    const keyed = await page.evaluate(() => performance.now());
    while ((await marks()).length < 2) await page.waitForTimeout(20);
    answers.push({ first, worker, next: (await marks())[1]![0] - keyed });
    await context.close();
  }
  await browser.close();
  rmSync(folder, { recursive: true, force: true });

  const middle = (values: readonly number[]) => [...values].sort((a, b) => a - b)[values.length >> 1]!;
  const ms = (value: number) => `${Math.round(value)} ms`;
  console.log(
    `readings page, 40 cycles of 60 stations, ${(text.length / 1e6).toFixed(2)} MB, median of ${runs}`,
  );
  console.log(`  blank page of that size (floor)     ${ms(middle(floors))}`);
  console.log(`  analysis alone in Node, warm        ${ms(middle(alone))}  (first ${ms(alone[0]!)})`);
  console.log(`  analysis in the page's worker, cold ${ms(middle(answers.map((each) => each.worker)))}`);
  console.log(`  opening to first answer             ${ms(middle(answers.map((each) => each.first)))}`);
  console.log(`  key to next answer (0.7 s pause in) ${ms(middle(answers.map((each) => each.next)))}`);
}

void main();
