import { lstatSync, readdirSync, statSync } from 'node:fs';
import type { InputKind, JobFiles } from '../../folder/job-files.ts';
import { hashFile } from './hash-file.ts';
import { inJob } from './layout.ts';
import { readInput } from './open-input.ts';
import { placeOf, withFile } from './place.ts';
import { readCsvFile } from './read-csv-file.ts';

/**
 * The files of a job folder on disk, each read when it is asked for and CSVs a block at a time.
 *
 * @param folder absolute
 */
export function filesOfFolder(folder: string): JobFiles {
  const digest = (file: string) => whereThere(() => hashFile(inJob(folder, file)));
  return {
    name: folder,
    notHere: [],
    names: (into) => namesIn(into === '' ? folder : inJob(folder, into)),
    isFolder: (name) => lstatSync(inJob(folder, name), { throwIfNoEntry: false })?.isDirectory() === true,
    isFile: (name) => statSync(inJob(folder, name), { throwIfNoEntry: false })?.isFile() === true,
    bytes: (file: string, kind: InputKind) => whereThere(() => readInput(inJob(folder, file), kind)),
    digest,
    digestOfReadings: (file, recorded) => withFile(folder, file, recorded, hashFile),
    hasReadings: (file, recorded) => placeOf(folder, file, recorded) !== null,
    readCsv: (file, recorded, options, begin, onReading) =>
      withFile(folder, file, recorded, (path) => {
        begin();
        return readCsvFile(path, options, onReading);
      }),
  };
}

/** Names in a folder; none when there is no such folder. */
export function namesIn(path: string): string[] {
  return whereThere(() => readdirSync(path)) ?? [];
}

function whereThere<T>(read: () => T): T | null {
  try {
    return read();
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return null;
    throw error;
  }
}
