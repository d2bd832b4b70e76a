import { createHash } from 'node:crypto';
import {
  appendFileSync,
  cpSync,
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import type { Browser, Page } from 'playwright-core';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildPage } from '../../build-page.mjs';
import { atHand } from '../../src/cli/at-hand.ts';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { bundleOfFiles, type GivenFile, rehashed } from '../../src/page/folder-files.ts';
import { bundleText } from '../../src/page/job-bundle.ts';
import { statusPaper } from '../../src/papers/papers.ts';
import { downloaded, hasBrowser, launch, tapReading, watchedPage } from './browser.ts';

const SAMPLES = new URL('../../sample-surveys/', import.meta.url).pathname;

/** Every file of a folder as a browser gives it. */
function givenFiles(folder: string, name = 'job', inside = ''): GivenFile[] {
  return readdirSync(join(folder, inside), { withFileTypes: true }).flatMap((entry) => {
    const path = join(inside, entry.name);
    if (entry.isDirectory()) return givenFiles(folder, name, path);
    return [{ path: `${name}/${path}`, text: readFileSync(join(folder, path), 'utf8') }];
  });
}

describe('the ledger of a folder taken by the page', () => {
  let folder: string;
  const copy = (name: string) => {
    const job = join(folder, name);
    cpSync(join(SAMPLES, 'tannery-street'), job, { recursive: true });
    return job;
  };
  beforeAll(() => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-take-'));
  });
  afterAll(() => rmSync(folder, { recursive: true, force: true }));

  /** What the page says of files and ledger beside what the command line says of the same folder. */
  async function both(job: string) {
    const own = await openJob(job);
    const bundle = bundleOfFiles(givenFiles(job));
    return { page: bundle.findings, line: own.findings, seal: bundle.seal, ledger: own.ledger };
  }

  it('goes along in the whole-job file, which is believed in nothing it can be checked in', async () => {
    const whole = pageBundle(await openJob(copy('whole')));
    expect(bundleOfFiles(givenFiles(join(folder, 'whole'))).ledgerText).toBe(whole.ledgerText);
    const stops = (bundle: typeof whole) =>
      rehashed(bundle)
        .findings.filter((each) => each.severity === 'stop')
        .map((each) => each.code);
    expect(stops(whole)).toEqual([]);
    const [first, ...others] = whole.files;
    const text = first!.text.replace(/\d(?=\D*$)/, (digit) => String((Number(digit) + 1) % 10));
    const sha256 = createHash('sha256').update(text).digest('hex');
    expect(stops({ ...whole, files: [{ ...first!, text, sha256 }, ...others] })).toEqual(['file-changed']);
    const lines = whole.ledgerText!.trimEnd().split('\n');
    expect(stops({ ...whole, ledgerText: `${lines.slice(0, -1).join('\n')}\n` })).toContain(
      'ledger-cut-short',
    );
    const edited = lines.map((line, i) => (i === 1 ? line.replace('"when":"2', '"when":"1') : line));
    expect(stops({ ...whole, ledgerText: `${edited.join('\n')}\n` })).toContain('ledger-chain-broken');
    const mark = { file: first!.file, row: 2, action: 'set-aside', who: 'x', why: 'x', when: 'x' } as const;
    expect(rehashed({ ...whole, marks: [mark] }).marks).toEqual(whole.marks);
  });

  it('is found in order, with the seal of the command line', async () => {
    const { page, line, seal, ledger } = await both(copy('sound'));
    expect(page).toEqual(line);
    expect(page.filter((each) => each.severity === 'stop')).toEqual([]);
    expect(seal).toEqual({ records: ledger.count, sha256: ledger.seal });
  });

  it.each([
    ['ledger-chain-broken', (text: string) => text.replace('"who"', '"who" ').replace('"rows"', '"rows" ')],
    ['ledger-record-unreadable', (text: string) => text.replace('"kind"', '"kinf"')],
    ['ledger-cut-short', (text: string) => text.trimEnd().split('\n').slice(0, -1).join('\n')],
  ])('is a stop where it was tampered with: %s', async (code, change) => {
    const job = copy(code);
    const path = join(job, 'ledger.jsonl');
    const changed = change(readFileSync(path, 'utf8'));
    expect(changed).not.toBe(readFileSync(path, 'utf8'));
    writeFileSync(path, changed);
    const { page, line } = await both(job);
    expect(page.find((each) => each.code === code)).toMatchObject({ severity: 'stop' });
    expect(page).toEqual(line);
  });

  it('a reading edited inside a whole-job file is a stop, and shows the digest of what is there', async () => {
    const bundle = pageBundle(await openJob(copy('edited-bundle')));
    const whole = (text: string) => bundleOfFiles([{ path: 'whole.json', text }]);
    expect(whole(bundleText(bundle)).findings).toEqual(bundle.findings);
    const [first, ...rest] = bundle.files;
    const text = first!.text.replace(/(\d)(\s*)$/, (_, digit, end) => `${(Number(digit) + 1) % 10}${end}`);
    expect(text).not.toBe(first!.text);
    const taken = whole(bundleText({ ...bundle, files: [{ ...first!, text }, ...rest] }));
    expect(taken.findings.map(({ severity, code, file }) => [severity, code, file])).toContainEqual([
      'stop',
      'file-changed',
      first!.file,
    ]);
    expect(taken.files[0]!.sha256).not.toBe(first!.sha256);
    expect(taken.files[0]!.note).toContain('CHANGED');
  });

  it('is said not to be sealed where .ledger-head was not given', () => {
    const job = copy('headless');
    rmSync(join(job, '.ledger-head'));
    const codes = bundleOfFiles(givenFiles(job)).findings.map((each) => each.code);
    expect(codes).toContain('ledger-seal-not-given');
  });
});

