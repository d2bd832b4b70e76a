import type { Analysis } from '../analysis.ts';
import { stillDays } from '../heats/still-days.ts';
import { InputError } from '../input-error.ts';
import { heatLogOf } from './store/heats-of-folder.ts';

/**
 * Days that stood still beside the heat log of a job folder, one sentence each. A faulty log does not keep the answer
 * back: it is named instead.
 */
export function besideHeats(folder: string, analysis: Analysis): string[] {
  if (analysis.lines.every((item) => (item.progress.pattern?.stoodStill.cycles.length ?? 0) === 0)) return [];
  try {
    return stillDays(analysis, heatLogOf(folder, analysis.job).log);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return [`${error.message} Its faults: sweepbook heats.`];
  }
}
