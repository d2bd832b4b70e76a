/**
 * Makes the two pictures of the README anew from the bundled sample: page one of the daily sheet as it prints, and the
 * readings page on a phone. `npm run pictures`, after `npm run build`; needs Chromium (CHROMIUM_PATH, else Debian's).
 */
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { COMMANDS } from '../src/cli/commands/index.ts';
import { runInProcess } from '../tests/cli/in-process.ts';
import { launch } from '../tests/page/browser.ts';

const SAMPLE = new URL('./tannery-street', import.meta.url).pathname;
const INTO = new URL('../reports', import.meta.url).pathname;
/** The day after the last reading of the sample. */
const DAY = new Date('2025-10-01T12:00:00Z');
/** px */
const MARGIN = 32;
const work = mkdtempSync(join(tmpdir(), 'sweepbook-pictures-'));
const browser = await launch();
try {
  const run = async (...args: string[]): Promise<void> => {
    const io = { cwd: work, now: () => DAY };
    const { status, err } = await runInProcess(args, COMMANDS, io);
    if (status !== 0) throw new Error(err);
  };
  await run('report', SAMPLE, '--plain', '--out', 'daily.html');
  await run('page', SAMPLE, '--out', 'page.html');

  // US Letter at 96 dots an inch between the margins, which the screen has to be given; page one only.
  const paper = await browser.newPage({ viewport: { width: 736 + 2 * MARGIN, height: 976 } });
  await paper.emulateMedia({ media: 'print' });
  await paper.goto(pathToFileURL(join(work, 'daily.html')).href);
  await paper.evaluate((margin) => {
    document.documentElement.style.padding = `${margin}px`;
  }, MARGIN);
  const box = (await paper.locator('.leaf').first().boundingBox())!;
  const clip = { x: 0, y: 0, width: 736 + 2 * MARGIN, height: Math.ceil(box.y + box.height) };
  await paper.screenshot({ path: join(INTO, 'daily-sheet.png'), clip, fullPage: true });

  const phone = await browser.newPage({ viewport: { width: 390, height: 780 }, deviceScaleFactor: 1 });
  await phone.clock.setSystemTime(DAY);
  await phone.goto(pathToFileURL(join(work, 'page.html')).href);
  await phone.locator('#strip-verdict', { hasText: 'Stalled' }).waitFor();
  await phone.screenshot({ path: join(INTO, 'readings-page.png') });
} finally {
  await browser.close();
  rmSync(work, { recursive: true });
}
