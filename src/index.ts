/** The public core: pure, no Node and no browser built-ins. Names are listed one by one on purpose. */
export type * from './analysis.ts';
export { VERDICTS } from './analysis.ts';
export type { Finding } from './finding.ts';
export { describeProblem, InputError, type Problem } from './input-error.ts';
export type * from './job/job.ts';
export type * from './survey/survey.ts';
