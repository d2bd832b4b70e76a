import { basename } from 'node:path';
import type { Finding } from '../../finding.ts';
import { InputError, type Problem } from '../../input-error.ts';
import { isPractice, PRACTICE_NOTE } from '../../job/practice-mark.ts';
import { readOptions } from '../../job/read-options.ts';
import { keptFiles } from '../../ledger/contents.ts';
import { setAsideRow, wholeFileFault } from '../../ledger/import-facts.ts';
import type { Reading } from '../../survey/survey.ts';
import { doubtsAbout, gatherReadings, notCompared } from './doubts.ts';
import { type FileToKeep, type KeptResult, keepFiles } from './keep-files.ts';
import { readLedger } from './ledger.ts';
import { readCsvFile } from './read-csv-file.ts';
import { readJobFile } from './read-job-file.ts';

/**
 * Readings of one line that `status` still answers in seconds (50,000: 9 s of processor and 330 MB in 20 surveys of 2500,
 * 6 s and 290 MB in 400 of 125; `bench:fit`).
 */
const MOST_A_LINE = 50_000;

export interface AddOptions {
  readonly setAside: boolean;
  /** Take more readings of a line than can be answered in seconds. */
  readonly anySize?: boolean;
  /** ISO date-time */
  readonly when: () => string;
  /** How long to wait while another process writes, ms. */
  readonly waitMs: number;
  readonly onProgress?: (path: string, bytes: number, size: number) => void;
}

export interface AddResult extends KeptResult {
  /** Worth knowing, but no reason to refuse. A `stop` is about readings that were imported and do not count (yet). */
  readonly findings: readonly Finding[];
}

/**
 * Imports CSV files into a job: all of them or none.
 *
 * @param paths absolute paths
 * @throws InputError with every unusable row of every file, unless `setAside`; a file whose headings cannot be used,
 *   or of which no row can be, is refused always
 */
export async function addFiles(
  folder: string,
  paths: readonly string[],
  options: AddOptions,
): Promise<AddResult> {
  const job = readJobFile(folder);
  const findings: Finding[] = [];
  const problems: Problem[] = [];
  const files: FileToKeep[] = [];
  let refused = false;
  const known = new Set([...keptFiles(readLedger(folder)).values()].map((each) => each.sha256));
  let incoming: Reading[] | null = [];

  for (const path of paths) {
    const name = basename(path);
    const gathered = gatherReadings();
    const read = await readCsvFile(path, readOptions(job, name), gathered.add, (bytes, size) =>
      options.onProgress?.(name, bytes, size),
    );
    problems.push(...read.problems);
    const fatal = wholeFileFault(read);
    if (fatal !== null) {
      refused = true;
      if (read.problems.length === 0)
        problems.push({ file: name, found: fatal, expected: 'at least one reading' });
    }
    if (!known.has(read.sha256)) {
      const readings = gathered.all();
      const practised = readings?.find((reading) => reading.note === PRACTICE_NOTE);
      if (practised !== undefined && !isPractice(job)) {
        refused = true;
        problems.push({
          ...{ file: name, row: practised.row, column: 'note' },
          found: `"${PRACTICE_NOTE}": a reading of a simulated girder`,
          expected: 'readings of the steel of this job',
        });
      }
      incoming = incoming === null || readings === null ? null : [...incoming, ...readings];
    }
    known.add(read.sha256);
    files.push({
      from: { path },
      sha256: read.sha256,
      into: 'readings',
      name,
      facts: {
        original: name,
        rows: read.rows,
        readings: read.count,
        surveys: [...read.surveys],
        setAside: read.problems.map(setAsideRow),
      },
    });
  }

  if (refused || (problems.length > 0 && !options.setAside)) {
    const rows = new Set(
      problems.filter((each) => each.row !== undefined).map((each) => `${each.file}\n${each.row}`),
    ).size;
    const what = rows === 0 ? 'the file' : `${rows} row${rows === 1 ? '' : 's'}`;
    throw new InputError(
      `nothing was imported: ${what} cannot be used. Correct the file${
        refused ? '.' : ', or import the rest with --set-aside.'
      }`,
      problems,
    );
  }
  if (options.anySize !== true) requireAnswerable(folder, files);
  if (incoming === null) findings.push(notCompared());
  else if (incoming.length > 0) {
    const hashes = new Set(files.map((each) => each.sha256));
    findings.push(...(await doubtsAbout(folder, job, incoming, hashes)).doubts);
  }
  const result = await keepFiles(folder, files, options.when, options.waitMs);
  return { ...result, findings };
}

/** @throws InputError when a line would have more readings than can be answered: better said now than found out later */
function requireAnswerable(folder: string, files: readonly FileToKeep[]): void {
  const kept = [...keptFiles(readLedger(folder)).values()];
  const bytes = new Set(kept.map((each) => each.sha256));
  const fresh = files.filter((each) => !bytes.has(each.sha256));
  const sums = new Map<string, number>();
  for (const { line, readings } of [
    ...kept.flatMap((each) => each.surveys),
    ...fresh.flatMap((each) => each.facts.surveys),
  ]) {
    sums.set(line, (sums.get(line) ?? 0) + readings);
  }
  // Only a line that gets something new can be too long because of it.
  const touched = new Set(fresh.flatMap((each) => each.facts.surveys.map(({ line }) => line)));
  const problems = [...touched]
    .filter((line) => sums.get(line)! > MOST_A_LINE)
    .map(
      (line): Problem => ({
        file: fresh.map((each) => each.name).join(', '),
        found: `${sums.get(line)} readings of ${line} with those already in the job`,
        expected: `at most ${MOST_A_LINE} of one line, which can be answered in seconds`,
      }),
    );
  if (problems.length === 0) return;
  throw new InputError(
    'nothing was imported: so many readings of one line would take minutes to answer. Take every second or fifth station (a bend shows at one every foot), or import them all the same with --any-size.',
    problems,
  );
}
