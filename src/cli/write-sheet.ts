import { dirname, resolve, sep } from 'node:path';
import { InputError } from '../input-error.ts';
import type { Io } from './io.ts';
import { withFolderLock } from './store/folder-lock.ts';
import { inJob, REPORTS_FOLDER } from './store/layout.ts';
import { makeFolder } from './store/make-folder.ts';
import { writeAtomic } from './store/write-atomic.ts';

/** Where a one-page sheet goes: the job's reports folder, or where told. @throws InputError when the target is not an .html file */
export function sheetPath(folder: string, name: string, out: string | undefined, io: Io): string {
  const path = out === undefined ? inJob(folder, `${REPORTS_FOLDER}/${name}`) : resolve(io.cwd, out);
  // A sheet can then never take the place of readings, job.json or the ledger.
  if (!/\.html?$/i.test(path)) throw new InputError(`${out}: a sheet is an .html file; name it so`);
  return path;
}

/** Writes a sheet whole or not at all, under the job's lock where it lies in the job. */
export async function writeSheet(folder: string, path: string, text: string): Promise<void> {
  const write = async (): Promise<void> => {
    makeFolder(dirname(path));
    writeAtomic(path, text);
  };
  if (path.startsWith(folder + sep)) await withFolderLock(folder, 15_000, write);
  else await write();
}
