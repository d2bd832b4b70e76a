import { judgeAcceptance } from './acceptance/acceptance.ts';
import type { LineAnalysis, LineFit } from './analysis.ts';
import type { Finding } from './finding.ts';
import type { Job, Line } from './job/job.ts';
import { fitPanel } from './panels/fit-panel.ts';
import { judgeProgress } from './progress/progress.ts';
import { assembleSurveys } from './survey/assemble.ts';
import { explainSetAside } from './survey/explain-set-aside.ts';
import { orderFindings } from './survey/misordered.ts';
import { movements, springback } from './survey/movement.ts';
import { pooledReadingSd } from './survey/reading-sd.ts';
import type { Mark, Reading } from './survey/survey.ts';
import { fitLine } from './zones/fit-line.ts';

/** Everything the answer for one line is made of, and nothing else: a kept answer is tied to exactly this. */
export interface LineInputs {
  readonly job: Pick<Job, 'units' | 'member' | 'usefulGain' | 'acceptance'>;
  readonly line: Line;
  /** Of this line, in the order of the files. */
  readonly readings: readonly Reading[];
  /** Those about its readings, oldest first. */
  readonly marks: readonly Mark[];
}

/** What the shape of a line says, without the shape; and which of its rows look out of order. */
export type JudgedLine = Omit<LineAnalysis, 'line' | 'fit'> & { readonly misordered: readonly Finding[] };

/** The long part of the pipeline, pure: readings of one line in, its shape, movement and verdict out. */
export function analyseLine(inputs: LineInputs): LineAnalysis {
  const fit = shapeLine(inputs);
  return joinLine(inputs, fit, judgeLine(inputs, fit));
}

/** Its first half: the shape of every survey. The halves share little code, so that two threads can have one each. */
export function shapeLine({ job, line, readings, marks }: LineInputs): LineFit {
  const surveys = assembleSurveys(readings, line);
  const readingSd = pooledReadingSd(surveys, line, job.units);
  // The slips a line can have are looked for from neighbour to neighbour along it; a panel has neighbours all round.
  return line.panel === undefined
    ? explainSetAside(fitLine(line, job.member, surveys, marks, readingSd, job.units), surveys, job.units)
    : fitPanel(line, line.panel, surveys, marks, readingSd, job.units);
}

/** Its second half: movement and verdict, and rows out of order. */
export function judgeLine({ job, line, readings }: LineInputs, fit: LineFit): JudgedLine {
  const progress = judgeProgress(line, job.member, fit, job.usefulGain, job.acceptance, job.units);
  return {
    movements: movements(line, fit, progress.series),
    springback: springback(line, fit),
    progress,
    acceptance: judgeAcceptance(line, job.member, fit, job.acceptance, job.units),
    misordered:
      line.panel === undefined
        ? orderFindings(assembleSurveys(readings, line), fit.readingSd.value, job.units)
        : [],
  };
}

/** Both halves together; the shape between stations has done its work. */
export function joinLine(
  { line }: LineInputs,
  fit: LineFit,
  { misordered, ...judged }: JudgedLine,
): LineAnalysis {
  const surveys = fit.surveys.map(({ shape: _shape, ...survey }) => survey);
  return { line, fit: { ...fit, surveys, findings: [...fit.findings, ...misordered] }, ...judged };
}
