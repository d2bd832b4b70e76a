import type { LineAnalysis } from '../../src/analysis.ts';
import type { Line } from '../../src/job/job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import { fitOf, LINE, type SurveyShape } from '../line-fit-builder.ts';

/** A job of one sweep line on a span of 60 ft; fields of the member, and of the job, on top. */
export function memberJob(member: object, more: object = {}) {
  return parseJob(
    JSON.stringify({
      job: 'x',
      units: 'us',
      member: {
        span: '60 ft',
        yieldStress: '36 ksi',
        flangeWidth: '12 in',
        flangeThickness: '1 in',
        ...member,
      },
      lines: { 'bottom-flange': { kind: 'sweep', bearings: ['0 ft', '60 ft'], positive: 'north' } },
      ...more,
    }),
  );
}

/** Lines as a job has them, with made-up fits: only what a section is put together from is real. */
export function analysedLine(
  over: Partial<Line> & Pick<Line, 'name' | 'kind'>,
  surveys: readonly SurveyShape[],
  step = 2,
): LineAnalysis {
  return {
    line: { ...LINE, impact: null, baseline: { method: 'auto' }, ...over },
    fit: fitOf(surveys, step),
    movements: [],
    springback: [],
    progress: {} as LineAnalysis['progress'],
    acceptance: [],
  };
}

export const SWEEP = { name: 'bottom-flange', kind: 'sweep', positive: 'toward the north shoulder' } as const;
export const TOP = { name: 'top-flange', kind: 'sweep', positive: 'toward the north shoulder' } as const;
export const PLUMB = { name: 'web', kind: 'plumb', positive: 'bottom toward the north shoulder' } as const;
export const CAMBER = { name: 'camber', kind: 'camber', positive: 'up' } as const;
export const TILT = {
  name: 'tilt',
  kind: 'tilt',
  positive: 'north edge high',
  baseline: { method: 'absolute', against: 'level' },
} as const;
