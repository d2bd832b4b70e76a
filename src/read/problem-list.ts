import type { Problem } from '../input-error.ts';

/** Adds one problem; `row` 0 means the whole file. */
export type AddProblem = (
  row: number,
  column: string | null,
  found: string,
  expected: string,
  suggestion?: string,
) => void;

export interface ProblemList {
  readonly add: AddProblem;
  /** The first `most` of them, in the order found. */
  readonly problems: readonly Problem[];
  readonly count: () => number;
  /** File lines with at least one problem. */
  readonly rows: () => number;
}

/** Problems of one file: all counted, the first `most` kept, so that a million bad rows do not fill the memory. */
export function problemList(file: string, most: number): ProblemList {
  const problems: Problem[] = [];
  let count = 0;
  let rows = 0;
  let lastRow = 0;
  return {
    problems,
    count: () => count,
    rows: () => rows,
    add: (row, column, found, expected, suggestion) => {
      count++;
      if (row !== lastRow) {
        rows++;
        lastRow = row;
      }
      if (problems.length >= most) return;
      problems.push({
        file,
        ...(row > 0 ? { row } : {}),
        ...(column === null ? {} : { column }),
        found,
        expected,
        ...(suggestion === undefined ? {} : { suggestion }),
      });
    },
  };
}

export function clip(text: string): string {
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}

/** A cell as a message shows it. */
export function shown(text: string): string {
  return text.trim() === '' ? 'nothing' : `"${clip(text.trim())}"`;
}
