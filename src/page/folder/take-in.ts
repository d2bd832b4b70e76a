import { JOB_FILE } from '../../folder/names.ts';
import { readLedger } from '../../folder/read-record.ts';
import { GROWING_FILES } from '../../ledger/inputs.ts';
import type { LedgerEntry, LedgerRecord } from '../../ledger/record.ts';
import { utf8Text } from '../../utf8.ts';
import type { JobBundle } from '../job-bundle.ts';
import { reread, withRecord } from '../ledger/record.ts';
import { photosOfBoth } from '../photos/carried.ts';
import { bundleOfFolder } from './bundle-of-folder.ts';
import type { FolderFiles } from './folder-now.ts';

/** A job as the folder has it now, with what only this page had put on top of it. */
export interface TakenIn {
  readonly bundle: JobBundle;
  /** What both sides changed differently: the folder's stands, this is what the page had. */
  readonly apart: readonly { readonly file: string; readonly text: string }[];
}

/**
 * Takes in what somebody else wrote into the folder since the page read it: the folder's files and ledger, then the
 * page's own changes of files nobody else changed, its own rows at the end of logs both added to, and its own ledger
 * records after the folder's.
 *
 * @param before the folder as the page had it
 * @param now the folder as it is
 * @param mine the page's job, which goes on from `before`
 * @param when ISO date-time for records that would else be dated before the folder's last
 * @param fresh an id nobody has
 */
export function takeIn(
  name: string,
  before: FolderFiles,
  now: FolderFiles,
  mine: JobBundle,
  when: string,
  fresh: string,
): TakenIn {
  const apart: { file: string; text: string }[] = [];
  const textIn = (files: FolderFiles, file: string): string | null => {
    const bytes = files.get(file);
    return bytes === undefined ? null : utf8Text(bytes);
  };
  const merged = (file: string, own: string): string => {
    const [base, theirs] = [textIn(before, file), textIn(now, file)];
    if (own === base || own === theirs) return theirs ?? own;
    if (theirs === base) return own;
    const grows = (GROWING_FILES as readonly string[]).includes(file);
    // One goes on where the other ends: nothing of either is lost.
    if (grows && base === null && theirs !== null && (own.startsWith(theirs) || theirs.startsWith(own)))
      return own.length > theirs.length ? own : theirs;
    if (grows && base !== null && theirs?.startsWith(base) === true && own.startsWith(base)) {
      const end = theirs.endsWith('\n') ? '' : '\n';
      return theirs + end + own.slice(base.length).replace(/^\n/, '');
    }
    apart.push({ file, text: own });
    return theirs ?? own;
  };
  const theirs = bundleOfFolder(name, now);
  const own = new Map(mine.others.map(({ file, text }) => [file, text]));
  const others = new Map(theirs.others.map(({ file, text }) => [file, text]));
  for (const [file, text] of own) others.set(file, merged(file, text));
  const added = mine.files.filter(
    ({ file, text }) =>
      !before.has(file) && !theirs.files.some((each) => each.file === file || each.text === text),
  );
  let bundle = reread({
    ...theirs,
    ...photosOfBoth(theirs, mine),
    job: merged(JOB_FILE, mine.job),
    others: [...others].map(([file, text]) => ({ file, text })),
    files: [...theirs.files, ...added],
  });
  const count = recordsOf(before).length;
  let last = recordsOf(now).at(-1)?.when ?? '';
  for (const record of readRecords(mine).slice(count)) {
    last = record.when >= last ? record.when : when;
    bundle = withRecord(bundle, entryOf(record), last, fresh);
  }
  return { bundle, apart };
}

/** Cycles keyed here that the folder has readings of since: both count then, as repeats. */
export function keyedTwice(
  keyed: readonly number[],
  had: readonly { readonly cycle: number }[],
  has: readonly { readonly cycle: number }[],
): number[] {
  const old = new Set(had.map(({ cycle }) => cycle));
  const fresh = new Set(has.map(({ cycle }) => cycle).filter((cycle) => !old.has(cycle)));
  return keyed.filter((cycle) => fresh.has(cycle));
}

function recordsOf(files: FolderFiles): readonly LedgerRecord[] {
  return readLedger({ bytes: (file) => files.get(file) ?? null }).records;
}

function readRecords({ ledgerText }: JobBundle): readonly LedgerRecord[] {
  const bytes = new TextEncoder().encode(ledgerText ?? '');
  return readLedger({ bytes: (file) => (file === 'ledger.jsonl' ? bytes : null) }).records;
}

/** What a record says, without what the ledger it stood in gave it. */
function entryOf(record: LedgerRecord): LedgerEntry {
  const { seq, when, previous, id, copyOf, jobFile, heatLog, inputs, sealGone, lost, ...entry } = record;
  return entry;
}
