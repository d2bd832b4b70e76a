import type { Job } from './job.ts';

/**
 * How a practice is told from a job: by its id, which stands in job.json and in the ledger, so that neither can lose it
 * without the other saying so.
 */
export const PRACTICE_ID = 'practice-';
/** Stands before the name of a practice wherever a job's name is shown. */
export const PRACTICE_NAME = 'PRACTICE: ';
export const PRACTICE_WARNING = 'PRACTICE: a simulated girder, no record of any steel. Never file it.';

/** In the note of every reading of a practice, so that it cannot be taken into a job. */
export const PRACTICE_NOTE = 'PRACTICE';

export function isPractice(job: Pick<Job, 'id'>): boolean {
  return job.id?.startsWith(PRACTICE_ID) === true;
}

/** The name of a job as it is shown: that of a practice says so, whatever its job.json calls it. */
export function shownName(name: string, id: string | undefined): string {
  return id?.startsWith(PRACTICE_ID) === true && !name.startsWith(PRACTICE_NAME)
    ? PRACTICE_NAME + name
    : name;
}
