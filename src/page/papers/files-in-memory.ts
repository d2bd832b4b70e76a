import type { JobFiles } from '../../folder/job-files.ts';
import { MOST_PROBLEMS } from '../../ledger/import-facts.ts';
import { readReadings } from '../../read/readings-csv.ts';
import { sha256Hex } from '../../sha256.ts';
import { utf8Text } from '../../utf8.ts';

/**
 * The files of a job held in memory.
 *
 * @param held bytes by job-relative name
 * @param notHere folders whose files are not among them
 */
export function filesInMemory(
  name: string,
  held: ReadonlyMap<string, Uint8Array>,
  notHere: readonly string[],
): JobFiles {
  const inside = (folder: string): string[] => {
    const start = folder === '' ? '' : `${folder}/`;
    const names = [...held.keys()].flatMap((file) =>
      file.startsWith(start) ? [file.slice(start.length).split('/')[0]!] : [],
    );
    return [...new Set(names)];
  };
  const digest = (file: string) => {
    const bytes = held.get(file);
    return bytes === undefined ? null : { sha256: sha256Hex(bytes), bytes: bytes.length };
  };
  return {
    name,
    notHere,
    names: inside,
    isFolder: (folder) => !held.has(folder) && inside(folder).length > 0,
    isFile: (file) => held.has(file),
    bytes: (file) => held.get(file) ?? null,
    digest,
    digestOfReadings: (file) => Promise.resolve(digest(file)),
    hasReadings: (file) => held.has(file),
    readCsv: (file, _recorded, options, begin, onReading) => {
      const bytes = held.get(file);
      if (bytes === undefined) return Promise.resolve(null);
      begin();
      const read = readReadings(utf8Text(bytes), { mostProblems: MOST_PROBLEMS, ...options });
      for (const reading of read.readings) onReading(reading);
      const { rows, problems } = read;
      return Promise.resolve({ sha256: sha256Hex(bytes), bytes: bytes.length, rows, problems });
    },
  };
}
