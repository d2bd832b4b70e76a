import { existsSync } from 'node:fs';
import { InputError, type Problem } from '../../input-error.ts';
import { inJob } from './layout.ts';
import { readInputText } from './open-input.ts';

/**
 * A log kept by hand in a job folder, read by its own reader; null where there is none.
 *
 * @param file job-relative
 * @throws InputError with every fault of it: nothing of a faulty log is used
 */
export function logOfFolder<T extends { readonly problems: readonly Problem[] }>(
  folder: string,
  file: string,
  read: (text: string) => T,
): T | null {
  const path = inJob(folder, file);
  if (!existsSync(path)) return null;
  const log = read(readInputText(path, 'log'));
  if (log.problems.length > 0) throw new InputError(`${file} could not be used.`, log.problems);
  return log;
}
