import { existsSync, statSync } from 'node:fs';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { parseJob } from '../../job/job-file.ts';
import { inJob, JOB_FILE } from './layout.ts';
import { readInputText } from './open-input.ts';

/**
 * Reads the job.json of a folder, and the profiles it refers to.
 *
 * @param folder absolute path
 * @throws InputError when the folder is not a job, or job.json is faulty (with every problem found)
 */
export function readJobFile(folder: string): Job {
  requireJobFolder(folder);
  return jobOfText(folder, readInputText(inJob(folder, JOB_FILE), 'job'), JOB_FILE);
}

/**
 * The job a text of job.json makes, in a folder that may not exist yet.
 *
 * @param name what to call the text in messages
 * @throws InputError with every problem found
 */
export function jobOfText(folder: string, text: string, name: string): Job {
  return parseJob(text, {
    file: name,
    readText: (file) => (existsSync(inJob(folder, file)) ? readInputText(inJob(folder, file), 'job') : null),
  });
}

/** @throws InputError when the folder is not a job */
export function requireJobFolder(folder: string): void {
  if (existsSync(inJob(folder, JOB_FILE))) return;
  const there = existsSync(folder);
  const isFolder = there && statSync(folder).isDirectory();
  throw new InputError(
    isFolder
      ? `${folder} is not a job: it has no job.json. Start one with \`sweepbook new\`.`
      : there
        ? `${folder} is a file, not a job folder.`
        : `there is no job folder ${folder}.`,
  );
}
