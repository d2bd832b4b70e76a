import { existsSync, mkdirSync, statSync } from 'node:fs';
import { join, resolve } from 'node:path';
import type { Command } from 'commander';
import { describeProblems, InputError, type Problem } from '../input-error.ts';
import { type PastJobs, type PastRecord, pastLineText, readPastJobs } from '../past/record.ts';
import type { Io } from './io.ts';
import { hashBytes } from './store/hash-file.ts';
import { readInputText } from './store/open-input.ts';
import { writeAtomic } from './store/write-atomic.ts';

/** The file in an agency's folder that holds its finished jobs, one a line. */
const PAST_FILE = 'past.jsonl';

/** Where past jobs are kept: `--past`, else $SWEEPBOOK_PAST, else nowhere. */
export function pastFolder(io: Io, given: string | undefined): string | null {
  const folder = given ?? io.pastFolder ?? null;
  return folder === null || folder === '' ? null : resolve(io.cwd, folder);
}

/** Path of the file of past jobs in a folder. */
export function pastFile(folder: string): string {
  return join(folder, PAST_FILE);
}

/**
 * The finished jobs of a folder, none where there is no file yet.
 *
 * @throws InputError when the folder is not there or the file is no regular file
 */
export function readPastFolder(folder: string): PastJobs {
  if (!existsSync(folder) || !statSync(folder).isDirectory()) {
    throw new InputError(`${folder} could not be used.`, [
      {
        file: folder,
        found: existsSync(folder) ? 'not a folder' : 'nothing',
        expected: 'the folder of past jobs',
      },
    ]);
  }
  const path = pastFile(folder);
  if (!existsSync(path)) return { lines: [], problems: [], replaced: [] };
  return readPastJobs(readInputText(path, 'past'), PAST_FILE, hashBytes);
}

/** The finished jobs of $SWEEPBOOK_PAST; none where it is not set. */
export function pastRecords(io: Io): readonly PastRecord[] {
  const from = pastFolder(io, undefined);
  return from === null ? [] : readPastFolder(from).lines.map(({ record }) => record);
}

/** The folder of past jobs, or a usage error where none is named. */
export function requirePastFolder(io: Io, given: string | undefined, command: Command): string {
  const folder = pastFolder(io, given);
  if (folder === null) {
    command.error('error: say where finished jobs are kept: --past <folder>, or $SWEEPBOOK_PAST', {
      exitCode: 2,
    });
  }
  return folder;
}

/** Lines that could not be used are said and left out; the others count. */
export function tellProblems(io: Io, problems: readonly Problem[]): void {
  for (const line of describeProblems(problems)) io.err(`caution: ${line}\n`);
}

/** Adds a record at the end of the file, which is made where there is none; the same record twice is one. Says what was done. */
export function addPastRecord(folder: string, record: PastRecord): string {
  mkdirSync(folder, { recursive: true });
  const before = readPastFolder(folder);
  const line = pastLineText(record, hashBytes);
  const { sha256 } = JSON.parse(line) as { sha256: string };
  if (before.lines.some((each) => each.sha256 === sha256))
    return `${record.job} is there already (${sha256.slice(0, 8)}).\n`;
  const path = pastFile(folder);
  const text = existsSync(path) ? readInputText(path, 'past') : '';
  const now = text + (text === '' || text.endsWith('\n') ? '' : '\n') + line;
  writeAtomic(path, now);
  const { replaced } = readPastJobs(now, PAST_FILE, hashBytes);
  const instead = replaced.filter((each) => before.lines.some((one) => one.sha256 === each.sha256));
  return `${record.job} added to ${path} (${sha256.slice(0, 8)}).${instead.length === 0 ? '' : ` It counts in place of ${instead.map((each) => each.sha256.slice(0, 8)).join(', ')}, an earlier record of the same job, which stays in the file.`}\n`;
}
