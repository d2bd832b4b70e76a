import { existsSync } from 'node:fs';
import type { Analysis } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import { type HeatsOfJob, heatsOfJob } from '../heats/heats-of-job.ts';
import { describeProblems, InputError } from '../input-error.ts';
import { platesOfJob } from '../plates/plates-of-job.ts';
import type { FileFact, ReportSection } from '../report/context.ts';
import { heatsSections } from '../report/heats-section.ts';
import { html } from '../report/html.ts';
import { platesSections } from '../report/plates-section.ts';
import { type Fraction, quantities } from '../report/quantities.ts';
import { hashFile } from './store/hash-file.ts';
import { heatLogOf } from './store/heats-of-folder.ts';
import { HEAT_LOG_FILE, inJob } from './store/layout.ts';

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
      ...heatsSections(job, heats, quantities(job.units, fraction)),
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
        ]
      : [],
    heats,
    fault: null,
    faults: null,
  };
}
