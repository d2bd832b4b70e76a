import { resolve } from 'node:path';
import type { JobFiles } from '../../folder/job-files.ts';
import { type OpenedFiles, openFiles } from '../../folder/open-files.ts';
import { filesOfFolder } from './files-of-folder.ts';
import { requireJobFolder } from './read-job-file.ts';

/** A job folder, read and checked against its ledger. */
export interface OpenedJob extends OpenedFiles {
  /** Absolute */
  readonly folder: string;
}

/**
 * Reads a job folder (`openFiles`).
 *
 * @param given path of the job folder
 * @param files of this folder, where somebody watches what is read of them
 * @throws InputError when there is no job here, or as `openFiles`
 */
export async function openJob(given: string, files?: JobFiles): Promise<OpenedJob> {
  const folder = resolve(given);
  requireJobFolder(folder);
  return { folder, ...(await openFiles(files ?? filesOfFolder(folder))) };
}
