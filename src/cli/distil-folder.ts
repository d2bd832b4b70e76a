import { analyse } from '../analyse.ts';
import type { Verdict } from '../analysis.ts';
import { sumCosts } from '../costs/sums.ts';
import { heatsOfJob } from '../heats/heats-of-job.ts';
import { distil } from '../past/distil.ts';
import type { PastRecord } from '../past/record.ts';
import { costLogOf } from './store/costs-of-folder.ts';
import { heatLogOf } from './store/heats-of-folder.ts';
import { openJob } from './store/open-job.ts';

/** A finished job folder as a record; the word after each cycle is worked out from the readings up to it, as it was that day. */
export async function distilFolder(
  folder: string,
  said: { readonly outcome: PastRecord['outcome']; readonly crewJobs: number | null },
): Promise<PastRecord> {
  const opened = await openJob(folder);
  const { job, readings, marks } = opened;
  const { log } = heatLogOf(opened.folder, job);
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
    costs: sumCosts(costLogOf(opened.folder, job).log, log, job.currency),
    verdicts,
    ...said,
  });
}
