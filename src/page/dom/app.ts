import type { Analysis } from '../../analysis.ts';
import { type Answer, analysisOf } from '../../answer/answer-text.ts';
import { checkReadings } from '../../doubts/check-readings.ts';
import { copiesAmong } from '../../doubts/copies.ts';
import { describeProblems, InputError } from '../../input-error.ts';
import type { Job, JobUnits } from '../../job/job.ts';
import { readOptions } from '../../job/read-options.ts';
import { PAGE_ID } from '../../ledger/identity.ts';
import { readReadings } from '../../read/readings-csv.ts';
import { renderDaily } from '../../report/daily.ts';
import { dateText } from '../../report/dates.ts';
import { html } from '../../report/html.ts';
import { sha256Hex } from '../../sha256.ts';
import { statusDocument } from '../../status/status-document.ts';
import { allReadings, keyedReadings, readSheet, type SheetRead } from '../all-readings.ts';
import { answerHtml, answerInShort } from '../answer.ts';
import { answerKey, jobKey } from '../answer-key.ts';
import { currentSheet, openSheet, setDate } from '../book.ts';
import type { FinishedAnswer } from '../finished-answer.ts';
import { bundleOfFiles, type GivenFile, rehashed, withFiles } from '../folder-files.ts';
import { bundleOf, bundleText, type JobBundle, looksLikeBundle, parseBundle } from '../job-bundle.ts';
import { mergeBooks } from '../merge-books.ts';
import { type NewJob, newJobForm, newJobText } from '../new-job.ts';
import { type OpenedBundle, openBundle } from '../open-bundle.ts';
import type { Session } from '../open-session.ts';
import { ANSWER_INSIDE, JOB_INSIDE } from '../page-file.ts';
import { keysOf, recordsBehind, sameJob, storeName } from '../same-job.ts';
import {
  ADDED,
  continueBook,
  emptyBook,
  joinKept,
  likeness,
  nextCycle,
  sameEvidence,
  wholeJob,
} from '../session.ts';
import { discardUnfitted, mapUnfitted, unfitted, unfittedCsv } from '../unfitted.ts';
import type { FromWorker } from '../worker-messages.ts';
import { analyst } from './analyst.ts';
import { canShare, download, share } from './deliver.ts';
import { byId, fill, show } from './element.ts';
import { entry } from './entry.ts';
import { droppedFiles, textsOf } from './given-files.ts';
import { asidesHtml, outHtml } from './out-view.ts';
import { type SaveState, saver } from './saver.ts';
import { openSheetDialog } from './sheet-dialog.ts';
import { type Aside, type Kept, openStorage } from './storage.ts';
import { brightness } from './theme.ts';

declare const SWEEPBOOK_VERSION: string;
/** Digest of the core's script in this page. */
declare const SWEEPBOOK_CORE: string;

const LAST_OPEN = 'sweepbook-open-job';

/** An answer that is shown, and which state of the book it is the answer to. */
interface Shown {
  readonly analysis: Analysis;
  readonly version: number;
  /** Its text, where it was worked out before the page was opened. */
  readonly before: string | null;
}

type View = 'entry' | 'answer' | 'out';

/** How long an answer must have stood before it is kept on the device, ms. */
const SETTLED = 2000;

/** What a button says that discards at the next click. */
const SURE = 'Discard for good?';

