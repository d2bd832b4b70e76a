import { readFileSync } from 'node:fs';
import type { Finding } from '../../finding.ts';
import { hashBytes } from './hash-file.ts';
import { HEAD_FILE, inJob, JOB_FILE, LEDGER_FILE } from './layout.ts';
import { type KeptFile, type LedgerEntry, LedgerRecord } from './ledger-record.ts';
import { writeAtomic } from './write-atomic.ts';

const NEWLINE = 0x0a;
const FIRST = '0'.repeat(64);

/** The ledger as read: every record that can be read, and everything that is wrong with the chain. */
export interface Ledger {
  readonly records: readonly LedgerRecord[];
  /** Lines in the file, readable or not. */
  readonly count: number;
  /** SHA-256 of the last line: the seal of everything before it. 64 zeros when empty. */
  readonly seal: string;
  /** Seals of every line, oldest first. */
  readonly seals: readonly string[];
  /** `stop` findings: records changed, lost, unreadable. Empty when the chain holds. */
  readonly findings: readonly Finding[];
}

/**
 * Reads ledger.jsonl and tests its chain. Each record carries the SHA-256 of the line before, so a changed,
 * inserted, removed or reordered record is seen at the record after it; the seal kept in `.ledger-head` (and printed
 * in reports) shows a change of the last one, or a ledger that was cut short. A missing ledger is an empty one.
 */
export function readLedger(folder: string): Ledger {
  // The head first: a writer writes it last, so a ledger read after it can only be as new or newer.
  const head = readHead(folder);
  const lines = linesOf(bytesOf(inJob(folder, LEDGER_FILE)));
  const records: LedgerRecord[] = [];
  const seals: string[] = [];
  const findings: Finding[] = [];
  const stop = (code: string, row: number, message: string) =>
    findings.push({ severity: 'stop', code, message, file: LEDGER_FILE, row });

  let previous = FIRST;
  let numbered = 0;
  for (const [index, line] of lines.entries()) {
    const row = index + 1;
    const record = recordOf(line);
    if (record === null) {
      stop(
        'ledger-record-unreadable',
        row,
        `Ledger record ${row} cannot be read; it was changed or damaged.`,
      );
    } else {
      records.push(record);
      // Past a removed record the numbers run on: said once, at the gap, not again at every record after it.
      if (record.previous !== previous || (record.seq !== row && record.seq !== numbered + 1)) {
        stop(
          'ledger-chain-broken',
          row,
          `Ledger record ${row} does not follow from the one before it: a record was changed, removed or inserted ` +
            'at or before this place. Compare with a copy of the job folder.',
        );
      }
      numbered = record.seq;
      if (record.lost !== undefined) {
        stop(
          'ledger-records-lost',
          row,
          `When record ${row} was written, newer records (up to number ${record.lost.seq}) had gone from the ledger.`,
        );
      }
    }
    previous = hashBytes(line);
    seals.push(previous);
  }

  const gone = lostRecords(head, seals);
  if (gone !== null) {
    stop(
      'ledger-cut-short',
      Math.max(1, lines.length),
      `The ledger once had a record ${gone.seq} that is no longer there as it was written: the end of ledger.jsonl ` +
        'was lost or changed. Compare with a copy of the job folder.',
    );
  }
  return { records, count: lines.length, seal: previous, seals, findings };
}

/**
 * Adds one record at the end: the new ledger is written whole beside the old one and renamed over it, so that a
 * crash leaves the old or the new one, never half a line. Nothing already in the ledger is ever altered, not even
 * a damaged line. Call it with the folder's lock held.
 *
 * @param when ISO date-time
 */
export function appendToLedger(folder: string, entry: LedgerEntry, when: string): LedgerRecord {
  const path = inJob(folder, LEDGER_FILE);
  const old = bytesOf(path);
  const lines = linesOf(old);
  const last = lines.at(-1);
  const gone = lostRecords(readHead(folder), lines.map(hashBytes));
  const record = LedgerRecord.parse({
    seq: lines.length + 1,
    when,
    ...entry,
    ...jobFileNow(folder),
    ...(gone === null ? {} : { lost: gone }),
    previous: last === undefined ? FIRST : hashBytes(last),
  });
  const line = JSON.stringify(record);
  const ended = old.length === 0 || old.at(-1) === NEWLINE;
  writeAtomic(path, Buffer.concat([old, Buffer.from(`${ended ? '' : '\n'}${line}\n`, 'utf8')]));
  try {
    writeAtomic(inJob(folder, HEAD_FILE), `${record.seq} ${hashBytes(line)}\n`);
  } catch {
    // The record is in; a seal one record behind is what a crash here leaves too, and is no fault.
  }
  return record;
}

/** Files the ledger says are kept, by job-relative name. */
export function keptFiles(ledger: Ledger): ReadonlyMap<string, KeptFile & { readonly when: string }> {
  const kept = new Map<string, KeptFile & { readonly when: string }>();
  for (const record of ledger.records) {
    if (record.kind !== 'import') continue;
    for (const file of record.files) kept.set(file.file, { ...file, when: record.when });
  }
  return kept;
}

/** SHA-256 of job.json as it is; nothing while there is none (the first record of a new job). */
function jobFileNow(folder: string): { readonly jobFile?: string } {
  const bytes = bytesOf(inJob(folder, JOB_FILE));
  return bytes.length === 0 ? {} : { jobFile: hashBytes(bytes) };
}

/** Non-blank lines without their ends; a carriage return some tool added is not part of the record. */
function linesOf(bytes: Buffer): Buffer[] {
  const lines: Buffer[] = [];
  for (let from = 0; from < bytes.length; ) {
    const at = bytes.indexOf(NEWLINE, from);
    const end = at === -1 ? bytes.length : at;
    const line = bytes.subarray(from, bytes[end - 1] === 0x0d ? end - 1 : end);
    if (line.some((byte) => byte > 0x20)) lines.push(line);
    from = end + 1;
  }
  return lines;
}

function recordOf(line: Buffer): LedgerRecord | null {
  try {
    const parsed = LedgerRecord.safeParse(JSON.parse(line.toString('utf8')));
    return parsed.success ? parsed.data : null;
  } catch {
    return null;
  }
}

interface Head {
  readonly seq: number;
  readonly sha256: string;
}

function readHead(folder: string): Head | null {
  const match = /^(\d{1,9}) ([0-9a-f]{64})\n?$/.exec(bytesOf(inJob(folder, HEAD_FILE)).toString('latin1'));
  return match === null ? null : { seq: Number.parseInt(match[1]!, 10), sha256: match[2]! };
}

/** The newest record ever written, when the ledger no longer holds it. */
function lostRecords(head: Head | null, seals: readonly string[]): Head | null {
  return head === null || seals.includes(head.sha256) ? null : head;
}

/** Empty when there is no such file. */
function bytesOf(path: string): Buffer {
  try {
    return readFileSync(path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return Buffer.alloc(0);
    throw error;
  }
}
