import { analyse } from '../analyse.ts';
import type { Verdict } from '../analysis.ts';
import { sumCosts } from '../costs/sums.ts';
import type { OpenedFiles } from '../folder/open-files.ts';
import { heatsOfJob } from '../heats/heats-of-job.ts';
import { InputError } from '../input-error.ts';
import { isPractice } from '../job/practice-mark.ts';
import { distil } from '../past/distil.ts';
import type { PastRecord } from '../past/record.ts';
import { heldBy, readLogs } from './logs.ts';

/**
 * A finished job as a record; the word after each cycle is worked out from the readings up to it, as it was that day.
 *
 * @throws InputError with every fault of the heat log or the cost log; for a practice, which teaches nothing about steel
 */
export function distilJob(
  { source, job, readings, marks }: OpenedFiles,
  said: { readonly outcome: PastRecord['outcome']; readonly crewJobs: number | null },
): PastRecord {
  if (isPractice(job)) {
    throw new InputError(`${job.name} was not kept.`, [
      {
        file: 'job.json',
        found: 'a practice on a simulated girder',
        expected: 'a job that was done on steel',
      },
    ]);
  }
  const logs = readLogs(source, job);
  const log = heldBy(logs.heats);
  const analysis = analyse(job, readings, marks);
  const cycles = [...new Set(readings.map((reading) => reading.cycle))].sort((a, b) => a - b);
  const verdicts = cycles.map((cycle): { cycle: number; verdict: Verdict } => ({
    cycle,
    verdict: analyse(
      job,
      readings.filter((reading) => reading.cycle <= cycle),
      marks,
    ).member.verdict,
  }));
  return distil({
    analysis,
    heats: heatsOfJob(analysis, log),
    costs: sumCosts(heldBy(logs.costs), log, job.currency),
    verdicts,
    ...said,
  });
}
