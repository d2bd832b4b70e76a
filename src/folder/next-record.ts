import { checkChain, FIRST_SEAL, LEDGER_FILE, lostRecords } from '../ledger/chain.ts';
import { identityToRecord, withId } from '../ledger/identity.ts';
import { inputsToRecord } from '../ledger/inputs.ts';
import { type LedgerEntry, LedgerRecord } from '../ledger/record.ts';
import { sha256Hex } from '../sha256.ts';
import { utf8Bytes } from '../utf8.ts';
import type { JobFiles } from './job-files.ts';
import { JOB_FILE } from './names.ts';
import { ledgerLines, readHead, readInputs } from './read-record.ts';

const NEWLINE = 0x0a;

/** What adding one record to a ledger comes to; whoever writes it keeps to this order. */
export interface LedgerStep {
  readonly record: LedgerRecord;
  /** Whether the seal before the first record (`EMPTY_HEAD`) has to stand before the ledger is written. */
  readonly first: boolean;
  /** Text that goes to the end of ledger.jsonl as it is: nothing already in it is ever altered, not even a damaged line. */
  readonly added: string;
  /** The ledger as it then is. */
  readonly ledger: Uint8Array;
  /** Text of `.ledger-head`, written once the ledger is. */
  readonly head: string;
  /** Text of job.json where it has to be given the job's id, written last; null: it stays. */
  readonly job: string | null;
}

/**
 * The next record of a job's ledger and all it brings along: number, time, chain, the job's id, the inputs as they are.
 *
 * @param when ISO date-time
 * @param fresh an id nobody has, for a job that needs one
 */
export function nextRecord(
  files: Pick<JobFiles, 'bytes' | 'isFile'>,
  entry: LedgerEntry,
  when: string,
  fresh: string,
): LedgerStep {
  const head = readHead(files);
  const old = files.bytes(LEDGER_FILE, 'ledger') ?? new Uint8Array(0);
  const lines = ledgerLines(old);
  const seals = lines.map(({ sha256 }) => sha256);
  const gone = lostRecords(head, seals);
  const { records } = checkChain(lines, 'not given');
  const accepted = entry.kind === 'accept' ? entry.file : null;
  const now = readInputs(files);
  const { intoJob, ...identity } = identityToRecord(
    records,
    lines.length,
    now?.job ?? null,
    accepted === JOB_FILE,
    fresh,
  );
  const job = now === null || intoJob === null ? null : withId(now.job, intoJob);
  const jobFile = now === null ? null : sha256Hex(job ?? files.bytes(JOB_FILE, 'job') ?? now.job);
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
    previous: seals.at(-1) ?? FIRST_SEAL,
  });
  const line = JSON.stringify(record);
  const ended = old.length === 0 || old.at(-1) === NEWLINE;
  const added = `${ended ? '' : '\n'}${line}\n`;
  return {
    record,
    first: lines.length === 0 && head === null,
    added,
    ledger: joined(old, utf8Bytes(added)),
    head: `${record.seq} ${sha256Hex(line)}\n`,
    job: job === now?.job ? null : job,
  };
}

function joined(a: Uint8Array, b: Uint8Array): Uint8Array {
  const all = new Uint8Array(a.length + b.length);
  all.set(a);
  all.set(b, a.length);
  return all;
}
