/** The public core: pure, no Node and no browser built-ins. Names are listed one by one on purpose. */
export type * from './analysis.ts';
export { VERDICTS } from './analysis.ts';
export type { Finding } from './finding.ts';
export { describeProblem, InputError, type Problem } from './input-error.ts';
export type * from './job/job.ts';
export { type ParseJobOptions, parseJob } from './job/job-file.ts';
export { jobJsonSchema } from './job/job-schema.ts';
export {
  type ReadOptions,
  type ReadResult,
  type ReadSummary,
  readOptions,
  readReadings,
  streamReadings,
} from './read/readings-csv.ts';
export { assembleSurveys } from './survey/assemble.ts';
export { pooledReadingSd } from './survey/reading-sd.ts';
export type * from './survey/survey.ts';
export { formatDecimal, formatLength, formatUncertainty } from './units/format-length.ts';
export { formatAngle, formatStress, formatTemperature } from './units/format-quantity.ts';
export { type LengthOptions, type ParsedLength, parseLength } from './units/parse-length.ts';
