import { cpSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildPage } from '../../build-page.mjs';
import { atHand } from '../../src/cli/at-hand.ts';
import { writtenPage } from '../../src/cli/written-page.ts';
import { statusPaper } from '../../src/papers/papers.ts';
import { type Driver, OTHERS } from './drivers.ts';

const SAMPLE = new URL('../../sample-surveys/tannery-street/', import.meta.url).pathname;

// Chromium is driven through a whole day in day.test.ts.
describe.skipIf(OTHERS.every(([, there]) => !there))('in browsers of other makers', () => {
  let folder: string;
  let status: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-others-'));
    cpSync(SAMPLE, join(folder, 'job'), { recursive: true });
    await buildPage(join(folder, 'empty.html'));
    const at = await atHand(join(folder, 'job'));
    status = statusPaper(at).text;
    // No answer inside: the browser works it out itself.
    writeFileSync(
      join(folder, 'job.html'),
      writtenPage(readFileSync(join(folder, 'empty.html'), 'utf8'), at.opened, null),
    );
  }, 120_000);
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  for (const [name, there, start] of OTHERS) {
    it.skipIf(!there)(
      `${name}: the status of the command line to the last digit, a reading keyed, a paper opened`,
      async (test) => {
        const page = await start().catch((error: unknown) => {
          // Some machines have it and cannot start it (no display, no namespaces): as good as absent.
          console.warn(
            `SKIPPED: the readings page was not tested in ${name}, which does not start: ${error}`,
          );
          return null;
        });
        if (page === null) return test.skip();
        try {
          await page.resize(390, 844);
          await page.go(`file://${join(folder, 'job.html')}`);
          const text = (css: string) =>
            page.run(`return document.querySelector(${JSON.stringify(css)})?.textContent ?? ''`);
          await until(page, `return document.querySelectorAll('#rows input').length`).toBeGreaterThan(10);
          await until(page, `return performance.getEntriesByName('sweepbook-answer').length`).toBe(1);
          const verdict = await text('#strip-verdict');
          await page.click('[data-view="out"]');
          await page.click('[data-do="open-status"]');
          await until(page, `return document.querySelector('pre.paper')?.textContent ?? ''`).toBe(status);
          expect(verdict).toBe('Stalled');
          await page.click('[data-do="back"]');
          await page.click('[data-do="open-card"]');
          const inside = `const d = document.getElementById('paper-frame')?.contentDocument; `;
          await until(page, `${inside}return d?.querySelector('h1')?.textContent ?? ''`).toContain(
            'Tannery Street',
          );
          // Its style has come with it.
          await until(
            page,
            `${inside}return d.defaultView.getComputedStyle(d.querySelector('.box')).borderTopStyle`,
          ).toBe('solid');
          await page.click('[data-view="entry"]');
          await page.click('#keys [data-key="fraction 4"]');
          expect(await page.run(`return document.querySelector('#rows input').value`)).toBe('1/4');
          await until(page, `return document.getElementById('saved').dataset.state`).toBe('saved');
        } finally {
          await page.close();
        }
      },
      120_000,
    );
  }
});

/** Polls what a script in the page gives. */
function until(page: Driver, body: string) {
  return expect.poll(() => page.run(body), { timeout: 60_000, interval: 200 });
}
