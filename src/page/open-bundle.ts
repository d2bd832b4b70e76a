import type { Finding } from '../finding.ts';
import { InputError, type Problem } from '../input-error.ts';
import type { Job } from '../job/job.ts';
import { parseJob } from '../job/job-file.ts';
import { readOptions } from '../job/read-options.ts';
import { readReadings, swallowedBy } from '../read/readings-csv.ts';
import type { Declaration, Mark, Reading } from '../survey/survey.ts';
import type { JobBundle } from './job-bundle.ts';

/** A bundle read: the same things the command line gets from a job folder. */
export interface OpenedBundle {
  readonly job: Job;
  readonly readings: readonly Reading[];
  readonly marks: readonly Mark[];
  readonly findings: readonly Finding[];
  readonly declarations: readonly Declaration[];
}

/** @throws InputError with every problem of job.json or of the files; rows set aside at import are no problem */
export function openBundle(bundle: JobBundle): OpenedBundle {
  const texts = new Map([...bundle.others, ...bundle.files].map(({ file, text }) => [file, text]));
  const job = parseJob(bundle.job, { readText: (file) => texts.get(file.replace(/^\.\//, '')) ?? null });
  const readings: Reading[] = [];
  const problems: Problem[] = [];
  for (const { file, text, aside, source } of bundle.files) {
    const known = new Set(aside);
    const read = readReadings(text, readOptions(job, file));
    for (const reading of read.readings)
      readings.push(source === undefined ? reading : { ...reading, source });
    problems.push(
      ...read.problems.filter(
        (each) =>
          each.row === undefined || (!known.has(each.row) && !known.has(swallowedBy(each) ?? each.row)),
      ),
    );
  }
  if (problems.length > 0) {
    const count = problems.length;
    throw new InputError(
      `${count} row${count === 1 ? '' : 's'} in the job's files cannot be read. Correct the file, or leave it out.`,
      problems,
    );
  }
  const marks = bundle.marks.map(
    ({ cycle, station, ...mark }): Mark => ({
      ...mark,
      ...(cycle === undefined ? {} : { cycle }),
      ...(station === undefined ? {} : { station }),
    }),
  );
  const declarations = (bundle.declarations ?? []).map(
    ({ cycle, ...said }): Declaration => ({ ...said, ...(cycle === undefined ? {} : { cycle }) }),
  );
  return { job, readings, marks, declarations, findings: bundle.findings.map(plainFinding) };
}

function plainFinding(given: JobBundle['findings'][number]): Finding {
  const { severity, code, message, line, cycle, station, file, row } = given;
  return {
    severity,
    code,
    message,
    ...(line === undefined ? {} : { line }),
    ...(cycle === undefined ? {} : { cycle }),
    ...(station === undefined ? {} : { station }),
    ...(file === undefined ? {} : { file }),
    ...(row === undefined ? {} : { row }),
  };
}
