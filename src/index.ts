/** The public core: pure, no Node and no browser built-ins. Names are listed one by one on purpose. */

export { analyse } from './analyse.ts';
export type * from './analysis.ts';
export { VERDICTS } from './analysis.ts';
export type { Finding } from './finding.ts';
export { readHeatLog } from './heats/heat-log-csv.ts';
export { heatsDocument } from './heats/heats-document.ts';
export { heatsOfJob } from './heats/heats-of-job.ts';
export { describeProblem, describeProblems, InputError, type Problem } from './input-error.ts';
export type * from './job/job.ts';
export { parseJob } from './job/job-file.ts';
export { jobJsonSchema } from './job/job-schema.ts';
export { readOptions } from './job/read-options.ts';
export { pastJsonSchema, pastRecordSchema } from './past/record.ts';
export { platesDocument } from './plates/plates-document.ts';
export { platesOfJob } from './plates/plates-of-job.ts';
export { readReadings } from './read/readings-csv.ts';
export { scanJsonSchema } from './scan/set-up-schema.ts';
export { type StatusDocument, statusDocument, statusSchema } from './status/status-document.ts';
export type * from './survey/survey.ts';
export { formatLength } from './units/format-length.ts';
export { parseLength } from './units/parse-length.ts';
