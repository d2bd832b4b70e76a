import type { Job, JobUnits } from '../../job/job.ts';
import { sha256Hex } from '../../sha256.ts';
import { jobKey } from '../answer-key.ts';
import { type BothSides, bothSides } from '../both-sides.ts';
import type { FinishedAnswer } from '../finished-answer.ts';
import { bundleOfFiles, type GivenFile } from '../folder-files.ts';
import { bundleText, type JobBundle, looksLikeBundle } from '../job-bundle.ts';
import { goneOn } from '../ledger/record.ts';
import { logsOfBoth } from '../logs/logs-of-both.ts';
import { type OpenedBundle, openBundle } from '../open-bundle.ts';
import type { Session } from '../open-session.ts';
import { continues, keysOf, recordsBehind, sameJob, storeName } from '../same-job.ts';
import { ADDED, continueBook, emptyBook, joinKept, likeness, sameEvidence, wholeJob } from '../session.ts';
import type { Aside } from '../state.ts';
import { unfitted } from '../unfitted.ts';
import { download } from './deliver.ts';
import { choose, clearNotices, notice, showError } from './notices.ts';
import type { Kept, Storage } from './storage.ts';
import type { Store } from './store.ts';
import { today } from './wall.ts';

/** Digest of the core's script in this page. */
declare const SWEEPBOOK_CORE: string;

export interface OpeningPorts {
  /** A job is open, with the answers there were to it, and the book as the device has it. */
  readonly opened: (
    session: Session,
    finished: readonly (FinishedAnswer | null)[],
    kept: Kept | null,
  ) => void;
  /** Takes files of readings into the open job. */
  readonly addFiles: (given: readonly GivenFile[]) => Promise<void>;
}

/** Things of one side that are listed in a question; the rest are counted. */
const MOST_NEWS = 12;

/** Brings jobs in: from files, from inside the page, from the device; what the device kept of them joins. */
export function opening(store: Store, storage: Storage | { readonly refused: string }, ports: OpeningPorts) {
  async function open(file: JobBundle, finished: FinishedAnswer | null, known: string | null): Promise<void> {
    const given = openBundle(file);
    const { id, kept, asked } =
      known === null ? await keptOf(file, given.job) : { id: known, kept: await load(known), asked: false };
    const sides = known === null && kept !== null ? sidesOf(kept, file, given.job) : null;
    if (sides !== null && !asked && !(await mayJoin(sides))) return;
    const behind = known === null && kept?.bundle ? recordsBehind(kept.bundle, file) : 0;
    const incoming =
      behind > 0 && kept?.bundle && continues(kept.bundle, file) ? goneOn(kept.bundle, file) : file;
    const first = incoming === file ? given : openBundle(incoming);
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
    if (kept?.bundle && known === null && !continues(incoming, kept.bundle)) {
      aside(
        'this-device-before.json',
        'The ledgers of this device and of the file part from each other, and the file was taken: this is the whole job as the device had it.',
        bundleText(wholeJob(kept.bundle, kept.book?.book ?? emptyBook(first.job))),
      );
    }
    const { joined, opened } = joinReadable(incoming, first, kept, aside);
    const parted = incoming === file ? joined.apart : logsOfBoth(incoming, file).apart;
    for (const each of parted) {
      const whose = incoming === file ? 'this-device' : 'the-file';
      aside(
        `${whose}-${each.file}`,
        `${each.file} was changed on both sides: this one is not the one that stands.`,
        each.text,
      );
    }
    if ('putAside' in storage) await putAside(put);
    const taken = joined.bundle.files.map((file) => file.file);
    const book = continueBook(joined.book, opened, today(), taken);
    const session = {
      ...{ id, bundle: joined.bundle, opened, book },
      key: jobKey(SWEEPBOOK_CORE, joined.bundle),
    };
    const asides = 'asides' in storage ? await storage.asides() : [];
    clearNotices();
    store.set({ session, answer: null, version: store.get().version + 1, asides, own: {} });
    ports.opened(session, [finished, kept?.answer ?? null], kept);
    sayHomeless(session);
    if (put.length > 0) {
      notice(
        'stop',
        `Something this device kept does not fit this job and was put aside: ${put.map((each) => each.why).join(' ')} It is listed under Papers.`,
      );
    }
    if (behind > 0) {
      notice(
        'caution',
        `This is an older file of the job: its ledger ends ${behind} record${behind === 1 ? '' : 's'} before the one this device had last. The device’s goes on here, with what was recorded since.`,
      );
    }
    if (sides !== null && sides.theirs.length > 0)
      notice('note', `This device kept this job. New from the file: ${sides.theirs.join('; ')}.`);
    for (const cycle of joined.clashes) {
      notice(
        'caution',
        `Cycle ${cycle} was keyed on this device and in the file, and they differ. Where they do, this device’s are kept; the file still has the others.`,
      );
    }
    if ('refused' in storage) {
      notice(
        'stop',
        `This browser will not keep anything for this page (${storage.refused}). What you key is lost when the page closes: hand it over (download) before you leave.`,
      );
    } else if ((await storage.saveBundle(id, joined.bundle)) !== 'saved') {
      notice(
        'stop',
        'The job is too large for this device’s storage, or storage is full. Hand the readings over (download) before you leave the page.',
      );
    }
    void navigator.storage?.persist?.().catch(() => false);
  }

  async function putAside(put: readonly Aside[]): Promise<void> {
    if (!('putAside' in storage)) return;
    for (const each of put) {
      if ((await storage.putAside(each)) === 'saved') continue;
      // Saving would write over the only copy.
      download(each.file, each.text, 'application/json');
      throw new Error(
        `What this device kept of this job does not fit it, and there is no room to put it aside (${each.file} has been downloaded). The job was not opened, and nothing kept was changed.`,
      );
    }
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
  ): Promise<{ readonly id: string; readonly kept: Kept | null; readonly asked: boolean }> {
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
    if (found !== undefined) return { ...found, asked: false };
    for (const copy of copies) {
      const count = placesKeyed(copy.kept);
      if (count === 0) continue;
      const join = await choose(
        [
          `This device has readings at ${count} place${count === 1 ? '' : 's'} keyed in a job with the same id, but the records or readings of the two are not the same: a folder copied for another girder keeps its id. Is it the same girder?`,
          ...newsOf(sidesOf(copy.kept, incoming, job)),
        ].join(' '),
        'Same girder: take them along',
        'Another girder: leave them out',
      );
      if (join) return { ...copy, asked: true };
    }
    const own = name === alike ? `${alike}\n${sha256Hex(incoming.job)}` : taken ? `${name} ${digest}` : name;
    if (name === alike) {
      const kept = await load(own);
      if (kept !== null) return { id: own, kept, asked: false };
    }
    const other = await load(alike);
    const into = name === alike ? alike : own;
    if (other === null) return { id: into, kept: null, asked: false };
    if (other.bundle !== null && sameEvidence(other.bundle, incoming))
      return { id: into, kept: withNewName(other, into, alike), asked: false };
    const count = placesKeyed(other);
    if (count === 0 && other.damaged === null) return { id: own, kept: null, asked: false };
    const join = await choose(
      `This device has a job like this one, with readings at ${count} place${count === 1 ? '' : 's'} keyed in it: the same name, units and span. Is it the same girder?`,
      'Same girder: take them along',
      'Another girder: leave them out',
    );
    return join
      ? { id: into, kept: withNewName(other, into, alike), asked: true }
      : { id: own, kept: null, asked: true };
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
    const before = store.get().session;
    const job = given.some((file) => /(^|\/)job\.json$/i.test(file.path) || looksLikeBundle(file.text));
    if (before === null || job) {
      await tryOpen(() => bundleOfFiles(given));
      const now = store.get().session;
      const whole = given.some((file) => looksLikeBundle(file.text));
      const seal = now === before ? null : (now?.bundle.seal ?? null);
      if (whole && seal !== null) {
        notice(
          'note',
          `Opened from one file of ${seal.records} ledger record${seal.records === 1 ? '' : 's'}, seal ${seal.sha256.slice(0, 16)}…. Compare it with the seal on a printed report: a file rewritten throughout agrees with itself, and only a seal noted elsewhere shows it.`,
        );
      }
      return;
    }
    await ports.addFiles(given.filter((file) => /\.(csv|txt|tsv)$/i.test(file.path)));
  }

  return {
    tryOpen,
    take,
    openKept: async (id: string): Promise<void> => {
      const kept = await load(id).catch((error: unknown) => {
        showError(error);
        return null;
      });
      if (kept === null) return;
      const { bundle } = kept;
      if (bundle === null) {
        notice(
          'stop',
          'The job itself is not (or no longer) readable on this device; what was keyed is. Open the job from its files: what was keyed joins it. It can be downloaded here.',
        );
        return;
      }
      await tryOpen(() => bundle, null, id);
    },
  };
}

