import type { Finding } from '../../finding.ts';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { type Check, checkReadings } from '../../read/check.ts';
import type { Reading } from '../../survey/survey.ts';
import { keptFiles, readLedger } from './ledger.ts';
import { openJob } from './open-job.ts';

/** Beyond this the readings are not a crew's (a scan, a logger), and comparing them would cost memory without bound. */
export const MOST_COMPARED = 50_000;

/** What looks wrong in readings about to be imported, against the job and what it holds already. Stops nothing. */
export async function doubtsAbout(folder: string, job: Job, incoming: readonly Reading[]): Promise<Check> {
  let held = 0;
  for (const file of keptFiles(readLedger(folder)).values()) held += file.readings;
  if (held > MOST_COMPARED) return alone(incoming, job, `the job holds ${held} readings`);
  try {
    return checkReadings(incoming, job, (await openJob(folder)).readings);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return alone(incoming, job, 'a file of the job cannot be read (`sweepbook status` says which)');
  }
}

function alone(incoming: readonly Reading[], job: Job, because: string): Check {
  const { surveys, doubts } = checkReadings(incoming, job, []);
  return { surveys, doubts: [...doubts, notCompared(because)] };
}

export function notCompared(because: string): Finding {
  return {
    severity: 'note',
    code: 'not-compared',
    message: `These readings were not compared with the earlier ones, because ${because}.`,
  };
}
