import type { Finding } from '../finding.ts';
import { InputError, type Problem } from '../input-error.ts';
import type { Job } from '../job/job.ts';
import { parseJob } from '../job/job-file.ts';
import { readOptions } from '../job/read-options.ts';
import type { Ledger } from '../ledger/chain.ts';
import { byFolderThenName, cloudsOf, declarationsOf, marksOf } from '../ledger/contents.ts';
import { type FileStanding, fileMissing, fileTwice, standingFindings } from '../ledger/standing.ts';
import { swallowedBy } from '../read/readings-csv.ts';
import type { Declaration, Mark, Reading } from '../survey/survey.ts';
import { utf8Text } from '../utf8.ts';
import { checkPanels } from './check-panels.ts';
import { checkPhotos } from './check-photos.ts';
import type { JobFiles } from './job-files.ts';
import { JOB_FILE } from './names.ts';
import { readRecord } from './read-record.ts';

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
  /** How it stands, in words, where the standing does not say it all. */
  readonly note?: string;
  /** When it was imported, ISO date-time; null where the ledger does not know it. */
  readonly when: string | null;
}

/** Everything a job folder holds, read and checked against its ledger. */
export interface OpenedFiles {
  /** The files it was read from. */
  readonly source: JobFiles;
  readonly job: Job;
  /** In file order; the order of files is by name within `readings/`, then `scans/`. */
  readonly readings: readonly Reading[];
  /** Oldest first; the last one for a reading holds (`markFinder`). */
  readonly marks: readonly Mark[];
  /** What was said of sheets that read like others, oldest first. */
  readonly declarations: readonly Declaration[];
  readonly files: readonly JobFile[];
  readonly ledger: Ledger;
  /** What is wrong or worth knowing about files and ledger. */
  readonly findings: readonly Finding[];
}

/**
 * Reads a job from its files. Only reads: it works in a folder that cannot be written, and beside a running `add`.
 *
 * A CSV put into `readings/` by hand is read like any other, with a note; a file that differs from what the ledger
 * recorded, or is gone, is a `stop` finding. Rows that were set aside at import stay out, with a note.
 *
 * @throws InputError when job.json is missing or faulty, or a file holds unusable rows that no import set aside
 */
export async function openFiles(source: JobFiles): Promise<OpenedFiles> {
  const job = readJob(source);
  const { present, ledger, kept, findings: told } = readRecord(source);
  const findings: Finding[] = [
    ...told,
    ...checkPanels(source, ledger).findings,
    ...checkPhotos(source, ledger).findings,
  ];
  const readings: Reading[] = [];
  const problems: Problem[] = [];
  const files: JobFile[] = [];
  const clouds = cloudsOf(ledger.records);
  const hashes = new Map<string, string>();
  const recorded = new Map(
    [...kept.values()]
      .filter((each) => source.hasReadings(each.file, each.sha256))
      .map((each) => [each.sha256, each.file]),
  );

  for (const file of [...new Set([...present, ...kept.keys()])].sort(byFolderThenName)) {
    const record = kept.get(file);
    const before = readings.length;
    const cloud = clouds.get(file);
    const read = await source.readCsv(
      file,
      record?.sha256 ?? null,
      readOptions(job, file),
      () => {
        readings.length = before;
      },
      (reading) => readings.push(cloud === undefined ? reading : { ...reading, source: cloud }),
    );
    if (read === null) {
      // A file put there by hand and taken away again this moment is nobody's loss.
      if (record === undefined) continue;
      files.push({
        file,
        sha256: null,
        bytes: 0,
        rows: 0,
        readings: 0,
        standing: 'missing',
        when: record.when,
      });
      findings.push(fileMissing(file, record));
      continue;
    }
    const twin = record === undefined ? (hashes.get(read.sha256) ?? recorded.get(read.sha256)) : undefined;
    let standing: FileStanding = 'unknown';
    if (record !== undefined) standing = record.sha256 === read.sha256 ? 'known' : 'changed';
    else if (twin !== undefined) standing = 'duplicate';
    hashes.set(read.sha256, file);

    if (standing === 'duplicate') {
      readings.length = before;
      findings.push(fileTwice(file, twin!));
    } else {
      const expected = new Set(standing === 'known' ? record!.setAside.map((each) => each.row) : []);
      problems.push(
        ...read.problems.filter(
          (each) =>
            each.row === undefined ||
            // Older records name a stray quote by its first row alone.
            (!expected.has(each.row) && !expected.has(swallowedBy(each) ?? each.row)),
        ),
      );
      findings.push(...standingFindings(file, standing, record));
    }
    const { sha256, bytes, rows } = read;
    const count = readings.length - before;
    files.push({ file, sha256, bytes, rows, readings: count, standing, when: record?.when ?? null });
  }

  if (problems.length > 0) {
    throw new InputError(
      `${problems.length} row${problems.length === 1 ? '' : 's'} in the job's files cannot be read. ` +
        (problems.some((each) => each.file !== undefined && kept.has(each.file))
          ? 'What was imported stays as it is: if job.json was changed since (a line renamed, a span), put that back; `sweepbook verify` says which file is no longer the one that was imported.'
          : 'They were put there by hand: correct them, or take the file out and import it with `sweepbook add --set-aside`.'),
      problems,
    );
  }
  return {
    ...{ source, job, readings, files, ledger, findings },
    marks: marksOf(ledger.records),
    declarations: declarationsOf(ledger.records),
  };
}

/**
 * The job in job.json, and the profiles it refers to.
 *
 * @throws InputError when there is none, or it is faulty (with every problem found)
 */
function readJob(source: JobFiles): Job {
  const text = source.bytes(JOB_FILE, 'job');
  if (text === null) throw new InputError(`${source.name} is not a job: it has no job.json.`);
  return parseJob(utf8Text(text), {
    file: JOB_FILE,
    readText: (file) => {
      const bytes = source.bytes(file, 'job');
      return bytes === null ? null : utf8Text(bytes);
    },
  });
}
