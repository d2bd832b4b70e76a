import { type Check, checkReadings } from '../../doubts/check-readings.ts';
import { copiesAmong } from '../../doubts/copies.ts';
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

/**
 * What looks wrong in readings about to be imported, against the job and what it holds already. Stops nothing; readings
 * that would not count, because they are there already, are a `stop` among the doubts.
 *
 * @param hashes SHA-256 of the incoming files: one of them put into the folder by hand is no copy of itself
 */
export async function doubtsAbout(
  folder: string,
  job: Job,
  incoming: readonly Reading[],
  hashes: ReadonlySet<string> = new Set(),
): Promise<Check> {
  let held = 0;
  for (const file of keptFiles(readLedger(folder)).values()) held += file.readings;
  if (held > MOST_COMPARED) return alone(incoming, job, `the job holds ${held} readings`);
  try {
    const { readings, files } = await openJob(folder);
    const same = new Set(files.filter((each) => hashes.has(each.sha256 ?? '')).map((each) => each.file));
    const existing = same.size === 0 ? readings : readings.filter((each) => !same.has(each.file));
    const { surveys, doubts } = checkReadings(incoming, job, existing);
    const copies = copiesAmong(incoming, existing);
    const rest = copies.length === 0 ? doubts : doubts.filter((each) => each.code !== 'survey-twice');
    return { surveys, doubts: [...copies, ...rest] };
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
