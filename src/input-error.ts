import { inertText } from './inert-text.ts';

/** One fault in something a person gave us: where, what was found, what was expected. */
export interface Problem {
  /** File as the user named it. */
  readonly file: string;
  /** 1-based line of the file; absent when the whole file is meant. */
  readonly row?: number;
  /** Column heading, or the path inside job.json. */
  readonly column?: string;
  readonly found: string;
  readonly expected: string;
  /** A near miss, when one is plain: "5 1/8 in?" */
  readonly suggestion?: string;
}

/**
 * The only error class a user meets: input that could not be used (exit status 1).
 * It carries every problem found, not just the first.
 */
export class InputError extends Error {
  readonly problems: readonly Problem[];

  constructor(message: string, problems: readonly Problem[] = []) {
    super(message);
    this.name = 'InputError';
    this.problems = problems;
  }
}

/** `file:row: column: found X, expected Y (suggestion)` on one line, for the terminal; active characters shown as escapes. */
export function describeProblem(problem: Problem): string {
  const where = problem.file + (problem.row === undefined ? '' : `:${problem.row}`);
  const column = problem.column === undefined ? '' : ` ${problem.column}:`;
  const hint = problem.suggestion === undefined ? '' : ` (${problem.suggestion})`;
  return inertText(`${where}:${column} found ${problem.found}, expected ${problem.expected}${hint}`);
}
