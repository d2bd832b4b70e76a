/** The pages as a reader meets them: a real browser, narrow and wide, on paper, with and without scripts. */
import { execFileSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { type Browser, type BrowserContextOptions, chromium, type Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { readLogs } from '../../src/papers/logs.ts';
import { reportExtras } from '../../src/papers/report-extras.ts';
import type { ReportContext } from '../../src/report/context.ts';
import { renderDaily } from '../../src/report/daily.ts';
import { renderFinal } from '../../src/report/final.ts';
import { syntheticAnalysis } from './synthetic-analysis.ts';

const ROOT = new URL('../..', import.meta.url).pathname;
const CHROMIUM = ['/usr/bin/chromium', '/usr/bin/chromium-browser', '/usr/bin/google-chrome'].find(
  existsSync,
);
if (CHROMIUM === undefined)
  console.warn('SKIPPED, LOUDLY: no Chromium found, the report pages were not opened in a browser');

const CONTEXT: ReportContext = {
  full: true,
  generated: '2026-03-12',
  tool: 'Sweepbook 0.1.0',
  fraction: 16,
  files: [
    {
      file: 'readings/cycle-0.csv',
      sha256: 'e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855',
      rows: 32,
      note: 'as imported',
    },
  ],
  ledger: [],
  plotly: readFileSync(join(ROOT, 'node_modules/plotly.js-dist-min/plotly.min.js'), 'utf8'),
};
const HOSTILE = `"><script>window.owned = true</script><img src="https://example.invalid/x.png" onerror="window.owned = true">`;

let browser: Browser;
let folder: string;

describe.runIf(CHROMIUM !== undefined)('report pages in a browser', () => {
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-report-'));
    browser = await chromium.launch({
      executablePath: CHROMIUM!,
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
    const opened = await openJob(join(ROOT, 'sample-surveys/saltmarsh-road'));
    const real = analyse(opened.job, opened.readings, opened.marks, opened.findings);
    const plated = await openJob(join(ROOT, 'sample-surveys/tannery-street'));
    const extras = reportExtras(
      readLogs(plated.source, plated.job),
      analyse(plated.job, plated.readings, plated.marks, plated.findings),
      16,
    );
    const torn = await openJob(join(ROOT, 'sample-surveys/brickfield-row'));
    const panel = analyse(torn.job, torn.readings, torn.marks, torn.findings);
    const heated = reportExtras(readLogs(torn.source, torn.job), panel, 16);
    const hostile = syntheticAnalysis({ name: HOSTILE, note: HOSTILE, positive: HOSTILE, lines: 3 });
    const pages = {
      daily: renderDaily(real, CONTEXT),
      'two-pages': renderDaily(real, { ...CONTEXT, full: false }),
      final: renderFinal(real, CONTEXT),
      // The fullest sheet: heat log, ceiling, plates, every acceptance rule.
      plated: renderFinal(extras.analysis, { ...CONTEXT, sections: extras.sections }),
      'plated-daily': renderDaily(extras.analysis, { ...CONTEXT, sections: extras.sections }),
      'us-daily': renderDaily(syntheticAnalysis(), CONTEXT),
      'panel-daily': renderDaily(heated.analysis, {
        ...CONTEXT,
        sections: heated.sections,
        ...(heated.heats === null ? {} : { heats: heated.heats }),
      }),
      'hostile-daily': renderDaily(hostile, CONTEXT),
      'hostile-final': renderFinal(hostile, CONTEXT),
      'one-survey': renderDaily(syntheticAnalysis({ cycles: 0, verdict: 'not-enough-readings' }), CONTEXT),
      large: renderFinal(syntheticAnalysis({ lines: 2, cycles: 40, stations: 100 }), CONTEXT),
    };
    for (const [name, text] of Object.entries(pages)) writeFileSync(join(folder, `${name}.html`), text);
  });

  afterAll(async () => {
    await browser?.close();
    if (folder !== undefined) rmSync(folder, { recursive: true, force: true });
  });

  for (const name of [
    'daily',
    'final',
    'us-daily',
    'panel-daily',
    'hostile-daily',
    'hostile-final',
    'one-survey',
    'large',
  ]) {
    for (const width of [390, 1280]) {
      it(`${name} at ${width}: no console message, no request, nothing wider than the screen`, async () => {
        const { page, seen } = await open(name, { viewport: { width, height: width === 390 ? 844 : 800 } });
        const box = await page.evaluate(() => ({
          page: document.documentElement.scrollWidth,
          screen: innerWidth,
          verdict: document.querySelector('.verdict h2')!.getBoundingClientRect().bottom,
          next: document.querySelector('.next')!.getBoundingClientRect().top,
          drawings: [...document.querySelectorAll('svg.plot')].filter(
            (s) => s.getBoundingClientRect().width > 0,
          ).length,
          owned: 'owned' in window,
        }));
        expect(box.page).toBeLessThanOrEqual(box.screen);
        expect(box.drawings).toBeGreaterThanOrEqual(2);
        expect(box.owned).toBe(false);
        if (!name.startsWith('hostile')) {
          expect(box.verdict).toBeLessThan(800);
          if (width === 1280) expect(box.next).toBeLessThan(800);
        }
        expect(seen).toEqual([]);
        await page.context().close();
      });
    }
  }

  it('the heats of the next cycle fit a phone: cells to write in are for paper', async () => {
    const { page } = await open('panel-daily', { viewport: { width: 390, height: 844 } });
    const wide = () =>
      page.evaluate(() =>
        [...document.querySelectorAll('.tomorrow .scroll')].map((e) => e.scrollWidth - e.clientWidth),
      );
    const hands = () =>
      page.evaluate(
        () =>
          [...document.querySelectorAll('.tomorrow td.hand')].filter((e) => e.getClientRects().length > 0)
            .length,
      );
    expect(await wide()).toEqual([0]);
    expect(await hands()).toBe(0);
    await page.emulateMedia({ media: 'print' });
    expect(await hands()).toBeGreaterThan(0);
    await page.context().close();
  });

  it('is complete without scripts', async () => {
    const { page } = await open('daily', {
      javaScriptEnabled: false,
      viewport: { width: 1280, height: 800 },
    });
    for (const part of ['svg.plot.wide >> nth=0', '.verdict h2', 'table >> nth=0', '#method'])
      expect(await page.locator(part).isVisible()).toBe(true);
    expect(await page.locator('svg.plot.wide').count()).toBeGreaterThanOrEqual(6);
    expect(await page.locator('.explore').first().isVisible()).toBe(false);
    await page.context().close();
  });

  it('shows the section of the station the slider stands at, without the plotting library', async () => {
    const { page } = await open('final', { viewport: { width: 390, height: 800 } });
    const slider = page.locator('#section-station');
    await slider.waitFor();
    const said = () => page.locator('.section-output').textContent();
    expect(await said()).toContain('furthest out');
    await slider.press('Home');
    await expect.poll(said).toContain('0 m');
    const drawn = page.locator('.section-host svg');
    expect(await drawn.count()).toBe(1);
    expect(await drawn.isVisible()).toBe(true);
    expect(await drawn.getAttribute('aria-label')).toMatch(/^Cross-sections of the member/);
    expect(await page.evaluate(() => 'Plotly' in window)).toBe(false);
    await page.context().close();
  });

  it('draws interactive plots on demand: hover, cycle slider, zone toggles, no upload button, no request', async () => {
    const { page, seen } = await open('us-daily', { viewport: { width: 1280, height: 800 } });
    const root = page.locator('.explore').first();
    await root.locator('.explore-open').click();
    await root.locator('[data-plot=profile] .main-svg').first().waitFor({ timeout: 60_000 });
    for (const plot of ['progress', 'rotations', 'map']) {
      await root.locator(`[data-plot=${plot}]`).scrollIntoViewIfNeeded();
      await root.locator(`[data-plot=${plot}] .main-svg`).first().waitFor({ timeout: 60_000 });
    }
    const buttons = await page
      .locator('.modebar-btn')
      .evaluateAll((all) => [...new Set(all.map((b) => b.getAttribute('data-title')))]);
    expect(buttons.sort()).toEqual(['Pan', 'Reset axes', 'Zoom', 'Zoom in', 'Zoom out']);
    expect(
      await page
        .locator('.modebar-btn--logo, [data-title*="loud"], [data-title*="ownload"], [data-title*="hare"]')
        .count(),
    ).toBe(0);

    const profile = () =>
      page.evaluate(() => {
        const host = document.querySelector('[data-plot=profile]') as unknown as {
          data: { y: number[]; text: string[] }[];
          layout: { shapes: unknown[] };
        };
        return { now: host.data[2]!.y, text: host.data[2]!.text, shapes: host.layout.shapes.length };
      });
    const before = await profile();
    const slider = root.locator('.explore-cycle');
    await slider.focus();
    await page.keyboard.press('Home');
    const first = await profile();
    expect(first.now).not.toEqual(before.now);
    expect(await root.locator('.explore-output').textContent()).toBe('as found, Mar 4, 2026');
    await page.keyboard.press('ArrowRight');
    expect(await root.locator('.explore-output').textContent()).toBe('cycle 1, Mar 4, 2026');
    // Trade fraction, decimal and uncertainty in one hover line.
    expect(first.text[13]).toMatch(
      /^\d+'-\d+"? {2}as found.*<br>[+−]\d( \d+\/\d+)? in {2}\([+−]\d\.\d{3} in ± 0\.\d{3}\)$/,
    );

    await root.locator('.explore-zone').first().uncheck();
    expect((await profile()).shapes).toBe(before.shapes - 1);
    const shown = await page.evaluate(() =>
      (
        document.querySelector('[data-plot=rotations]') as unknown as { data: { visible?: boolean }[] }
      ).data.map((t) => t.visible),
    );
    expect(shown).toEqual([false, true, true]);
    await root.locator('.explore-zone').first().check();
    expect((await profile()).shapes).toBe(before.shapes);

    await root.locator('[data-plot=profile]').scrollIntoViewIfNeeded();
    const point = await page.evaluate(() => {
      const marks = document.querySelectorAll(
        '[data-plot=profile] .scatterlayer .trace:last-child .points path',
      );
      const box = marks[10]!.getBoundingClientRect();
      return { x: box.x + box.width / 2, y: box.y + box.height / 2 };
    });
    await page.mouse.move(point.x - 3, point.y);
    await page.mouse.move(point.x, point.y, { steps: 4 });
    await page.locator('.hovertext').first().waitFor();
    expect(await page.locator('.hovertext').first().textContent()).toMatch(/ in ± 0\./);
    expect(seen).toEqual([]);
    await page.context().close();
  });

  it('steps through the maps of a panel on one scale, with the heats of each cycle', async () => {
    const { page, seen } = await open('panel-daily', { viewport: { width: 1280, height: 800 } });
    const root = page.locator('.explore').first();
    await root.locator('.explore-open').click();
    await root.locator('[data-plot=profile] .main-svg').first().waitFor({ timeout: 60_000 });
    const shown = () =>
      page.evaluate(() => {
        const { data } = document.querySelector('[data-plot=profile]') as unknown as {
          data: {
            type: string;
            z: (number | null)[][];
            zmin: number;
            zmax: number;
            x: number[];
            text: unknown;
          }[];
        };
        const [map, spots, crest] = [data[0]!, data.at(-2)!, data.at(-1)!];
        const most = Math.max(...map.z.flat().map((z) => Math.abs(z ?? 0)));
        const unread = map.z.flat().filter((z) => z === null).length;
        return {
          type: map.type,
          zmin: map.zmin,
          zmax: map.zmax,
          most,
          unread,
          spots: spots.x.length,
          crest: crest.text,
        };
      });
    const now = await shown();
    const slider = root.locator('.explore-cycle');
    await slider.press('Home');
    const found = await shown();
    expect(found.type).toBe('heatmap');
    // The sample's truth: a crest of 2.6 in inside the tear, of which nothing was read.
    expect(found.most).toBeGreaterThan(2.2);
    expect(now.most).toBeLessThan(0.6);
    expect([now.zmin, now.zmax]).toEqual([found.zmin, found.zmax]);
    expect(found.zmax).toBeCloseTo(found.most, 6);
    expect(found.unread).toBeGreaterThan(0);
    expect(String(found.crest)).toContain('at least');
    expect(found.spots).toBe(0);
    // Six spots were logged in cycle 1.
    await slider.press('ArrowRight');
    expect((await shown()).spots).toBe(6);
    expect(seen).toEqual([]);
    await page.context().close();
  });

  it('shows hostile names in the interactive plots as text', async () => {
    const { page, seen } = await open('hostile-daily', { viewport: { width: 390, height: 844 } });
    await page.locator('.explore-open').first().click();
    await page.locator('[data-plot=profile] .main-svg').first().waitFor({ timeout: 60_000 });
    expect(await page.evaluate(() => 'owned' in window || document.images.length > 0)).toBe(false);
    expect(seen).toEqual([]);
    await page.context().close();
  });

  it('has a policy that stops scripts and connections not its own', async () => {
    const { page, seen } = await open('daily', {});
    const outcome = await page.evaluate(async () => {
      const script = document.createElement('script');
      script.textContent = 'window.owned = true';
      document.head.append(script);
      const fetched = await fetch('https://example.invalid/').then(
        () => 'sent',
        () => 'refused',
      );
      return { owned: 'owned' in window, fetched };
    });
    expect(outcome).toEqual({ owned: false, fetched: 'refused' });
    expect(seen.filter((s) => s.startsWith('request'))).toEqual([]);
    expect(seen.filter((s) => s.includes('violat')).length).toBeGreaterThanOrEqual(2);
    await page.context().close();
  });

  for (const name of ['daily', 'two-pages', 'final', 'us-daily', 'one-survey']) {
    it(`${name} has no serious accessibility fault`, async () => {
      const { page } = await open(name, { bypassCSP: true, viewport: { width: 1280, height: 800 } });
      if (name === 'us-daily') {
        await page.locator('.explore-open').first().click();
        await page.locator('[data-plot=profile] .main-svg').first().waitFor({ timeout: 60_000 });
      }
      await page.addScriptTag({ path: join(ROOT, 'node_modules/axe-core/axe.min.js') });
      const faults = await page.evaluate(async () => {
        const { axe } = window as unknown as {
          axe: {
            run: () => Promise<{ violations: { id: string; impact: string; nodes: { html: string }[] }[] }>;
          };
        };
        return (await axe.run()).violations
          .filter((v) => v.impact === 'serious' || v.impact === 'critical')
          .map((v) => `${v.id}: ${v.nodes.map((n) => n.html.slice(0, 120)).join(' | ')}`);
      });
      expect(faults).toEqual([]);
      await page.context().close();
    });
  }

  for (const format of ['A4', 'Letter'] as const) {
    it(`no heading of the fullest daily sheet is left at the foot of a page, ${format}`, async () => {
      const { page } = await open('plated-daily', {});
      const file = join(folder, `daily-${format}.pdf`);
      await page.pdf({ path: file, format, printBackground: true });
      const headings = await page
        .locator('h2, h3, .table-title')
        .evaluateAll((all) => all.map((h) => (h.textContent ?? '').replace(/\s+/g, ' ').trim()));
      expect(headings).toContain('Findings');
      for (const text of pagesOf(file) ?? []) {
        const lines = text.split('\n').map((l) => l.replace(/\s+/g, ' ').trim());
        expect(headings).not.toContain(lines.filter((l) => l !== '').at(-2));
      }
      await page.context().close();
    });

    it(`the fullest final report prints to ${format}: numbered pages, none empty, no drawing clipped`, async () => {
      const { page } = await open('plated', {});
      const file = join(folder, `final-${format}.pdf`);
      await page.pdf({ path: file, format, printBackground: true });
      const count = (readFileSync(file, 'latin1').match(/\/Type\s*\/Page\b/g) ?? []).length;
      expect(count).toBeGreaterThanOrEqual(6);
      expect(count).toBeLessThanOrEqual(16);
      const pages = pagesOf(file);
      const headings = await page
        .locator('h2, h3, .table-title')
        .evaluateAll((all) => all.map((h) => (h.textContent ?? '').replace(/\s+/g, ' ').trim()));
      expect(pages?.length ?? count).toBe(count);
      pages?.forEach((text, i) => {
        expect(text).toContain(`page ${i + 1} of ${count}`);
        expect(text).toContain('Tannery Street over the mill race, girder 1: final report');
        // The line above the foot is not a heading that its table or text left behind.
        const lines = text.split('\n').map((l) => l.replace(/\s+/g, ' ').trim());
        expect(headings).not.toContain(lines.filter((l) => l !== '').at(-2));
        // More than the foot: a page with nothing else on it is an empty page.
        expect(text.replace(/\s+/g, '').length).toBeGreaterThan(140);
      });
      const all = pages?.join('\n').replace(/\s+/g, ' ');
      for (const part of [
        'As found against as left',
        'Acceptance',
        'JCGM 106',
        'Repair history',
        'Work done',
        'Filler schedule',
        'Cautions',
        'Engineer: name, signature, date',
        'Record: every reading',
      ]) {
        if (all !== undefined) expect(all).toContain(part);
      }
      // The printed width of the text block, at 96 px an inch: nothing may reach beyond it, no drawing be taller than a page.
      await page.emulateMedia({ media: 'print' });
      const sheet = format === 'A4' ? { width: 210, height: 297 } : { width: 215.9, height: 279.4 };
      const block = {
        width: Math.floor(((sheet.width - 28) / 25.4) * 96),
        height: Math.floor(((sheet.height - 32) / 25.4) * 96),
      };
      await page.setViewportSize(block);
      const drawings = await page.evaluate(() =>
        [...document.querySelectorAll('svg.plot, table')]
          .map((s) => s.getBoundingClientRect())
          .filter((b) => b.width > 0)
          .map((b) => ({ right: b.right, height: b.height })),
      );
      expect(drawings.length).toBeGreaterThan(8);
      for (const drawing of drawings) expect(drawing.right).toBeLessThanOrEqual(block.width + 1);
      const tall = await page.evaluate(() =>
        Math.max(...[...document.querySelectorAll('figure')].map((f) => f.getBoundingClientRect().height)),
      );
      expect(tall).toBeLessThan(block.height);
      await page.context().close();
    });
  }
});

/** Opens a page and records everything it should not do: requests, console messages, errors, policy violations. */
async function open(name: string, options: BrowserContextOptions): Promise<{ page: Page; seen: string[] }> {
  const context = await browser.newContext(options);
  const page = await context.newPage();
  const url = pathToFileURL(join(folder, `${name}.html`)).href;
  const seen: string[] = [];
  page.on('request', (request) => {
    if (request.url() !== url && !request.url().startsWith('data:')) seen.push(`request ${request.url()}`);
  });
  page.on('console', (message) => seen.push(`${message.type()} ${message.text()}`));
  page.on('pageerror', (error) => seen.push(`error ${error.message}`));
  await page.goto(url);
  return { page, seen };
}

/** Text of each page of a PDF; null where pdftotext is not installed. */
function pagesOf(file: string): string[] | null {
  try {
    return execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8', maxBuffer: 1e8 })
      .split('\f')
      .slice(0, -1);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== 'ENOENT') throw error;
    console.warn('SKIPPED, LOUDLY: no pdftotext found, the text of the printed pages was not checked');
    return null;
  }
}
