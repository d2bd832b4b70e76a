import { randomUUID } from 'node:crypto';
import { statSync } from 'node:fs';
import {
  checkChain,
  EMPTY_HEAD,
  FIRST_SEAL,
  HEAD_FILE,
  type Head,
  headOf,
  LEDGER_FILE,
  type Ledger,
  lostRecords,
} from '../../ledger/chain.ts';
import { identityToRecord, withId } from '../../ledger/identity.ts';
import { type Inputs, inputNames, inputsToRecord } from '../../ledger/inputs.ts';
import { type LedgerEntry, LedgerRecord } from '../../ledger/record.ts';
import { hashBytes } from './hash-file.ts';
import { inJob, JOB_FILE } from './layout.ts';
import { type InputKind, readInput } from './open-input.ts';
import { writeAtomic } from './write-atomic.ts';

const NEWLINE = 0x0a;

/** Reads ledger.jsonl and tests its chain (`checkChain`). A missing ledger is an empty one. */
export function readLedger(folder: string): Ledger {
  // The head first: a writer writes it last, so a ledger read after it can only be as new or newer.
  const head = readHead(folder);
  const lines = linesOf(bytesOf(inJob(folder, LEDGER_FILE), 'ledger'));
  return checkChain(
    lines.map((line) => ({ text: line.toString('utf8'), sha256: hashBytes(line) })),
    head,
  );
}

/**
 * Adds one record at the end: the new ledger is written whole beside the old one and renamed over it, so that a
 * crash leaves the old or the new one, never half a line. Nothing already in the ledger is ever altered, not even
 * a damaged line. Where the record gives the job its id, job.json gets it afterwards; a crash in between leaves that
 * to the next record. Call it with the folder's lock held.
 *
 * @param when ISO date-time
 * @param fresh the id of a new job; otherwise one is made where one is needed
 */
export function appendToLedger(
  folder: string,
  entry: LedgerEntry,
  when: string,
  fresh: string = randomUUID(),
): LedgerRecord {
  const path = inJob(folder, LEDGER_FILE);
  const old = bytesOf(path, 'ledger');
  const lines = linesOf(old);
  const last = lines.at(-1);
  const head = readHead(folder);
  const gone = lostRecords(head, lines.map(hashBytes));
  const { records } = checkChain(
    lines.map((line) => ({ text: line.toString('utf8'), sha256: hashBytes(line) })),
    'not given',
  );
  const accepted = entry.kind === 'accept' ? entry.file : null;
  const now = readInputs(folder);
  const { intoJob, ...identity } = identityToRecord(
    records,
    lines.length,
    now?.job ?? null,
    accepted === JOB_FILE,
    fresh,
  );
  const job = now === null || intoJob === null ? null : withId(now.job, intoJob);
  const jobFile = now === null ? null : hashBytes(job ?? bytesOf(inJob(folder, JOB_FILE), 'job'));
  const inputs = now === null ? undefined : inputsToRecord(records, now, accepted);
  const record = LedgerRecord.parse({
    seq: lines.length + 1,
    when,
    ...entry,
    ...identity,
    ...(jobFile === null ? {} : { jobFile }),
    ...(inputs === undefined ? {} : { inputs }),
    ...(gone === null ? {} : { lost: gone }),
    ...(head === null && lines.length > 0 ? { sealGone: true as const } : {}),
    previous: last === undefined ? FIRST_SEAL : hashBytes(last),
  });
  const line = JSON.stringify(record);
  if (lines.length === 0 && head === null) writeAtomic(inJob(folder, HEAD_FILE), EMPTY_HEAD);
  const ended = old.length === 0 || old.at(-1) === NEWLINE;
  writeAtomic(path, Buffer.concat([old, Buffer.from(`${ended ? '' : '\n'}${line}\n`, 'utf8')]));
  try {
    writeAtomic(inJob(folder, HEAD_FILE), `${record.seq} ${hashBytes(line)}\n`);
    if (job !== null && job !== now?.job) writeAtomic(inJob(folder, JOB_FILE), job);
  } catch {
    // The record is in; a seal one record behind is what a crash here leaves too, and the next record mends both.
  }
  return record;
}

/** The inputs of a job as they are: job.json, the profiles it names, the logs; null while there is no job.json. */
export function readInputs(folder: string): Inputs | null {
  const job = bytesOf(inJob(folder, JOB_FILE), 'job').toString('utf8');
  if (job === '') return null;
  const files = new Map<string, Uint8Array>();
  for (const file of inputNames(job)) {
    if (/^(?:[/\\]|[a-z]:)|(?:^|[/\\])\.\.(?:[/\\]|$)/i.test(file)) continue;
    const path = inJob(folder, file);
    if (statSync(path, { throwIfNoEntry: false })?.isFile()) files.set(file, bytesOf(path, 'log'));
  }
  return { job, files };
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

function readHead(folder: string): Head | null {
  return headOf(bytesOf(inJob(folder, HEAD_FILE), 'ledger').toString('latin1'));
}

/** Empty when there is no such file. */
function bytesOf(path: string, kind: InputKind): Buffer {
  try {
    return readInput(path, kind);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return Buffer.alloc(0);
    throw error;
  }
}
