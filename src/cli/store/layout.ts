import { join } from 'node:path';

/** Names inside a job folder. Everything that starts with a dot is the store's own and may be ignored by people. */
export const JOB_FILE = 'job.json';
export const READINGS_FOLDER = 'readings';
const SCANS_FOLDER = 'scans';
export const REPORTS_FOLDER = 'reports';
/** The heat log: grows by hand, a row a heat. */
export const HEAT_LOG_FILE = 'heats.csv';
/** Maps of panels; they are derived from scans and can be made again. */
export const PANELS_FOLDER = 'panels';
/** Folders whose CSV files are read as readings, in this order. */
export const CSV_FOLDERS = [READINGS_FOLDER, SCANS_FOLDER] as const;

/** A file on its way in waits under this name, beside its final place, until the ledger knows it. */
export function incomingName(sha256: string): string {
  return `.incoming-${sha256}`;
}

/** Absolute path of a job-relative file (which uses `/` on every system). */
export function inJob(folder: string, file: string): string {
  return join(folder, ...file.split('/'));
}