/** Null where the device has no whole job to compare. */
function sidesOf({ bundle, book }: Kept, incoming: JobBundle, job: Job): BothSides | null {
  return bundle === null ? null : bothSides({ bundle, book: book?.book ?? emptyBook(job) }, incoming);
}

/** What each side has that the other has not, in sentences. */
function newsOf(sides: BothSides | null): string[] {
  if (sides === null) return [];
  const said = (what: string, all: readonly string[]) => {
    const left = all.length - MOST_NEWS;
    return all.length === 0
      ? []
      : [`${what}: ${all.slice(0, MOST_NEWS).join('; ')}${left > 0 ? `; and ${left} more` : ''}.`];
  };
  return [
    ...said('Only in the file', sides.theirs),
    ...said('Only on this device', sides.ours),
    ...said('Different in both', sides.both),
  ];
}

/** Where both sides have something the other has not: what it is, before anything is taken; true to put them together. */
async function mayJoin(sides: BothSides): Promise<boolean> {
  const { ours, theirs, both } = sides;
  if (both.length === 0 && (ours.length === 0 || theirs.length === 0)) return true;
  return choose(
    `This device has this job too, and each has something the other has not. ${newsOf(sides).join(' ')} Nothing has been taken yet.`,
    'Put the two together',
    'Take nothing; this device’s stays as it is',
  );
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
  if (before !== null && before !== first.job.units && book.sheets.some((sheet) => sheet.cells.length > 0)) {
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

function sayHomeless({ book, opened }: Session): void {
  const homeless = unfitted(book, opened.job);
  if (homeless.length === 0) return;
  const names = [...new Set(homeless.map((each) => each.line))].join(', ');
  const count = homeless.reduce((sum, each) => sum + each.count, 0);
  notice(
    'stop',
    `${count} keyed reading${count === 1 ? ' is' : 's are'} on a line this job does not have (${names}), and count${count === 1 ? 's' : ''} nowhere. Papers lists them: download them, put them on a line, or discard them.`,
  );
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

/** Units of a kept job; null where its job.json cannot be read. */
function unitsOf(bundle: JobBundle): JobUnits | null {
  try {
    return openBundle({ ...bundle, files: [] }).job.units;
  } catch {
    return null;
  }
}
