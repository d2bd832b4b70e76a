import { analyseLine } from './analyse-line.ts';
import type { Analysis } from './analysis.ts';
import { conclude, type OpenedReadings, prepare } from './conclude.ts';
import type { Finding } from './finding.ts';
import type { Job } from './job/job.ts';
import type { Declaration, Mark, Reading } from './survey/survey.ts';

/** The whole pipeline, pure: readings of a job in, every answer out. The fields are those of `OpenedReadings`. */
export function analyse(
  job: Job,
  readings: readonly Reading[],
  marks: readonly Mark[] = [],
  findings: readonly Finding[] = [],
  declarations: readonly Declaration[] = [],
): Analysis {
  return analyseOpened({ job, readings, marks, findings, declarations });
}

/** The pipeline on an opened job. */
export function analyseOpened(opened: OpenedReadings): Analysis {
  const prepared = prepare(opened);
  return conclude(prepared, prepared.lines.map(analyseLine));
}
