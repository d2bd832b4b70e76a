import type { Analysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { HeatLog } from '../heats/heat-log.ts';
import { heatsOfJob } from '../heats/heats-of-job.ts';
import { stillDays } from '../heats/still-days.ts';
import { InputError } from '../input-error.ts';
import { heatLogOf } from './store/heats-of-folder.ts';
import { HEAT_LOG_FILE } from './store/layout.ts';

/** What `status` says beside the readings. */
export interface BesideHeats {
  /** The analysis with the stops about heats among its findings. */
  readonly analysis: Analysis;
  /** Days that stood still beside the heat log, one sentence each. */
  readonly days: readonly string[];
}

/**
 * An analysis beside the heat log of its folder. The stops of the log, of the steel and of the limits come first among
 * the findings: who looks only at the answer must not heat past them. Cautions and notes about heats stay with `heats`
 * and the report. A faulty log does not keep the answer back: it is named in a caution, and the stops that need no log
 * are still given.
 */
export function besideHeats(folder: string, analysis: Analysis): BesideHeats {
  const { log, fault } = readLog(folder, analysis);
  const stops = heatsOfJob(analysis, log ?? NO_LOG).findings.filter((each) => each.severity === 'stop');
  const faults: Finding[] =
    fault === null
      ? []
      : [
          {
            severity: 'caution',
            code: 'heat-log-not-read',
            message: `${fault} What it would show, stops too, is not known here. Its faults: sweepbook heats.`,
            file: HEAT_LOG_FILE,
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

const NO_LOG: HeatLog = { heats: [], gasUnit: null, currency: null };

function readLog(folder: string, analysis: Analysis): { log: HeatLog | null; fault: string | null } {
  try {
    return { log: heatLogOf(folder, analysis.job).log, fault: null };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { log: null, fault: error.message };
  }
}
