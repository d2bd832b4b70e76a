import type { CostLog } from '../../costs/cost-log.ts';
import { readCostLog } from '../../costs/cost-log-csv.ts';
import type { Job } from '../../job/job.ts';
import { COST_LOG_FILE } from './layout.ts';
import { logOfFolder } from './log-of-folder.ts';

/** The cost log of a job folder; empty where there is none. @throws InputError with every fault of it */
export function costLogOf(folder: string, job: Job): { log: CostLog; notRead: readonly string[] } {
  const read = logOfFolder(folder, COST_LOG_FILE, (text) => readCostLog(text, job, COST_LOG_FILE));
  return read ?? { log: { entries: [] }, notRead: [] };
}
