import { basename } from 'node:path';
import type { Finding } from '../../finding.ts';
import { InputError, type Problem } from '../../input-error.ts';
import { readOptions } from '../../read/readings-csv.ts';
import { type FileToKeep, type KeptResult, keepFiles } from './keep-files.ts';
import { keptFiles, readLedger } from './ledger.ts';
import type { SetAsideRow } from './ledger-record.ts';
import { MOST_PROBLEMS, type ReadFile, readCsvFile } from './read-csv-file.ts';
import { readJobFile } from './read-job-file.ts';

export interface AddOptions {
  readonly setAside: boolean;
  /** ISO date-time */
  readonly when: string;
  /** How long to wait while another process writes, ms. */
  readonly waitMs: number;
  readonly onProgress?: (path: string, bytes: number, size: number) => void;
}

export interface AddResult extends KeptResult {
  /** Worth knowing, but no reason to refuse. */
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
  const before = keptFiles(readLedger(folder));
  const held = new Map<string, string>();
  const known = new Set<string>();
  for (const each of before.values()) {
    known.add(each.sha256);
    for (const { line, cycle, state } of each.surveys) held.set(`${line}\n${cycle}\n${state}`, each.file);
  }

  for (const path of paths) {
    const name = basename(path);
    const read = await readCsvFile(
      path,
      readOptions(job, name),
      () => {},
      (bytes, size) => options.onProgress?.(name, bytes, size),
    );
    problems.push(...read.problems);
    const fatal = wholeFileFault(read);
    if (fatal !== null) {
      refused = true;
      if (read.problems.length === 0)
        problems.push({ file: name, found: fatal, expected: 'at least one reading' });
    }
    if (!known.has(read.sha256)) findings.push(...alreadyRead(name, read, held));
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
    const rows = new Set(problems.map((each) => `${each.file}\n${each.row}`)).size;
    throw new InputError(
      `nothing was imported: ${rows} row${rows === 1 ? '' : 's'} cannot be used. Correct the file${
        refused ? '.' : ', or import the rest with --set-aside.'
      }`,
      problems,
    );
  }
  const result = await keepFiles(folder, files, options.when, options.waitMs);
  return { ...result, findings };
}

/** Why setting rows aside cannot help: no usable headings, a fault of the whole file, or nothing left. */
function wholeFileFault(read: ReadFile): string | null {
  if (read.form === null || read.problems.some((each) => each.row === undefined))
    return 'no usable heading line';
  if (read.count === 0) return 'no reading';
  return read.problemCount > MOST_PROBLEMS ? 'more than 10,000 unusable rows' : null;
}

function setAsideRow(problem: Problem): SetAsideRow {
  const { row, column, found, expected } = problem;
  return { row: row ?? 1, ...(column === undefined ? {} : { column }), found, expected };
}

/** A survey the job holds already: its readings will count as repeats, which is seldom meant. */
function alreadyRead(name: string, read: ReadFile, held: ReadonlyMap<string, string>): Finding[] {
  return read.surveys.flatMap(({ line, cycle, state }): Finding[] => {
    const earlier = held.get(`${line}\n${cycle}\n${state}`);
    if (earlier === undefined) return [];
    return [
      {
        severity: 'caution',
        code: 'survey-read-before',
        message: `${name}: the job has readings of ${line}, cycle ${cycle}${state === 'restrained' ? ' restrained' : ''} already (${earlier}); they will count together as repeats. If this is another cycle, correct its number.`,
        line,
        cycle,
        file: name,
      },
    ];
  });
}
