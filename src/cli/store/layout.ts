import { join } from 'node:path';

/** Names inside a job folder. Everything that starts with a dot is the store's own and may be ignored by people. */
export const JOB_FILE = 'job.json';
export const LEDGER_FILE = 'ledger.jsonl';
/** Seal of the newest ledger record, so that a ledger cut short is noticed. */
export const HEAD_FILE = '.ledger-head';
export const READINGS_FOLDER = 'readings';
export const SCANS_FOLDER = 'scans';
export const REPORTS_FOLDER = 'reports';
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

/**
 * A file name that is safe on every system: the last part of what was given, with only letters, digits,
 * dot, dash and underscore, no leading dot, at most 80 characters, ending in `.csv`.
 */
export function safeCsvName(given: string): string {
  const last = given.split(/[\\/]/).at(-1) ?? '';
  const stem = last
    .replace(/\.(csv|txt|tsv)$/i, '')
    .normalize('NFC')
    .replace(/[^\p{L}\p{N}._-]+/gu, '-')
    .replace(/^[.-]+|[.-]+$/g, '');
  const short = Array.from(stem).slice(0, 80).join('');
  const reserved = /^(con|prn|aux|nul|com\d|lpt\d)(\.|$)/i.test(short);
  return `${short === '' || reserved ? `readings-${short}`.replace(/-$/, '') : short}.csv`;
}
