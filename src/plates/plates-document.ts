import type { Job } from '../job/job.ts';
import type { CoverPlateFit } from './cover-plate.ts';
import type { PlateFit } from './plate-fit.ts';
import { PLATES_DEFERRAL } from './plates-text.ts';

/** What `sweepbook plates --json` prints: SI (m, rad), plain data. */
export function platesDocument(
  job: Job,
  fits: readonly PlateFit[],
  covers: readonly CoverPlateFit[],
): Record<string, unknown> {
  return {
    schema: 'sweepbook/plates/1',
    job: job.name,
    units: 'SI',
    plates: fits,
    openings: covers,
    deferral: PLATES_DEFERRAL,
  };
}
