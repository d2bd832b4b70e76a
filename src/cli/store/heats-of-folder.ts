import type { Analysis } from '../../analysis.ts';
import type { HeatLog } from '../../heats/heat-log.ts';
import { readHeatLog } from '../../heats/heat-log-csv.ts';
import { type HeatsOfJob, heatsOfJob } from '../../heats/heats-of-job.ts';
import type { Job } from '../../job/job.ts';
import { analyseFolder } from '../analyse-kept.ts';
import { HEAT_LOG_FILE } from './layout.ts';
import { logOfFolder } from './log-of-folder.ts';
import { openJob } from './open-job.ts';

export interface HeatsOfFolder {
  readonly analysis: Analysis;
  readonly log: HeatLog;
  readonly heats: HeatsOfJob;
  /** Headings of the log that are not read. */
  readonly notRead: readonly string[];
}

/**
 * A job folder with its heat log, analysed. A job without a log has an empty one.
 *
 * @throws InputError as `openJob` does, and with every fault of heats.csv
 */
export async function heatsOfFolder(folder: string): Promise<HeatsOfFolder> {
  const opened = await openJob(folder);
  const { log, notRead } = heatLogOf(opened.folder, opened.job);
  const analysis = await analyseFolder(opened);
  return { analysis, log, heats: heatsOfJob(analysis, log), notRead };
}

/** The heat log of a job folder; empty where there is none. @throws InputError with every fault of it */
export function heatLogOf(folder: string, job: Job): { log: HeatLog; notRead: readonly string[] } {
  const read = logOfFolder(folder, HEAT_LOG_FILE, (text) => readHeatLog(text, job, HEAT_LOG_FILE));
  return read ?? { log: { heats: [], gasUnit: null, currency: null }, notRead: [] };
}
