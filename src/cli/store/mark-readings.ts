import { InputError, type Problem } from '../../input-error.ts';
import type { Mark } from '../../survey/survey.ts';
import { withFolderLock } from './folder-lock.ts';
import { finishIncoming } from './keep-files.ts';
import { appendToLedger } from './ledger.ts';
import { openJob } from './open-job.ts';

export interface MarkedRows {
  readonly seq: number;
  /** Job-relative */
  readonly file: string;
  readonly rows: readonly number[];
}

/**
 * Records a person's decision about readings of one file as one ledger record.
 *
 * @param mark `file` as the job names it, or its last part where that is unique
 * @param when ISO date-time
 * @throws InputError when the job has no such file, or a row of it holds no reading
 */
export async function markReadings(
  folder: string,
  mark: Omit<Mark, 'row' | 'when'> & { readonly rows: readonly number[] },
  when: string,
  waitMs: number,
): Promise<MarkedRows> {
  const job = await openJob(folder);
  const names = job.files.filter((each) => each.standing !== 'missing').map((each) => each.file);
  const file = fileNamed(names, mark.file);
  const present = new Set(job.readings.filter((each) => each.file === file).map((each) => each.row));
  const problems = mark.rows
    .filter((row) => !present.has(row))
    .map((row): Problem => ({ file, row, found: 'no reading', expected: 'the line of a reading' }));
  if (problems.length > 0)
    throw new InputError('not every row holds a reading; nothing was marked.', problems);

  const { action, rows, who, why } = mark;
  return withFolderLock(folder, waitMs, async () => {
    finishIncoming(folder);
    const record = appendToLedger(folder, { kind: 'mark', action, file, rows: [...rows], who, why }, when);
    return { seq: record.seq, file, rows };
  });
}

function fileNamed(names: readonly string[], given: string): string {
  const wanted = given.replaceAll('\\', '/').replace(/^\.\//, '');
  const exact = names.find((name) => name === wanted);
  if (exact !== undefined) return exact;
  const close = names.filter((name) => name.endsWith(`/${wanted}`) || wanted.endsWith(`/${name}`));
  if (close.length === 1) return close[0]!;
  throw new InputError(`the job has no file "${given}".`, [
    {
      file: given,
      found: close.length === 0 ? 'no file of this name' : `several: ${close.join(', ')}`,
      expected:
        names.length === 0
          ? 'a file of the job (it has none yet)'
          : `one of ${names.slice(0, 12).join(', ')}`,
    },
  ]);
}
