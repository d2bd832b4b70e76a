import { findNodeAtLocation, parseTree } from 'jsonc-parser';
import type { Finding } from '../finding.ts';
import { PRACTICE_ID, PRACTICE_WARNING } from '../job/practice-mark.ts';
import { LEDGER_FILE, type Ledger } from './chain.ts';
import type { LedgerRecord } from './record.ts';

const JOB_FILE = 'job.json';
/** Ids of jobs begun on the readings page start like this: such a job.json comes into a folder before there is a ledger. */
export const PAGE_ID = 'page-';

/** The id a ledger gives its job; null where it gives none. */
export function idInLedger(records: readonly LedgerRecord[]): string | null {
  return records.findLast((each) => each.id !== undefined)?.id ?? null;
}

/** The id in a text of job.json; null where there is none, or the text is no job. */
export function idInJob(job: string): string | null {
  try {
    const raw: unknown = JSON.parse(job.replace(/^\ufeff/, ''));
    const id = typeof raw === 'object' && raw !== null ? (raw as { id?: unknown }).id : undefined;
    return typeof id === 'string' ? id : null;
  } catch {
    return null;
  }
}

/** A job.json with this id in it, otherwise the same to the byte; the text itself where it is no JSON object. */
export function withId(job: string, id: string): string {
  const mark = job.startsWith('\ufeff') ? '\ufeff' : '';
  const text = job.slice(mark.length);
  try {
    JSON.parse(text);
  } catch {
    return job;
  }
  const root = parseTree(text);
  if (root?.type !== 'object') return job;
  const put = (from: number, to: number, what: string) => mark + text.slice(0, from) + what + text.slice(to);
  const own = findNodeAtLocation(root, ['id']);
  if (own !== undefined) return put(own.offset, own.offset + own.length, JSON.stringify(id));
  const entry = `"id": ${JSON.stringify(id)}`;
  const fields = root.children ?? [];
  const last = fields.at(-1);
  if (last === undefined) return put(root.offset + 1, root.offset + 1, entry);
  const next = fields.find((field) => field.children?.[0]?.value !== '$schema');
  if (next === undefined) return put(last.offset + last.length, last.offset + last.length, `, ${entry}`);
  // The blanks before the field stand before both, so that the id gets a line of its own where the others have one.
  const blanks = text.slice(text.slice(0, next.offset).trimEnd().length, next.offset);
  return put(next.offset, next.offset, `${entry},${blanks}`);
}

/** What a new record says of the job's id, and the id job.json has to be given. */
export interface Identity {
  readonly id?: string;
  readonly copyOf?: string;
  /** Null: job.json stays as it is. */
  readonly intoJob: string | null;
}

/**
 * Which id a record about to be written gives the job. A job from before there were ids gets one with its first record;
 * a job.json with an id but no ledger beside it was copied from another job's folder, and gets one of its own.
 *
 * @param job text of job.json; null: there is none yet (`new`)
 * @param accepted a person lets job.json stand with this record: the ledger's id holds
 * @param fresh an id nobody has
 */
export function identityToRecord(
  records: readonly LedgerRecord[],
  count: number,
  job: string | null,
  accepted: boolean,
  fresh: string,
): Identity {
  if (job === null) return { id: fresh, intoJob: null };
  const known = idInLedger(records);
  const own = idInJob(job);
  if (known !== null) return { intoJob: own === null || (own !== known && accepted) ? known : null };
  if (own === null) return { id: fresh, intoJob: fresh };
  if (count > 0 || own.startsWith(PAGE_ID)) return { id: own, intoJob: null };
  // A copy of a practice is one: no way of copying makes a job of it.
  const id = own.startsWith(PRACTICE_ID) ? PRACTICE_ID + fresh : fresh;
  return { id, copyOf: own, intoJob: id };
}

/** What is wrong, or worth knowing, about whose job this is. `job` null: there is no job.json. */
export function identityFindings(
  { records, count }: Pick<Ledger, 'records' | 'count'>,
  job: string | null,
): Finding[] {
  if (job === null) return [];
  const own = idInJob(job);
  const known = idInLedger(records);
  const practice: Finding[] = [own, known].some((id) => id?.startsWith(PRACTICE_ID))
    ? [{ severity: 'note', code: 'practice', message: PRACTICE_WARNING, file: JOB_FILE }]
    : [];
  return [...practice, ...ownFindings({ records, count }, own, known)];
}

function ownFindings(
  { records, count }: Pick<Ledger, 'records' | 'count'>,
  own: string | null,
  known: string | null,
): Finding[] {
  if (own !== null && count === 0 && !own.startsWith(PAGE_ID)) {
    return [
      {
        severity: 'stop',
        code: 'ledger-gone',
        message:
          'job.json carries the id of a job that was begun with a ledger, and there is no ledger.jsonl here: it was lost, ' +
          'or job.json was copied from another job. If it was lost, get it back from a copy of the folder. If job.json was ' +
          'copied, the first `sweepbook add` gives this job an id of its own.',
        file: LEDGER_FILE,
      },
    ];
  }
  if (own !== null && known !== null && own !== known) {
    return [
      {
        severity: 'stop',
        code: 'job-id-differs',
        message:
          `job.json carries the id ${own}, the ledger gives this job ${known}: one of the two was copied from another ` +
          'job. Put this job’s own file back, or say who let it stand and why (the ledger’s id is then put into it): ' +
          '`sweepbook mark` with --accept, --file job.json, --who and --why.',
        file: JOB_FILE,
      },
    ];
  }
  const copied = records.findLast((each) => each.copyOf !== undefined);
  if (copied?.copyOf === undefined) return [];
  return [
    {
      severity: 'note',
      code: 'job-copied',
      message: `This job was begun from a copy of another job’s job.json (id ${copied.copyOf}), without its ledger; ledger record ${copied.seq} gave it an id of its own.`,
      file: JOB_FILE,
    },
  ];
}
