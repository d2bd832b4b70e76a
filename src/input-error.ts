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

/** Problems of one column alike in what was expected become one line from this many on. */
const MOST_ALIKE = 3;
/** Stretches of rows and readings of cells listed before the rest is counted. */
const MOST_ROWS = 8;
const MOST_FOUND = 2;

/**
 * One line a problem, except that a fault which repeats down a column (same file, column and expectation) is said once,
 * with how often and on which rows, where the first of it stands. Order: as found.
 *
 * @param problems as found, rows increasing within a file
 */
export function describeProblems(problems: readonly Problem[]): string[] {
  const groups = new Map<string, Problem[]>();
  const keyOf = (problem: Problem) =>
    JSON.stringify([problem.file, problem.column ?? null, problem.expected]);
  for (const problem of problems) {
    const group = groups.get(keyOf(problem));
    if (group === undefined) groups.set(keyOf(problem), [problem]);
    else group.push(problem);
  }
  return problems.flatMap((problem) => {
    const group = groups.get(keyOf(problem))!;
    if (group.length <= MOST_ALIKE || group.some((each) => each.row === undefined))
      return [describeProblem(problem)];
    return problem === group[0] ? [describeAlike(group)] : [];
  });
}

function describeAlike(group: readonly Problem[]): string {
  const { file, column, expected, suggestion } = group[0]!;
  const heading = column === undefined ? '' : ` ${column}:`;
  const found = [...new Set(group.map((each) => each.found))];
  const others = found.length - MOST_FOUND;
  const cells = `${found.slice(0, MOST_FOUND).join(', ')}${others > 0 ? ` and ${others} other ${others === 1 ? 'cell' : 'cells'}` : ''}`;
  // A near miss belongs to its own cell: it is said only where all cells are the same.
  const hint = found.length > 1 || suggestion === undefined ? '' : ` (${suggestion})`;
  const rows = stretches(group.map((each) => each.row!));
  const more = rows.length - MOST_ROWS;
  const where = `${rows.slice(0, MOST_ROWS).join(', ')}${more > 0 ? ` and ${more} more stretches` : ''}`;
  return inertText(
    `${file}:${heading} found ${cells}, expected ${expected}${hint}: ${group.length} times, rows ${where}`,
  );
}

/** `2 to 40`, `42`: runs of rows that follow one another. */
function stretches(rows: readonly number[]): string[] {
  const runs: [number, number][] = [];
  for (const row of [...new Set(rows)].sort((a, b) => a - b)) {
    const run = runs.at(-1);
    if (run !== undefined && row === run[1] + 1) run[1] = row;
    else runs.push([row, row]);
  }
  return runs.map(([from, to]) => (from === to ? String(from) : `${from} to ${to}`));
}
