import type { JobFiles } from '../folder/job-files.ts';
import { readLogs } from '../papers/logs.ts';
import type { AtHand } from '../papers/papers.ts';
import { analyseFolder } from './analyse-kept.ts';
import { type OpenedJob, openJob } from './store/open-job.ts';

/** A job folder, its logs and its analysis. @throws InputError as `openJob` */
export async function atHand(
  folder: string,
  files?: JobFiles,
): Promise<AtHand & { readonly opened: OpenedJob }> {
  const opened = await openJob(folder, files);
  return {
    opened,
    logs: readLogs(opened.source, opened.job),
    analysis: await analyseFolder(opened),
  };
}
