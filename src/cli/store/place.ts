import { existsSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { incomingName, inJob } from './layout.ts';

/** Where the bytes of a file are: in place, or still waiting after its import was killed; null: gone. */
export function placeOf(folder: string, file: string, sha256: string | null): string | null {
  const final = inJob(folder, file);
  const size = statSync(final, { throwIfNoEntry: false })?.size;
  // A browser makes an empty file first: stopped there, the bytes still wait.
  if (size !== undefined && (size > 0 || sha256 === null)) return final;
  if (sha256 === null) return null;
  const waiting = join(final, '..', incomingName(sha256));
  if (existsSync(waiting)) return waiting;
  // It may just have been renamed by the process that imports it.
  return existsSync(final) ? final : null;
}

/**
 * Does something with the bytes of a file. The process that imports it may give it its final name at any moment, also
 * between finding and opening it; then it is looked for again.
 *
 * @param sha256 as the ledger has it; null where the ledger does not know the file
 * @returns null when the file is gone
 */
export async function withFile<T>(
  folder: string,
  file: string,
  sha256: string | null,
  work: (path: string) => T | Promise<T>,
): Promise<T | null> {
  for (let attempt = 1; ; attempt++) {
    const path = placeOf(folder, file, sha256);
    if (path === null) return null;
    try {
      return await work(path);
    } catch (error) {
      const gone = (error as NodeJS.ErrnoException).code === 'ENOENT';
      if (!gone || attempt === 5) throw error;
    }
  }
}
