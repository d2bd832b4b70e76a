import { existsSync } from 'node:fs';
import { type Browser, type BrowserContext, chromium, type Page } from 'playwright-core';

const CHROMIUM = process.env.CHROMIUM_PATH ?? '/usr/bin/chromium';

/** False, said loudly, where there is no Chromium: everything else of the page is tested without one. */
export const hasBrowser = existsSync(CHROMIUM);
if (!hasBrowser)
  console.warn(`SKIPPED: the readings page was not tested in a browser (${CHROMIUM} is absent)`);

export function launch(): Promise<Browser> {
  return chromium.launch({
    executablePath: CHROMIUM,
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

/** What a page did that it must not do. */
export interface Watched {
  readonly requests: string[];
  readonly errors: string[];
}

/** A page whose every request and error is written down. */
export async function watchedPage(context: BrowserContext): Promise<Page & { watched: Watched }> {
  const page = (await context.newPage()) as Page & { watched: Watched };
  page.watched = { requests: [], errors: [] };
  page.on('request', (request) => {
    if (!/^(file|blob|data):/.test(request.url())) page.watched.requests.push(request.url());
  });
  page.on('pageerror', (error) => page.watched.errors.push(String(error)));
  page.on('console', (message) => {
    if (message.type() === 'error') page.watched.errors.push(message.text());
  });
  page.on('dialog', (dialog) => {
    page.watched.errors.push(`dialog: ${dialog.message()}`);
    void dialog.dismiss();
  });
  return page;
}

/** Text of the file a button hands out. */
export async function downloaded(page: Page, act: string): Promise<{ name: string; text: string }> {
  const [download] = await Promise.all([
    page.waitForEvent('download'),
    page.click(`#out [data-do="${act}"]`),
  ]);
  const stream = await download.createReadStream();
  const chunks: Buffer[] = [];
  for await (const chunk of stream) chunks.push(chunk as Buffer);
  return { name: download.suggestedFilename(), text: Buffer.concat(chunks).toString('utf8') };
}

/** Taps the keys of a reading such as `3 5/16`, `-1/4` or `12.5` on the page's own keypad. */
export async function tapReading(page: Page, text: string): Promise<void> {
  const match = /^(-?)(?:(\d+(?:\.\d+)?)\s*)?(?:(\d+)\/(\d+))?$/.exec(text);
  if (match === null) throw new Error(`no keys for ${text}`);
  const key = (name: string) => page.click(`#keys [data-key="${name}"]`);
  for (const char of match[2] ?? '') await key(char === '.' ? 'point' : `digit ${char}`);
  if (match[3] !== undefined) await key(`fraction ${(Number(match[3]) * 16) / Number(match[4])}`);
  if (match[1] === '-') await key('sign');
}