export async function startPage(): Promise<void> {
  let session: Session | null = null;
  let answer: Shown | null = null;
  /** Grows with every change of what was keyed: an answer to an older one is marked as that. */
  let version = 0;
  let view: View = 'entry';
  let unsaved = false;
  let asides: readonly Aside[] = [];

  brightness(byId('theme'));
  const worker = analyst(receive);
  const storage = await openStorage();
  const saving = saver(storage, showSaved);
  const list = entry({
    session: () => session!,
    changed: (book, settled) => {
      const other = book.sheets !== session!.book.sheets;
      session!.book = book;
      save();
      if (other) changed();
      ask(settled);
    },
    chosen: (book) => {
      session!.book = book;
      save();
      showJob();
      showAnswer();
    },
    zones: () => lineNow()?.fit.zones ?? [],
  });

  function lineNow() {
    return answer?.analysis.lines.find((each) => each.line.name === session?.book.line);
  }

  // ---- opening ----

  async function open(
    incoming: JobBundle,
    finished: FinishedAnswer | null = null,
    known: string | null = null,
  ): Promise<void> {
    const first = openBundle(incoming);
    const { id, kept } =
      known === null ? await keptOf(incoming, first.job) : { id: known, kept: await load(known) };
    const put: Aside[] = [];
    const aside = (file: string, why: string, text: string) =>
      put.push({ key: sha256Hex(JSON.stringify([id, file, text])), job: id, file, why, text });
    if (kept?.damaged) {
      aside(
        'damaged-record.json',
        'Part of what this device kept of this job cannot be read. What could be read is in the job; this is the whole record as it stands.',
        kept.damaged,
      );
    }
    const { joined, opened } = joinReadable(incoming, first, kept, aside);
    if ('putAside' in storage) {
      for (const each of put) {
        if ((await storage.putAside(each)) === 'saved') continue;
        // Saving would write over the only copy.
        download(each.file, each.text, 'application/json');
        throw new Error(
          `What this device kept of this job does not fit it, and there is no room to put it aside (${each.file} has been downloaded). The job was not opened, and nothing kept was changed.`,
        );
      }
    }
    const taken = joined.bundle.files.map((file) => file.file);
    const book = continueBook(joined.book, opened, today(), taken);
    session = { id, bundle: joined.bundle, opened, book, key: jobKey(SWEEPBOOK_CORE, joined.bundle) };
    answer = null;
    version++;
    worker.job(opened);
    ask(true);
    takeFinished([finished, kept?.answer ?? null]);
    saving.begin(kept?.book?.revision ?? 0, kept?.book?.book ?? null);
    remember(id);
    clearNotices();
    asides = 'asides' in storage ? await storage.asides() : [];
    const homeless = unfitted(book, opened.job);
    if (homeless.length > 0) {
      const names = [...new Set(homeless.map((each) => each.line))].join(', ');
      const count = homeless.reduce((sum, each) => sum + each.count, 0);
      notice(
        'stop',
        `${count} keyed reading${count === 1 ? ' is' : 's are'} on a line this job does not have (${names}), and count${count === 1 ? 's' : ''} nowhere. Hand over lists them: download them, put them on a line, or discard them.`,
      );
    }
    if (put.length > 0) {
      notice(
        'stop',
        `Something this device kept does not fit this job and was put aside: ${put.map((each) => each.why).join(' ')} It is listed under Hand over.`,
      );
    }
    const behind = known === null && kept?.bundle ? recordsBehind(kept.bundle, incoming) : 0;
    if (behind > 0) {
      notice(
        'caution',
        `This is an older file of the job: its ledger ends ${behind} record${behind === 1 ? '' : 's'} before the one this device had last. What was recorded since is not in it; open the newer file to see it.`,
      );
    }
    for (const cycle of joined.clashes) {
      notice(
        'caution',
        `Cycle ${cycle} was keyed on this device and in the file, with different readings. This device’s are kept; the file still has the others.`,
      );
    }
    if ('refused' in storage) {
      notice(
        'stop',
        `This browser will not keep anything for this page (${storage.refused}). What you key is lost when the page closes: hand it over (download) before you leave.`,
      );
    }
    show('start', false);
    show('views', true);
    document.body.classList.add('working');
    showJob();
    setView(view);
    list.start();
    save();
    if (!('refused' in storage) && (await storage.saveBundle(id, joined.bundle)) !== 'saved') {
      notice(
        'stop',
        'The job is too large for this device’s storage, or storage is full. Hand the readings over (download) before you leave the page.',
      );
    }
    void navigator.storage?.persist?.().catch(() => false);
  }

  function load(id: string): Promise<Kept | null> {
    return 'load' in storage ? storage.load(id) : Promise.resolve(null);
  }

  /**
   * What this device kept of an incoming job, and the name it goes on under. A job is known by its id or its ledger; what
   * is only like it (name, units, span), or shares a key and not the evidence (a copied folder), is another girder's
   * until somebody says that it is not.
   */
  async function keptOf(
    incoming: JobBundle,
    job: Job,
  ): Promise<{ readonly id: string; readonly kept: Kept | null }> {
    const alike = likeness(job);
    const name = storeName(job, keysOf(incoming));
    const digest = sha256Hex(`${incoming.job}\n${incoming.ledgerText ?? ''}`);
    const copies: { readonly id: string; readonly kept: Kept }[] = [];
    const same: { readonly id: string; readonly kept: Kept }[] = [];
    let taken = false;
    for (const { id } of 'list' in storage ? await storage.list() : []) {
      if (id === alike) continue;
      const kept = await load(id);
      if (id === name) taken = true;
      // Only what was keyed is left of it: its name is all there is to know it by.
      const relation =
        kept === null
          ? 'other'
          : kept.bundle === null
            ? id === name
              ? 'same'
              : 'other'
            : sameJob(kept.bundle, incoming);
      if (relation === 'same' && kept !== null) same.push({ id, kept });
      if (relation === 'ask' && kept !== null) copies.push({ id, kept });
    }
    // A file from before a folder was copied fits both; its own name says which.
    const found = same.find(({ id }) => id === name) ?? same[0];
    if (found !== undefined) return found;
    for (const copy of copies) {
      const count = placesKeyed(copy.kept);
      if (count === 0) continue;
      const join = await choose(
        `This device has readings at ${count} place${count === 1 ? '' : 's'} keyed in a job with the same id, but the records or readings of the two are not the same: a folder copied for another girder keeps its id. Is it the same girder?`,
        'Same girder: take them along',
        'Another girder: leave them out',
      );
      if (join) return copy;
    }
    const own = name === alike ? `${alike}\n${sha256Hex(incoming.job)}` : taken ? `${name} ${digest}` : name;
    if (name === alike) {
      const kept = await load(own);
      if (kept !== null) return { id: own, kept };
    }
    const other = await load(alike);
    const into = name === alike ? alike : own;
    if (other === null) return { id: into, kept: null };
    if (other.bundle !== null && sameEvidence(other.bundle, incoming))
      return { id: into, kept: withNewName(other, into, alike) };
    const count = placesKeyed(other);
    if (count === 0 && other.damaged === null) return { id: own, kept: null };
    const join = await choose(
      `This device has a job like this one, with readings at ${count} place${count === 1 ? '' : 's'} keyed in it: the same name, units and span. Is it the same girder?`,
      'Same girder: take them along',
      'Another girder: leave them out',
    );
    return join ? { id: into, kept: withNewName(other, into, alike) } : { id: own, kept: null };
  }

  /** Places with readings keyed on this device, files added here counted as one each. */
  function placesKeyed({ book, bundle }: Kept): number {
    const cells = book?.book.sheets.reduce((sum, sheet) => sum + sheet.cells.length, 0) ?? 0;
    return cells + (bundle?.files.filter((file) => file.note === ADDED).length ?? 0);
  }

  /** Under a new name revisions begin anew; the record under the old one stays as it is. */
  function withNewName(kept: Kept, id: string, from: string): Kept {
    return id === from || kept.book === null ? kept : { ...kept, book: { ...kept.book, revision: 0 } };
  }

  /** Asks in the notices; true for the first answer. */
  function choose(text: string, yes: string, no: string): Promise<boolean> {
    return new Promise((resolve) => {
      notice('caution', text, 'choose');
      const item = [...byId('notices').children].at(-1)!;
      const actions = document.createElement('p');
      actions.className = 'actions';
      fill(
        actions,
        html`<button type="button" data-choose="yes">${yes}</button><button type="button" data-choose="no">${no}</button>`,
      );
      item.querySelector('button')!.remove();
      item.append(actions);
      for (const button of actions.querySelectorAll('button')) {
        button.onclick = () => {
          item.remove();
          resolve(button.dataset.choose === 'yes');
        };
      }
    });
  }

  /**
   * The incoming job with what was kept. Kept things that would keep it from opening (keyed in other units, a file added
   * here that no longer reads) are put aside, never dropped.
   */
  function joinReadable(
    incoming: JobBundle,
    first: OpenedBundle,
    kept: Kept | null,
    aside: (file: string, why: string, text: string) => void,
  ) {
    let book = kept?.book?.book ?? emptyBook(first.job);
    let bundle = kept?.bundle ?? null;
    const before = bundle === null ? null : unitsOf(bundle);
    if (
      before !== null &&
      before !== first.job.units &&
      book.sheets.some((sheet) => sheet.cells.length > 0)
    ) {
      aside(
        'keyed-in-other-units.json',
        `The job was in ${before === 'us' ? 'feet and inches' : 'metres and millimetres'} when these sheets were keyed.`,
        bundleText(wholeJob(bundle!, book)),
      );
      book = emptyBook(first.job);
    }
    for (const file of bundle?.files.filter((each) => each.note === ADDED) ?? []) {
      try {
        openBundle(joinKept(incoming, first.job, { bundle: { ...bundle!, files: [file] }, book }).bundle);
      } catch {
        aside(
          file.file.replace('readings/', ''),
          `${file.file}, added here, does not read with this job.`,
          file.text,
        );
        bundle = { ...bundle!, files: bundle!.files.filter((each) => each !== file) };
      }
    }
    const joined = joinKept(incoming, first.job, kept === null ? null : { bundle, book });
    const opened = joined.bundle.files.length === incoming.files.length ? first : openBundle(joined.bundle);
    return { joined, opened };
  }

  /**
   * Shows an answer that was worked out before, if it is to exactly what is open now: the digest covers every file,
   * mark and keyed sheet, and the core. The worker's own answer takes its place as soon as it is there.
   */
  function takeFinished(candidates: readonly (FinishedAnswer | null)[]): void {
    if (candidates.every((each) => each === null)) return;
    const { opened, key } = session!;
    const sheets = reads();
    const wanted = answerKey(key, sheets);
    const fitting = candidates.find((each) => each?.key === wanted);
    if (!fitting) return;
    try {
      const analysis = analysisOf(
        JSON.parse(fitting.text) as Answer,
        opened.job,
        allReadings(opened, sheets),
      );
      answer = { analysis, version, before: fitting.text };
    } catch {
      // Not an answer after all; the worker's is on its way.
    }
  }

  async function tryOpen(
    make: () => JobBundle | Promise<JobBundle>,
    finished: FinishedAnswer | null = null,
    known: string | null = null,
  ): Promise<void> {
    try {
      await open(await make(), finished, known);
    } catch (error) {
      showError(error);
    }
  }

  async function take(given: readonly GivenFile[]): Promise<void> {
    if (given.length === 0) {
      notice('caution', 'None of these files can be part of a job (job.json, CSV, whole-job file).');
      return;
    }
    const job = given.some((file) => /(^|\/)job\.json$/i.test(file.path) || looksLikeBundle(file.text));
    if (session === null || job) {
      const before = session;
      await tryOpen(() => bundleOfFiles(given));
      const whole = given.some((file) => looksLikeBundle(file.text));
      const seal = session === before ? null : (session?.bundle.seal ?? null);
      if (whole && seal !== null) {
        notice(
          'note',
          `Opened from one file of ${seal.records} ledger record${seal.records === 1 ? '' : 's'}, seal ${seal.sha256.slice(0, 16)}…. Compare it with the seal on a printed report: a file rewritten throughout agrees with itself, and only a seal noted elsewhere shows it.`,
        );
      }
      return;
    }
    addFiles(given.filter((file) => /\.(csv|txt|tsv)$/i.test(file.path)));
  }

  /** CSV files for the open job: all of them or none, as `sweepbook add` does it. */
  function addFiles(given: readonly GivenFile[]): void {
    const { bundle, opened } = session!;
    const next = withFiles(bundle, given);
    const fresh = next.files.filter((file) => !bundle.files.includes(file));
    if (fresh.length === 0) {
      notice('note', 'The job holds these files already.');
      return;
    }
    const incoming = fresh.flatMap(
      (file) => readReadings(file.text, readOptions(opened.job, file.file)).readings,
    );
    const { doubts } = checkReadings(incoming, opened.job, opened.readings);
    const copies = copiesAmong(incoming, opened.readings);
    void tryOpen(() => ({ ...next, sheets: [] }), null, session!.id).then(() => {
      if (session?.bundle.files.length === next.files.length) {
        notice('note', `Added ${fresh.map((file) => file.file).join(', ')}: ${incoming.length} readings.`);
        for (const doubt of [...copies, ...doubts.slice(0, 6)]) notice(doubt.severity, doubt.message);
      }
    });
  }

  async function showStart(): Promise<void> {
    session = null;
    answer = null;
    document.body.classList.remove('working');
    for (const id of ['entry', 'answer', 'out', 'views']) show(id, false);
    byId('job-name').textContent = 'Sweepbook readings';
    byId('bar-facts').textContent = 'Key in the day’s readings, see the answer. Nothing leaves this device.';
    byId('saved').textContent = '';
    const kept = 'list' in storage ? await storage.list() : [];
    fill(
      byId('stored'),
      kept.length === 0
        ? html``
        : html`<h2>On this device</h2><ul class="handouts">${kept.map(
            (each, i) =>
              html`<li><div><h3>${each.name}</h3>${each.saved === '' ? '' : html`<p>Last changed ${dateText(each.saved, navigator.language)} ${each.saved.slice(11, 16)} UTC.</p>`}${each.trouble === '' ? '' : html`<p><strong>${each.trouble}</strong></p>`}</div><p class="actions"><button type="button" class="main" data-open="${i}">Open</button>${each.trouble === '' ? '' : html`<button type="button" data-raw="${i}">Download</button><button type="button" data-remove="${i}">Discard</button>`}</p></li>`,
          )}</ul>`,
    );
    asides = 'asides' in storage ? await storage.asides() : [];
    fill(byId('stored-aside'), asidesHtml(asides));
    byId('stored-aside').onclick = (event) =>
      onAside(event, (all) => fill(byId('stored-aside'), asidesHtml(all)));
    byId('stored').onclick = (event) => {
      const button = (event.target as HTMLElement).closest<HTMLElement>(
        '[data-open],[data-raw],[data-remove]',
      );
      if (button === null || !('raw' in storage)) return;
      const { open, raw, remove } = button.dataset;
      const one = kept[Number.parseInt(open ?? raw ?? remove ?? '', 10)]!;
      if (open !== undefined) void openKept(one.id);
      else if (raw !== undefined) {
        void storage
          .raw(one.id)
          .then((text) => download('kept-on-this-device.json', text, 'application/json'));
      } else if (sure(button)) void storage.remove(one.id).then(showStart, showError);
    };
    if ('refused' in storage) {
      notice(
        'stop',
        `This browser will not keep anything for this page (${storage.refused}). Readings keyed here must be downloaded before the page is closed.`,
      );
    }
    fill(byId('new-job'), newJobForm());
    show('start', true);
  }

  async function openKept(id: string): Promise<boolean> {
    if (!('load' in storage)) return false;
    const kept = await storage.load(id).catch((error: unknown) => {
      showError(error);
      return null;
    });
    if (kept === null) return false;
    const { bundle } = kept;
    if (bundle === null) {
      notice(
        'stop',
        'The job itself is not (or no longer) readable on this device; what was keyed is. Open the job from its files: what was keyed joins it. It can be downloaded here.',
      );
      return false;
    }
    await tryOpen(() => bundle, null, id);
    return session !== null;
  }

  // ---- saving ----

  function save(): void {
    if (session === null) return;
    const { id, opened, book } = session;
    saving.save({ id, name: opened.job.name, saved: new Date().toISOString(), book });
  }

  function showSaved(state: SaveState): void {
    const mark = byId('saved');
    unsaved = state.kind === 'not-saved';
    mark.dataset.state = state.kind;
    switch (state.kind) {
      case 'saving':
        // A word that changes at every key would only flicker, and be read out each time.
        if (mark.textContent === '') mark.textContent = 'Saving';
        break;
      case 'saved':
        if (!mark.textContent?.startsWith('Saved')) clearNotices('storage');
        mark.textContent = 'Saved on this device';
        mark.title = state.when;
        break;
      case 'not-saved':
        mark.textContent = 'Not saved';
        if (state.elsewhere) offerMerge(state.why);
        else notice('stop', `${state.why} Download the readings now (Hand over).`, 'storage');
    }
  }

  /** Another window saved since: this window's readings are downloaded first, then both are merged. */
  function offerMerge(why: string): void {
    const text = `${why} Download this window’s readings first; then both can be merged.`;
    notice('stop', text, 'storage');
    const item = [...byId('notices').children].find((each) => each.textContent?.includes(why));
    if (item === undefined || item.querySelector('[data-merge]') !== null) return;
    const actions = document.createElement('p');
    actions.className = 'actions';
    fill(
      actions,
      html`<button type="button" data-merge="download">Download this window’s readings</button><button type="button" class="main" data-merge="merge" disabled>Merge both windows</button>`,
    );
    item.append(actions);
    const merge = actions.querySelector<HTMLButtonElement>('[data-merge="merge"]')!;
    actions.querySelector<HTMLButtonElement>('[data-merge="download"]')!.onclick = () => {
      const file = handOut('job');
      if (file === null) return;
      download(file.name, file.text, file.type);
      merge.disabled = false;
    };
    merge.onclick = () => void mergeWindows();
  }

  async function mergeWindows(): Promise<void> {
    if (session === null || !('load' in storage)) return;
    const { id, bundle } = session;
    const kept = await storage.load(id).catch(() => null);
    if (session?.id !== id || !kept?.book || kept.damaged !== null) {
      notice(
        'stop',
        'What the other window stored cannot be read. Keep the file you downloaded, and leave both windows open.',
      );
      return;
    }
    const mine = session.book;
    const merged = mergeBooks(saving.seen(), mine, kept.book.book);
    if (merged.differing.length > 0) {
      const text = bundleText(wholeJob(bundle, mine));
      const file = 'this-window-before-merging.json';
      const put = await storage.putAside({
        key: sha256Hex(JSON.stringify([id, file, text])),
        job: id,
        file,
        why: `Both windows changed the same readings (cycle ${merged.differing.join(', ')}): the other window’s count, this is what this window had.`,
        text,
      });
      if (put !== 'saved') {
        notice('stop', 'There is no room to keep both. Nothing was merged; keep the file you downloaded.');
        return;
      }
      asides = await storage.asides();
    }
    clearNotices('storage');
    // What was keyed while the other window's record was read is in `session.book`, and not in the merge.
    session.book = session.book === mine ? merged.book : mergeBooks(mine, session.book, merged.book).book;
    saving.begin(kept.book.revision, kept.book.book);
    save();
    changed();
    showJob();
    ask(true);
    notice(
      merged.differing.length > 0 ? 'caution' : 'note',
      merged.differing.length > 0
        ? `Merged. Both windows had changed the same readings of cycle ${merged.differing.join(', ')}: the other window’s count here; this window’s are listed under Hand over.`
        : 'Merged: what was keyed in either window is here.',
    );
  }

  /** The button that asked whether to discard for good, by what it discards: a list drawn anew must not forget it. */
  let asked: string | null = null;

  function askedOf(button: HTMLElement): string {
    return JSON.stringify(button.dataset);
  }

  /** A second click within a few seconds, on a button that says so. */
  function sure(button: HTMLElement): boolean {
    const what = askedOf(button);
    if (asked === what) {
      asked = null;
      return true;
    }
    asked = what;
    const before = button.textContent;
    button.textContent = SURE;
    setTimeout(() => {
      if (asked === what) asked = null;
      for (const each of document.querySelectorAll<HTMLElement>('button')) {
        if (each.textContent === SURE && askedOf(each) === what) each.textContent = before;
      }
    }, 6000);
    return false;
  }

  function onAside(event: Event, redraw: (all: readonly Aside[]) => void): void {
    const button = (event.target as HTMLElement).closest<HTMLElement>('[data-aside]');
    if (button === null || !('dropAside' in storage)) return;
    const one = asides[Number.parseInt(button.dataset.at ?? '', 10)];
    if (one === undefined) return;
    if (button.dataset.aside === 'download') {
      download(one.file, one.text, 'text/plain');
      return;
    }
    if (!sure(button)) return;
    void storage.dropAside(one.key).then(async () => {
      asides = await storage.asides();
      redraw(asides);
    }, showError);
  }

  /** Readings on a line the job does not have: download, put on a line, or discard. */
  function onUnfitted(button: HTMLElement): void {
    const { opened, book } = session!;
    const one = unfitted(book, opened.job)[Number.parseInt(button.dataset.at ?? '', 10)];
    if (one === undefined) return;
    if (button.dataset.unfitted === 'download') {
      const { text } = unfittedCsv(book, opened.job, one);
      download(`cycle-${one.cycle}-without-a-line.csv`, text, 'text/csv');
      return;
    }
    if (button.dataset.unfitted === 'map') {
      const to = button.closest('li')?.querySelector('select')?.value ?? '';
      if (!opened.job.lines.some((line) => line.name === to)) return;
      session!.book = mapUnfitted(book, one, to);
      const left = unfitted(session!.book, opened.job).find(
        (each) => each.cycle === one.cycle && each.line === one.line,
      );
      if (left !== undefined) {
        notice(
          'caution',
          `${left.count} reading${left.count === 1 ? '' : 's'} of ${one.line} stay where they are: ${to} has a reading at the same place already.`,
        );
      }
    } else {
      if (!sure(button)) return;
      session!.book = discardUnfitted(book, one);
    }
    save();
    changed();
    showJob();
    showOut();
    ask(true);
  }

  // ---- answering ----

  let asking: ReturnType<typeof setTimeout> | undefined;
  function ask(now: boolean): void {
    clearTimeout(asking);
    const go = () => {
      if (session !== null) worker.ask({ keyed: keyedReadings(reads()), version });
    };
    if (now) go();
    else asking = setTimeout(go, 700);
  }

  /** What is shown is from here on the answer to something older. */
  function changed(): void {
    version++;
    clearTimeout(keeping);
    showAge();
  }

  function receive(message: FromWorker, asked: number): void {
    if (session === null) return;
    if (message.kind === 'failed') {
      answer = null;
      showAnswer();
      byId('answer-state').textContent = `No answer: ${message.message}`;
      return;
    }
    const { opened } = session;
    const analysis = analysisOf(JSON.parse(message.text) as Answer, opened.job, allReadings(opened, reads()));
    const { before = null } = answer?.version === asked ? answer : {};
    if (before !== null && JSON.stringify(JSON.parse(before)) !== message.text) {
      notice(
        'caution',
        'The answer this page brought along differed from the one worked out here now; it has been replaced.',
      );
    }
    answer = { analysis, version: asked, before: null };
    performance.mark('sweepbook-answer', { detail: { ms: message.ms } });
    showAnswer();
    list.zonesChanged();
    keep(message.text);
  }

  let keeping: ReturnType<typeof setTimeout> | undefined;
  /** Keeps the answer on the device once it has stood a while, so that the page opens with it. */
  function keep(text: string): void {
    clearTimeout(keeping);
    if (!('saveAnswer' in storage) || answer?.version !== version) return;
    const { id, key } = session!;
    const own = answerKey(key, reads());
    keeping = setTimeout(() => void storage.saveAnswer(id, { key: own, text }), SETTLED);
  }

  /** The answer, if it is to what is keyed now. */
  function currentAnswer(): Shown | null {
    return answer?.version === version ? answer : null;
  }

  let wasOld = false;
  /** Marks an answer to older readings as that, or takes the mark off. */
  function showAge(): void {
    const old = answer !== null && answer.version !== version;
    byId('strip').toggleAttribute('data-old', old);
    byId('answer').toggleAttribute('data-old', old);
    show('strip-old', old);
    if (session === null || answer === null) return;
    byId('answer-state').textContent = old
      ? `${list.progress()}. Below: from before the last keys.`
      : list.progress();
    if (old !== wasOld && !byId('out').hidden) showOut();
    wasOld = old;
  }

  function showAnswer(): void {
    if (session === null) return;
    const strip = byId('strip-verdict');
    showAge();
    if (answer === null) {
      strip.textContent = 'Working it out';
      byId('strip-figure').textContent = '';
      byId('answer-state').textContent = 'Working it out';
      fill(byId('answer-body'), html``);
      return;
    }
    const { analysis } = answer;
    const short = answerInShort(analysis, session.book.line, session.book.cycle);
    if (strip.textContent !== short.verdict) {
      strip.textContent = short.verdict;
      byId('verdict-say').textContent = short.verdict;
    }
    byId('strip').dataset.verdict = short.verdict === 'Read on' ? '' : analysis.member.verdict;
    byId('strip-figure').textContent = short.figure;
    performance.mark('sweepbook-shown');
    if (!byId('answer').hidden) {
      const width = Math.max(300, Math.min(900, byId('answer-body').clientWidth));
      fill(byId('answer-body'), answerHtml(analysis, session.book.line, session.book.cycle, width));
    }
    if (!byId('out').hidden) showOut();
  }

  // ---- showing ----

  const wide = matchMedia('(min-width: 68rem)');
  function setView(next: View): void {
    view = next;
    if (session === null) return;
    // Side by side where there is room: readings stay, the answer or the hand-over is beside them.
    const beside = wide.matches;
    show('entry', beside || next === 'entry');
    show('answer', next === 'answer' || (beside && next === 'entry'));
    show('out', next === 'out');
    for (const button of byId('views').querySelectorAll('button')) {
      button.setAttribute('aria-pressed', String(button.dataset.view === next));
    }
    showAnswer();
    if (next === 'out') showOut();
  }
  wide.addEventListener('change', () => setView(view));

  function showJob(): void {
    if (session === null) return;
    const { opened, book } = session;
    const sheet = currentSheet(book);
    byId('job-name').textContent = opened.job.name;
    document.title = `${opened.job.name}: readings`;
    byId('bar-facts').textContent =
      `${book.cycle === 0 ? 'As found (cycle 0)' : `Cycle ${book.cycle}`}${sheet === null || sheet.date === '' ? '' : `, ${dateText(sheet.date, opened.job.locale)}`}`;
    list.render();
  }

  function showOut(): void {
    if (session === null) return;
    const { bundle, opened, book } = session;
    // An answer of the worker can arrive between a choice and the click that acts on it: what was
    // chosen stays chosen, or the readings would go on the first line of the job.
    const body = byId('out-body');
    const chosen = new Map<string, string>();
    for (const select of body.querySelectorAll('select')) chosen.set(select.ariaLabel ?? '', select.value);
    fill(
      body,
      outHtml({
        job: opened.job,
        bundle,
        sheets: reads(),
        cycle: book.cycle,
        canShare,
        unfitted: unfitted(book, opened.job),
        asides,
        answered: (currentAnswer()?.analysis.readings.length ?? 0) > 0,
      }),
    );
    for (const select of body.querySelectorAll('select')) {
      const line = chosen.get(select.ariaLabel ?? '');
      if (line !== undefined && opened.job.lines.some(({ name }) => name === line)) select.value = line;
    }
    for (const button of body.querySelectorAll<HTMLElement>('button')) {
      if (askedOf(button) === asked) button.textContent = SURE;
    }
  }

  function reads(): SheetRead[] {
    const { book, opened } = session!;
    return book.sheets.map((sheet) => readSheet(sheet, opened));
  }

  function notice(severity: 'note' | 'caution' | 'stop', text: string, topic = ''): void {
    const box = byId('notices');
    if ([...box.children].some((each) => each.querySelector('span')?.textContent === text)) return;
    const item = document.createElement('div');
    item.className = `notice ${severity}`;
    item.dataset.topic = topic;
    fill(
      item,
      html`<span>${text}</span><button type="button" class="quiet" aria-label="Put this notice away">Close</button>`,
    );
    item.querySelector('button')!.onclick = () => item.remove();
    box.append(item);
  }

  function clearNotices(topic?: string): void {
    for (const item of [...byId('notices').children] as HTMLElement[]) {
      if (topic === undefined || item.dataset.topic === topic) item.remove();
    }
  }

  function showError(error: unknown): void {
    clearNotices('error');
    if (!(error instanceof InputError)) {
      notice('stop', error instanceof Error ? error.message : String(error), 'error');
      return;
    }
    notice('stop', error.message, 'error');
    const item = [...byId('notices').children].at(-1)!;
    const lines = describeProblems(error.problems);
    if (lines.length === 0) return;
    const shown = lines.slice(0, 25);
    const more = document.createElement('ul');
    fill(
      more,
      html`${shown.map((line) => html`<li>${line}</li>`)}${lines.length > shown.length ? html`<li>and ${lines.length - shown.length} more</li>` : ''}`,
    );
    item.querySelector('span')!.append(more);
  }

  // ---- handing over ----

  function handOut(what: string): { name: string; text: string; type: string } | null {
    const { bundle, opened, book } = session!;
    const now = currentAnswer();
    const stem =
      opened.job.name
        .toLowerCase()
        .replace(/[^a-z0-9]+/g, '-')
        .replace(/^-+|-+$/g, '')
        .slice(0, 60) || 'job';
    const sheet = reads().find((each) => each.sheet.cycle === book.cycle);
    switch (what) {
      case 'csv':
        return sheet === undefined
          ? null
          : { name: sheet.sheet.file.replace('readings/', ''), text: sheet.csv.text, type: 'text/csv' };
      case 'job':
        return {
          name: `${stem}-whole-job.json`,
          text: bundleText(wholeJob(bundle, book)),
          type: 'application/json',
        };
      case 'status':
        return now === null
          ? null
          : {
              name: `${stem}-status.json`,
              // As `sweepbook status --json` prints it.
              text: `${JSON.stringify(statusDocument(now.analysis), null, 2)}\n`,
              type: 'application/json',
            };
      case 'daily':
        return now === null
          ? null
          : {
              name: `${stem}-daily-cycle-${String(book.cycle).padStart(2, '0')}.html`,
              text: dailySheet(now.analysis),
              type: 'text/html',
            };
      default:
        return null;
    }
  }

  function dailySheet(analysis: Analysis): string {
    const { bundle } = session!;
    return renderDaily(analysis, {
      generated: today(),
      tool: `Sweepbook ${SWEEPBOOK_VERSION}, readings page`,
      fraction: 16,
      files: [
        ...bundle.files.map(({ file, sha256: digest, rows, note }) => ({ file, sha256: digest, rows, note })),
        ...reads()
          .filter((read) => !read.filed && read.csv.count > 0)
          .map((read) => ({
            file: read.sheet.file,
            sha256: sha256Hex(read.csv.text),
            rows: read.csv.count,
            note: 'keyed on the readings page, not in the ledger yet',
          })),
      ],
      ledger: bundle.ledger,
      ledgerSeal: bundle.seal,
      plotly: null,
    });
  }

  byId('out-body').addEventListener('click', (event) => {
    onAside(event, showOut);
    const homeless = (event.target as HTMLElement).closest<HTMLElement>('[data-unfitted]');
    if (homeless !== null && session !== null) onUnfitted(homeless);
    const act = (event.target as HTMLElement).closest<HTMLElement>('[data-do]')?.dataset.do;
    if (act === undefined || session === null) return;
    if (act === 'close') {
      forget();
      void showStart();
      return;
    }
    const file = handOut(act.replace('share-', ''));
    if (file === null) return;
    if (act.startsWith('share-')) void pass(file);
    else download(file.name, file.text, file.type);
  });

  /** Shares a file; where the device will not, it is downloaded, and that is said. */
  async function pass({ name, text, type }: { name: string; text: string; type: string }): Promise<void> {
    if ((await share(name, text, type)) !== 'refused') return;
    download(name, text, type);
    notice('caution', `This device would not share ${name}. It has been downloaded instead.`);
  }

  byId('views').addEventListener('click', (event) => {
    const next = (event.target as HTMLElement).closest<HTMLElement>('[data-view]')?.dataset.view;
    if (next !== undefined) setView(next as View);
  });
  byId('strip').addEventListener('click', () => setView('answer'));

  byId('choices').addEventListener('click', (event) => {
    if ((event.target as HTMLElement).closest('#cycle-button') === null || session === null) return;
    openSheetDialog(
      session.book,
      nextCycle(session.opened, session.book),
      today(),
      session.opened.job.locale,
      (cycle, date) => {
        const { bundle, book } = session!;
        const taken = bundle.files.map((file) => file.file);
        session!.book = setDate(openSheet(book, cycle, date, taken), date);
        save();
        changed();
        showJob();
        list.start();
        ask(true);
      },
    );
  });

  for (const id of ['pick-files', 'pick-folder']) {
    byId<HTMLInputElement>(id).addEventListener(
      'change',
      (event) => void pick(event.target as HTMLInputElement),
    );
  }
  byId('out').addEventListener('change', (event) => {
    const input = event.target as HTMLInputElement;
    if (input.id === 'pick-csv') void pick(input);
  });
  async function pick(input: HTMLInputElement): Promise<void> {
    try {
      await take(await textsOf(input.files ?? []));
    } catch (error) {
      showError(error);
    }
    input.value = '';
  }

  document.addEventListener('dragover', (event) => event.preventDefault());
  document.addEventListener('drop', (event) => {
    event.preventDefault();
    if (event.dataTransfer === null) return;
    void droppedFiles(event.dataTransfer).then(take, showError);
  });

  byId<HTMLFormElement>('new-job').addEventListener('submit', (event) => {
    event.preventDefault();
    const form = Object.fromEntries(new FormData(event.target as HTMLFormElement)) as unknown as NewJob;
    let assumed: readonly string[] = [];
    void tryOpen(() => {
      const made = newJobText(form, `${PAGE_ID}${randomId()}`);
      assumed = made.assumed;
      return bundleOf(made.text);
    }).then(() => {
      if (session !== null && assumed.length > 0) notice('caution', `Assumed: ${assumed.join(' ')}`);
    });
  });

  window.addEventListener('beforeunload', (event) => {
    if (unsaved) event.preventDefault();
  });

  let resizing: ReturnType<typeof setTimeout> | undefined;
  window.addEventListener('resize', () => {
    clearTimeout(resizing);
    resizing = setTimeout(showAnswer, 200);
  });

  // ---- beginning ----

  const inside = byId(JOB_INSIDE).textContent ?? 'null';
  if (inside.trim() !== 'null') {
    await tryOpen(() => rehashed(parseBundle(inside, 'the job inside this page')), answerInside());
  } else {
    const last = recall();
    if (last !== null) await openKept(last);
  }
  if (session === null) await showStart();
}

