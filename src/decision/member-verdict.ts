import type { AcceptanceResult, Analysis, LineAnalysis, Verdict } from '../analysis.ts';

/** Most pressing first: what must be looked at now, what cannot be told, what may go on, what is done. */
const PRESSING: readonly Verdict[] = [
  'overcorrected',
  'regressing',
  'stalled',
  'slow',
  'undecided',
  'progressing',
  'not-enough-readings',
  'within-tolerance',
];

/**
 * One word for the member: that of its most pressing line. Inside tolerance only if every line is and every rule
 * could be judged; a rule without readings leaves the member `undecided`.
 */
export function memberVerdict(
  lines: readonly LineAnalysis[],
  unmeasured: readonly AcceptanceResult[] = [],
): Analysis['member'] {
  const first = [...lines].sort(
    (a, b) => PRESSING.indexOf(a.progress.verdict) - PRESSING.indexOf(b.progress.verdict),
  )[0];
  if (first === undefined) {
    return { verdict: 'not-enough-readings', reason: 'No line has been read yet.', line: null };
  }
  const verdict = first.progress.verdict;
  if (verdict === 'within-tolerance' && unmeasured.length > 0) {
    const rules = unmeasured.map((result) => result.rule.label).join('; ');
    return {
      verdict: 'undecided',
      reason: `Every line read is inside its limits, but no readings answer: ${rules}.`,
      line: null,
    };
  }
  const others = lines
    .filter((line) => line !== first)
    .map((line) => `${line.line.name}: ${line.progress.verdict.replaceAll('-', ' ')}`);
  const rest = others.length === 0 ? '' : ` Other lines: ${others.join(', ')}.`;
  return { verdict, reason: `${first.line.name}: ${first.progress.reason}${rest}`, line: first.line.name };
}
