import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { createServer, type Server } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildPage } from '../../build-page.mjs';
import { atHand } from '../../src/cli/at-hand.ts';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { drawingPaper } from '../../src/papers/papers.ts';
import { createRandom } from '../../src/practice/random.ts';
import { runInProcess } from '../cli/in-process.ts';
import { downloaded, hasBrowser, launch, tapReading, watchedPage } from './browser.ts';

const BRICKFIELD = new URL('../../sample-surveys/brickfield-row/', import.meta.url).pathname;
const PICTURES = new URL('../photos/fixtures/', import.meta.url).pathname;
const DAYS = ['03', '04', '05', '06', '07', '10', '11', '12'].map((day) => `2031-03-${day}`);
/** Share of the bend left after each cycle: nothing moved in cycle 3, and all but nothing is left after cycle 7. */
const LEFT = [1, 0.8, 0.62, 0.62, 0.45, 0.3, 0.15, 0.03];
const DEAD = 3;
/** Cycle and station (ft) of a reading an inch off. */
const SLIP = { cycle: 4, station: 14 };
const STATIONS = Array.from({ length: 21 }, (_, i) => 2 * i);

/**
 * Offsets as the rule shows them, in sixteenths of an inch: a flange 3 in out at 20 ft of 40, bent over 8 to 10 ft, 19 to
 * 21 ft and 30 to 32 ft (drawn by hand: slopes that change evenly over each bend), read to a twenty-fourth of an inch.
 */
function readings(cycle: number): number[] {
  const random = createRandom(`whole job ${cycle}`);
  const share = (x: number, from: number, to: number) => Math.max(0, Math.min(1, (x - from) / (to - from)));
  const slope = (x: number) => share(x, 8, 10) - 2 * share(x, 19, 21) + share(x, 30, 32);
  const shape = (at: number) => {
    let sum = 0;
    for (let x = 0.005; x < at; x += 0.01) sum += slope(x) * 0.01;
    return (sum / 10.5) * 3;
  };
  return STATIONS.map((station) => {
    const slip = cycle === SLIP.cycle && station === SLIP.station ? 1 : 0;
    return Math.round((shape(station) * LEFT[cycle]! + slip + random.normal() / 24) * 16) + 0;
  });
}

/** `-1 3/16` */
function inches(sixteenths: number): string {
  const [whole, rest] = [Math.floor(Math.abs(sixteenths) / 16), Math.abs(sixteenths) % 16];
  let [over, under] = [rest, 16];
  while (over > 0 && over % 2 === 0) [over, under] = [over / 2, under / 2];
  const text = [whole > 0 || over === 0 ? `${whole}` : '', over > 0 ? `${over}/${under}` : '']
    .join(' ')
    .trim();
  return sixteenths < 0 ? `-${text}` : text;
}

