/** What the tool makes of a hand-drawn job: which readings it leaves out, and what it says of them. */
import { analyse } from '../../src/analyse.ts';
import type { LineFit } from '../../src/analysis.ts';
import type { HandMade } from './hand-made.ts';

export interface ShapeScore {
  readonly job: HandMade;
  readonly fit: LineFit;
  readonly good: number;
  /** Good readings set aside, as `cycle:station m`. */
  readonly goodAside: readonly string[];
  readonly slips: number;
  readonly caught: number;
  readonly missed: readonly string[];
}

export function scoreShape(job: HandMade): ShapeScore {
  const { fit } = analyse(job.job, job.readings).lines[0]!;
  const wrong = new Set(job.slips.map((slip) => `${slip.cycle}:${slip.row}`));
  const aside = new Set(
    fit.surveys.flatMap((survey) => survey.setAside.map((each) => `${survey.cycle}:${each.row}`)),
  );
  return {
    job,
    fit,
    good: job.readings.length - wrong.size,
    goodAside: [...aside].filter((key) => !wrong.has(key)),
    slips: wrong.size,
    caught: [...wrong].filter((key) => aside.has(key)).length,
    missed: job.slips
      .filter((s) => !aside.has(`${s.cycle}:${s.row}`))
      .map((s) => `${s.kind} ${s.cycle}:${s.row}`),
  };
}
