import type { Job } from '../job/job.ts';
import { checkChain } from '../ledger/chain.ts';
import { idInJob, idInLedger } from '../ledger/identity.ts';
import { ledgerLines } from './folder-files.ts';
import type { JobBundle } from './job-bundle.ts';
import { ADDED, likeness } from './session.ts';

/** What tells a job from every other. */
export interface JobKeys {
  /** The id its ledger gives it, else that in job.json; null: a job from before there were ids. */
  readonly id: string | null;
  /** SHA-256 of every record of its ledger, oldest first. */
  readonly records: readonly string[];
}

export function keysOf({ job, ledgerText }: Pick<JobBundle, 'job' | 'ledgerText'>): JobKeys {
  const { records, seals } = checkChain(ledgerLines(ledgerText ?? ''), 'not given');
  return { id: idInLedger(records) ?? idInJob(job), records: seals };
}

/**
 * Name under which a job new to this device is kept: its id, or for a job from before there were ids the SHA-256 of its
 * ledger's first record. Only a job with neither goes by its likeness. Once kept it stays under its name (`sameJob`).
 */
export function storeName(job: Job, { id, records }: JobKeys): string {
  if (id !== null) return `id ${id}`;
  return records[0] === undefined ? likeness(job) : `ledger ${records[0]}`;
}

/**
 * Whether a job this device keeps is the one that comes in. By its id or by its ledger's first record: an older job gets
 * its id later, and is then known by either. `ask` where a key is shared and the evidence is not: a folder copied for
 * another girder keeps id and first record, and goes on with other records or other readings.
 */
export function sameJob(kept: JobBundle, incoming: JobBundle): 'same' | 'ask' | 'other' {
  const [a, b] = [keysOf(kept), keysOf(incoming)];
  const [first, second] = [a.records[0], b.records[0]];
  const firstAlike = first !== undefined && first === second;
  const firstDiffers = first !== undefined && second !== undefined && first !== second;
  if (a.id !== null && b.id !== null && a.id !== b.id) return 'other';
  const idAlike = a.id !== null && a.id === b.id;
  if (!idAlike && !firstAlike) return 'other';
  if (firstDiffers) return 'ask';
  const shorter = Math.min(a.records.length, b.records.length);
  // One ledger goes on where the other ends, or they parted.
  if (a.records.slice(0, shorter).some((seal, i) => seal !== b.records[i])) return 'ask';
  const own = kept.files.filter((file) => file.note !== ADDED);
  const there = new Set(incoming.files.map((file) => figures(file.text)));
  const apart = own.length > 0 && there.size > 0 && !own.some((file) => there.has(figures(file.text)));
  return apart ? 'ask' : 'same';
}

/** The numbers of a text: a line may have been renamed in all its files. */
function figures(text: string): string {
  return (text.match(/[\d./]+/g) ?? []).join(' ');
}

/** How many records more a kept ledger has than that of the same job as it comes in now: it is an older file. */
export function recordsBehind(kept: JobBundle, incoming: JobBundle): number {
  const count = (bundle: JobBundle) => ledgerLines(bundle.ledgerText ?? '').length;
  return incoming.ledgerText === undefined ? 0 : Math.max(0, count(kept) - count(incoming));
}

/** Whether a ledger is another one's, or goes on where that ends. */
export function continues(later: JobBundle, earlier: JobBundle): boolean {
  const [a, b] = [ledgerLines(later.ledgerText ?? ''), ledgerLines(earlier.ledgerText ?? '')];
  return b.every(({ sha256 }, i) => a[i]?.sha256 === sha256);
}
