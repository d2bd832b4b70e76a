import { existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { HEAT_LOG_FILE } from '../folder/names.ts';
import { InputError } from '../input-error.ts';
import { isPractice } from '../job/practice-mark.ts';
import { PRACTICE_FILE, type PracticeFile, parsePractice, practiceText } from '../practice/file.ts';
import { newestSheet, type Practice, replay } from '../practice/replay.ts';
import { withFolderLock } from './store/folder-lock.ts';
import { inJob } from './store/layout.ts';
import { readInputText } from './store/open-input.ts';
import { readJobFile } from './store/read-job-file.ts';
import { writeAtomic } from './store/write-atomic.ts';

/** Where the crew of a practice leaves its sheets, to be added like any other. */
export const SHEETS_FOLDER = 'sheets';

/**
 * Does something to a practice that nobody else is at.
 *
 * @throws InputError when the folder is no practice, or is not there: said before a lock is asked of it
 */
export async function inPractice<T>(folder: string, work: (practice: Practice) => Promise<T>): Promise<T> {
  requirePractice(folder);
  return withFolderLock(folder, 15_000, () => work(openPractice(folder)));
}

function requirePractice(folder: string): void {
  const job = readJobFile(folder);
  if (!isPractice(job) || !existsSync(inJob(folder, PRACTICE_FILE))) {
    throw new InputError(`${job.name} is not a practice.`, [
      {
        file: PRACTICE_FILE,
        found: isPractice(job) ? 'nothing' : 'a job of real steel',
        expected: 'a folder begun with `sweepbook practice new`',
      },
    ]);
  }
}

function openPractice(folder: string): Practice {
  requirePractice(folder);
  return replay(parsePractice(readInputText(inJob(folder, PRACTICE_FILE), 'job')));
}

export function keepPractice(folder: string, file: PracticeFile): void {
  writeAtomic(inJob(folder, PRACTICE_FILE), practiceText(file));
}

/** Writes the last survey of the last cycle as a sheet to be added. @returns its path */
export function writeSheetOf(folder: string, practice: Practice): string {
  const { name, csv } = newestSheet(practice);
  const sheets = inJob(folder, SHEETS_FOLDER);
  mkdirSync(sheets, { recursive: true });
  const path = join(sheets, name);
  writeAtomic(path, csv);
  return path;
}

/** Text of the heat log; empty where there is none. */
export function heatLogText(folder: string): string {
  const path = inJob(folder, HEAT_LOG_FILE);
  return existsSync(path) ? readInputText(path, 'log') : '';
}

export function writeHeatLog(folder: string, text: string): void {
  writeAtomic(inJob(folder, HEAT_LOG_FILE), text);
}
