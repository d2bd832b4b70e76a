import type { Analysis, LineAnalysis } from '../analysis.ts';
import type { Job } from '../job/job.ts';
import type { Reading } from '../survey/survey.ts';

/** An analysis without what the page has anyway: the job and the readings. Plain data. */
export type Answer = Omit<Analysis, 'job' | 'readings' | 'lines'> & {
  readonly lines: readonly Omit<LineAnalysis, 'line'>[];
};

/** JSON keeps every finite number to the last digit; any other would silently become null, so it is refused. */
export function answerText({ job: _job, readings: _readings, ...rest }: Analysis): string {
  const answer: Answer = { ...rest, lines: rest.lines.map(({ line: _line, ...line }) => line) };
  const fault = firstNotFinite(answer);
  if (fault !== null) throw new Error(`the answer holds a number that is none, at ${fault}`);
  return JSON.stringify(answer);
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

function firstNotFinite(value: unknown): string | null {
  if (typeof value === 'number') return Number.isFinite(value) ? null : '';
  if (typeof value !== 'object' || value === null) return null;
  for (const key in value) {
    const inner = firstNotFinite((value as Record<string, unknown>)[key]);
    if (inner !== null) return inner === '' ? key : `${key}.${inner}`;
  }
  return null;
}
