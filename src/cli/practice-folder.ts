import { existsSync, mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { InputError } from '../input-error.ts';
import { isPractice } from '../job/practice-mark.ts';
import { PRACTICE_FILE, type PracticeFile, parsePractice, practiceText } from '../practice/file.ts';
import type { GirderTruth } from '../practice/girder.ts';
import { type PracticeState, practiceGirder, practiceStates } from '../practice/steel.ts';
import { type PracticeSurvey, practiceSurvey } from '../practice/survey.ts';
import { inJob } from './store/layout.ts';
import { readInputText } from './store/open-input.ts';
import { readJobFile } from './store/read-job-file.ts';
import { writeAtomic } from './store/write-atomic.ts';

/** Where the crew of a practice leaves its sheets, to be added like any other. */
export const SHEETS_FOLDER = 'sheets';

/** A practice replayed to where it stands. */
export interface Practice {
  readonly file: PracticeFile;
  readonly truth: GirderTruth;
  /** As found and after each heat. */
  readonly states: readonly PracticeState[];
  /** Surveys of each state, in the order they were taken. */
  readonly surveys: readonly (readonly PracticeSurvey[])[];
}

/** @throws InputError when the folder is no practice */
export function openPractice(folder: string): Practice {
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
  return replay(parsePractice(readInputText(inJob(folder, PRACTICE_FILE), 'job')));
}

export function replay(file: PracticeFile): Practice {
  const truth = practiceGirder(file.setUp);
  const heats = file.cycles.flatMap(({ heat }) => heat ?? []);
  const states = practiceStates(file.setUp, truth, heats);
  const surveys = file.cycles.map(({ underLoad }, cycle) =>
    underLoad.map((held, i) => practiceSurvey(file.setUp, truth, states[cycle]!, i + 1, held)),
  );
  return { file, truth, states, surveys };
}

export function keepPractice(folder: string, file: PracticeFile): void {
  writeAtomic(inJob(folder, PRACTICE_FILE), practiceText(file));
}

/** Writes the last survey of the last cycle as a sheet to be added. @returns its path */
export function writeSheetOf(folder: string, practice: Practice): string {
  const cycle = practice.surveys.length - 1;
  const taken = practice.surveys[cycle]!.length;
  const name = `cycle-${`${cycle}`.padStart(2, '0')}${taken === 1 ? '' : `-again-${taken - 1}`}.csv`;
  const sheets = inJob(folder, SHEETS_FOLDER);
  mkdirSync(sheets, { recursive: true });
  const path = join(sheets, name);
  writeAtomic(path, practice.surveys[cycle]!.at(-1)!.csv);
  return path;
}
