import type { Analysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { HeatLog } from './heat-log.ts';
import { heatsOfJob } from './heats-of-job.ts';
import { stillDays } from './still-days.ts';

/** What the heats of a job say beside an answer. Plain data: it goes from a worker to the page as it is. */
export interface BesideHeats {
  /** Stops of the log, of the steel and of the limits. */
  readonly stops: readonly Finding[];
  /** A log that could not be read, as a caution. */
  readonly faults: readonly Finding[];
  /** Days that stood still beside the heat log, one sentence each. */
  readonly days: readonly string[];
}

const NO_LOG: HeatLog = { heats: [], gasUnit: null, currency: null };

/**
 * What stands beside an analysis on every first screen. Cautions and notes about heats stay with `heats` and the report. A
 * faulty log does not keep the answer back: it is named in a caution, and the stops that need no log are still given.
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
  return { stops, faults, days: log !== null && stood ? stillDays(analysis, log) : [] };
}

/** An analysis with these among its findings, first: who looks only at the answer must not heat past a stop. */
export function withHeats(
  analysis: Analysis,
  { stops, faults }: Pick<BesideHeats, 'stops' | 'faults'>,
): Analysis {
  // Stops before cautions before notes, as everywhere: the fault of the log comes after the last stop.
  const own = analysis.findings.filter((each) => each.severity === 'stop');
  const rest = analysis.findings.filter((each) => each.severity !== 'stop');
  return { ...analysis, findings: [...stops, ...own, ...faults, ...rest] };
}
