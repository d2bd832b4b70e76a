import { lstatSync } from 'node:fs';
import nodePath, { join } from 'node:path';
import { InputError } from '../../input-error.ts';

export {
  CSV_FOLDERS,
  incomingName,
  JOB_FILE,
  KEPT_FOLDER,
  PANELS_FOLDER,
  PHOTOS_FOLDER,
  READINGS_FOLDER,
  REPORTS_FOLDER,
} from '../../folder/names.ts';

/**
 * Absolute path of a job-relative file (which uses `/` on every system). The one way into a job folder: a folder may come
 * from anybody, so nothing in it leads out of it.
 *
 * @throws InputError when the file, or a folder on the way to it, is a link
 */
export function inJob(folder: string, file: string): string {
  let path = folder;
  for (const part of file.split('/')) {
    path = join(path, part);
    if (isLink(path)) {
      throw new InputError(
        `${file} in this job folder is a link to another place (${path}). Links inside a job are not followed: put the file itself there, or take the link away.`,
      );
    }
  }
  return path;
}

/**
 * Whether a path lies inside a folder, by the rules of the system (Windows: whatever the capitals and the slashes).
 *
 * @param path those rules; given by tests
 */
export function isInside(
  folder: string,
  file: string,
  path: Pick<typeof nodePath, 'relative' | 'isAbsolute'> = nodePath,
): boolean {
  const way = path.relative(folder, file);
  return way !== '' && !/^\.\.(?:[/\\]|$)/.test(way) && !path.isAbsolute(way);
}

function isLink(path: string): boolean {
  try {
    return lstatSync(path, { throwIfNoEntry: false })?.isSymbolicLink() === true;
  } catch {
    // Below a file, or not to be looked into: whoever opens it says so.
    return false;
  }
}
