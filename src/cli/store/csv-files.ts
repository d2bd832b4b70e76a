import { readdirSync } from 'node:fs';
import { CSV_FOLDERS, inJob } from './layout.ts';

/** Job-relative names of the CSV files under `readings/` and `scans/`, sorted by name within each. */
export function csvFiles(folder: string): string[] {
  return CSV_FOLDERS.flatMap((into) =>
    namesIn(inJob(folder, into))
      .filter((name) => !name.startsWith('.') && /\.csv$/i.test(name))
      .sort()
      .map((name) => `${into}/${name}`),
  );
}

/** Names in a folder; none when there is no such folder. */
export function namesIn(path: string): string[] {
  try {
    return readdirSync(path);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'ENOENT') return [];
    throw error;
  }
}
