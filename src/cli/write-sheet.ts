import { dirname, resolve } from 'node:path';
import { InputError } from '../input-error.ts';
import type { Io } from './io.ts';
import { withFolderLock } from './store/folder-lock.ts';
import { inJob, isInside } from './store/layout.ts';
import { makeFolder } from './store/make-folder.ts';
import { writeAtomic } from './store/write-atomic.ts';

/**
 * Where a paper goes: its place in the job, or where told.
 *
 * @param file job-relative
 * @throws InputError when the target is not an .html file
 */
export function sheetPath(folder: string, file: string, out: string | undefined, io: Io): string {
  const path = out === undefined ? inJob(folder, file) : resolve(io.cwd, out);
  // It can then never take the place of readings, job.json or the ledger.
  if (!/\.html?$/i.test(path)) throw new InputError(`${out}: a report is an .html file; name it so`);
  return path;
}

/** Writes a paper whole or not at all, under the job's lock where it lies in the job. @returns its size, bytes */
export async function writeSheet(folder: string, path: string, text: string): Promise<number> {
  const bytes = Buffer.from(text, 'utf8');
  const write = async (): Promise<void> => {
    makeFolder(dirname(path));
    writeAtomic(path, bytes);
  };
  if (isInside(folder, path)) await withFolderLock(folder, 15_000, write);
  else await write();
  return bytes.length;
}
