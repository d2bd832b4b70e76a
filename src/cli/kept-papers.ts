import type { JobFiles } from '../folder/job-files.ts';
import { type Asked, saidAlike, watchFiles } from '../folder/watch-files.ts';
import { programDigest } from './core-digest.ts';
import { filesOfFolder } from './store/files-of-folder.ts';
import { hashBytes } from './store/hash-file.ts';
import { openKeptPaper } from './store/kept-answers.ts';
import { requireJobFolder } from './store/read-job-file.ts';

interface Kept<T> {
  readonly asked: readonly Asked[];
  readonly made: T;
}

/**
 * What a command makes of a job folder: from `.kept/` where every file it was made of says the same today, else made.
 *
 * @param folder absolute
 * @param wish everything else it depends on (the command, its options, the date it prints, the width of the screen): plain data
 * @param make reads the job through these files and in no other way; gives plain data
 * @param code digest of the code that makes it; null: nothing is kept
 * @throws InputError when there is no job here, or as `make`
 */
export async function keptPaper<T>(
  folder: string,
  wish: unknown,
  make: (files: JobFiles) => Promise<T>,
  code: string | null = programDigest(),
): Promise<T> {
  requireJobFolder(folder);
  const files = filesOfFolder(folder);
  // Paths are in messages; an engine of another make is another code.
  const what = JSON.stringify([code, process.versions, folder, wish]);
  const kept = code === null ? null : openKeptPaper(folder, what);
  if (kept === null) return make(files);
  if (kept.found !== null) {
    const { asked, made } = JSON.parse(kept.found) as Kept<T>;
    if (await unchanged(files, asked)) return made;
  }
  const watched = watchFiles(files, hashBytes);
  const made = await make(watched.files);
  const asked = watched.asked();
  if (asked !== null) kept.keep(JSON.stringify({ asked, made } satisfies Kept<T>));
  return made;
}

/** A file that cannot be read any more is a change too: whoever makes the answer says what is wrong with it. */
async function unchanged(files: JobFiles, asked: readonly Asked[]): Promise<boolean> {
  try {
    return await saidAlike(files, asked, hashBytes);
  } catch {
    return false;
  }
}
