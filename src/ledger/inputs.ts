import type { Finding } from '../finding.ts';
import { sha256Hex } from '../sha256.ts';
import { LEDGER_FILE, type Ledger } from './chain.ts';
import type { LedgerRecord } from './record.ts';
import type { FileStanding } from './standing.ts';

const JOB_FILE = 'job.json';
/** Logs that grow by hand, a row at a time: what was there when a record was written has to stay. */
export const GROWING_FILES = ['heats.csv', 'costs.csv', 'checks.csv'] as const;
/** Keys of job.json that say nothing of the steel, the limits or the readings. */
const IDLE_FIELDS = new Set(['$schema', 'id']);

/** What a verdict rests on beside readings and maps, as it is now. */
export interface Inputs {
  /** Text of job.json */
  readonly job: string;
  /** Bytes of the profiles job.json names and of the logs, by job-relative name. A file that is not there is left out. */
  readonly files: ReadonlyMap<string, Uint8Array>;
}

/** An input as a record keeps it. */
export interface RecordedInputs {
  readonly fields: readonly { readonly field: string; readonly sha256: string }[];
  readonly files: readonly { readonly file: string; readonly sha256: string; readonly bytes: number }[];
}

/** How an input stands to the ledger. */
export interface InputStanding {
  readonly file: string;
  readonly standing: Exclude<FileStanding, 'duplicate'>;
  readonly sha256: string | null;
  readonly recorded: string | null;
  readonly when: string | null;
}

interface Expected {
  readonly sha256: string;
  readonly bytes: number;
  readonly seq: number;
  readonly when: string;
}

