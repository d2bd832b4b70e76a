import type { Job } from '../job/job.ts';
import type { Reading } from '../survey/survey.ts';
import { allReadings, readSheet, type SheetRead } from './all-readings.ts';
import { type Book, openSheet } from './book.ts';
import type { JobBundle } from './job-bundle.ts';
import { logsOfBoth } from './logs/logs-of-both.ts';
import { mergeBooks } from './merge-books.ts';
import type { OpenedBundle } from './open-bundle.ts';
import { photosOfBoth } from './photos/carried.ts';

/** What jobs of one girder have in common, and jobs of two may have: nothing is joined by it without asking. */
export function likeness(job: Pick<Job, 'name' | 'units' | 'member'>): string {
  return `${job.name}\n${job.units}\n${job.member.span.toFixed(3)}`;
}

export function emptyBook(job: Job): Book {
  return { sheets: [], cycle: 0, line: job.lines[0]!.name, state: 'released', undo: [], redo: [] };
}

/** True where a job on the device is the incoming one by its evidence: the same job.json, and its files are among these. */
export function sameEvidence(kept: JobBundle, incoming: JobBundle): boolean {
  const texts = new Set(incoming.files.map((file) => file.text));
  const own = kept.files.filter((file) => file.note !== ADDED);
  return kept.job === incoming.job && own.length > 0 && own.every((file) => texts.has(file.text));
}

/** What happened when a job came in that this device knew already. */
export interface Joined {
  readonly bundle: JobBundle;
  readonly book: Book;
  /** Cycles keyed on both sides with different readings: the device's were kept. */
  readonly clashes: readonly number[];
  /** Logs of the device that part from the incoming ones: those stand. */
  readonly apart: readonly { readonly file: string; readonly text: string }[];
}

/**
 * A job that comes in (inside the page, from files) with what this device kept of it. Nothing kept is lost: its sheets
 * stay, with the places only the incoming ones have; its logs stay where they go on from the incoming ones; and the files
 * that were added here are put beside the incoming ones.
 */
export function joinKept(
  incoming: JobBundle,
  job: Job,
  kept: { readonly bundle: JobBundle | null; readonly book: Book } | null,
): Joined {
  const book = kept?.book ?? emptyBook(job);
  const line = job.lines.some((each) => each.name === book.line) ? book.line : job.lines[0]!.name;
  const begun = book.sheets.filter(
    (sheet) => sheet.cells.length > 0 || !incoming.sheets.some(({ cycle }) => cycle === sheet.cycle),
  );
  // Nothing is known of what both once had: where they differ this device's stand, and that is told.
  const merged = mergeBooks(null, { ...book, sheets: incoming.sheets }, { ...book, sheets: begun });
  const known = new Set(incoming.files.map((file) => file.text));
  const names = new Set(incoming.files.map((file) => file.file));
  const added = (kept?.bundle?.files ?? []).filter(
    (file) => file.note === ADDED && !known.has(file.text) && !names.has(file.file),
  );
  // Only what the incoming ledger knows of: another picture of that name would be another job's.
  const pictures = (kept?.bundle?.photos ?? []).filter(({ file }) =>
    (incoming.ledgerText ?? '').includes(JSON.stringify(file)),
  );
  const photos = photosOfBoth(incoming, { ...incoming, photos: pictures });
  const { others, apart } =
    kept?.bundle == null ? { others: incoming.others, apart: [] } : logsOfBoth(incoming, kept.bundle);
  return {
    bundle: { ...incoming, ...photos, sheets: [], files: [...incoming.files, ...added], others },
    book: { ...book, line, sheets: merged.book.sheets },
    clashes: merged.differing,
    apart,
  };
}

export const ADDED = 'added on the readings page';

/** Goes on with the newest sheet that is not in the job's files yet; else begins the next cycle. */
export function continueBook(book: Book, opened: OpenedBundle, date: string, taken: Iterable<string>): Book {
  const reads = book.sheets.map((sheet) => readSheet(sheet, opened));
  const open = reads.filter((read) => !read.filed).map((read) => read.sheet.cycle);
  if (open.includes(book.cycle)) return book;
  const newest = open.at(-1);
  if (newest !== undefined) return { ...book, cycle: newest };
  return openSheet(book, nextCycle(opened, book), date, taken);
}

/** One more than the last cycle there is; 0 (as found) for a job without readings. */
export function nextCycle(opened: OpenedBundle, book: Book): number {
  const keyed = book.sheets.filter((sheet) => sheet.cells.length > 0).map((sheet) => sheet.cycle);
  let last = -1;
  for (const { cycle } of opened.readings) last = Math.max(last, cycle);
  return Math.max(last, ...keyed) + 1;
}

/** Readings of the job without those of one sheet: what that sheet is checked against. */
export function otherReadings(opened: OpenedBundle, reads: readonly SheetRead[], cycle: number): Reading[] {
  return allReadings(
    opened,
    reads.filter((read) => read.sheet.cycle !== cycle),
  );
}

/** The job with its sheets, as one file. */
export function wholeJob(bundle: JobBundle, book: Book): JobBundle {
  return { ...bundle, sheets: book.sheets.map((sheet) => ({ ...sheet })) };
}
