import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { Browser } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildPage } from '../../build-page.mjs';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { bundleOfFiles } from '../../src/page/folder-files.ts';
import { pageWithJob } from '../../src/page/page-file.ts';
import { type BundledCli, bundleCli } from '../cli/run-cli.ts';
import { downloaded, hasBrowser, launch, tapReading, watchedPage } from './browser.ts';

const SAMPLES = new URL('../../sample-surveys/', import.meta.url).pathname;

/** The day as the booker called it out, station by station; tannery-street the next cycle, in its own stations. */
const DAY = [
  '1/8', '1/4', '3/16', '1/4', '1/16', '0', '-1/16', '-1/8', '1/16', '3/4',
  '1 5/8', '2 1/2', '2 3/8', '1 11/16', '1 1/8', '-1/16', '-1/16', '1/16', '1/8',
]; // biome-ignore format: one line of the book

describe.runIf(hasBrowser)('a whole day on the readings page', () => {
  let browser: Browser;
  let cli: BundledCli;
  let folder: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-page-'));
    await buildPage(join(folder, 'empty.html'));
    [browser, cli] = await Promise.all([launch(), bundleCli()]);
  });

  afterAll(async () => {
    await browser?.close();
    cli?.remove();
    rmSync(folder, { recursive: true, force: true });
  });

  async function pageOf(job: string, from = join(SAMPLES, job)): Promise<string> {
    const path = join(folder, `${job.replaceAll('/', '-')}.html`);
    const opened = await openJob(from);
    writeFileSync(path, pageWithJob(readFileSync(join(folder, 'empty.html'), 'utf8'), pageBundle(opened)));
    return `file://${path}`;
  }

  it('keys it in, reloads in the middle, hands it over, and the command line gives the same status', async () => {
    const context = await browser.newContext({ viewport: { width: 820, height: 1180 } });
    const page = await watchedPage(context);
    await page.goto(await pageOf('tannery-street'));
    await page.waitForSelector('#rows input');
    const fields = page.locator('#rows .row input[data-slot="0"]');
    expect(await fields.count()).toBe(DAY.length);

    const half = 9;
    for (const text of DAY.slice(0, half)) {
      await tapReading(page, text);
      await page.click('#next');
    }
    await page.waitForSelector('#saved[data-state="saved"]');
    await page.reload();
    await page.waitForSelector('#rows input');
    expect(await fields.evaluateAll((all) => all.map((each) => (each as HTMLInputElement).value))).toEqual([
      ...DAY.slice(0, half),
      ...DAY.slice(half).map(() => ''),
    ]);
    // The crew goes on where it was: the first station without a reading is chosen.
    for (const text of DAY.slice(half)) {
      await tapReading(page, text);
      await page.click('#next');
    }
    await page.waitForSelector('#saved[data-state="saved"]');

    await page.click('[data-view="out"]');
    const csv = await downloaded(page, 'csv');
    await page.waitForFunction(
      (count) =>
        document.querySelector('#answer-state')?.textContent?.includes(`${count} of ${count}`) === true,
      DAY.length,
    );
    await settled(page);
    const status = await downloaded(page, 'status');

    const job = join(folder, 'job');
    cpSync(join(SAMPLES, 'tannery-street'), job, { recursive: true });
    writeFileSync(join(folder, csv.name), csv.text);
    const added = await cli.run(['add', job, join(folder, csv.name)]);
    expect(added.err + added.out).toContain('19');
    expect(added.status).toBe(0);
    const said = await cli.run(['status', job, '--json']);
    expect(said.status).toBe(0);
    // To the last digit: the same text.
    expect(status.text).toBe(said.out);
    expect(JSON.parse(status.text).lines[0].surveys.at(-1)).toMatchObject({ cycle: 15, count: 19 });

    // A paper opens in the page, with its style; what is downloaded is the paper itself.
    await page.click('[data-do="open-card"]');
    const card = page.frameLocator('#paper-frame');
    await expect.poll(() => card.locator('h1').textContent()).toContain('Tannery Street');
    await expect
      .poll(() =>
        card
          .locator('.box')
          .first()
          .evaluate((box) => getComputedStyle(box).borderTopStyle),
      )
      .toBe('solid');
    expect(await page.evaluate(() => document.activeElement?.id)).toBe('paper-title');
    const taken = await downloaded(page, 'take-crew-card.html');
    await cli.run(['card', job]);
    expect(sameBut(taken.text)).toBe(sameBut(readFileSync(join(job, 'reports/crew-card.html'), 'utf8')));

    expect(page.watched.requests).toEqual([]);
    expect(page.watched.errors).toEqual([]);
    await context.close();
  }, 240_000);

  it('keys a panel height by height, and the command line takes its sheet', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    const page = await watchedPage(context);
    await page.goto(await pageOf('brickfield-row'));
    await page.waitForSelector('#rows input');
    const height = () => page.inputValue('#courses input:checked');
    const inches = async () => Math.round((Number(await height()) / 0.0254) * 100) / 100;
    expect(await page.locator('#courses input').count()).toBe(11);
    expect(await inches()).toBe(39);
    expect(await page.locator('#rows .row').count()).toBe(16);
    await tapReading(page, '1 7/16');
    for (let i = 0; i < 16; i++) await page.click('#next');
    // The last station of a height leads to the first of the height below.
    expect(await inches()).toBe(36);
    await tapReading(page, '1 1/2');
    await page.click('#up');
    expect(await inches()).toBe(39);
    await page.click('#courses label:has-text("20 in")');
    // The torn places at 20 in were never read, and are not asked for.
    expect(await page.locator('#rows .row').count()).toBe(14);
    await page.focus('#rows input');
    for (const text of ['1 7/16', '1 7/16', '11 1/2', '1 1/2', '1 5/8', '1 11/16']) {
      await tapReading(page, text);
      await page.click('#next');
    }
    const third = page.locator('#rows .row').nth(2);
    await expect.poll(() => third.locator('.flag').textContent()).toMatch(/Height 20\sin/);
    await third.locator('input').focus();
    await tapReading(page, '1 1/2');
    await page.click('#next');
    await expect.poll(() => third.locator('.flag').textContent()).toBe('');
    await page.waitForSelector('#saved[data-state="saved"]');
    await page.reload();
    await page.waitForSelector('#rows input');
    expect(await page.locator('#courses .some').count()).toBe(3);
    await page.click('[data-view="out"]');
    const csv = await downloaded(page, 'csv');
    const job = join(folder, 'panel');
    cpSync(join(SAMPLES, 'brickfield-row'), job, { recursive: true });
    writeFileSync(join(folder, csv.name), csv.text);
    const added = await cli.run(['add', job, join(folder, csv.name)]);
    expect(added.err + added.out).toContain('8 readings');
    expect(added.status).toBe(0);
    expect(page.watched.errors).toEqual([]);
    await context.close();
  }, 120_000);

  it('logs a heat by keys; taken back it is gone if in no record, and on the record if it is', async () => {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 } });
    const page = await watchedPage(context);
    const job = join(folder, 'logged');
    cpSync(join(SAMPLES, 'tannery-street'), job, { recursive: true });
    const accept = ['mark', job, '--accept', '--file', 'heats.csv', '--who', 'D. V.', '--why', 'as it is'];
    expect(await cli.run(accept)).toMatchObject({ status: 0 });
    await page.goto(await pageOf('logged', job));
    await page.waitForSelector('#rows input');
    await page.click('[data-view="heats"]');
    const rows = () => page.locator('#heat-log .log-rows tbody tr').count();
    const before = await rows();
    await page.click('#heat-log [data-act="again"]');
    await page.click('#heat-log [data-act="now"]');
    expect(await page.inputValue('#heat-log input[name="time"]')).toMatch(/^\d\d:\d\d$/);
    await page.click('#heat-log input[name^="station"]');
    for (const key of ['digit 2', 'digit 4', 'feet', 'digit 6', 'fraction 8'])
      await page.click(`#heat-log [data-key="${key}"]`);
    expect(await page.inputValue('#heat-log input[name^="station"]')).toBe(`24'-6 1/2"`);
    await page.click('#heat-log button.main');
    await expect.poll(rows).toBe(Math.min(20, before + 1));
    await expect.poll(() => page.textContent('#heat-log tbody tr:last-child')).toContain(`24'-6 1/2"`);

    const text = () => page.textContent('#heat-log');
    await page.click('#heat-log [data-act="back"]');
    await page.click('#heat-log [data-act="back"]');
    await expect.poll(text).not.toContain(`24'-6 1/2"`);
    // What is left is in the ledger: it goes only with who and why.
    const last = await page.textContent('#heat-log tbody tr:last-child');
    await page.click('#heat-log details:has(form[data-act="withdraw"]) summary');
    await page.fill('#heat-log-back-who', 'R. Alder');
    await page.fill('#heat-log-back-why', 'keyed on the wrong girder');
    await page.click('#heat-log form[data-act="withdraw"] button');
    await expect.poll(() => page.textContent('#heat-log tbody tr:last-child')).not.toBe(last);
    await page.click('[data-view="out"]');
    const whole = bundleOfFiles([{ path: 'x.json', text: (await downloaded(page, 'job')).text }]);
    expect(whole.ledgerText).toMatch(
      /"kind":"accept","file":"heats.csv","who":"R. Alder".*taken back, the last row: /,
    );
    expect(whole.findings.filter((each) => each.severity === 'stop')).toEqual([]);
    expect(page.watched.errors).toEqual([]);
    await context.close();
  }, 120_000);
});

/** Waits until the newest question has its answer. */
async function settled(page: import('playwright-core').Page): Promise<void> {
  let last = -1;
  for (let same = 0; same < 3; ) {
    const now = await page.evaluate(() => performance.getEntriesByName('sweepbook-answer').length);
    same = now === last ? same + 1 : 0;
    last = now;
    await page.waitForTimeout(1000);
  }
}

/** The text of a paper without the day it was made. */
function sameBut(text: string): string {
  return text.replace(/made [^<]*? by /, 'made by ');
}
