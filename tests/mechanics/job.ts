/** The job a simulated girder belongs to, in the project's types and as job.json. */

import type { AcceptanceRule, Job, Line } from '../../src/job/job.ts';
import { NOTHING_MORE } from '../bare-job.ts';
import type { GirderTruth } from './girder.ts';

const INCH = 0.0254;

export interface JobChoices {
  /** Put the diaphragm stations into the job. Default true. */
  readonly diaphragmsGiven?: boolean;
  /** Put the blow's station into the job. Default true. */
  readonly impactGiven?: boolean;
  readonly readingSd?: number | null;
  readonly baseline?: Line['baseline'];
  /** Whole-line limit, m. Default 1/2 in. */
  readonly limit?: number;
  readonly standoff?: number;
  readonly usefulGain?: number;
  /** Bearings of the line. Default: the outermost. */
  readonly line?: readonly [number, number];
}

export function jobOf(truth: GirderTruth, choices: JobChoices = {}): Job {
  const { options, section } = truth;
  const rule: AcceptanceRule = {
    line: 'bottom-flange',
    kind: 'sweep',
    limit: choices.limit ?? INCH / 2,
    over: { kind: 'whole-line' },
    label: 'whole line',
    source: 'set by the job',
    preset: null,
  };
  return {
    name: 'Simulated girder',
    units: 'us',
    dashedLengths: null,
    member: {
      span: options.span,
      ...(options.piers === undefined ? {} : { bearings: [0, ...options.piers, options.span] }),
      yieldStress: options.yieldStress,
      elasticModulus: section.steel.elasticModulus,
      flangeWidth: options.flangeWidth,
      flangeThickness: options.flangeThickness,
      webThickness: options.web?.thickness ?? null,
      depth: null,
      steel: null,
      diaphragms: (choices.diaphragmsGiven ?? true) ? options.diaphragms.map((d) => d.station) : null,
    },
    lines: [
      {
        name: 'bottom-flange',
        kind: 'sweep',
        bearings: choices.line ?? options.bearings ?? [0, options.span],
        positive: 'away from the blow',
        baseline: choices.baseline ?? { method: 'auto' },
        standoff: choices.standoff ?? 0,
        readingSd: choices.readingSd ?? null,
        impact: (choices.impactGiven ?? true) ? (options.impacts[0]?.station ?? null) : null,
        edgeSteps: [],
      },
    ],
    usefulGain: choices.usefulGain ?? INCH / 32,
    acceptance: [rule],
    ...NOTHING_MORE,
  };
}
