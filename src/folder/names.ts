/** Names inside a job folder. Everything that starts with a dot is the store's own and may be ignored by people. */
export const JOB_FILE = 'job.json';
export const READINGS_FOLDER = 'readings';
const SCANS_FOLDER = 'scans';
export const REPORTS_FOLDER = 'reports';
/** The heat log: grows by hand, a row a heat. */
export const HEAT_LOG_FILE = 'heats.csv';
/** The cost log: grows by hand, a row a thing paid for. */
export const COST_LOG_FILE = 'costs.csv';
/** The log of crack checks: grows by hand, a row a check. */
export const CHECK_LOG_FILE = 'checks.csv';
/** Maps of panels; they are derived from scans and can be made again. */
export const PANELS_FOLDER = 'panels';
/** Answers of earlier runs: never needed, no part of the record, may be deleted at any time. */
export const KEPT_FOLDER = '.kept';
/** Photographs, byte for byte as given. */
export const PHOTOS_FOLDER = 'photos';
/** Folders whose CSV files are read as readings, in this order. */
export const CSV_FOLDERS = [READINGS_FOLDER, SCANS_FOLDER] as const;

/** A file on its way in waits under this name, beside its final place, until the ledger knows it. */
export function incomingName(sha256: string): string {
  return `.incoming-${sha256}`;
}
