import type { AcceptanceResult, Analysis, LineAnalysis, SurveyFit } from '../analysis.ts';

/** Released surveys: the only ones judged. A line read only with the jacks on shows those, said as such. */
export function judged(line: LineAnalysis): readonly SurveyFit[] {
  const released = line.fit.surveys.filter((survey) => survey.state === 'released');
  return released.length > 0 ? released : line.fit.surveys;
}

export function asFound(line: LineAnalysis): SurveyFit | undefined {
  return judged(line)[0];
}

export function current(line: LineAnalysis): SurveyFit | undefined {
  return judged(line).at(-1);
}

/** The limit drawn as a band: the tightest one over the whole line; m, or null. */
export function bandLimit(line: LineAnalysis): number | null {
  const limits = line.acceptance.filter((a) => a.rule.over.kind === 'whole-line').map((a) => a.limit);
  return limits.length === 0 ? null : Math.min(...limits);
}

/** Worst first. */
const ORDER = { outside: 0, undetermined: 1, within: 2 } as const;

export function worstAcceptance(results: readonly AcceptanceResult[]): AcceptanceResult | undefined {
  return [...results].sort((a, b) => ORDER[a.result] - ORDER[b.result])[0];
}

/** The line that carries the member's verdict, or the first one. */
export function leadingLine(analysis: Analysis): LineAnalysis | undefined {
  return analysis.lines.find((l) => l.line.name === analysis.member.line) ?? analysis.lines[0];
}

/** Distinct dates of the surveys, increasing. */
export function readingDates(analysis: Analysis): string[] {
  const dates = analysis.lines.flatMap((l) => l.fit.surveys.map((s) => s.date)).filter((d) => d !== null);
  return [...new Set(dates)].sort();
}

export function lastCycle(analysis: Analysis): number {
  return Math.max(0, ...analysis.lines.flatMap((l) => l.fit.surveys.map((s) => s.cycle)));
}
