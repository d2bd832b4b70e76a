import { existsSync, mkdirSync, statSync } from 'node:fs';
import { dirname } from 'node:path';

/**
 * Makes a folder and those above it that are missing; one that is there already is left alone. Not Node's own
 * `recursive`, which tries for ever where a file system answers "no such folder" beside an existing one (as /proc does).
 */
export function makeFolder(path: string): void {
  try {
    mkdirSync(path);
  } catch (error) {
    const { code } = error as NodeJS.ErrnoException;
    if (code === 'EEXIST' && statSync(path).isDirectory()) return;
    if (code !== 'ENOENT' || existsSync(dirname(path))) throw error;
    makeFolder(dirname(path));
    makeFolder(path);
  }
}
