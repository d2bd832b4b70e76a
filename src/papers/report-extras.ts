import type { Analysis } from '../analysis.ts';
import { crackStanding } from '../checks/crack-check.ts';
import { sumCosts } from '../costs/sums.ts';
import type { Finding } from '../finding.ts';
import type { HeatLog } from '../heats/heat-log.ts';
import { type HeatsOfJob, heatsOfJob } from '../heats/heats-of-job.ts';
import { describeProblems, type InputError } from '../input-error.ts';
import { coverPlatesOf } from '../plates/cover-plate.ts';
import { platesOfJob } from '../plates/plates-of-job.ts';
import type { ClaimFacts } from '../report/claim.ts';
import type { FileFact, ReportSection } from '../report/context.ts';
import { heatsSections } from '../report/heats-section.ts';
import { html } from '../report/html.ts';
import { lastCycle } from '../report/picks.ts';
import { platesSections } from '../report/plates-section.ts';
import { type Fraction, quantities } from '../report/quantities.ts';
import type { Log, Logs } from './logs.ts';

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
export function reportExtras(logs: Logs, analysis: Analysis, fraction: Fraction): ReportExtras {
  const { held, fault } = logs.heats;
  if (held !== null) return extras(held, logs, analysis, fraction);
  const { message, problems } = fault!;
  const body = html`<p><strong>Not given: ${message}</strong></p><ul>${describeProblems(problems).map((line) => html`<li>${line}</li>`)}</ul>`;
  return {
    analysis,
    sections: [
      { id: 'heats', title: 'Heats and jacking', in: 'both', body },
      ...platesSections(analysis.job, platesOfJob(analysis), coverPlatesOf(analysis.job, analysis.lines)),
    ],
    heats: null,
    files: logFacts(logs),
    fault: message,
    faults: faultsText(fault!),
  };
}

/** Cost log, heat log and crack checks for the claim. A log with faults is named, and nothing of it is summed. */
export function claimOf(logs: Logs, analysis: Analysis): ClaimFacts {
  const { job } = analysis;
  const [heats, costs, checks] = [logs.heats.held, logs.costs.held, logs.checks.held];
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
    faults: [logs.heats, logs.costs, logs.checks].flatMap(({ fault }) =>
      fault === null ? [] : [faultsText(fault)],
    ),
  };
}

/** Cost log and crack checks, read as they stand. */
function logFacts({ costs, checks }: Logs): FileFact[] {
  return [...logFact(costs, 'cost log', null), ...logFact(checks, 'crack checks', null)];
}

function logFact({ file, sha256 }: Log<unknown>, name: string, rows: number | null): FileFact[] {
  return sha256 === null ? [] : [{ file, sha256, rows, note: `${name}, read as it stands` }];
}

function faultsText({ message, problems }: InputError): string {
  return [message, ...describeProblems(problems)].join(' ');
}

function extras(log: HeatLog, logs: Logs, analysis: Analysis, fraction: Fraction): ReportExtras {
  const { job } = analysis;
  const heats = heatsOfJob(analysis, log);
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
      ...platesSections(job, platesOfJob(analysis), coverPlatesOf(job, analysis.lines)),
    ],
    files: [...logFact(logs.heats, 'heat log', log.heats.length), ...logFacts(logs)],
    heats,
    fault: null,
    faults: null,
  };
}
