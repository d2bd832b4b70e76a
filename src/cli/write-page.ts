import { dirname, resolve } from 'node:path';
import { InputError } from '../input-error.ts';
import type { Io } from './io.ts';
import { withFolderLock } from './store/folder-lock.ts';
import { inJob, isInside, REPORTS_FOLDER } from './store/layout.ts';
import { makeFolder } from './store/make-folder.ts';
import { writeAtomic } from './store/write-atomic.ts';

/**
 * Writes a page, whole or not at all.
 *
 * @param folder absolute job folder, where the default place is; null: `out` is needed
 * @throws InputError when the target is not an .html file: a page must never take the place of readings or the ledger
 */
export async function writeOut(
  text: string,
  folder: string | null,
  out: string | undefined,
  io: Io,
): Promise<{ readonly path: string; readonly bytes: number }> {
  const path =
    out === undefined ? inJob(folder!, `${REPORTS_FOLDER}/readings-page.html`) : resolve(io.cwd, out);
  if (!/\.html?$/i.test(path)) throw new InputError(`${out}: the page is an .html file; name it so`);
  const bytes = Buffer.from(text, 'utf8');
  const write = async (): Promise<void> => {
    makeFolder(dirname(path));
    writeAtomic(path, bytes);
  };
  if (folder !== null && isInside(folder, path)) await withFolderLock(folder, 15_000, write);
  else await write();
  return { path, bytes: bytes.length };
}
