import { type Check, checkReadings } from '../../doubts/check-readings.ts';
import type { Finding } from '../../finding.ts';
import { InputError } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { keptFiles } from '../../ledger/contents.ts';
import type { Reading } from '../../survey/survey.ts';
import { readLedger } from './ledger.ts';
import { openJob } from './open-job.ts';

/** Beyond this the readings are not a crew's (a scan, a logger), and comparing them would cost memory without bound. */
const MOST_COMPARED = 50_000;

/** Gathers readings for a comparison; lets go of all of them once there are too many, and answers null. */
export function gatherReadings(): {
  readonly add: (reading: Reading) => void;
  readonly all: () => readonly Reading[] | null;
} {
  let gathered: Reading[] | null = [];
  return {
    add: (reading) => {
      if (gathered !== null && gathered.push(reading) > MOST_COMPARED) gathered = null;
    },
    all: () => gathered,
  };
}

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

/** Says that readings were not compared. */
export function notCompared(because = `there are more than ${MOST_COMPARED} of them`): Finding {
  return {
    severity: 'note',
    code: 'not-compared',
    message: `These readings were not compared with the earlier ones, because ${because}.`,
  };
}
