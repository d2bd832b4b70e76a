import { incomingName, JOB_FILE } from '../../folder/names.ts';
import { nextRecord } from '../../folder/next-record.ts';
import { readLedger } from '../../folder/read-record.ts';
import { SurveyTally } from '../../folder/survey-tally.ts';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { readOptions } from '../../job/read-options.ts';
import { EMPTY_HEAD, HEAD_FILE, LEDGER_FILE } from '../../ledger/chain.ts';
import { keptFiles } from '../../ledger/contents.ts';
import type { KeptFile } from '../../ledger/record.ts';
import { readReadings } from '../../read/readings-csv.ts';
import { sha256Hex } from '../../sha256.ts';
import { utf8Bytes, utf8Text } from '../../utf8.ts';
import { filesInMemory } from '../papers/files-in-memory.ts';
import type { FolderFiles } from './folder-now.ts';

/** One write of a file, or its taking away, in a place of its own in the order. */
export type FolderStep =
  | { readonly kind: 'write'; readonly file: string; readonly bytes: Uint8Array<ArrayBuffer> }
  | { readonly kind: 'remove'; readonly file: string };

export interface FolderPlan {
  /** The folder as it was when this was planned: written only while it is still that. */
  readonly before: FolderFiles;
  readonly steps: readonly FolderStep[];
  /** What is written, for people. */
  readonly said: readonly string[];
  /** Newest record afterwards. */
  readonly records: number;
}

/**
 * What has to be written for a folder to hold what the page has: the page's texts, its new ledger records, and one more
 * record that imports every file of readings the ledger does not know yet (sheets keyed here among them). A file it knows
 * otherwise was changed, and stays the stop it is.
 *
 * The order makes a stop at any moment harmless, as the command line's does: logs first (they only grow), readings under
 * the name they wait by, the ledger that names them, its seal, job.json, and last each file under its final name.
 *
 * @param before the folder as it is
 * @param wanted files by name as the page has them (`filesOfBook`); what the page does not have stays as it is
 * @param when ISO date-time, UTC
 * @param fresh an id nobody has, for a job that needs one
 * @throws InputError where the page's ledger does not go on from the folder's
 */
export function planFolder(
  before: FolderFiles,
  wanted: ReadonlyMap<string, Uint8Array>,
  job: Job,
  when: string,
  fresh: string,
): FolderPlan {
  const own = new Map(wanted);
  const old = before.get(LEDGER_FILE) ?? new Uint8Array(0);
  const ours = own.get(LEDGER_FILE) ?? new Uint8Array(0);
  if (!old.every((byte, i) => byte === ours[i]) || ours.length < old.length) {
    throw new InputError(
      'The ledger of the folder and the one on this page have parted: both have records the other has not. Nothing was written.',
    );
  }
  const known = keptFiles(readLedger({ bytes: (file) => own.get(file) ?? null }));
  const recorded = new Set([...known.values()].map(({ sha256 }) => sha256));
  const fresher = [...own].filter(
    ([file, bytes]) =>
      /^(?:readings|scans)\//.test(file) && !known.has(file) && !recorded.has(sha256Hex(bytes)),
  );
  const imports = fresher.map(([file, bytes]) => importFacts(file, bytes, job));
  const step =
    imports.length === 0
      ? null
      : nextRecord(filesInMemory('job', own, []), { kind: 'import', files: imports }, when, fresh);
  const ledger = step?.ledger ?? ours;
  const head = step === null ? own.get(HEAD_FILE) : utf8Bytes(step.head);
  const settings = step?.job == null ? own.get(JOB_FILE)! : utf8Bytes(step.job);

  const steps: FolderStep[] = [];
  const write = (file: string, bytes: Uint8Array) => {
    if (!same(before.get(file), bytes)) steps.push({ kind: 'write', file, bytes: copyOf(bytes) });
  };
  const isReadings = (file: string) => /^(?:readings|scans)\//.test(file);
  for (const [file, bytes] of own) {
    if (![JOB_FILE, LEDGER_FILE, HEAD_FILE].includes(file) && !isReadings(file)) write(file, bytes);
  }
  const placed = [...own].filter(([file, bytes]) => isReadings(file) && !same(before.get(file), bytes));
  for (const [file, bytes] of placed) {
    steps.push({ kind: 'write', file: waiting(file, bytes), bytes: copyOf(bytes) });
  }
  if (ledger.length > 0) {
    if (old.length === 0 && !before.has(HEAD_FILE)) write(HEAD_FILE, utf8Bytes(EMPTY_HEAD));
    write(LEDGER_FILE, ledger);
    if (head !== undefined) write(HEAD_FILE, head);
  }
  write(JOB_FILE, settings);
  for (const [file, bytes] of placed) {
    steps.push({ kind: 'write', file, bytes: copyOf(bytes) });
    steps.push({ kind: 'remove', file: waiting(file, bytes) });
  }
  const written = steps.flatMap((each) => (each.kind === 'write' ? [each.file] : []));
  const { count } = readLedger({ bytes: (file) => (file === LEDGER_FILE ? ledger : null) });
  return {
    ...{ before, steps, records: count },
    said: [...new Set(written)].filter((file) => !/(^|\/)\./.test(file)),
  };
}

function waiting(file: string, bytes: Uint8Array): string {
  return `${file.split('/')[0]}/${incomingName(sha256Hex(bytes))}`;
}

function importFacts(file: string, bytes: Uint8Array, job: Job): KeptFile {
  const read = readReadings(utf8Text(bytes), readOptions(job, file));
  if (read.problems.length > 0) throw new InputError(`${file} cannot be imported.`, read.problems);
  const tally = new SurveyTally();
  for (const reading of read.readings) tally.add(reading);
  return {
    ...{ file, sha256: sha256Hex(bytes), bytes: bytes.length, original: file.split('/').at(-1)! },
    ...{ rows: read.rows, readings: read.readings.length, surveys: tally.counts(), setAside: [] },
  };
}

function same(a: Uint8Array | undefined, b: Uint8Array): boolean {
  return a !== undefined && a.length === b.length && a.every((byte, i) => byte === b[i]);
}

function copyOf(bytes: Uint8Array): Uint8Array<ArrayBuffer> {
  return new Uint8Array(bytes);
}
