import { nextRecord } from '../../folder/next-record.ts';
import { InputError } from '../../input-error.ts';
import { checkChain, headOf, type Ledger } from '../../ledger/chain.ts';
import { idInJob, PAGE_ID } from '../../ledger/identity.ts';
import type { LedgerEntry } from '../../ledger/record.ts';
import { utf8Bytes, utf8Text } from '../../utf8.ts';
import { bundleOfInside, ledgerLines } from '../folder-files.ts';
import type { JobBundle } from '../job-bundle.ts';
import { logsOfBoth } from '../logs/logs-of-both.ts';
import { filesInMemory } from '../papers/files-in-memory.ts';
import { textsOfBook } from '../papers/files-of-book.ts';
import { photosOfBoth } from '../photos/carried.ts';
import { ADDED } from '../session.ts';

/** Who decided, and why: every record of a decision has both. */
export interface Said {
  readonly who: string;
  readonly why: string;
}

/** The job read anew from its own texts: marks, findings and standings then say what its ledger says now. */
export function reread(bundle: JobBundle): JobBundle {
  const inside = [...textsOfBook(bundle, [])].map(([file, text]) => ({ file, text }));
  const next = bundleOfInside(bundle.job, inside, bundle.panels !== undefined, bundle.photos ?? []);
  const added = new Set(bundle.files.filter(({ note }) => note === ADDED).map(({ file }) => file));
  const files = next.files.map((each) =>
    added.has(each.file) && each.note.startsWith('not in the ledger') ? { ...each, note: ADDED } : each,
  );
  return { ...next, files, sheets: bundle.sheets };
}

/**
 * The job with one more record at the end of its ledger, read anew: number, time and chain, the job's id and the inputs
 * as they are now, as the command line writes them. What the record speaks of is in the job already.
 *
 * @param when ISO date-time, UTC
 * @param fresh an id nobody has, for a job that needs one
 */
export function withRecord(bundle: JobBundle, entry: LedgerEntry, when: string, fresh: string): JobBundle {
  const texts = [...textsOfBook(bundle, [])].map(([file, text]) => [file, utf8Bytes(text)] as const);
  const files = filesInMemory('the job', new Map(texts), []);
  const { record, ledger, head, job } = nextRecord(files, entry, when, fresh);
  const seal = headOf(head)!;
  return reread({
    ...bundle,
    job: job ?? bundle.job,
    ledgerText: utf8Text(ledger),
    headText: head,
    seal: { records: record.seq, sha256: seal.sha256 },
  });
}

/**
 * Whether a record can be written here: there is a ledger to go on, or the job was begun on a page. A job.json that came
 * without its ledger has one elsewhere, and a second one begun here would make two jobs of one.
 */
export function canRecord({ job, ledgerText }: JobBundle): boolean {
  return (ledgerText ?? '').trim() !== '' || (idInJob(job) ?? '').startsWith(PAGE_ID);
}

/** @throws InputError where no record can be written here */
export function requireLedger(bundle: JobBundle): void {
  if (canRecord(bundle)) return;
  throw new InputError(
    'This job came without its ledger, so nothing can be recorded in it here. Open the whole job folder, or a whole-job file.',
  );
}

/**
 * A job as this device has it, its ledger going on where that of a file of the same job ends: the device's, with the
 * files only the other one has.
 */
export function goneOn(kept: JobBundle, incoming: JobBundle): JobBundle {
  const texts = new Set(kept.files.map(({ text }) => text));
  const names = new Set([...kept.files, ...kept.others].map(({ file }) => file));
  const fresh = <F extends { readonly file: string; readonly text: string }>(all: readonly F[]) =>
    all.filter(({ file, text }) => !names.has(file) && !texts.has(text));
  const panels = kept.panels ?? incoming.panels;
  return reread({
    ...kept,
    ...photosOfBoth(kept, incoming),
    ...(panels === undefined ? {} : { panels }),
    files: [...kept.files, ...fresh(incoming.files)],
    others: logsOfBoth({ ...kept, others: [...kept.others, ...fresh(incoming.others)] }, incoming).others,
    sheets: incoming.sheets,
  });
}

/** The ledger a job carries, its chain tested up to its seal. */
export function ledgerOfJob({ ledgerText, seal }: JobBundle): Ledger {
  return checkChain(
    ledgerLines(ledgerText ?? ''),
    seal === null ? 'not given' : { seq: seal.records, sha256: seal.sha256 },
  );
}
