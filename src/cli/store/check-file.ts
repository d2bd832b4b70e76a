import { basename } from 'node:path';
import { type CheckedSurvey, checkReadings } from '../../doubts/check-readings.ts';
import type { Finding } from '../../finding.ts';
import type { Job, JobUnits } from '../../job/job.ts';
import { readOptions } from '../../job/read-options.ts';
import { keptFiles } from '../../ledger/contents.ts';
import { wholeFileFault } from '../../ledger/import-facts.ts';
import { doubtsAbout, gatherReadings, notCompared } from './doubts.ts';
import { readLedger } from './ledger.ts';
import { type ReadFile, readCsvFile } from './read-csv-file.ts';
import { readJobFile } from './read-job-file.ts';

/** Stands for the line of a file without a line column, where there is no job to name it. */
const THE_ONLY_LINE = 'the only line';

export interface CheckedFile {
  /** Last part of the path. */
  readonly file: string;
  readonly units: JobUnits;
  readonly read: ReadFile;
  /** Empty when the file is too large to look at as a whole. */
  readonly surveys: readonly CheckedSurvey[];
  /** What can be read but looks wrong. */
  readonly doubts: readonly Finding[];
  /** Whether `add` would take it: as it is, only with --set-aside, or not at all. */
  readonly import: 'yes' | 'with --set-aside' | 'no';
  /** When the job imported the same bytes; null: it has not, or there is no job. */
  readonly imported: { readonly file: string; readonly when: string } | null;
}

/**
 * A dry run of an import: reads a CSV as `add` would, against a job or alone, and changes nothing.
 *
 * @param folder job folder; null: no job, any line name is taken
 * @param units units of bare numbers where there is no job
 */
export async function checkFile(
  path: string,
  folder: string | null,
  units: JobUnits,
  onProgress?: (bytes: number, size: number) => void,
): Promise<CheckedFile> {
  const job: Job | null = folder === null ? null : readJobFile(folder);
  const file = basename(path);
  const gathered = gatherReadings();
  const options = job === null ? { file, units, lines: null, line: THE_ONLY_LINE } : readOptions(job, file);
  const read = await readCsvFile(path, options, gathered.add, onProgress);
  const kept = folder === null ? [] : [...keptFiles(readLedger(folder)).values()];
  const twin = kept.find((each) => each.sha256 === read.sha256);
  const readings = gathered.all();
  let found: { surveys: readonly CheckedSurvey[]; doubts: readonly Finding[] };
  if (readings === null) {
    found = { surveys: [], doubts: [notCompared()] };
  } else if (folder === null || job === null || twin !== undefined) {
    const { surveys, doubts } = checkReadings(readings, job, []);
    // Alone, a file of a later cycle is nothing to wonder at.
    found = { surveys, doubts: doubts.filter((each) => each.code !== 'no-as-found-survey') };
  } else {
    found = await doubtsAbout(folder, job, readings, new Set([read.sha256]));
  }
  return {
    file,
    units: job?.units ?? units,
    read,
    ...found,
    import: wholeFileFault(read) !== null ? 'no' : read.problemCount > 0 ? 'with --set-aside' : 'yes',
    imported: twin === undefined ? null : { file: twin.file, when: twin.when },
  };
}
