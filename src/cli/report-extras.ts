import { existsSync } from 'node:fs';
import type { Analysis } from '../analysis.ts';
import { crackStanding } from '../checks/crack-check.ts';
import { sumCosts } from '../costs/sums.ts';
import type { Finding } from '../finding.ts';
import { type HeatsOfJob, heatsOfJob } from '../heats/heats-of-job.ts';
import { describeProblems, InputError } from '../input-error.ts';
import { platesOfJob } from '../plates/plates-of-job.ts';
import type { ClaimFacts } from '../report/claim.ts';
import type { FileFact, ReportSection } from '../report/context.ts';
import { heatsSections } from '../report/heats-section.ts';
import { html } from '../report/html.ts';
import { lastCycle } from '../report/picks.ts';
import { platesSections } from '../report/plates-section.ts';
import { type Fraction, quantities } from '../report/quantities.ts';
import { crackChecksOf } from './store/checks-of-folder.ts';
import { costLogOf } from './store/costs-of-folder.ts';
import { hashFile } from './store/hash-file.ts';
import { heatLogOf } from './store/heats-of-folder.ts';
import { CHECK_LOG_FILE, COST_LOG_FILE, HEAT_LOG_FILE, inJob } from './store/layout.ts';

const SEVERITIES: readonly Finding['severity'][] = ['stop', 'caution', 'note'];

export interface ReportExtras {
  /** The analysis with the findings about the heat log among its own, worst first. */
  readonly analysis: Analysis;
  readonly sections: readonly ReportSection[];
  /** Null where the heat log could not be used. */
  readonly heats: HeatsOfJob | null;
  readonly files: readonly FileFact[];
  /** Why the heat log could not be used; null where it could, or there is none. */
  readonly fault: string | null;
  /** The same with every fault of its rows. */
  readonly faults: string | null;
}

/** What heats and plates add to a report. A faulty heat log does not keep the readings from being reported: the report names its faults. */
export function reportExtras(folder: string, analysis: Analysis, fraction: Fraction): ReportExtras {
  try {
    return extras(folder, analysis, fraction);
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    const body = html`<p><strong>Not given: ${error.message}</strong></p><ul>${describeProblems(error.problems).map((line) => html`<li>${line}</li>`)}</ul>`;
    return {
      analysis,
      sections: [
        { id: 'heats', title: 'Heats and jacking', in: 'both', body },
        ...platesSections(analysis.job, platesOfJob(analysis)),
      ],
      heats: null,
      files: [],
      fault: error.message,
      faults: [error.message, ...describeProblems(error.problems)].join(' '),
    };
  }
}

/** Cost log, heat log and crack checks for the claim. A log with faults is named, and nothing of it is summed. */
export function claimOfFolder(folder: string, analysis: Analysis): ClaimFacts {
  const { job } = analysis;
  const faults: string[] = [];
  const attempt = <T>(read: () => T): T | null => {
    try {
      return read();
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      faults.push([error.message, ...describeProblems(error.problems)].join(' '));
      return null;
    }
  };
  const heats = attempt(() => heatLogOf(folder, job).log);
  const costs = attempt(() => costLogOf(folder, job).log);
  const checks = attempt(() => crackChecksOf(folder, job));
  const heated = heats?.heats ?? [];
  const last = {
    cycle: Math.max(lastCycle(analysis), ...heated.map(({ cycle }) => cycle)),
    date:
      heated
        .flatMap(({ date }) => date ?? [])
        .sort()
        .at(-1) ?? null,
  };
  return {
    sums: heats === null || costs === null ? null : sumCosts(costs, heats, job.currency),
    cracks: checks === null ? null : crackStanding(checks, last),
    checks: checks ?? [],
    faults,
  };
}

/** Logs read as they stand, with their SHA-256. */
function logFacts(folder: string): FileFact[] {
  const logs = [
    [COST_LOG_FILE, 'cost log'],
    [CHECK_LOG_FILE, 'crack checks'],
  ] as const;
  return logs.flatMap(([file, name]) => {
    const path = inJob(folder, file);
    if (!existsSync(path)) return [];
    return [{ file, sha256: hashFile(path).sha256, rows: null, note: `${name}, read as it stands` }];
  });
}

function extras(folder: string, analysis: Analysis, fraction: Fraction): ReportExtras {
  const { job } = analysis;
  const { log } = heatLogOf(folder, job);
  const heats = heatsOfJob(analysis, log);
  const path = inJob(folder, HEAT_LOG_FILE);
  // Without a log and without jacking, what is said of heats is said by the zones already.
  const told = log.heats.length > 0 || heats.restraint !== null;
  const all = [...analysis.findings, ...heats.findings.filter((each) => told || each.severity === 'stop')];
  return {
    analysis: {
      ...analysis,
      findings: SEVERITIES.flatMap((severity) => all.filter((f) => f.severity === severity)),
    },
    sections: [
      ...heatsSections(analysis, heats, quantities(job.units, fraction, job.locale)),
      ...platesSections(job, platesOfJob(analysis)),
    ],
    files: existsSync(path)
      ? [
          {
            file: HEAT_LOG_FILE,
            sha256: hashFile(path).sha256,
            rows: log.heats.length,
            note: 'heat log, read as it stands',
          },
          ...logFacts(folder),
        ]
      : logFacts(folder),
    heats,
    fault: null,
    faults: null,
  };
}
