import { analyseOpened } from '../analyse.ts';
import type { Analysis } from '../analysis.ts';
import type { OpenedReadings } from '../conclude.ts';
import { heatsOfJob } from '../heats/heats-of-job.ts';
import type { PastRecord } from '../past/record.ts';
import { planJob } from '../plan/plan.ts';
import type { ClaimFacts } from '../report/claim.ts';
import type { ReportSection } from '../report/context.ts';
import { lastCycle } from '../report/picks.ts';
import { plannedSection } from '../report/planned-section.ts';

/** The plan a job had before its first heat, beside what it came to; null where nothing was heated. */
export function plannedAgainst(
  opened: OpenedReadings,
  analysis: Analysis,
  claim: ClaimFacts,
  past: readonly PastRecord[],
): ReportSection | null {
  const cycles = lastCycle(analysis);
  if (cycles === 0) return null;
  const found = analyseOpened({ ...opened, readings: opened.readings.filter(({ cycle }) => cycle === 0) });
  const heats = heatsOfJob(found, { heats: [], gasUnit: null, currency: opened.job.currency });
  return plannedSection(opened.job, planJob({ analysis: found, heats, past }), {
    cycles,
    inside: analysis.member.verdict === 'within-tolerance',
    sums: claim.sums,
  });
}
