import type { Finding } from '../finding.ts';
import { checkChain, HEAD_FILE, type Head, headOf, LEDGER_FILE, type Ledger } from '../ledger/chain.ts';
import { keptFiles } from '../ledger/contents.ts';
import { identityFindings } from '../ledger/identity.ts';
import { checkInputs, type Inputs, inputNames, ledgerFindings } from '../ledger/inputs.ts';
import { sha256Hex } from '../sha256.ts';
import { utf8Text } from '../utf8.ts';
import type { JobFiles } from './job-files.ts';
import { CSV_FOLDERS, JOB_FILE } from './names.ts';

const NEWLINE = 0x0a;
const EMPTY = new Uint8Array(0);

/** What a folder holds and what its ledger says of it, as both opening and verifying a job begin. */
export interface FolderRecord {
  /** Job-relative names of the files of readings there now. */
  readonly present: readonly string[];
  readonly ledger: Ledger;
  readonly kept: ReturnType<typeof keptFiles>;
  /** What a verdict rests on beside readings, as it is now; null: there is no job.json. */
  readonly now: Inputs | null;
  readonly inputs: ReturnType<typeof checkInputs>;
  /** Of the ledger itself, of the job's identity, of the inputs beside readings, in this order. */
  readonly findings: readonly Finding[];
}

export function readRecord(files: JobFiles): FolderRecord {
  // Files before ledger: a file seen here was recorded before it got its name, so the ledger read next knows it.
  const present = csvNames(files);
  const ledger = readLedger(files);
  const now = readInputs(files);
  const inputs = checkInputs(ledger, now);
  return {
    present,
    ledger,
    kept: keptFiles(ledger),
    now,
    inputs,
    findings: [...ledgerFindings(ledger), ...identityFindings(ledger, now?.job ?? null), ...inputs.findings],
  };
}

/** Job-relative names of the CSV files under `readings/` and `scans/`, sorted by name within each. */
export function csvNames(files: Pick<JobFiles, 'names'>): string[] {
  return CSV_FOLDERS.flatMap((into) =>
    files
      .names(into)
      .filter((name) => !name.startsWith('.') && /\.csv$/i.test(name))
      .sort()
      .map((name) => `${into}/${name}`),
  );
}

/** Reads ledger.jsonl and tests its chain (`checkChain`). A missing ledger is an empty one. */
export function readLedger(files: Pick<JobFiles, 'bytes'>): Ledger {
  // The head first: a writer writes it last, so a ledger read after it can only be as new or newer.
  const head = readHead(files);
  return checkChain(ledgerLines(files.bytes(LEDGER_FILE, 'ledger') ?? EMPTY), head);
}

/** The seal of the newest record as `.ledger-head` keeps it; null where there is none that can be read. */
export function readHead(files: Pick<JobFiles, 'bytes'>): Head | null {
  return headOf(utf8Text(files.bytes(HEAD_FILE, 'ledger') ?? EMPTY));
}

/** Lines of a ledger that are not blank, without their ends, each with the SHA-256 of its bytes; a carriage return some tool added is not part of the record. */
export function ledgerLines(bytes: Uint8Array): { readonly text: string; readonly sha256: string }[] {
  const lines: { text: string; sha256: string }[] = [];
  for (let from = 0; from < bytes.length; ) {
    const at = bytes.indexOf(NEWLINE, from);
    const end = at === -1 ? bytes.length : at;
    const line = bytes.subarray(from, bytes[end - 1] === 0x0d ? end - 1 : end);
    if (line.some((byte) => byte > 0x20)) lines.push({ text: utf8Text(line), sha256: sha256Hex(line) });
    from = end + 1;
  }
  return lines;
}

/** The inputs of a job as they are: job.json, the profiles it names, the logs; null while there is no job.json. */
export function readInputs(files: Pick<JobFiles, 'bytes' | 'isFile'>): Inputs | null {
  const job = utf8Text(files.bytes(JOB_FILE, 'job') ?? EMPTY);
  if (job === '') return null;
  const inputs = new Map<string, Uint8Array>();
  for (const file of inputNames(job)) {
    if (/^(?:[/\\]|[a-z]:)|(?:^|[/\\])\.\.(?:[/\\]|$)/i.test(file)) continue;
    if (files.isFile(file)) inputs.set(file, files.bytes(file, 'log') ?? EMPTY);
  }
  return { job, files: inputs };
}
