import { existsSync, readdirSync, statSync } from 'node:fs';
import { InputError } from '../../input-error.ts';
import { withFolderLock } from './folder-lock.ts';
import { inJob, JOB_FILE, READINGS_FOLDER, REPORTS_FOLDER } from './layout.ts';
import { appendToLedger } from './ledger.ts';
import { makeFolder } from './make-folder.ts';
import { writeAtomic } from './write-atomic.ts';

/** Beside job.json, so that editors complete and check it without a network. */
const SCHEMA_FILE = '.job.schema.json';
export const SCHEMA_REFERENCE = `./${SCHEMA_FILE}`;

/**
 * Makes a job folder: `readings/`, `reports/`, the ledger's first record, the JSON Schema for editors, and job.json
 * last, so that a folder without job.json is simply not yet a job and `new` may be run again.
 *
 * @throws InputError when the folder holds a job or anything else; nothing is ever overwritten
 */
export async function createJob(
  folder: string,
  files: { readonly job: string; readonly schema: string; readonly id: string },
  name: string,
  when: string,
  waitMs: number,
): Promise<void> {
  await inNewFolder(folder, files.schema, waitMs, () => {
    appendToLedger(folder, { kind: 'start', job: name }, when, files.id);
    writeAtomic(inJob(folder, JOB_FILE), files.job);
  });
}

/**
 * Lets `write` put a job into a new or empty folder while nobody else writes there.
 *
 * @param schema the JSON Schema for editors
 * @throws InputError when the folder holds a job or anything else; nothing is ever overwritten
 */
export async function inNewFolder(
  folder: string,
  schema: string,
  waitMs: number,
  write: () => void,
): Promise<void> {
  refuseOccupied(folder);
  makeFolder(folder);
  await withFolderLock(folder, waitMs, async () => {
    refuseOccupied(folder);
    makeFolder(inJob(folder, READINGS_FOLDER));
    makeFolder(inJob(folder, REPORTS_FOLDER));
    writeAtomic(inJob(folder, SCHEMA_FILE), schema);
    write();
  });
}

/** What a killed `new` may have left; anything else in the folder is somebody's. */
const OWN = new Set([READINGS_FOLDER, REPORTS_FOLDER, 'ledger.jsonl']);

function refuseOccupied(folder: string): void {
  if (!existsSync(folder)) return;
  if (!statSync(folder).isDirectory()) throw new InputError(`${folder} is a file, not a folder.`);
  if (existsSync(inJob(folder, JOB_FILE))) {
    throw new InputError(
      `${folder} is a job already; nothing was changed. Choose another folder, or edit its job.json.`,
    );
  }
  const others = readdirSync(folder).filter((name) => !name.startsWith('.') && !OWN.has(name));
  if (others.length > 0) {
    throw new InputError(
      `${folder} is not empty (it holds ${others[0]}); nothing was changed. Choose a new or empty folder.`,
    );
  }
}
