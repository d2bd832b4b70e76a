import { mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'esbuild';
import type { Browser, BrowserContextOptions, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildPage } from '../../build-page.mjs';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { pageWithJob } from '../../src/page/page-file.ts';
import { downloaded, hasBrowser, launch, tapReading, watchedPage } from './browser.ts';

const SAMPLES = new URL('../../sample-surveys/', import.meta.url).pathname;
const AXE = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const EVIL = `"><img src=x onerror="document.title='ran'"></script><script>document.title='ran'</script>`;

describe.runIf(hasBrowser)('readings page in a browser', () => {
  let browser: Browser;
  let folder: string;
  let empty: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-page-'));
    empty = join(folder, 'empty.html');
    await buildPage(empty);
    browser = await launch();
  });

  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  async function pageOf(job: string): Promise<string> {
    const path = join(folder, `${job}.html`);
    writeFileSync(
      path,
      pageWithJob(readFileSync(empty, 'utf8'), pageBundle(await openJob(join(SAMPLES, job)))),
    );
    return `file://${path}`;
  }

  async function opened(job: string, options: BrowserContextOptions = {}) {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 }, ...options });
    const page = await watchedPage(context);
    await page.goto(job === '' ? `file://${empty}` : await pageOf(job));
    return page;
  }

  /** Serious and critical violations, by rule and place. Run past the page's policy, which would stop it as it should. */
  async function violations(page: Page): Promise<string[]> {
    await page.evaluate(AXE);
    return page.evaluate(async () => {
      const axe = (
        globalThis as unknown as {
          axe: {
            run: (node: Document) => Promise<{
              violations: {
                id: string;
                impact: string;
                nodes: { target: string[]; failureSummary: string }[];
              }[];
            }>;
          };
        }
      ).axe;
      const { violations } = await axe.run(document);
      return violations
        .filter((each) => each.impact === 'serious' || each.impact === 'critical')
        .map(
          (each) =>
            `${each.id}: ${each.nodes
              .map((node) => `${node.target.join(' ')} ${node.failureSummary}`)
              .slice(0, 3)
              .join('; ')}`,
        );
    });
  }

  /** Controls in sight under 44 px either way, the area a thumb needs (WCAG 2.2, 2.5.5); links within a text are free. */
  function smallTargets(page: Page): Promise<string[]> {
    return page.evaluate(() =>
      [...document.querySelectorAll<HTMLElement>('button, summary, select, input, textarea')].flatMap(
        (each) => {
          const hit = each.matches('[type="radio"], [type="checkbox"], [type="file"]')
            ? (each.closest<HTMLElement>('label, td') ?? each)
            : each;
          const { width, height } = hit.getBoundingClientRect();
          if (!hit.checkVisibility() || width === 0 || (width >= 43.9 && height >= 43.9)) return [];
          const name = each.id || each.getAttribute('aria-label') || each.textContent?.trim().slice(0, 40);
          return [`${each.tagName} ${name}: ${width.toFixed(0)} × ${height.toFixed(0)}`];
        },
      ),
    );
  }

  /** Controls of a room in sight that Tab, from its tab on, does not come to; of radio buttons one a group is enough. */
  async function unreached(page: Page, room: string): Promise<string[]> {
    await page.focus(`[data-view="${room}"]`);
    const reached = new Set<string>();
    for (let i = 0; i < 500; i++) {
      await page.keyboard.press('Tab');
      const at = await page.evaluate((id) => {
        const { activeElement } = document;
        const all = [...document.querySelectorAll(`#${id} :is(button, summary, select, input, textarea, a)`)];
        return document.querySelector('main')!.contains(activeElement)
          ? String(all.indexOf(activeElement!))
          : '';
      }, room);
      if (at !== '') reached.add(at);
      else if (reached.size > 0) break;
    }
    return page.evaluate(
      ([id, seen]) =>
        [...document.querySelectorAll<HTMLElement>(`#${id} :is(button, summary, select, input, textarea, a)`)]
          .filter(
            (each, i) =>
              !seen.includes(String(i)) &&
              each.checkVisibility() &&
              !each.matches(':disabled, [type="radio"]'),
          )
          .map((each) => `${each.tagName} ${each.id || each.textContent?.trim().slice(0, 40)}`),
      [room, [...reached]] as const,
    );
  }

  it('shows hostile text as text, in names, files and notes, and runs none of it', async () => {
    const page = await opened('');
    const job = JSON.stringify({
      job: EVIL,
      units: 'us',
      member: { span: '40 ft', yieldStress: '36 ksi', flangeWidth: '12 in', flangeThickness: '3/4 in' },
      lines: { edge: { kind: 'sweep', bearings: ['0 ft', '40 ft'], positive: EVIL } },
      acceptance: [{ line: 'edge', limit: '1/2 in', over: 'whole line', label: EVIL, source: EVIL }],
    });
    const rows = Array.from(
      { length: 11 },
      (_, i) => `0,${i * 4},${i === 5 ? 2 : 0},"${EVIL.replaceAll('"', '""')}"`,
    );
    const file = (name: string, text: string) => ({
      name,
      mimeType: 'text/plain',
      buffer: Buffer.from(text),
    });
    // Faulty first: every cell of it is repeated in the problems.
    await page.setInputFiles('#pick-files', [
      file('job.json', job),
      file('bad.csv', `cycle,station,offset\n0,4,${EVIL.replaceAll('"', '')}\n`),
    ]);
    await page.waitForSelector('#notices .stop li');
    expect(await page.textContent('#notices .stop li')).toContain('<img src=x');
    await page.setInputFiles('#pick-files', [
      file('job.json', job),
      file('found.csv', `cycle,station,offset,note\n${rows.join('\n')}\n`),
    ]);
    await page.waitForSelector('#rows input');
    await page.fill('#rows input >> nth=0', EVIL.slice(0, 40));
    await page.fill('#fact-note', EVIL);
    await page.click('[data-view="answer"]');
    await page.waitForSelector('#answer-body figure');
    await page.click('[data-view="out"]');
    const daily = await downloaded(page, 'daily');
    expect(await page.title()).toContain('<img src=x');
    expect(await page.locator('img').count()).toBe(0);
    expect(await page.textContent('#job-name')).toBe(EVIL);
    expect(daily.text).not.toMatch(/<img|<script>document/);
    writeFileSync(join(folder, 'daily.html'), daily.text);
    const report = await watchedPage(page.context());
    await report.goto(`file://${join(folder, 'daily.html')}`);
    expect(await report.title()).not.toBe('ran');

    // The whole job as one file opens again, and inside a page of its own.
    const whole = await downloaded(page, 'job');
    const inside = join(folder, 'inside.html');
    writeFileSync(inside, pageWithJob(readFileSync(empty, 'utf8'), JSON.parse(whole.text)));
    await page.goto(`file://${inside}`);
    await page.waitForSelector('#rows input');
    expect(await page.textContent('#job-name')).toBe(EVIL);
    expect(await page.inputValue('#fact-note')).toBe(EVIL);
    expect(page.watched.requests).toEqual([]);
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 240_000);

  it('has no serious accessibility violation: start, readings, answer, hand over; bright and dark, phone and desk', async () => {
    const found: string[] = [];
    const start = await opened('');
    await start.waitForSelector('#new-job input');
    found.push(...(await violations(start)));
    await start.context().close();
    for (const [width, height, colorScheme] of [
      [390, 844, 'light'],
      [1280, 900, 'dark'],
    ] as const) {
      const page = await opened('juniper-lane', { viewport: { width, height }, colorScheme });
      await page.waitForSelector('#strip-verdict:not(:empty)', { state: 'attached' });
      await page.waitForFunction(() => performance.getEntriesByName('sweepbook-answer').length > 0, null, {
        timeout: 90_000,
      });
      await tapReading(page, '9 3/4');
      await page.click('#next');
      found.push(...(await violations(page)).map((each) => `${width}: ${each}`));
      if (width < 1000) {
        await page.click('[data-view="answer"]');
        await page.waitForSelector('#answer-body figure');
        found.push(...(await violations(page)).map((each) => `answer: ${each}`));
      }
      await page.click('[data-view="out"]');
      await page.waitForSelector('#out-body li');
      found.push(...(await violations(page)).map((each) => `out: ${each}`));
      for (const room of ['entry', 'heats', 'out', 'job']) {
        await page.click(`[data-view="${room}"]`);
        await page.evaluate((id) => {
          for (const each of document.querySelectorAll<HTMLDetailsElement>(`#${id} details`))
            each.open = true;
        }, room);
        if (room === 'job') await page.selectOption('#mark-file', { index: 1 });
        if (room !== 'out') found.push(...(await violations(page)).map((each) => `${room}: ${each}`));
        found.push(...(await smallTargets(page)).map((each) => `${room}, ${width}: ${each}`));
        if (width < 1000 && room !== 'entry')
          found.push(...(await unreached(page, room)).map((each) => `${room}, no Tab leads to: ${each}`));
      }
      // Nothing runs out of the side of a phone.
      expect(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth)).toBe(true);
      await page.context().close();
      const practice = await opened('', { viewport: { width, height }, colorScheme });
      await practice.click('#start summary');
      found.push(...(await smallTargets(practice)).map((each) => `start, ${width}: ${each}`));
      // The rule can fail: a control made small is named.
      await practice.evaluate(() =>
        Object.assign(document.getElementById('theme')!.style, { minHeight: '0', height: '30px' }),
      );
      expect(await smallTargets(practice)).toEqual([expect.stringMatching(/^BUTTON theme: \d+ × 30$/)]);
      await practice.evaluate(() => document.getElementById('theme')!.removeAttribute('style'));
      await practice.click('#new-practice button');
      await practice.waitForSelector('#practice-work form');
      found.push(...(await violations(practice)).map((each) => `practice: ${each}`));
      found.push(
        ...(await unreached(practice, 'practice')).map((each) => `practice, no Tab leads to: ${each}`),
      );
      found.push(...(await smallTargets(practice)).map((each) => `practice, ${width}: ${each}`));
      expect(await practice.evaluate(() => document.documentElement.scrollWidth <= innerWidth)).toBe(true);
      await practice.context().close();
    }
    expect(found).toEqual([]);
  }, 300_000);

  it('on paper is dark on white, whatever the screen, and shows the answer in place of the keys, all of it', async () => {
    const page = await opened('juniper-lane', { colorScheme: 'dark' });
    await page.waitForFunction(() => performance.getEntriesByName('sweepbook-answer').length > 0, null, {
      timeout: 90_000,
    });
    await page.emulateMedia({ media: 'print', colorScheme: 'dark' });
    const ink = await page.evaluate(() => getComputedStyle(document.body).color);
    expect(/\d+/.exec(ink)?.[0]).toMatch(/^\d\d?$/);
    await page.evaluate(() => dispatchEvent(new Event('beforeprint')));
    expect(await page.locator('#entry').isVisible()).toBe(false);
    expect(await page.locator('#answer-body').isVisible()).toBe(true);
    const { clipped } = await page.evaluate(() => {
      const answer = document.getElementById('answer')!;
      return { clipped: answer.scrollHeight > answer.clientHeight + 1 };
    });
    expect(clipped).toBe(false);
    await page.evaluate(() => dispatchEvent(new Event('afterprint')));
    expect(await page.locator('#answer-body').isVisible()).toBe(false);
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 120_000);

  it('draws anew around what a person is doing: nodes that stay, focus, half-typed texts, opened details', async () => {
    const { outputFiles } = await build({
      stdin: {
        contents: `import { patch } from './src/page/dom/patch.ts'; import { markup } from './src/report/html.ts';
globalThis.draw = (text) => patch(document.getElementById('at'), markup(text));`,
        resolveDir: new URL('../../', import.meta.url).pathname,
      },
      ...{ bundle: true, write: false, format: 'iife', platform: 'browser' },
    });
    const page = await watchedPage(await browser.newContext());
    await page.setContent('<div id="at"></div>');
    await page.addScriptTag({ content: outputFiles[0]!.text });
    const draw = (text: string) =>
      page.evaluate((to) => (globalThis as unknown as { draw: (text: string) => void }).draw(to), text);
    const item = (name: string, more = '') =>
      `<li data-id="${name}"><input aria-label="${name}"><button${more}>${name}</button></li>`;
    await draw(`<ul>${['a', 'b', 'c'].map((each) => item(each)).join('')}</ul>`);
    await page.evaluate(() => {
      for (const each of document.querySelectorAll('li')) Object.assign(each, { was: each.dataset.id });
    });
    const order = () =>
      page.evaluate(() =>
        [...document.querySelectorAll('li')].map((each) => [
          each.dataset.id,
          (each as HTMLElement & { was?: string }).was ?? 'new',
        ]),
      );
    await page.fill('[aria-label="a"]', 'half-ty');
    // Moved: every node is the one it was, and what is typed and focused moves with it.
    await draw(`<ul>${['c', 'a', 'd', 'b'].map((each) => item(each, ' class="x" disabled')).join('')}</ul>`);
    expect(await order()).toEqual([['c', 'c'], ['a', 'a'], ['d', 'new'], ['b', 'b']]); // biome-ignore format: one line of rows
    expect(await page.evaluate(() => document.activeElement?.getAttribute('aria-label'))).toBe('a');
    expect(await page.inputValue('[aria-label="a"]')).toBe('half-ty');
    await page.keyboard.type('ped');
    expect(await page.inputValue('[aria-label="a"]')).toBe('half-typed');
    await draw(`<ul>${['b', 'a', 'c'].map((each) => item(each)).join('')}</ul>`);
    expect(await order()).toEqual([['b', 'b'], ['a', 'a'], ['c', 'c']]); // biome-ignore format: one line of rows
    expect(await page.evaluate(() => document.activeElement?.getAttribute('aria-label'))).toBe('a');
    // Attributes come and go; what a person opened stays open, and a text in a field follows its markup when left.
    expect(await page.evaluate(() => document.querySelectorAll('[class], [disabled]').length)).toBe(0);
    const form = (value: string) =>
      `<details><summary>s</summary></details><input id="v" value="${value}"><input id="t" type="checkbox"${value === '2' ? ' checked' : ''}><p>${value}</p>`;
    await draw(form('1'));
    await page.click('summary');
    await page.fill('#v', 'mine');
    await page.check('#t');
    await page.focus('#v');
    await draw(form('2'));
    expect(await page.inputValue('#v')).toBe('mine');
    await page.evaluate(() => (document.activeElement as HTMLElement).blur());
    await draw(form('3'));
    expect(await page.inputValue('#v')).toBe('3');
    expect(await page.isChecked('#t')).toBe(false);
    expect(await page.evaluate(() => document.querySelector('details')!.open)).toBe(true);
    expect(await page.textContent('#at p')).toBe('3');
    await draw('<p id="only">&lt;b&gt;</p>');
    expect(await page.evaluate(() => document.getElementById('at')!.innerHTML)).toBe(
      '<p id="only">&lt;b&gt;</p>',
    );
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 60_000);

  it('works by keys alone: repeats, undo, redo, jacks on, in millimetres', async () => {
    const page = await opened('saltmarsh-road', { viewport: { width: 820, height: 1000 } });
    await page.waitForSelector('#rows input');
    const value = (nth: number) => page.locator('#rows .row input[data-slot="0"]').nth(nth).inputValue();
    // The page has chosen the first station: a real keyboard types into it, the screen's keys go to the next.
    await page.keyboard.type('151.5');
    await page.keyboard.press('Enter');
    await tapReading(page, '152.5');
    await page.click('#again');
    await tapReading(page, '153');
    expect(await value(0)).toBe('151.5');
    expect(
      await page
        .locator('#rows .row')
        .nth(1)
        .locator('input')
        .evaluateAll((all) => all.map((each) => (each as HTMLInputElement).value)),
    ).toEqual(['152.5', '153']);
    await page.click('#undo');
    expect(await page.locator('#rows .row').nth(1).locator('input').count()).toBe(1);
    await page.keyboard.press('Control+z');
    expect(await value(1)).toBe('');
    await page.click('#redo');
    expect(await value(1)).toBe('152.5');
    await page.check('input[name="state"][value="restrained"]', { force: true });
    expect(await value(0)).toBe('');
    await page.locator('#rows input').first().focus();
    await page.keyboard.type('140');
    await page.check('input[name="state"][value="released"]', { force: true });
    expect(await value(0)).toBe('151.5');
    await page.waitForSelector('#saved[data-state="saved"]');
    await page.click('[data-view="out"]');
    const { text } = await downloaded(page, 'csv');
    expect(text.split('\n').filter((row) => /^\d/.test(row))).toHaveLength(3);
    expect(text).toMatch(/,140,restrained,/);
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 180_000);

  it('says plainly when nothing can be stored, and still hands over', async () => {
    const context = await browser.newContext();
    await context.addInitScript(() => {
      Object.defineProperty(globalThis, 'indexedDB', { value: undefined });
    });
    const page = await watchedPage(context);
    await page.goto(await pageOf('tannery-street'));
    await page.waitForSelector('#rows input');
    expect(await page.textContent('#notices')).toMatch(/will not keep anything/);
    await tapReading(page, '1/4');
    expect(await page.textContent('#saved')).toBe('Not saved');
    await page.click('[data-view="out"]');
    expect((await downloaded(page, 'csv')).text).toContain(',1/4,released,');
    await context.close();
  }, 120_000);

  it('says when storage fills up in the middle, and when another window changed the job', async () => {
    const context = await browser.newContext();
    const page = await watchedPage(context);
    await page.goto(await pageOf('tannery-street'));
    await page.waitForSelector('#saved[data-state="saved"]');
    const second = await watchedPage(context);
    await second.goto(await pageOf('tannery-street'));
    await second.waitForSelector('#saved[data-state="saved"]');
    await tapReading(second, '1/4');
    await second.waitForSelector('#saved[data-state="saved"]');
    await second.waitForTimeout(300);
    await tapReading(page, '1/2');
    await page.waitForSelector('#saved[data-state="not-saved"]');
    expect(await page.textContent('#notices')).toMatch(/another window/);
    await second.evaluate(() => {
      IDBObjectStore.prototype.put = () => {
        throw new DOMException('full', 'QuotaExceededError');
      };
    });
    await second.click('#next');
    await tapReading(second, '1/8');
    await second.waitForSelector('#saved[data-state="not-saved"]');
    expect(await second.textContent('#notices')).toMatch(/storage full/);
    await context.close();
  }, 120_000);

  it('starts a job from the form and reads it as found', async () => {
    const page = await opened('');
    await page.click('#new-job button[type="submit"]');
    await page.waitForSelector('#notices .stop');
    for (const [name, text] of [
      ['name', 'Mill Lane, girder 2'],
      ['span', '40 ft'],
      ['flangeWidth', '12 in'],
      ['flangeThickness', '3/4 in'],
      ['tolerance', '1/2 in'],
    ] as const) {
      await page.fill(`#new-${name}`, text);
    }
    await page.click('#new-job button[type="submit"]');
    await page.fill('#even-step', '4 ft');
    await page.click('#even-form button');
    expect(await page.locator('#rows .row').count()).toBe(11);
    for (const text of ['0', '0', '0', '1/16', '1', '2', '1', '0', '0', '0', '0']) {
      await tapReading(page, text);
      await page.click('#next');
    }
    await page.waitForSelector('#saved[data-state="saved"]');
    await page.reload();
    await page.waitForSelector('#rows input');
    expect(await page.textContent('#bar-facts')).toMatch(/^As found \(cycle 0\)/);
    await page.waitForFunction(
      () => /largest/.test(document.querySelector('#strip-figure')?.textContent ?? ''),
      null,
      { timeout: 60_000 },
    );
    expect(page.watched.requests).toEqual([]);
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 180_000);
});
