import type { LineFit } from '../src/analysis.ts';
import type { Job } from '../src/job/job.ts';
import { assembleSurveys } from '../src/survey/assemble.ts';
import { pooledReadingSd } from '../src/survey/reading-sd.ts';
import type { Reading } from '../src/survey/survey.ts';
import { fitLine } from '../src/zones/fit-line.ts';

/** The fit of a job's first line to readings, as the analysis makes it. */
export function fitReadings(job: Job, readings: readonly Reading[]): LineFit {
  const line = job.lines[0]!;
  const surveys = assembleSurveys(readings, line);
  return fitLine(line, job.member, surveys, [], pooledReadingSd(surveys, line), 'us');
}
