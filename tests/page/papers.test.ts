import { cpSync, mkdtempSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { analyseLine } from '../../src/analyse-line.ts';
import { analysisOf } from '../../src/answer/answer-text.ts';
import { remembering } from '../../src/answer/line-key.ts';
import { atHand } from '../../src/cli/at-hand.ts';
import { COMMANDS } from '../../src/cli/commands/index.ts';
import { pageBundle } from '../../src/cli/page-bundle.ts';
import { type OpenedJob, openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { nextRecord } from '../../src/folder/next-record.ts';
import { openFiles } from '../../src/folder/open-files.ts';
import { verificationText } from '../../src/folder/verification-text.ts';
import { verifyFiles } from '../../src/folder/verify-files.ts';
import { withHeats } from '../../src/heats/beside-heats.ts';
import { answerHtml } from '../../src/page/answer.ts';
import { bundleOfFolder } from '../../src/page/folder/bundle-of-folder.ts';
import { doorOf } from '../../src/page/folder/folder-door.ts';
import { readFolder, readPhotos } from '../../src/page/folder/folder-now.ts';
import { bundleOfFiles } from '../../src/page/folder-files.ts';
import { bundleText, parseBundle } from '../../src/page/job-bundle.ts';
import { filesInMemory } from '../../src/page/papers/files-in-memory.ts';
import { filesOfBook } from '../../src/page/papers/files-of-book.ts';
import { makePapers, type PaperKind } from '../../src/page/papers/make-papers.ts';
import { withFolder } from '../../src/page/papers/papers-part.ts';
import { answering, type FromWorker } from '../../src/page/worker-messages.ts';
import { readLogs } from '../../src/papers/logs.ts';
import {
  besideLog,
  cardPaper,
  exportPapers,
  heatsPapers,
  type Paper,
  planAt,
  planPaper,
  platesPapers,
  reportPaper,
} from '../../src/papers/papers.ts';
import { htmlText } from '../../src/report/html.ts';
import { utf8Bytes } from '../../src/utf8.ts';
import { runInProcess } from '../cli/in-process.ts';
import { folderHandle } from './fake-folder.ts';

const SAMPLES = new URL('../../sample-surveys/', import.meta.url).pathname;
const PICTURES = new URL('../photos/fixtures/', import.meta.url).pathname;
const NOW = new Date(2031, 2, 4, 23, 30);
let top: string;

beforeAll(() => {
  top = mkdtempSync(join(tmpdir(), 'sweepbook-papers-'));
});
afterAll(() => rmSync(top, { recursive: true, force: true }));

const copy = (sample: string, name: string): string => {
  cpSync(join(SAMPLES, sample), join(top, name), { recursive: true });
  return join(top, name);
};

/** The job as the page has it: written into the page by the command line, and read back from there. */
const inPage = (opened: OpenedJob) => {
  const bundle = parseBundle(bundleText(pageBundle(opened)), 'job');
  return filesOfBook(bundle, []);
};

function filesUnder(folder: string, at = folder): string[] {
  return readdirSync(at).flatMap((name) => {
    const path = join(at, name);
    return statSync(path).isDirectory() ? filesUnder(folder, path) : [relative(folder, path)];
  });
}

describe('papers made on the page', () => {
  // A heat log, plates and jacks in one; work still ahead in the other.
  it.each([
    ['tannery-street', ['daily', 'card', 'heats', 'plates'], ['report', '--final', '--plain']],
    ['saltmarsh-road', ['plan', 'export'], ['status', '--json']],
  ] as const)('of %s are those the command line writes, byte for byte', async (sample, kinds, command) => {
    const folder = copy(sample, sample);
    const linesOf = remembering(analyseLine);
    const at = await atHand(folder);
    const files = inPage(at.opened);
    const made = { generated: '2031-03-04', tool: `Sweepbook ${await version()}` };
    const asks = (paper: PaperKind, columns = 80) => {
      const asked = {
        paper,
        full: false,
        columns,
        name: 'job',
        files,
        notHere: [],
        keyed: [],
        seal: null,
        ...made,
      };
      return makePapers(asked, linesOf);
    };
    const make = async (paper: PaperKind) => (await asks(paper)).papers;
    const own: Partial<Record<PaperKind, () => readonly Paper[]>> = {
      daily: () => [
        reportPaper(at, {
          ...{ ...made, final: false, full: false, fraction: 16, plotly: null, past: [], photos: null },
        }),
      ],
      card: () => [cardPaper(at, made)],
      heats: () => Object.values(heatsPapers(at, 80)),
      plates: () => Object.values(platesPapers(at, 80)),
      plan: () => [planPaper(at, planAt(at, []), made)],
      export: () => exportPapers(at),
    };
    for (const kind of kinds) {
      const expected = own[kind]!();
      const papers = await make(kind);
      expect(papers.map(({ file }) => file)).toEqual(expected.map(({ file }) => file));
      for (const [i, { file, text }] of papers.entries())
        expect(text === expected[i]!.text, `${kind}: ${file}`).toBe(true);
    }
    // On a phone a paper of text is shown in its columns; what is handed out stays as it is.
    for (const kind of ['heats', 'plates'] as const) {
      expect((await asks(kind)).shown).toBeUndefined();
      const { papers, shown } = await asks(kind, 40);
      expect(papers).toEqual(await make(kind));
      expect(shown!.split('\n').filter((line) => line.length > 40)).toEqual([]);
    }
    // One of each by the whole command, as people run it.
    const said = await runInProcess([...command, folder], COMMANDS, { cwd: top, now: () => NOW });
    expect(said.status, said.err).toBe(0);
    const printed = command[0] === 'status' ? said.out : readFileSync(join(top, said.out.trim()), 'utf8');
    const paper = (await make(command[0] === 'status' ? 'status' : 'final'))[0]!;
    expect(paper.text === printed, command.join(' ')).toBe(true);
    // The page's reading of the folder's own files comes to the same as the page written by the command line.
    const given = bundleOfFiles(
      filesUnder(folder)
        .filter((file) => !file.startsWith('reports/'))
        .map((file) => ({ path: `job/${file}`, text: readFileSync(join(folder, file), 'utf8') })),
    );
    expect([...filesOfBook(given, [])].sort()).toEqual([...files].sort());
  });

  // A camera's JPEG turned by its notes and a PNG (both by Pillow), and one that breaks off: all by the same readers.
  it('a final report shows the photographs the command line shows, from the folder and from the one file', async () => {
    const folder = copy('juniper-lane', 'photographed');
    const run = (...args: string[]) => runInProcess(args, COMMANDS, { cwd: top, now: () => NOW });
    const whole = readFileSync(join(PICTURES, 'turned-6.jpg'));
    writeFileSync(join(top, 'broken.jpg'), whole.subarray(0, 900));
    for (const [picture, cycle] of [
      [join(PICTURES, 'turned-6.jpg'), '0'],
      [join(PICTURES, 'corner.png'), '1'],
      [join(top, 'broken.jpg'), '2'],
    ] as const)
      expect((await run('photo', folder, picture, '--cycle', cycle, '--caption', cycle)).status).toBe(0);
    const said = await run('report', folder, '--final', '--plain');
    const written = readFileSync(join(top, said.out.trim()), 'utf8');
    expect(written.match(/<img src="data:image\/jpeg;base64,/g)).toHaveLength(2);
    expect(written).toContain('Not shown: photos/cycle-02-broken.jpg cannot be shown');
    const linesOf = remembering(analyseLine);
    const made = async (files: ReadonlyMap<string, Uint8Array>, notHere: readonly string[] = []) => {
      const asked = {
        paper: 'final',
        full: false,
        columns: 80,
        name: 'job',
        files,
        notHere,
        keyed: [],
        seal: null,
      } as const;
      const by = { generated: '2031-03-04', tool: `Sweepbook ${await version()}` };
      return (await makePapers({ ...asked, ...by }, linesOf)).papers[0]!.text;
    };
    const opened = bundleOfFolder('photographed', await readFolder(doorOf(folderHandle(folder))));
    expect((await made(filesOfBook(opened, []))) === written, 'from the folder').toBe(true);
    const one = parseBundle(bundleText(opened), 'job');
    expect((await made(filesOfBook(one, []))) === written, 'from the one file').toBe(true);
    // On a device that does not carry them, each is named with where it is; with the folder open they are read from it.
    const { photos: _, ...without } = one;
    const files = filesOfBook(without, []);
    expect(await made(files, ['photos'])).toContain(
      'photos/cycle-00-turned-6.jpg is in the job folder, which is not here',
    );
    const door = doorOf(folderHandle(folder));
    const asked = {
      paper: 'final',
      full: false,
      columns: 80,
      name: 'job',
      files,
      keyed: [],
      seal: null,
    } as const;
    const by = { generated: '2031-03-04', tool: `Sweepbook ${await version()}` };
    const inFolder = await withFolder(
      { ...asked, ...by, notHere: ['photos'] },
      { photos: () => readPhotos(door), everything: () => Promise.resolve(null) },
    );
    expect((await made(inFolder.files, inFolder.notHere)) === written, 'from the folder, not carried').toBe(
      true,
    );
    expect(await readPhotos(door, 100)).toBeNull();
  });

  it('beside the answer, the heats say what the status of the command line says', async () => {
    const folder = copy('tannery-street', 'beside');
    const log = join(folder, 'heats.csv');
    const { opened, analysis } = await atHand(folder);
    const got: FromWorker[] = [];
    const worker = answering((message) => got.push(message as FromWorker));
    const check = () => {
      const text = readFileSync(log, 'utf8');
      const own = besideLog(analysis, readLogs({ bytes: () => utf8Bytes(text) }, opened.job));
      worker({ kind: 'job', opened, heatLog: text });
      worker({ kind: 'analyse', id: 3, keyed: [] });
      const [answer, beside] = got.splice(0);
      if (answer?.kind !== 'answer' || beside?.kind !== 'beside') throw new Error(JSON.stringify(answer));
      const shown = analysisOf(JSON.parse(answer.text), opened.job, opened.readings);
      expect(withHeats(shown, beside.beside).findings).toEqual(own.analysis.findings);
      expect(beside.beside.days).toEqual(own.days);
      return { ...own, page: htmlText(answerHtml(shown, beside.beside, '', 14, 390)) };
    };
    const still = check();
    expect(still.days).toHaveLength(1);
    expect(still.page).toContain('stood still in cycles 9 to 14');
    // A vee heated far over the limit of any bridge steel, logged for the newest cycle: a stop, before the verdict.
    const text = readFileSync(log, 'utf8');
    writeFileSync(log, text.replace(/,11[0-9][0-9],(?=[^\n]*\n$)/, ',1500,'));
    expect(readFileSync(log, 'utf8')).not.toBe(text);
    const hot = check();
    const stop = hot.analysis.findings.find(
      ({ severity, code }) => severity === 'stop' && /temperature|hot/.test(code),
    );
    expect(stop).toBeDefined();
    const at = (words: string) => hot.page.indexOf(words);
    expect(at('>Stop<')).toBeGreaterThan(0);
    expect(at('>Stop<')).toBeLessThan(at('class="verdict-words"'));
    writeFileSync(log, 'cycle,station\n3,somewhere\n');
    expect(check().analysis.findings.map(({ code }) => code)).toContain('heat-log-not-read');
  });

  it.each([
    ['a reading changed', 'readings/', (text: string) => text.replace(/\d(?=\D*$)/, '7')],
    ['a record of the ledger taken out', 'ledger.jsonl', (text: string) => text.replace(/^.*\n/, '')],
    ['the ledger cut short', 'ledger.jsonl', (text: string) => text.replace(/[^\n]*\n$/, '')],
    ['a span edited', 'job.json', (text: string) => text.replace('"span": "', '"span": "1')],
    ['a file put there by hand', 'readings/by-hand.csv', () => 'cycle,line,station,offset\n'],
  ])('verify: %s is found, in the words of the command line', async (name, where, edit) => {
    const folder = copy('tannery-street', name.replaceAll(' ', '-'));
    const file = where.endsWith('/') ? `${where}${readdirSync(join(folder, where)).sort()[0]!}` : where;
    const path = join(folder, file);
    const before = name.includes('by hand') ? '' : readFileSync(path, 'utf8');
    const after = edit(before);
    expect(after).not.toBe(before);
    // Sealed as the store leaves it; the samples carry no seal.
    const ledger = readFileSync(join(folder, 'ledger.jsonl'), 'utf8');
    const head = await verifyJob(folder, null);
    writeFileSync(join(folder, '.ledger-head'), `${ledger.trim().split('\n').length} ${head.seal}\n`);
    writeFileSync(path, after);
    const held = new Map(
      filesUnder(folder).map((each) => [each, new Uint8Array(readFileSync(join(folder, each)))]),
    );
    const own = await verifyJob(folder, null);
    const page = await verifyFiles(filesInMemory('job', held, []), null);
    expect(own.findings.length).toBeGreaterThan(0);
    expect(verificationText(page)).toBe(verificationText(own));
  });

  it('pictures the page does not carry are not called lost, and not called compared', async () => {
    const held = inPage(await openJob(copy('tannery-street', 'no-pictures')));
    const photo = {
      ...{ kind: 'photo' as const, file: 'photos/a.jpg', sha256: 'a'.repeat(64), bytes: 1 },
      ...{ original: 'a.jpg', cycle: 0, caption: 'the struck flange' },
    };
    const step = nextRecord(filesInMemory('job', held, []), photo, '2031-03-04T12:00:00.000Z', 'id-of-test');
    held.set('ledger.jsonl', step.ledger);
    const codes = async (notHere: string[]) =>
      (await openFiles(filesInMemory('job', held, notHere))).findings.map((each) => each.code);
    expect(await codes(['photos'])).toContain('photos-not-here');
    expect(await codes(['photos'])).not.toContain('photo-missing');
    expect(await codes([])).toContain('photo-missing');
  });
});

async function version(): Promise<string> {
  return (await runInProcess(['--version'], COMMANDS, { cwd: top, now: () => NOW })).out.trim();
}
