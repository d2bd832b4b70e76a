/** How cracks were looked for. */
export const CHECK_METHODS = ['magnetic particle', 'dye', 'visual', 'ultrasonic'] as const;
export type CheckMethod = (typeof CHECK_METHODS)[number];

export const CHECK_TIMES = ['before heating', 'after heating'] as const;
export type CheckTime = (typeof CHECK_TIMES)[number];

export const CHECK_RESULTS = ['no crack', 'crack', 'not clear'] as const;
export type CheckResult = (typeof CHECK_RESULTS)[number];

/** One row of the log of crack checks. */
export interface CrackCheck {
  /** YYYY-MM-DD */
  readonly date: string;
  readonly cycle: number | null;
  readonly when: CheckTime;
  readonly method: CheckMethod;
  readonly where: string;
  readonly by: string;
  readonly result: CheckResult;
  readonly note: string | null;
  readonly file: string;
  readonly row: number;
}

/** What was heated last, as far as the heat log or the readings say. */
export interface LastHeat {
  readonly cycle: number;
  /** YYYY-MM-DD; null where not logged. */
  readonly date: string | null;
}

/** What a final report says of cracks on page one; `lacking` is true where the check after the last heat is not recorded. */
export interface CrackStanding {
  readonly lacking: boolean;
  readonly sentences: readonly string[];
}

/**
 * Whether cracks were looked for after the last heat, and what was found. A check belongs after the last heat where its
 * cycle says so, else where its date is not earlier; nothing is guessed.
 */
export function crackStanding(checks: readonly CrackCheck[], last: LastHeat): CrackStanding {
  const after = checks.filter(
    (check) =>
      check.when === 'after heating' &&
      (check.cycle !== null ? check.cycle >= last.cycle : last.date !== null && check.date >= last.date),
  );
  const bad = checks
    .filter(({ result }) => result !== 'no crack')
    .sort((a, b) => (a.date < b.date ? 1 : a.date > b.date ? -1 : 0));
  // A crack stands before everything else, the newest first: a summary that is cut short must not cut it.
  const words = (check: CrackCheck): string =>
    `${check.result} at ${check.where}, ${check.date} (${check.file}, row ${check.row})`;
  const sentences: string[] = bad.length === 0 ? [] : [`Found: ${bad.map(words).join('; ')}.`];
  if (after.length === 0) {
    sentences.push(
      `Not recorded: a check for cracks after the last heat (cycle ${last.cycle}). Look for cracks before this member is accepted.`,
    );
  } else {
    sentences.push(
      `Cracks after heating: ${after.map((check) => `${check.method}, ${check.where}, ${check.date}, by ${check.by}: ${check.result}`).join('; ')}.`,
    );
  }
  if (!checks.some(({ when }) => when === 'before heating')) {
    sentences.push('Not recorded: a check for cracks before heating.');
  }
  return { lacking: after.length === 0, sentences };
}