/** Names of the files beside readings that a job rests on: profiles and rule sets named in job.json, and the logs. */
export function inputNames(job: string): string[] {
  const top = fieldValues(job);
  const lines = top.get('lines');
  const rules = top.get('acceptance');
  const named = [
    ...(isObject(lines)
      ? Object.values(lines).map((line) =>
          isObject(line) && isObject(line.baseline) ? line.baseline.file : null,
        )
      : []),
    ...(Array.isArray(rules) ? rules.map((rule: unknown) => (isObject(rule) ? rule.presetFile : null)) : []),
  ].flatMap((name) => (typeof name === 'string' ? [name.replace(/^\.\//, '')] : []));
  return [...new Set([...named, ...GROWING_FILES])];
}

/**
 * What a new record has to note: inputs the ledger has not seen, logs that grew, and where a person accepts a file as it
 * is, that file. An input that differs from its record is not noted again: only a person can let it stand.
 *
 * @param accepted file a person accepts with this record; null: none
 * @returns undefined where there is nothing to note
 */
export function inputsToRecord(
  records: readonly LedgerRecord[],
  now: Inputs,
  accepted: string | null,
): RecordedInputs | undefined {
  const known = expectedOf(records);
  const fields = [...fieldHashes(now.job)]
    .filter(([field]) => accepted === JOB_FILE || !known.fields.has(field))
    .map(([field, sha256]) => ({ field, sha256 }));
  const files = [...now.files]
    .map(([file, bytes]) => ({ file, sha256: sha256Hex(bytes), bytes: bytes.length }))
    .filter(({ file, sha256 }) => {
      const last = known.files.get(file)?.at(-1);
      const changed = last !== undefined && !holds(now.files.get(file), last);
      return (
        file === accepted || last === undefined || (isGrowing(file) && !changed && last.sha256 !== sha256)
      );
    });
  return fields.length === 0 && files.length === 0 ? undefined : { fields, files };
}

/** Compares the inputs with what the ledger has of them: a `stop` for what changed or went, a note for what is new. `now` null: there is no job.json. */
export function checkInputs(
  { records }: Pick<Ledger, 'records'>,
  now: Inputs | null,
): { readonly standings: readonly InputStanding[]; readonly findings: readonly Finding[] } {
  if (now === null) return { standings: [], findings: [] };
  const known = expectedOf(records);
  const findings: Finding[] = [];
  const standings: InputStanding[] = [jobStanding(known.fields, now, findings)];
  const names = new Set([...now.files.keys(), ...known.files.keys()]);
  for (const file of [...names].sort()) {
    const expected = known.files.get(file) ?? [];
    const bytes = now.files.get(file);
    const altered = expected.findLast((each) => !holds(bytes, each));
    const last = expected.at(-1) ?? null;
    const standing: InputStanding['standing'] =
      last === null
        ? 'unknown'
        : bytes === undefined
          ? 'missing'
          : altered === undefined
            ? 'known'
            : 'changed';
    standings.push({
      ...{ file, standing, sha256: bytes === undefined ? null : sha256Hex(bytes) },
      ...{ recorded: last?.sha256 ?? null, when: last?.when ?? null },
    });
    // A log begun after the last record has nothing to be compared with yet.
    const begun = standing === 'unknown' && isGrowing(file);
    if (standing !== 'known' && !begun) findings.push(fileFinding(file, standing, altered ?? null));
  }
  return { standings, findings };
}

function jobStanding(fields: ReadonlyMap<string, Expected>, now: Inputs, findings: Finding[]): InputStanding {
  const present = fieldHashes(now.job);
  const changed = [...fields].filter(([field, { sha256 }]) => present.get(field) !== sha256);
  const first = [...fields.values()][0];
  if (changed.length > 0) {
    const { seq, when } = changed[0]![1];
    findings.push({
      severity: 'stop',
      code: 'job-changed',
      message:
        `job.json is not what the ledger recorded (record ${seq}, ${when.slice(0, 10)}): changed or taken out: ` +
        `${changed.map(([field]) => field).join(', ')}. ${LET_STAND}`,
      file: JOB_FILE,
    });
  }
  return {
    file: JOB_FILE,
    standing: fields.size === 0 ? 'unknown' : changed.length > 0 ? 'changed' : 'known',
    sha256: sha256Hex(now.job),
    // Field by field, not as a file: there is no one digest to show.
    ...{ recorded: null, when: first?.when ?? null },
  };
}

const LOG_CODES: Readonly<Record<string, string>> = {
  'heats.csv': 'heat-log',
  'costs.csv': 'cost-log',
  'checks.csv': 'check-log',
};

const LET_STAND =
  'Put it back, or say who let it stand and why: `sweepbook mark` with --accept, --file, --who and --why.';

function fileFinding(
  file: string,
  standing: 'unknown' | 'missing' | 'changed',
  altered: Expected | null,
): Finding {
  if (standing === 'unknown') {
    return {
      severity: 'note',
      code: 'input-not-recorded',
      message: `${file} is not in the ledger yet: a change of it would not be seen. The next \`add\` or \`mark\` records it.`,
      file,
    };
  }
  const at = altered === null ? '' : ` at ledger record ${altered.seq} (${altered.when.slice(0, 10)})`;
  const growing = isGrowing(file);
  const kind = LOG_CODES[file] ?? (/\.json$/i.test(file) ? 'rule-set' : 'profile');
  const code = `${kind}-${growing ? 'edited' : standing}`;
  const said =
    standing === 'missing'
      ? `${file} was there${at} and is gone or empty.`
      : growing
        ? `${file} no longer begins as it did${at}: rows logged by then were changed or taken out.`
        : `${file} is not the file it was${at}: its SHA-256 differs.`;
  return { severity: 'stop', code, message: `${said} ${LET_STAND}`, file };
}

function holds(bytes: Uint8Array | undefined, { sha256, bytes: length }: Expected): boolean {
  return bytes !== undefined && bytes.length >= length && sha256Hex(bytes.subarray(0, length)) === sha256;
}

function isGrowing(file: string): boolean {
  return (GROWING_FILES as readonly string[]).includes(file);
}

/** Every input as first recorded or last accepted; of a log that grows, every length that was recorded since. */
function expectedOf(records: readonly LedgerRecord[]): {
  readonly fields: ReadonlyMap<string, Expected>;
  readonly files: ReadonlyMap<string, readonly Expected[]>;
} {
  const fields = new Map<string, Expected>();
  const files = new Map<string, Expected[]>();
  for (const record of records) {
    const { seq, when } = record;
    if (record.kind === 'accept') {
      if (record.file === JOB_FILE) fields.clear();
      files.delete(record.file);
    }
    for (const { field, sha256 } of record.inputs?.fields ?? []) {
      if (!fields.has(field)) fields.set(field, { sha256, bytes: 0, seq, when });
    }
    const logs = record.heatLog === undefined ? [] : [{ file: 'heats.csv', ...record.heatLog }];
    for (const { file, sha256, bytes } of [...logs, ...(record.inputs?.files ?? [])]) {
      const earlier = files.get(file);
      if (earlier === undefined) files.set(file, [{ sha256, bytes, seq, when }]);
      else if (isGrowing(file) && earlier.at(-1)!.sha256 !== sha256)
        earlier.push({ sha256, bytes, seq, when });
    }
  }
  return { fields, files };
}

/** SHA-256 of each part of job.json that matters, in one spelling: spaces and the order of keys do not. */
function fieldHashes(job: string): ReadonlyMap<string, string> {
  const hashes = new Map<string, string>();
  for (const [key, value] of fieldValues(job)) {
    if (IDLE_FIELDS.has(key)) continue;
    if (key === 'lines' && isObject(value)) {
      for (const [name, line] of Object.entries(value)) hashes.set(`lines.${name}`, sha256Hex(spelt(line)));
    } else hashes.set(key, sha256Hex(spelt(value)));
  }
  return hashes;
}

/** Top level of job.json; empty where it is none, which reading the job says. */
function fieldValues(job: string): ReadonlyMap<string, unknown> {
  try {
    const raw: unknown = JSON.parse(job.replace(/^\ufeff/, ''));
    return new Map(isObject(raw) ? Object.entries(raw) : []);
  } catch {
    return new Map();
  }
}

function spelt(value: unknown): string {
  return JSON.stringify(value, (_key, each: unknown) =>
    isObject(each) ? Object.entries(each).sort(([a], [b]) => (a < b ? -1 : 1)) : each,
  );
}

function isObject(value: unknown): value is Record<string, unknown> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}

/**
 * The ledger's own faults, those a person has looked at and accepted as notes that name them: faults at or before
 * the record that accepts `ledger.jsonl`.
 */
export function ledgerFindings({ records, findings }: Pick<Ledger, 'records' | 'findings'>): Finding[] {
  const accepted = records.findLast((each) => each.kind === 'accept' && each.file === LEDGER_FILE);
  if (accepted?.kind !== 'accept') return [...findings];
  return findings.map((each) =>
    (each.row ?? 0) > accepted.seq
      ? each
      : {
          ...each,
          severity: 'note',
          message: `${each.message} Accepted by ${accepted.who}, ${accepted.when.slice(0, 10)}: ${accepted.why}.`,
        },
  );
}
