import { checkChain, FIRST_SEAL, HEAD_FILE, LEDGER_FILE, type Ledger } from '../../ledger/chain.ts';
import { identityToRecord, withId } from '../../ledger/identity.ts';
import { inputsToRecord } from '../../ledger/inputs.ts';
import { type LedgerEntry, LedgerRecord } from '../../ledger/record.ts';
import { sha256Hex } from '../../sha256.ts';
import { bundleOfInside, inputsOf, ledgerLines } from '../folder-files.ts';
import type { JobBundle } from '../job-bundle.ts';
import { ADDED } from '../session.ts';

/** Who decided, and why: every record of a decision has both. */
export interface Said {
  readonly who: string;
  readonly why: string;
}

/** The job read anew from its own texts: marks, findings and standings then say what its ledger says now. */
export function reread(bundle: JobBundle): JobBundle {
  const next = bundleOfInside(bundle.job, textsOfJob(bundle), bundle.panels !== undefined);
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
  const text = bundle.ledgerText ?? '';
  const lines = ledgerLines(text);
  const { records } = checkChain(lines, 'not given');
  const accepted = entry.kind === 'accept' ? entry.file : null;
  const { intoJob, ...identity } = identityToRecord(
    records,
    lines.length,
    bundle.job,
    accepted === 'job.json',
    fresh,
  );
  const job = intoJob === null ? bundle.job : withId(bundle.job, intoJob);
  const inputs = inputsToRecord(records, inputsOf(bundle), accepted);
  const record = LedgerRecord.parse({
    seq: lines.length + 1,
    when,
    ...entry,
    ...identity,
    jobFile: sha256Hex(job),
    ...(inputs === undefined ? {} : { inputs }),
    previous: lines.at(-1)?.sha256 ?? FIRST_SEAL,
  });
  const line = JSON.stringify(record);
  const ended = text === '' || text.endsWith('\n');
  return reread({
    ...bundle,
    job,
    ledgerText: `${text}${ended ? '' : '\n'}${line}\n`,
    seal: { records: record.seq, sha256: sha256Hex(line) },
  });
}

/** The ledger a job carries, its chain tested up to its seal. */
export function ledgerOfJob({ ledgerText, seal }: JobBundle): Ledger {
  return checkChain(
    ledgerLines(ledgerText ?? ''),
    seal === null ? 'not given' : { seq: seal.records, sha256: seal.sha256 },
  );
}

/** Every text of a job by its job-relative name. */
function textsOfJob({ job, files, others, panels, ledgerText, seal }: JobBundle) {
  const texts = new Map([...files, ...others, ...(panels ?? [])].map(({ file, text }) => [file, text]));
  texts.set('job.json', job);
  if (ledgerText !== undefined) texts.set(LEDGER_FILE, ledgerText);
  if (seal !== null) texts.set(HEAD_FILE, `${seal.records} ${seal.sha256}\n`);
  return [...texts].map(([file, text]) => ({ file, text }));
}
