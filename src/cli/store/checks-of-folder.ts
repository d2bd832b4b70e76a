import type { CrackCheck } from '../../checks/crack-check.ts';
import { readCrackChecks } from '../../checks/crack-checks-csv.ts';
import type { Job } from '../../job/job.ts';
import { CHECK_LOG_FILE } from './layout.ts';
import { logOfFolder } from './log-of-folder.ts';

/** The crack checks of a job folder; none where there is no log. @throws InputError with every fault of it */
export function crackChecksOf(folder: string, job: Job): readonly CrackCheck[] {
  const read = logOfFolder(folder, CHECK_LOG_FILE, (text) =>
    readCrackChecks(text, job.units, CHECK_LOG_FILE),
  );
  return read?.checks ?? [];
}