/** The answer written into the page with the job; null where there is none. */
function answerInside(): FinishedAnswer | null {
  const text = byId(ANSWER_INSIDE).textContent ?? '';
  const match = /^\{"key":"([0-9a-f]{64})","answer":/.exec(text);
  return match === null ? null : { key: match[1]!, text: text.slice(match[0].length, -1) };
}

function randomId(): string {
  return [...crypto.getRandomValues(new Uint8Array(16))]
    .map((byte) => byte.toString(16).padStart(2, '0'))
    .join('');
}

/** Units of a kept job; null where its job.json cannot be read. */
function unitsOf(bundle: JobBundle): JobUnits | null {
  try {
    return openBundle({ ...bundle, files: [] }).job.units;
  } catch {
    return null;
  }
}

/** The date on the wall where the page is used. */
function today(): string {
  const now = new Date();
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}

function remember(id: string): void {
  try {
    localStorage.setItem(LAST_OPEN, id);
  } catch {
    // Only a convenience: the job is offered on the first screen anyway.
  }
}

function recall(): string | null {
  try {
    return localStorage.getItem(LAST_OPEN);
  } catch {
    return null;
  }
}

function forget(): void {
  try {
    localStorage.removeItem(LAST_OPEN);
  } catch {
    // as above
  }
}
