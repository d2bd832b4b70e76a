import type { Analysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { HeatLog } from './heat-log.ts';
import { heatsOfJob } from './heats-of-job.ts';
import { stillDays } from './still-days.ts';

/** What the first screen says beside the readings. */
export interface BesideHeats {
  /** The analysis with the stops about heats among its findings. */
  readonly analysis: Analysis;
  /** Days that stood still beside the heat log, one sentence each. */
  readonly days: readonly string[];
}

const NO_LOG: HeatLog = { heats: [], gasUnit: null, currency: null };

/**
 * An analysis beside its heat log, for every first screen. The stops of the log, of the steel and of the limits come
 * first among the findings: who looks only at the answer must not heat past them. Cautions and notes about heats stay
 * with `heats` and the report. A faulty log does not keep the answer back: it is named in a caution, and the stops that
 * need no log are still given.
 *
 * @param log null where it could not be read
 * @param fault what is wrong with it, in one sentence, and the file's name; null where nothing is
 */
export function besideHeats(
  analysis: Analysis,
  log: HeatLog | null,
  fault: { readonly message: string; readonly file: string } | null = null,
): BesideHeats {
  const stops = heatsOfJob(analysis, log ?? NO_LOG).findings.filter((each) => each.severity === 'stop');
  const faults: Finding[] =
    fault === null
      ? []
      : [
          {
            severity: 'caution',
            code: 'heat-log-not-read',
            message: `${fault.message} What it would show, stops too, is not known here. Its faults: sweepbook heats.`,
            file: fault.file,
          },
        ];
  const stood = analysis.lines.some((item) => (item.progress.pattern?.stoodStill.cycles.length ?? 0) > 0);
  // Stops before cautions before notes, as everywhere: the fault of the log comes after the last stop.
  const own = analysis.findings.filter((each) => each.severity === 'stop');
  const rest = analysis.findings.filter((each) => each.severity !== 'stop');
  return {
    analysis: { ...analysis, findings: [...stops, ...own, ...faults, ...rest] },
    days: log !== null && stood ? stillDays(analysis, log) : [],
  };
}
