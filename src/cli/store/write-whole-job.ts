import { rmSync } from 'node:fs';
import { dirname } from 'node:path';
import { InputError } from '../../input-error.ts';
import { readSheet } from '../../page/all-readings.ts';
import { planFolder } from '../../page/folder/folder-plan.ts';
import { rehashed } from '../../page/folder-files.ts';
import { parseBundle } from '../../page/job-bundle.ts';
import { openBundle } from '../../page/open-bundle.ts';
import { filesOfBook } from '../../page/papers/files-of-book.ts';
import { inNewFolder } from './create-job.ts';
import { inJob } from './layout.ts';
import { makeFolder } from './make-folder.ts';
import { writeAtomic } from './write-atomic.ts';

/** Steps of a path that stay inside the job folder and hide nothing in it. */
const PLAIN = /^(?:[^./\\:][^/\\:]*\/)*[^./\\:][^/\\:]*\.(?:csv|json)$/i;

/**
 * A whole-job file the readings page handed over as a job folder: its ledger as it stands, then one more record for the
 * sheets keyed on the page. What was changed inside the file stays a stop, here as there. job.json comes last, so that a
 * folder without it is simply not yet a job.
 *
 * @param text of the file
 * @param fresh an id nobody has, for a job that needs one
 * @returns the files written and the count of ledger records
 * @throws InputError when the file is none, names a file outside the folder, or the folder is not new or empty
 */
export async function writeWholeJob(
  folder: string,
  text: string,
  file: string,
  given: { readonly schema: string; readonly when: string; readonly fresh: string; readonly waitMs: number },
): Promise<{ readonly files: readonly string[]; readonly records: number }> {
  const bundle = rehashed(parseBundle(text, file));
  const outside = [...bundle.files, ...bundle.others, ...(bundle.panels ?? [])].filter(
    (each) => !PLAIN.test(each.file),
  );
  if (outside.length > 0) {
    throw new InputError(
      `${file} could not be used.`,
      outside.slice(0, 20).map((each) => ({
        file,
        found: `a file called ${JSON.stringify(each.file)}`,
        expected: 'names of CSV and JSON files inside the job folder',
      })),
    );
  }
  const opened = openBundle(bundle);
  const sheets = bundle.sheets.map((sheet) => readSheet(sheet, opened));
  const plan = planFolder(new Map(), filesOfBook(bundle, sheets), opened.job, given.when, given.fresh);
  const last = plan.steps.filter((step) => step.kind === 'write' && step.file === 'job.json');
  await inNewFolder(folder, given.schema, given.waitMs, () => {
    for (const step of [...plan.steps.filter((each) => !last.includes(each)), ...last]) {
      const path = inJob(folder, step.file);
      if (step.kind === 'remove') rmSync(path);
      else {
        makeFolder(dirname(path));
        writeAtomic(path, step.bytes);
      }
    }
  });
  return { files: plan.said, records: plan.records };
}
