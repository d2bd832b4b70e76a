import { join } from 'node:path';
import { makeFolder } from './make-folder.ts';
import { writeAtomic } from './write-atomic.ts';

/** Writes files into a folder (made where it is missing), each whole or not at all. Returns their paths. */
export function writeFiles(
  folder: string,
  files: readonly { readonly name: string; readonly text: string }[],
): readonly string[] {
  makeFolder(folder);
  return files.map(({ name, text }) => {
    const path = join(folder, name);
    writeAtomic(path, text);
    return path;
  });
}
