import type { Finding } from '../../finding.ts';
import type { Ledger } from '../../ledger/chain.ts';
import { keptFiles } from '../../ledger/contents.ts';
import { identityFindings } from '../../ledger/identity.ts';
import { checkInputs, ledgerFindings } from '../../ledger/inputs.ts';
import { csvFiles } from './csv-files.ts';
import { readInputs, readLedger } from './ledger.ts';

/** What a folder holds and what its ledger says of it, as both opening and verifying a job begin. */
export interface FolderRecord {
  /** Job-relative names of the files of readings there now. */
  readonly present: readonly string[];
  readonly ledger: Ledger;
  readonly kept: ReturnType<typeof keptFiles>;
  /** What a verdict rests on beside readings, as it is now; null: there is no job.json. */
  readonly now: ReturnType<typeof readInputs>;
  readonly inputs: ReturnType<typeof checkInputs>;
  /** Of the ledger itself, of the job's identity, of the inputs beside readings, in this order. */
  readonly findings: readonly Finding[];
}

export function readFolderRecord(folder: string): FolderRecord {
  // Files before ledger: a file seen here was recorded before it got its name, so the ledger read next knows it.
  const present = csvFiles(folder);
  const ledger = readLedger(folder);
  const now = readInputs(folder);
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
