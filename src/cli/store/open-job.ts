import { resolve } from 'node:path';
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
 * @throws InputError when there is no job here, or as `openFiles`
 */
export async function openJob(given: string): Promise<OpenedJob> {
  const folder = resolve(given);
  requireJobFolder(folder);
  return { folder, ...(await openFiles(filesOfFolder(folder))) };
}
