import { existsSync } from 'node:fs';
import type { CostLog } from '../../costs/cost-log.ts';
import { readCostLog } from '../../costs/cost-log-csv.ts';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { COST_LOG_FILE, inJob } from './layout.ts';
import { readInputText } from './open-input.ts';

/** The cost log of a job folder; empty where there is none. @throws InputError with every fault of it */
export function costLogOf(folder: string, job: Job): { log: CostLog; notRead: readonly string[] } {
  const path = inJob(folder, COST_LOG_FILE);
  if (!existsSync(path)) return { log: { entries: [] }, notRead: [] };
  const { log, problems, notRead } = readCostLog(readInputText(path, 'log'), job, COST_LOG_FILE);
  if (problems.length > 0) throw new InputError(`${COST_LOG_FILE} could not be used.`, problems);
  return { log, notRead };
}
