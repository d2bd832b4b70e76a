import type { Problem } from '../input-error.ts';
import type { SetAsideRow } from './record.ts';

/** Problems kept of one file; more than this and it is not a file of readings with a few bad rows. */
export const MOST_PROBLEMS = 10_000;

/** Why setting rows aside cannot help: no usable headings, a fault of the whole file, or nothing left; null: it can. */
export function wholeFileFault(read: {
  readonly form: string | null;
  readonly count: number;
  readonly problems: readonly Problem[];
  readonly problemCount: number;
}): string | null {
  if (read.form === null) return 'no usable heading line';
  if (read.problems.some((each) => each.row === undefined)) return 'a fault of the whole file';
  if (read.count === 0) return 'no reading';
  return read.problemCount > MOST_PROBLEMS ? 'more than 10,000 unusable cells' : null;
}

/** A row that could not be used, as the record of an import keeps it. */
export function setAsideRow({ row, column, found, expected }: Problem): SetAsideRow {
  return { row: row ?? 1, ...(column === undefined ? {} : { column }), found, expected };
}
