import type { Job } from '../job/job.ts';

/** What job.json leaves out that a ceiling needs. */
export function missingForCeiling(job: Job): string {
  const held = 'how the member is held and pushed ("restraint")';
  const jacks = 'where the jacks stand and how large their rams are ("jacks")';
  const placed = job.jacks.some((jack) => jack.station !== null);
  if (job.restraint === null) return placed ? held : `${held}, nor ${jacks}`;
  return jacks;
}
