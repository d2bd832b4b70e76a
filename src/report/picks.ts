import type { Analysis, LineAnalysis, SurveyFit } from '../analysis.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { limitOnReadings } from '../job/rules.ts';
import { judgedSurveys } from '../survey/judged.ts';

/** The surveys that are judged (jacks off, steel cooled): the same ones the verdicts rest on. */
export function judged(line: LineAnalysis): readonly SurveyFit[] {
  return judgedSurveys(line.fit);
}

/** What a drawing can show: the judged surveys, or those there are of a line that has none, said as such. */
export function drawable(line: LineAnalysis): readonly SurveyFit[] {
  const surveys = judged(line);
  return surveys.length > 0 ? surveys : line.fit.surveys;
}

export function asFound(line: LineAnalysis): SurveyFit | undefined {
  return judged(line)[0];
}

export function current(line: LineAnalysis): SurveyFit | undefined {
  return judged(line).at(-1);
}

/** `after cycle 4; cycle 5 was read hot and is not judged`, for a title block. */
export function readingWords(analysis: Analysis): string {
  const last = lastCycle(analysis);
  const words = last === 0 ? 'as found' : `after cycle ${last}`;
  const newest = newestCycle(analysis);
  return newest > last ? `${words}; cycle ${newest} is not judged (jacks on or steel hot)` : words;
}

/** The limit drawn as a band: the tightest one over the whole line; m, or null. */
export function bandLimit(line: LineAnalysis): number | null {
  const limits = line.acceptance
    .filter((a) => a.rule.over.kind === 'whole-line')
    .map((a) => limitOnReadings(a.rule));
  return limits.length === 0 ? null : Math.min(...limits);
}

/** The line that decides (`linesThatDecide`). */
export function leadingLine(analysis: Analysis): LineAnalysis | undefined {
  return linesThatDecide(analysis.lines)[0];
}

/** Distinct dates of the surveys, increasing. */
export function readingDates(analysis: Analysis): string[] {
  const dates = analysis.lines.flatMap((l) => l.fit.surveys.map((s) => s.date)).filter((d) => d !== null);
  return [...new Set(dates)].sort();
}

/** Cycle of the last survey that is judged; 0 before one. What was read hot or with the jacks on since is no "as left". */
export function lastCycle(analysis: Analysis): number {
  return Math.max(0, ...analysis.lines.flatMap((l) => judged(l).map((s) => s.cycle)));
}

/** Cycle of the newest survey, judged or not. */
export function newestCycle(analysis: Analysis): number {
  return Math.max(0, ...analysis.lines.flatMap((l) => l.fit.surveys.map((s) => s.cycle)));
}

/** At most so many of a list: the first, the last, and those between spread evenly. */
export function evenly<T>(all: readonly T[], most: number): T[] {
  if (all.length <= most) return [...all];
  return Array.from({ length: most }, (_, i) => all[Math.round((i * (all.length - 1)) / (most - 1))]!);
}
