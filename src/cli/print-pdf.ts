import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { delimiter, join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { InputError } from '../input-error.ts';
import { writeAtomic } from './store/write-atomic.ts';

const NAMES = [
  'chromium',
  'chromium-browser',
  'google-chrome',
  'google-chrome-stable',
  'microsoft-edge',
  'msedge',
  'chrome',
];
const FOLDERS = [
  ...(process.env.PATH ?? '').split(delimiter),
  '/Applications/Google Chrome.app/Contents/MacOS',
  'C:\\Program Files\\Google\\Chrome\\Application',
  'C:\\Program Files (x86)\\Microsoft\\Edge\\Application',
];
const MOST_MS = 120_000;

/** A browser that can print, where one is installed; null where none is found. */
export function findBrowser(): string | null {
  const names = [...NAMES, 'Google Chrome', 'chrome.exe', 'msedge.exe'];
  for (const folder of FOLDERS.filter((each) => each !== '')) {
    const found = names.map((name) => join(folder, name)).find(existsSync);
    if (found !== undefined) return found;
  }
  return null;
}

/**
 * Prints a written report to a PDF beside it, with the pages it has when printed by hand, and returns its path.
 *
 * @throws InputError when no browser is found or it did not print
 */
export function printPdf(report: string, browser: string | null = findBrowser()): string {
  if (browser === null) {
    throw new InputError(
      `${report} is written; for the PDF no Chromium, Chrome or Edge was found. Open the report in a browser and print it: the pages are the same.`,
    );
  }
  const scratch = mkdtempSync(join(tmpdir(), 'sweepbook-pdf-'));
  try {
    const made = join(scratch, 'report.pdf');
    // A browser run as root has no sandbox of its own; the page has no script that is not ours and no network.
    const root = process.getuid?.() === 0 ? ['--no-sandbox'] : [];
    const flags = [
      '--headless',
      '--disable-gpu',
      '--no-first-run',
      '--disable-background-networking',
      '--no-pdf-header-footer',
    ];
    spawnSync(
      browser,
      [...flags, ...root, `--user-data-dir=${scratch}`, `--print-to-pdf=${made}`, pathToFileURL(report).href],
      { stdio: 'ignore', timeout: MOST_MS },
    );
    if (!existsSync(made))
      throw new InputError(`${report} is written; ${browser} did not print it to a PDF.`);
    const path = report.replace(/\.html?$/i, '.pdf');
    writeAtomic(path, readFileSync(made));
    return path;
  } finally {
    rmSync(scratch, { recursive: true, force: true });
  }
}
