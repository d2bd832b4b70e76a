import type { Analysis, LineAnalysis } from '../analysis.ts';
import type { Job, Line } from '../job/job.ts';
import type { Reading } from '../survey/survey.ts';

/** An analysis without what its reader has anyway: the job and the readings. Plain data. */
export type Answer = Omit<Analysis, 'job' | 'readings' | 'lines'> & {
  readonly lines: readonly LineAnswer[];
};

/** What `analyseLine` found, without the line. */
export type LineAnswer = Omit<LineAnalysis, 'line'>;

/** JSON keeps every finite number to the last digit; any other would silently become null, so it is refused. */
export function answerText({ job: _job, readings: _readings, ...rest }: Analysis): string {
  return exactText({ ...rest, lines: rest.lines.map(({ line: _line, ...line }) => line) } satisfies Answer);
}

/** The analysis again, of the job and readings it was made of. */
export function analysisOf(answer: Answer, job: Job, readings: readonly Reading[]): Analysis {
  return {
    ...answer,
    job,
    readings,
    lines: answer.lines.map((line, i) => ({ line: job.lines[i]!, ...line })),
  };
}

/** The answer for one line as text that gives it back to the last digit. */
export function lineText({ line: _line, ...answer }: LineAnalysis): string {
  return exactText(answer);
}

/** The answer again, of the line it was made of. @throws where the text is not one of `lineText` */
export function lineOf(text: string, line: Line): LineAnalysis {
  return { line, ...(JSON.parse(text) as LineAnswer) };
}

function exactText(answer: Answer | LineAnswer): string {
  const fault = firstNotFinite(answer);
  if (fault !== null) throw new Error(`the answer holds a number that is none, at ${fault}`);
  return JSON.stringify(answer);
}

function firstNotFinite(value: unknown): string | null {
  if (typeof value === 'number') return Number.isFinite(value) ? null : '';
  if (typeof value !== 'object' || value === null) return null;
  for (const key in value) {
    const inner = firstNotFinite((value as Record<string, unknown>)[key]);
    if (inner !== null) return inner === '' ? key : `${key}.${inner}`;
  }
  return null;
}