describe.runIf(hasBrowser)('a whole job by clicks', () => {
  let browser: Browser;
  let folder: string;
  let server: Server;
  let address: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-whole-'));
    await buildPage(join(folder, 'empty.html'), join(folder, 'app'));
    server = createServer((request, response) => {
      const path = join(folder, 'app', request.url === '/' ? 'index.html' : request.url!.slice(1));
      if (!existsSync(path)) response.writeHead(404).end();
      else
        response
          .writeHead(200, { 'content-type': path.endsWith('.js') ? 'text/javascript' : 'text/html' })
          .end(readFileSync(path));
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', () => resolve()));
    address = `http://127.0.0.1:${(server.address() as AddressInfo).port}/`;
    browser = await launch();
  });

  afterAll(async () => {
    await browser?.close();
    server?.closeAllConnections();
    server?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  const room = (page: Page, name: string) => page.click(`[data-view="${name}"]`);
  const said = (page: Page) => page.locator('#notices');

  /** A field of the job form, left so that it is taken. */
  async function fill(page: Page, id: string, text: string): Promise<void> {
    await page.fill(`#job-${id}`, text);
    await page.locator(`#job-${id}`).blur();
  }

  /** Sends the job form; what the ledger has recorded is changed on the record. */
  async function useJob(page: Page, why: string): Promise<void> {
    if (await page.locator('#job-who').isVisible()) {
      await page.fill('#job-who', 'M. Sorrel');
      await page.fill('#job-why', why);
    }
    await page.click('#job-form button:text("Use these")');
    await expect.poll(() => said(page).textContent()).toContain('The job is changed');
  }

  async function begin(page: Page): Promise<void> {
    const start = {
      ...{ name: 'Whistle Lane over the tram shed, girder 3', span: '40 ft', flangeWidth: '12 in' },
      ...{ flangeThickness: '3/4 in', yield: '36 ksi', diaphragms: '10 ft, 30 ft' },
      ...{ positive: 'toward the yard', tolerance: '1/2 in' },
    };
    for (const [name, text] of Object.entries(start)) await page.fill(`#new-${name}`, text);
    await page.click('#new-job button:text("Start the job")');
    await page.waitForSelector('#even-form');
    await room(page, 'job');
    for (const group of ['Restraint and jacks']) {
      const summary = page.locator('#job-form summary', { hasText: group });
      if (!(await summary.evaluate((each) => (each.parentElement as HTMLDetailsElement).open)))
        await summary.click();
    }
    await page.click('#job-form button:text("Add: jack")');
    await fill(page, 'jacks-0-name', 'jack 1');
    await fill(page, 'jacks-0-station', '20 ft');
    await fill(page, 'jacks-0-ramArea', '5.16 in2');
    await page.click('#job-form button:text("Add: Restraint")');
    await page.selectOption('#job-restraint-importance', 'primary');
    await fill(page, 'restraint-line', 'bottom-flange');
    await useJob(page, 'jacks as set up');
  }

  async function chooseCycle(page: Page, cycle: number): Promise<void> {
    await room(page, 'entry');
    await page.click('#cycle-button');
    await page.fill('#sheet-cycle', `${cycle}`);
    await page.fill('#sheet-date', DAYS[cycle]!);
    await page.click('#sheet-form button:text("Use these")');
    await expect.poll(() => page.textContent('#cycle-button')).toContain(`${cycle}`);
  }

  /** Keyed on the page's own keys as found, on a keyboard after that. */
  async function key(page: Page, cycle: number): Promise<void> {
    await chooseCycle(page, cycle);
    if (cycle === 0) await page.click('#even-form button');
    await expect.poll(() => page.locator('#rows input[data-slot="0"]').count()).toBe(STATIONS.length);
    await page.locator('#rows input[data-slot="0"]').first().focus();
    for (const sixteenths of readings(cycle)) {
      if (cycle === 0) {
        await tapReading(page, inches(sixteenths));
        await page.click('#next');
      } else {
        await page.keyboard.type(inches(sixteenths));
        await page.keyboard.press('Enter');
      }
    }
    await page.waitForSelector('#saved[data-state="saved"]');
  }

  async function heat(page: Page, cycle: number): Promise<void> {
    await room(page, 'heats');
    for (const [station, time] of [
      ['20', '8:10'],
      ['9', '9:40'],
    ] as const) {
      const cells: Record<string, string> = {
        ...{ cycle: `${cycle}`, date: DAYS[cycle]!, time, line: 'bottom-flange', 'station (ft)': station },
        ...{ 'angle (deg)': '45', 'depth (in)': '9', 'temperature (F)': '1150', 'before (F)': '80' },
        'pressure (psi)': cycle === DEAD ? '100' : cycle < 5 ? '300' : '240',
      };
      for (const [name, text] of Object.entries(cells))
        await page.fill(`#heat-log form input[name="${name}"]`, text);
      await page.check('#heat-log form input[name="pattern"][value="vee"]', { force: true });
      const before = await page.locator('#heat-log tbody tr').count();
      await page.click('#heat-log button:text("Keep this heat")');
      await expect.poll(() => page.locator('#heat-log tbody tr').count()).toBe(before + 1);
    }
  }

  /** Opens a paper, takes it, and goes back. */
  async function paper(page: Page, kind: string, file: string): Promise<string> {
    await room(page, 'out');
    await page.click(`[data-do="open-${kind}"]`);
    await page.waitForSelector('#paper-title', { timeout: 120_000 });
    const { text } = await downloaded(page, `take-${file}`);
    await page.click('#papers [data-act="back"]');
    return text;
  }

  it('new, eight cycles with a dead day, a misreading and a change of jacks, card and final report; the command line goes on', async () => {
    const context = await browser.newContext({ viewport: { width: 820, height: 1180 } });
    const page = await watchedPage(context);
    // The browser's private file system has the handles of a folder picked, without the dialog no test can answer.
    await page.addInitScript(() => {
      Object.assign(globalThis, {
        showDirectoryPicker: async () =>
          (await navigator.storage.getDirectory()).getDirectoryHandle('girder-3', { create: true }),
      });
    });
    await page.goto(address);
    await page.waitForSelector('#new-job input');
    await begin(page);
    for (const cycle of LEFT.keys()) {
      if (cycle === 5) {
        // The pump was changed for one that pushes by a larger ram.
        await room(page, 'job');
        await fill(page, 'jacks-0-ramArea', '8.3 in2');
        await useJob(page, 'larger ram from cycle 5 on');
      }
      if (cycle > 0) await heat(page, cycle);
      await key(page, cycle);
      await room(page, 'job');
      // The last sheet goes into the folder as it stands; the others are recorded day by day.
      if (cycle === LEFT.length - 1) continue;
      await page.click(`#job button:text("Record cycle ${cycle} in the ledger")`);
      await expect.poll(() => said(page).textContent()).toContain(`Cycle ${cycle} is in the ledger`);
    }

    await page.selectOption('#mark-file', `readings/cycle-04-${DAYS[4]}.csv`);
    await page.check(`#marks input[aria-label*="station ${SLIP.station}'-0"]`);
    await page.fill('#mark-who', 'M. Sorrel');
    await page.fill('#mark-why', 'an inch too many: the rule was read from its other end');
    await page.click('#marks button:text("Set the chosen rows aside")');
    await expect.poll(() => said(page).textContent()).toContain('Set aside: 1 reading');

    // Photographs, as a camera and a screen write them (Pillow's): the final report shows them as the command line does.
    await room(page, 'heats');
    await page.setInputFiles('#photo-pick', [join(PICTURES, 'turned-6.jpg'), join(PICTURES, 'corner.png')]);
    await page.fill('#photo-cycle', '0');
    await page.fill('#photo-caption', 'as found');
    await page.click('button:text("Keep with the job")');
    await expect.poll(() => page.textContent('#photographs')).toContain('photos/cycle-00-corner.png');

    await room(page, 'answer');
    await expect.poll(() => page.textContent('#answer-body')).toContain('stood still in cycle 3');
    expect(await page.textContent('#answer-body')).toContain('gauge 100 psi that day, 270 psi on others');
    expect(await page.locator('#answer-body li.stop').count()).toBe(0);
    // The section, at the station furthest out; a key moves the slider on.
    const at = page.locator('#section output');
    await expect.poll(() => at.textContent()).toContain('furthest out');
    const furthest = await at.textContent();
    await page.locator('#section-at').press('ArrowRight');
    await expect.poll(() => at.textContent()).not.toBe(furthest);
    expect(await page.getAttribute('#section-at', 'aria-valuetext')).toBe(await at.textContent());
    expect(await page.locator('#section .section-host svg[role="img"]').count()).toBe(1);

    expect(await paper(page, 'card', 'crew-card.html')).toContain('Whistle Lane');
    await page.click('[data-do="write-folder"]');
    await expect.poll(() => page.textContent('#job-folder')).toContain('Written, and read back as written');
    expect(await paper(page, 'verify', 'verify.txt')).toContain('everything is as recorded');
    const final = await paper(page, 'final', 'final.html');
    const status = await paper(page, 'status', 'status.json');
    const today = new Date(await page.evaluate(() => Date.now()));
    const whole = await downloaded(page, 'job');

    // What stands in the folder, on a disk: the command line goes on with it.
    const job = join(folder, 'girder-3');
    for (const [path, bytes] of await inFolder(page)) {
      mkdirSync(dirname(join(job, path)), { recursive: true });
      writeFileSync(join(job, path), Uint8Array.from(bytes));
    }
    const run = (...args: string[]) => runInProcess(args, COMMANDS, { cwd: folder, now: () => today });
    const verified = await verifyJob(job, null);
    // That the settings were changed twice, on the record, is told and no fault.
    const edited = [
      ['note', 'job-file-edited'],
      ['note', 'job-file-edited'],
    ];
    expect([verified.ok, verified.findings.map(({ severity, code }) => [severity, code])]).toEqual([
      true,
      edited,
    ]);
    const opened = await openJob(job);
    expect(opened.readings).toHaveLength(LEFT.length * STATIONS.length);
    expect(opened.findings).toEqual([]);
    expect(opened.marks).toMatchObject([{ action: 'set-aside', who: 'M. Sorrel' }]);
    const slip = opened.readings.find(
      (each) => each.row === opened.marks[0]!.row && each.cycle === SLIP.cycle,
    )!;
    expect(slip.station).toBeCloseTo(SLIP.station * 0.3048, 9);
    expect((await run('status', job, '--json')).out === status).toBe(true);
    const reported = await run('report', job, '--final', '--plain');
    expect([reported.status, reported.err]).toEqual([0, '']);
    expect(readFileSync(join(folder, reported.out.trim()), 'utf8') === final).toBe(true);
    expect(final.match(/<img src="data:image\/jpeg/g)).toHaveLength(2);
    expect((await run('verify', job)).status).toBe(0);
    // What was keyed is what the job has, to the sixteenth.
    for (const cycle of LEFT.keys()) {
      const own = opened.readings.filter((each) => each.cycle === cycle);
      expect(own.map(({ offset }) => Math.round((offset / 0.0254) * 16) + 0)).toEqual(readings(cycle));
    }

    expect(page.watched.errors).toEqual([]);
    await context.close();

    // The one file, where a browser has no folder access: on another device, and back on the command line.
    const other = await watchedPage(await browser.newContext({ viewport: { width: 390, height: 844 } }));
    await other.goto(`file://${join(folder, 'empty.html')}`);
    await other.waitForSelector('#new-job input');
    writeFileSync(join(folder, whole.name), whole.text);
    await other.setInputFiles('#pick-files', join(folder, whole.name));
    await other.waitForSelector('#rows input');
    expect((await paper(other, 'status', 'status.json')) === status).toBe(true);
    expect((await paper(other, 'final', 'final.html')) === final).toBe(true);
    expect([other.watched.requests, other.watched.errors]).toEqual([[], []]);
    await other.context().close();
    const back = await run('page', 'from-the-tablet', '--back', whole.name);
    expect([back.status, back.out]).toEqual([
      0,
      expect.stringContaining(` files, ${verified.records} ledger records.`),
    ]);
    expect(await verifyJob(join(folder, 'from-the-tablet'), null)).toMatchObject({
      ok: true,
      seal: verified.seal,
    });
    expect((await run('status', 'from-the-tablet', '--json')).out === status).toBe(true);
    expect((await run('page', 'from-the-tablet', '--back', whole.name)).status).toBe(1);
  }, 600_000);

  it('a practice: started, heated twice, refused once, its truth shown; the drawing of a plate on a real job', async () => {
    const page = await watchedPage(await browser.newContext({ viewport: { width: 390, height: 844 } }));
    await page.goto(`file://${join(folder, 'empty.html')}`);
    await page.click('#start summary');
    await page.fill('#practice-seed', '12');
    await page.click('#new-practice button:text("Start the practice")');
    await page.waitForSelector('#practice-work form');
    expect(await page.textContent('#job-name')).toContain('PRACTICE');
    const answered = (count: number) =>
      expect
        .poll(() => page.evaluate(() => performance.getEntriesByName('sweepbook-answer').length))
        .toBeGreaterThanOrEqual(count);
    await answered(1);
    const heat = async (pressure: string) => {
      await page.fill('#practice-vees', '23 ft, 25 ft');
      await page.fill('#practice-pressure', pressure);
      await page.click('#practice-work button:text("Heat, let it cool, and read")');
    };
    await heat('9500 psi');
    await expect.poll(() => said(page).textContent()).toMatch(/No heat was made.*above the ceiling/);
    await heat('1000 psi');
    await expect.poll(() => page.textContent('#practice-work h3')).toBe('Cycle 2');
    await answered(2);
    // The ceiling of the first cycle is worked out anew from what its sheet shows of the diaphragms: 950 psi.
    await heat('900 psi');
    await expect.poll(() => page.textContent('#practice-work h3')).toBe('Cycle 3');
    await room(page, 'answer');
    await expect.poll(() => page.textContent('#answer-body')).toMatch(/cycle 2/);
    await room(page, 'practice');
    await page.click('[data-do="practice-reveal"]');
    await page.click('[data-do="practice-reveal"]');
    await expect.poll(() => page.textContent('#practice-truth')).toMatch(/truly -1\.6\d°; the tool says/);
    expect(await page.locator('#practice-work form').count()).toBe(0);
    await page.click('[data-do="close"], [data-view="out"]');
    await page.click('[data-do="close"]');

    await page.setInputFiles('#pick-folder', BRICKFIELD);
    await page.waitForSelector('[data-view="out"]');
    // A job of real steel has no room where it could be heated by a click.
    expect(await page.locator('[data-view="practice"]').isVisible()).toBe(false);
    const drawing = await paper(page, 'drawing', 'plate-drawing.html');
    expect(drawing === drawingPaper(await atHand(BRICKFIELD), madeOf(drawing)).text).toBe(true);
    expect([page.watched.requests, page.watched.errors]).toEqual([[], []]);
    await page.context().close();
  }, 300_000);
});

/** When and by what a paper says it was made. */
function madeOf(text: string) {
  const [, generated, tool] = /made ([^<]*?) by (Sweepbook \d+\.\d+\.\d+)/.exec(text)!;
  return { generated: new Date(`${generated} UTC`).toISOString().slice(0, 10), tool: tool! };
}

/** Every file of the folder the page wrote. */
function inFolder(page: Page): Promise<[string, number[]][]> {
  return page.evaluate(async () => {
    const all: [string, number[]][] = [];
    const walk = async (into: FileSystemDirectoryHandle, path: string): Promise<void> => {
      const inside = into as FileSystemDirectoryHandle & { values: () => AsyncIterable<FileSystemHandle> };
      for await (const each of inside.values()) {
        if (each.kind === 'directory') await walk(each as FileSystemDirectoryHandle, `${path}${each.name}/`);
        else {
          const file = await (each as FileSystemFileHandle).getFile();
          all.push([path + each.name, [...new Uint8Array(await file.arrayBuffer())]]);
        }
      }
    };
    await walk(await (await navigator.storage.getDirectory()).getDirectoryHandle('girder-3'), '');
    return all;
  });
}
