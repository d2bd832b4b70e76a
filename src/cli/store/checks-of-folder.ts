import { existsSync } from 'node:fs';
import type { CrackCheck } from '../../checks/crack-check.ts';
import { readCrackChecks } from '../../checks/crack-checks-csv.ts';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { CHECK_LOG_FILE, inJob } from './layout.ts';
import { readInputText } from './open-input.ts';

/** The crack checks of a job folder; none where there is no log. @throws InputError with every fault of it */
export function crackChecksOf(folder: string, job: Job): readonly CrackCheck[] {
  const path = inJob(folder, CHECK_LOG_FILE);
  if (!existsSync(path)) return [];
  const { checks, problems } = readCrackChecks(readInputText(path, 'log'), job.units, CHECK_LOG_FILE);
  if (problems.length > 0) throw new InputError(`${CHECK_LOG_FILE} could not be used.`, problems);
  return checks;
}
