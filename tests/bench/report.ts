/**
 * Time to write and to open the reports of a large job: 6 lines, 100 stations, 40 cycles (24,600 readings).
 * Targets: both under 2 s. Floors in the same run: writing as many bytes, and opening a page that holds nothing but
 * the plotting library as text.
 *
 *   npm run bench:report
 */
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { chromium, type Page } from 'playwright-core';
import { writeAtomic } from '../../src/cli/store/write-atomic.ts';
import type { ReportContext } from '../../src/report/context.ts';
import { renderDaily } from '../../src/report/daily.ts';
import { renderFinal } from '../../src/report/final.ts';
import { syntheticAnalysis } from '../report/synthetic-analysis.ts';

const RUNS = 5;
const ROOT = new URL('../..', import.meta.url).pathname;
const plotly = readFileSync(join(ROOT, 'node_modules/plotly.js-dist-min/plotly.min.js'), 'utf8');
const context: ReportContext = {
  generated: '2026-03-12',
  tool: 'Sweepbook bench',
  fraction: 16,
  files: [],
  ledger: [],
  plotly,
};
const analysis = syntheticAnalysis({ lines: 6, cycles: 40, stations: 100 });
const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bench-'));

function times(work: () => void): number[] {
  return Array.from({ length: RUNS }, () => {
    const start = performance.now();
    work();
    return performance.now() - start;
  });
}

/** Processor time of one run, ms: tells the work from the wait on a busy machine. */
function processorTime(work: () => void): number {
  const start = process.cpuUsage();
  work();
  const used = process.cpuUsage(start);
  return (used.user + used.system) / 1000;
}

function line(name: string, all: readonly number[], floor: number | null): void {
  const sorted = [...all].sort((a, b) => a - b);
  const median = sorted[sorted.length >> 1]!;
  const ratio = floor === null ? '' : `, ${(median / floor).toFixed(1)} × floor`;
  console.log(`${name.padEnd(34)} min ${sorted[0]!.toFixed(0)} ms, median ${median.toFixed(0)} ms${ratio}`);
}

function median(all: readonly number[]): number {
  return [...all].sort((a, b) => a - b)[all.length >> 1]!;
}

console.log(`Node ${process.version}, ${cpus().length} × ${cpus()[0]?.model ?? 'unknown processor'}`);
console.log(
  `${analysis.lines.length} lines, 41 surveys each, 100 stations, ${analysis.readings.length} readings\n`,
);
try {
  const files: Record<string, string> = {};
  for (const [name, render] of [
    ['daily', renderDaily],
    ['final', renderFinal],
  ] as const) {
    const file = join(folder, `${name}.html`);
    files[name] = file;
    const size = Buffer.byteLength(render(analysis, context));
    const bytes = Buffer.alloc(size, 97);
    const floor = median(times(() => writeAtomic(file, bytes)));
    line(
      `${name}: build and write ${(size / 1e6).toFixed(1)} MB`,
      times(() => writeAtomic(file, render(analysis, context))),
      floor,
    );
    console.log(
      `${''.padEnd(34)} ${processorTime(() => writeAtomic(file, render(analysis, context))).toFixed(0)} ms of processor time`,
    );
  }

  const path = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find(existsSync);
  if (path === undefined) {
    console.warn('no Chromium found: opening was NOT measured');
  } else {
    files.floor = join(folder, 'floor.html');
    writeFileSync(
      files.floor,
      `<!DOCTYPE html><meta charset="utf-8"><script type="text/plain">${plotly}</script>`,
    );
    const browser = await chromium.launch({
      executablePath: path,
      args: [
        '--no-sandbox',
        '--disable-gpu',
        '--disable-quic',
        '--no-first-run',
        '--disable-background-networking',
      ],
    });
    const opened: Record<string, number[]> = {};
    for (const name of ['floor', 'daily', 'final']) {
      opened[name] = [];
      for (let run = 0; run < RUNS; run++) {
        const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
        opened[name].push(await painted(page, pathToFileURL(files[name]!).href));
        await page.close();
      }
    }
    const floor = median(opened.floor!);
    console.log('');
    line('open a page with the library alone', opened.floor!, null);
    line('open the daily sheet', opened.daily!, floor);
    line('open the final report', opened.final!, floor);
    await browser.close();
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}

/** From asking for the page until it is loaded, laid out and painted once more. */
async function painted(page: Page, url: string): Promise<number> {
  const start = performance.now();
  await page.goto(url);
  await page.evaluate(() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done))));
  return performance.now() - start;
}