describe.runIf(hasBrowser)('what the page takes and hands on', () => {
  let browser: Browser;
  let folder: string;
  let empty: string;

  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-take-'));
    empty = join(folder, 'empty.html');
    await buildPage(empty, join(folder, 'app'));
    browser = await launch();
  });

  afterAll(async () => {
    await browser?.close();
    rmSync(folder, { recursive: true, force: true });
  });

  async function start(prepare: (page: Page) => Promise<unknown> = async () => {}) {
    const context = await browser.newContext({ viewport: { width: 820, height: 1180 } });
    const page = await watchedPage(context);
    await prepare(page);
    await page.goto(`file://${empty}`);
    await page.waitForSelector('#new-job input');
    return page;
  }

  /** Drags files or folders of this machine onto the page, as the browser itself does it. */
  async function drop(page: Page, paths: readonly string[]): Promise<void> {
    const session = await page.context().newCDPSession(page);
    for (const type of ['dragEnter', 'dragOver', 'drop'] as const) {
      await session.send('Input.dispatchDragEvent', {
        type,
        x: 200,
        y: 200,
        data: { items: [], files: [...paths], dragOperationsMask: 1 },
      });
    }
  }

  /** The status document of the page once it has an answer. */
  async function status(page: Page): Promise<string> {
    await page.waitForFunction(() => performance.getEntriesByName('sweepbook-answer').length > 0, null, {
      timeout: 60_000,
    });
    await page.click('[data-view="out"]');
    return (await downloaded(page, 'status')).text;
  }

  const commandLine = async (job: string) => statusPaper(await atHand(job)).text;

  it('a job folder dropped on it, or picked: the status of the command line, to the letter', async () => {
    const job = join(SAMPLES, 'saltmarsh-road');
    const said = await commandLine(job);
    for (const way of ['drop', 'pick'] as const) {
      const page = await start();
      if (way === 'drop') await drop(page, [job]);
      else await page.setInputFiles('#pick-folder', job);
      await page.waitForSelector('#rows input');
      expect(await status(page)).toBe(said);
      expect(page.watched.requests).toEqual([]);
      expect(page.watched.errors).toEqual([]);
      await page.context().close();
    }
  }, 240_000);

  it('a folder whose ledger was changed is shown with a stop, as the command line has it', async () => {
    const job = join(folder, 'changed');
    cpSync(join(SAMPLES, 'tannery-street'), job, { recursive: true });
    appendFileSync(join(job, 'ledger.jsonl'), '{"seq":99}\n');
    const page = await start();
    await drop(page, [job]);
    await page.waitForSelector('#rows input');
    expect(await status(page)).toBe(await commandLine(job));
    await page.click('[data-view="answer"]');
    expect(await page.textContent('#answer-body')).toMatch(/Ledger record \d+ cannot be read/);
    await page.context().close();
  }, 120_000);

  it('a CSV dropped on an open job, once; a file that is no part of a job is said to be none', async () => {
    const page = await start();
    await page.setInputFiles('#pick-folder', join(SAMPLES, 'tannery-street'));
    await page.waitForSelector('#rows input');
    const csv = join(folder, 'tonight.csv');
    writeFileSync(csv, 'cycle,station_ft,offset_in\n15,0,0\n15,2,1/8\n15,4,1/8\n');
    await drop(page, [csv]);
    await page.waitForSelector('#notices .note');
    expect(await page.textContent('#notices')).toContain('readings/tonight.csv: 3 readings');
    await drop(page, [csv]);
    await page.waitForFunction(() => /holds these files already/.test(document.body.textContent ?? ''));
    const picture = join(folder, 'photo.jpg');
    writeFileSync(picture, 'x');
    await drop(page, [picture]);
    await page.waitForFunction(() => /None of these files/.test(document.body.textContent ?? ''));
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 120_000);

  it('shares a file where the device can, downloads it and says so where the device will not', async () => {
    const page = await start((fresh) =>
      fresh.addInitScript(() => {
        const shared: { name: string; type: string; text: string }[] = [];
        Object.assign(globalThis, { shared, answerOf: 'yes' });
        // As Chromium on a phone: CSV and HTML may be passed on, JSON may not.
        navigator.canShare = (data) => data?.files?.every((file) => !file.name.endsWith('.json')) ?? false;
        navigator.share = async (data) => {
          const how = (globalThis as unknown as { answerOf: string }).answerOf;
          if (how !== 'yes') throw new DOMException(how, how);
          for (const file of data?.files ?? [])
            shared.push({ name: file.name, type: file.type, text: await file.text() });
        };
      }),
    );
    const answer = (how: string) => page.evaluate((to) => Object.assign(globalThis, { answerOf: to }), how);
    await page.setInputFiles('#pick-folder', join(SAMPLES, 'tannery-street'));
    await page.waitForSelector('#rows input');
    await tapReading(page, '1/4');
    await page.click('[data-view="out"]');
    expect(await page.locator('[data-do="share-job"]').count()).toBe(0);
    await page.click('[data-do="share-csv"]');
    const csv = await downloaded(page, 'csv');
    expect(await page.evaluate(() => (globalThis as unknown as { shared: unknown[] }).shared)).toEqual([
      { name: csv.name, type: 'text/csv', text: csv.text },
    ]);
    await answer('AbortError');
    await page.click('[data-do="share-csv"]');
    await page.waitForTimeout(200);
    expect(await page.textContent('#notices')).not.toContain('would not share');
    await answer('NotAllowedError');
    const [download] = await Promise.all([
      page.waitForEvent('download'),
      page.click('[data-do="share-csv"]'),
    ]);
    expect(download.suggestedFilename()).toBe(csv.name);
    await page.waitForFunction(() =>
      /would not share .* downloaded instead/.test(document.body.textContent ?? ''),
    );
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 120_000);

  it('says where files cannot be shared at all', async () => {
    const page = await start((fresh) =>
      fresh.addInitScript(() => {
        Object.defineProperty(navigator, 'canShare', { value: undefined });
      }),
    );
    await page.setInputFiles('#pick-folder', join(SAMPLES, 'tannery-street'));
    await page.waitForSelector('#rows input');
    await page.click('[data-view="out"]');
    expect(await page.locator('[data-do^="share-"]').count()).toBe(0);
    expect(await page.textContent('#out-body')).toContain('cannot pass a file on by itself');
    await page.context().close();
  }, 120_000);

  it('says when a job is too large for the storage, and keeps working', async () => {
    const page = await start((fresh) =>
      fresh.addInitScript(() => {
        const put = IDBObjectStore.prototype.put;
        IDBObjectStore.prototype.put = function (...args) {
          if (this.name === 'bundles') throw new DOMException('full', 'QuotaExceededError');
          return put.apply(this, args);
        };
      }),
    );
    await page.setInputFiles('#pick-folder', join(SAMPLES, 'tannery-street'));
    await page.waitForSelector('#rows input');
    await page.waitForFunction(() => /too large for this device/.test(document.body.textContent ?? ''));
    await tapReading(page, '1/4');
    await page.click('[data-view="out"]');
    expect((await downloaded(page, 'csv')).text).toContain(',1/4,released,');
    expect(page.watched.errors).toEqual([]);
    await page.context().close();
  }, 120_000);

  it('served, it is kept for offline, and its job folder is written, taken in and written again', async () => {
    const server = createServer((request, response) => {
      const name = request.url === '/' ? 'index.html' : request.url!.slice(1);
      const type = { html: 'text/html', js: 'text/javascript', svg: 'image/svg+xml' }[
        name.split('.').at(-1)!
      ];
      const path = join(folder, 'app', name);
      if (!existsSync(path)) {
        response.writeHead(404).end();
        return;
      }
      response.writeHead(200, { 'content-type': type ?? 'application/json' }).end(readFileSync(path));
    });
    const port = await new Promise<number>((resolve) =>
      server.listen(0, '127.0.0.1', () => resolve((server.address() as AddressInfo).port)),
    );
    const context = await browser.newContext({ viewport: { width: 820, height: 1180 } });
    const page = await context.newPage();
    const errors: string[] = [];
    page.on('pageerror', (error) => errors.push(String(error)));
    // The browser's private file system has the handles of a folder picked, without the dialog no test can answer.
    await page.addInitScript(() => {
      Object.assign(globalThis, {
        showDirectoryPicker: async () =>
          (await navigator.storage.getDirectory()).getDirectoryHandle('girder-1'),
      });
    });
    await page.goto(`http://127.0.0.1:${port}/`);
    await page.waitForSelector('#new-job input');
    expect(await page.evaluate(async () => (await navigator.serviceWorker.ready).active !== null)).toBe(true);

    const job = join(folder, 'served');
    cpSync(join(SAMPLES, 'tannery-street'), job, { recursive: true });
    const files = givenFiles(job).map(({ path, text }) => [path.split('/').slice(1).join('/'), text]);
    await page.evaluate(async (all) => {
      const root = await (await navigator.storage.getDirectory()).getDirectoryHandle('girder-1', {
        create: true,
      });
      for (const [path, text] of all as [string, string][]) {
        const parts = path.split('/');
        let into = root;
        for (const part of parts.slice(0, -1)) into = await into.getDirectoryHandle(part, { create: true });
        const stream = await (await into.getFileHandle(parts.at(-1)!, { create: true })).createWritable();
        await stream.write(text);
        await stream.close();
      }
    }, files);
    const write = async () => {
      await page.click('[data-view="out"]');
      await page.click('[data-do="write-folder"]');
    };
    const said = () => page.textContent('#job-folder');
    await page.click('#open-folder');
    await page.waitForSelector('#rows input');
    await tapReading(page, '1/4');
    await write();
    await expect.poll(said).toContain('Written, and read back as written');
    await page.evaluate(async () => {
      const root = await (await navigator.storage.getDirectory()).getDirectoryHandle('girder-1');
      const file = await root.getFileHandle('heats.csv');
      const text = await (await file.getFile()).text();
      const stream = await file.createWritable();
      await stream.write(`${text.trimEnd()}\n${text.trimEnd().split('\n').at(-1)}\n`);
      await stream.close();
    });
    await page.click('[data-view="entry"]');
    await page.click('#next');
    await tapReading(page, '1/8');
    await write();
    await expect.poll(said).toContain('somebody else wrote into this folder');
    expect(await said()).toContain('heats.csv was changed');
    await page.click('[data-do="take-in"]');
    await expect.poll(said).toContain('Taken in');
    await page.click('[data-do="write-folder"]');
    await expect.poll(said).toContain('Written, and read back as written');
    await page.click('[data-do="open-verify"]');
    await expect
      .poll(() => page.locator('pre.paper').textContent())
      .toMatch(/as imported .* readings\/cycle-15[\s\S]*everything is as recorded/);
    const out = join(folder, 'served-out');
    const written = await page.evaluate(async () => {
      const all: [string, string][] = [];
      const walk = async (into: FileSystemDirectoryHandle, path: string): Promise<void> => {
        const inside = into as FileSystemDirectoryHandle & { values: () => AsyncIterable<FileSystemHandle> };
        for await (const each of inside.values()) {
          if (each.kind === 'directory')
            await walk(each as FileSystemDirectoryHandle, `${path}${each.name}/`);
          else all.push([path + each.name, await (await (each as FileSystemFileHandle).getFile()).text()]);
        }
      };
      await walk(await (await navigator.storage.getDirectory()).getDirectoryHandle('girder-1'), '');
      return all;
    });
    for (const [path, text] of written) {
      mkdirSync(dirname(join(out, path)), { recursive: true });
      writeFileSync(join(out, path), text);
    }
    const verified = await verifyJob(out, null);
    expect(verified.findings.filter(({ severity }) => severity === 'stop')).toEqual([]);
    expect((await openJob(out)).readings.filter(({ cycle }) => cycle === 15)).toHaveLength(2);

    // Offline, and opened again: the folder is one tap away, and nothing is written over that the page has not seen.
    server.closeAllConnections();
    await new Promise((resolve) => server.close(resolve));
    const edit = (how: 'append to heats.csv' | 'take the folder away') =>
      page.evaluate(async (what) => {
        const top = await navigator.storage.getDirectory();
        if (what === 'take the folder away') return top.removeEntry('girder-1', { recursive: true });
        const file = await (await top.getDirectoryHandle('girder-1')).getFileHandle('heats.csv');
        const text = await (await file.getFile()).text();
        const stream = await file.createWritable();
        await stream.write(`${text}${text.trimEnd().split('\n').at(-1)}\n`);
        await stream.close();
      }, how);
    const reload = async () => {
      await page.reload();
      await page.waitForSelector('#rows input');
    };
    await reload();
    await page.click('#notices button:text("Open girder-1 again")');
    await expect.poll(said).toContain('The folder holds everything already');
    await reload();
    await edit('append to heats.csv');
    await page.click('#notices button:text("Open girder-1 again")');
    await expect.poll(said).toContain('Nothing was written: somebody else wrote into this folder');
    expect(await said()).toContain('heats.csv was changed');
    await page.click('[data-do="take-in"]');
    await expect.poll(said).toContain('Taken in');
    // The browser asks, and the person says no.
    await page.addInitScript(() => {
      Object.assign(FileSystemDirectoryHandle.prototype, {
        queryPermission: async () => 'prompt',
        requestPermission: async () => (localStorage.getItem('refuse') === 'no' ? 'granted' : 'denied'),
      });
    });
    await reload();
    await page.click('#notices button:text("Open girder-1 again")');
    await expect.poll(() => page.textContent('#notices')).toContain('did not let the page into girder-1');
    await page.evaluate(() => localStorage.setItem('refuse', 'no'));
    await edit('take the folder away');
    await page.click('[data-do="folder-again"]');
    await expect.poll(() => page.textContent('#notices')).toContain('girder-1 is not where it was');
    expect(await said()).toContain('The job was last in the folder girder-1');
    expect(errors).toEqual([]);
    await context.close();
  }, 120_000);
});
