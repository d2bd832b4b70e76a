import { randomUUID } from 'node:crypto';
import { nextRecord } from '../../folder/next-record.ts';
import * as record from '../../folder/read-record.ts';
import { EMPTY_HEAD, HEAD_FILE, LEDGER_FILE, type Ledger } from '../../ledger/chain.ts';
import type { Inputs } from '../../ledger/inputs.ts';
import type { LedgerEntry, LedgerRecord } from '../../ledger/record.ts';
import { filesOfFolder } from './files-of-folder.ts';
import { inJob, JOB_FILE } from './layout.ts';
import { writeAtomic } from './write-atomic.ts';

/** The ledger of a folder, its chain tested (`checkChain`). */
export function readLedger(folder: string): Ledger {
  return record.readLedger(filesOfFolder(folder));
}

/** The inputs of a job as they are; null while there is no job.json. */
export function readInputs(folder: string): Inputs | null {
  return record.readInputs(filesOfFolder(folder));
}

/**
 * Adds one record at the end (`nextRecord`): the new ledger is written whole beside the old one and renamed over it, so
 * that a crash leaves the old or the new one, never half a line. Where the record gives the job its id, job.json gets it
 * afterwards; a crash in between leaves that to the next record. Call it with the folder's lock held.
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
  const step = nextRecord(filesOfFolder(folder), entry, when, fresh);
  if (step.first) writeAtomic(inJob(folder, HEAD_FILE), EMPTY_HEAD);
  writeAtomic(inJob(folder, LEDGER_FILE), step.ledger);
  try {
    writeAtomic(inJob(folder, HEAD_FILE), step.head);
    if (step.job !== null) writeAtomic(inJob(folder, JOB_FILE), step.job);
  } catch {
    // The record is in; a seal one record behind is what a crash here leaves too, and the next record mends both.
  }
  return step.record;
}
