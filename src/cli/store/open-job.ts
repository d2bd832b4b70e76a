import { existsSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Finding } from '../../finding.ts';
import { InputError, type Problem } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { readOptions } from '../../read/readings-csv.ts';
import type { Mark, Reading } from '../../survey/survey.ts';
import { csvFiles } from './csv-files.ts';
import { incomingName, inJob } from './layout.ts';
import { keptFiles, type Ledger, readLedger } from './ledger.ts';
import type { KeptFile } from './ledger-record.ts';
import { readCsvFile } from './read-csv-file.ts';
import { readJobFile } from './read-job-file.ts';

/** How a file of the job stands to the ledger. */
export type FileStanding = 'known' | 'unknown' | 'changed' | 'missing' | 'duplicate';

export interface JobFile {
  /** Job-relative */
  readonly file: string;
  /** Of the bytes now there; null when the file is missing. */
  readonly sha256: string | null;
  readonly bytes: number;
  /** Data rows (header, comments and blank lines not counted). */
  readonly rows: number;
  readonly readings: number;
  readonly standing: FileStanding;
  /** When it was imported, ISO date-time; null where the ledger does not know it. */
  readonly when: string | null;
}

/** Everything a job folder holds, read and checked against its ledger. */
export interface OpenedJob {
  /** Absolute */
  readonly folder: string;
  readonly job: Job;
  /** In file order; the order of files is by name within `readings/`, then `scans/`. */
  readonly readings: readonly Reading[];
  /** Oldest first; the last one for a reading holds (`markFinder`). */
  readonly marks: readonly Mark[];
  readonly files: readonly JobFile[];
  readonly ledger: Ledger;
  /** What is wrong or worth knowing about files and ledger. */
  readonly findings: readonly Finding[];
}

/**
 * Reads a job folder. Only reads: it works in a folder that cannot be written, and beside a running `add`.
 *
 * A CSV put into `readings/` by hand is read like any other, with a note; a file that differs from what the ledger
 * recorded, or is gone, is a `stop` finding. Rows that were set aside at import stay out, with a note.
 *
 * @param given path of the job folder
 * @throws InputError when there is no job here, job.json is faulty, or a file holds unusable rows that no import set aside
 */
export async function openJob(given: string): Promise<OpenedJob> {
  const folder = resolve(given);
  const job = readJobFile(folder);
  // Files before ledger: a file seen here was recorded before it got its name, so the ledger read next knows it.
  const present = csvFiles(folder);
  const ledger = readLedger(folder);
  const kept = keptFiles(ledger);
  const findings: Finding[] = [...ledger.findings];
  const readings: Reading[] = [];
  const problems: Problem[] = [];
  const files: JobFile[] = [];
  const hashes = new Map<string, string>();
  const recorded = new Map(
    [...kept.values()]
      .filter((each) => placeOf(folder, each.file, each) !== null)
      .map((each) => [each.sha256, each.file]),
  );

  for (const file of [...new Set([...present, ...kept.keys()])].sort(byFolderThenName)) {
    const record = kept.get(file);
    const path = placeOf(folder, file, record);
    if (path === null) {
      files.push({
        file,
        sha256: null,
        bytes: 0,
        rows: 0,
        readings: 0,
        standing: 'missing',
        when: record!.when,
      });
      findings.push(missing(file, record!));
      continue;
    }
    const before = readings.length;
    const read = await readCsvFile(path, readOptions(job, file), (reading) => readings.push(reading));
    const twin = record === undefined ? (hashes.get(read.sha256) ?? recorded.get(read.sha256)) : undefined;
    let standing: FileStanding = 'unknown';
    if (record !== undefined) standing = record.sha256 === read.sha256 ? 'known' : 'changed';
    else if (twin !== undefined) standing = 'duplicate';
    hashes.set(read.sha256, file);

    if (standing === 'duplicate') {
      readings.length = before;
      findings.push({
        severity: 'caution',
        code: 'file-twice',
        message: `${file} holds the same bytes as ${twin}; it is not counted a second time.`,
        file,
      });
    } else {
      const expected = new Set(standing === 'known' ? record!.setAside.map((each) => each.row) : []);
      problems.push(...read.problems.filter((each) => each.row === undefined || !expected.has(each.row)));
      findings.push(...standingFindings(file, standing, record));
    }
    const { sha256, bytes, rows } = read;
    const count = readings.length - before;
    files.push({ file, sha256, bytes, rows, readings: count, standing, when: record?.when ?? null });
  }

  if (problems.length > 0) {
    throw new InputError(
      `${problems.length} row${problems.length === 1 ? '' : 's'} in the job's files cannot be read. ` +
        'Correct them, or take the file out and import it with `sweepbook add --set-aside`.',
      problems,
    );
  }
  return { folder, job, readings, marks: marksOf(ledger), files, ledger, findings };
}

/** Marks of the ledger, one a row (and cycle, where it names some), oldest first. */
export function marksOf(ledger: Ledger): Mark[] {
  return ledger.records.flatMap((record) => {
    if (record.kind !== 'mark') return [];
    const { file, action, who, why, when } = record;
    return record.rows.flatMap((row) =>
      (record.cycles ?? [undefined]).map((cycle) => ({
        file,
        row,
        ...(cycle === undefined ? {} : { cycle }),
        action,
        who,
        why,
        when,
      })),
    );
  });
}

/** Where the bytes of a file are: in place, or still waiting after a killed import. */
function placeOf(folder: string, file: string, record: KeptFile | undefined): string | null {
  const final = inJob(folder, file);
  if (record === undefined || existsSync(final)) return final;
  const waiting = join(final, '..', incomingName(record.sha256));
  if (existsSync(waiting)) return waiting;
  // It may just have been renamed by the process that imports it.
  return existsSync(final) ? final : null;
}

function standingFindings(file: string, standing: FileStanding, record: KeptFile | undefined): Finding[] {
  if (standing === 'unknown') {
    return [
      {
        severity: 'note',
        code: 'file-not-in-ledger',
        message: `${file} was put there by hand: it is read, but the ledger does not know it. Import it with \`sweepbook add\` to record it.`,
        file,
      },
    ];
  }
  if (standing === 'changed') {
    return [
      {
        severity: 'stop',
        code: 'file-changed',
        message: `${file} is no longer the file that was imported (its SHA-256 differs from the ledger's): readings may have been altered. Put the original back, or find out who changed it and why.`,
        file,
      },
    ];
  }
  const aside = record?.setAside.length ?? 0;
  if (aside === 0) return [];
  return [
    {
      severity: 'note',
      code: 'rows-set-aside-at-import',
      message: `${aside} unusable row${aside === 1 ? ' of' : 's of'} ${file} ${aside === 1 ? 'was' : 'were'} set aside when it was imported.`,
      file,
      row: record!.setAside[0]!.row,
    },
  ];
}

function missing(file: string, record: KeptFile): Finding {
  return {
    severity: 'stop',
    code: 'file-missing',
    message: `${file} is in the ledger (${record.readings} readings, given as "${record.original}") but gone from the folder. Adding the original file again puts it back.`,
    file,
  };
}

function byFolderThenName(a: string, b: string): number {
  const folder = (file: string) => (file.startsWith('readings/') ? 0 : 1);
  return folder(a) - folder(b) || (a < b ? -1 : a > b ? 1 : 0);
}
