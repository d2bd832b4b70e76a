import { existsSync } from 'node:fs';
import type { Analysis } from '../../analysis.ts';
import type { HeatLog } from '../../heats/heat-log.ts';
import { readHeatLog } from '../../heats/heat-log-csv.ts';
import { type HeatsOfJob, heatsOfJob } from '../../heats/heats-of-job.ts';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { analyseFolder } from '../analyse-kept.ts';
import { HEAT_LOG_FILE, inJob } from './layout.ts';
import { readInputText } from './open-input.ts';
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
  const path = inJob(folder, HEAT_LOG_FILE);
  if (!existsSync(path)) return { log: { heats: [], gasUnit: null, currency: null }, notRead: [] };
  const { log, problems, notRead } = readHeatLog(readInputText(path, 'log'), job, HEAT_LOG_FILE);
  if (problems.length > 0) throw new InputError(`${HEAT_LOG_FILE} could not be used.`, problems);
  return { log, notRead };
}
