import type { AcceptanceResult, Analysis, LineAnalysis, Verdict } from '../analysis.ts';
import { decidingRule, lineToday, timesLimit } from './line-today.ts';
import { shortVerdict } from './verdict-words.ts';

/** Among lines that stand alike: what is doubtful or held up before what goes well. */
const PRESSING: readonly Verdict[] = [
  'overcorrected',
  'regressing',
  'undecided',
  'not-enough-readings',
  'stalled',
  'slow',
  'progressing',
  'within-tolerance',
];

/**
 * Lines in the order they decide about the member, for every screen: furthest outside a limit first (in multiples of
 * the limit; a line of which today was read too little by the last survey that carries a number), then those going the wrong way, then those whose limit is not shown to be met, then those that have no
 * limit (the largest first), and last those inside every limit.
 */
export function linesThatDecide(lines: readonly LineAnalysis[]): LineAnalysis[] {
  return [...lines].sort(
    (a, b) =>
      rank(a) - rank(b) ||
      beyond(b) - beyond(a) ||
      PRESSING.indexOf(a.progress.verdict) - PRESSING.indexOf(b.progress.verdict),
  );
}

function rank(item: LineAnalysis): number {
  const { progress, acceptance } = item;
  if (acceptance.some((result) => result.result === 'outside') || timesWhenTold(item) > 1) return 0;
  if (progress.verdict === 'overcorrected' || progress.verdict === 'regressing') return 1;
  if (progress.verdict === 'within-tolerance') return 4;
  return acceptance.length > 0 ? 2 : 3;
}

/** In multiples of the limit; of a line without one the size itself, m: nothing else says which matters. */
function beyond(item: LineAnalysis): number {
  const worst = decidingRule(item.acceptance);
  if (worst !== null)
    return worst.result === 'outside' ? timesLimit(worst) : Math.max(0, timesWhenTold(item));
  return Math.abs(lineToday(item).told?.largest.deviation ?? 0);
}

/**
 * How far a line whose last survey carries no number was out when it could last be told, in multiples of its limit over the whole line:
 * a sheet begun and not ended does not put it behind another line. 0 where today can be told.
 */
export function timesWhenTold(item: LineAnalysis): number {
  const { lack, told } = lineToday(item);
  if (lack === null || told === null) return 0;
  const limits = item.acceptance
    .filter(({ rule }) => rule.over.kind === 'whole-line')
    .map(({ limit }) => limit);
  return limits.length === 0 ? 0 : Math.abs(told.largest.deviation) / Math.min(...limits);
}

/**
 * One word for the member: that of the line that decides. Inside tolerance only if every line is and every rule
 * could be judged; a rule without readings leaves the member `undecided`.
 */
export function memberVerdict(
  lines: readonly LineAnalysis[],
  unmeasured: readonly AcceptanceResult[] = [],
): Analysis['member'] {
  const [first, ...others] = linesThatDecide(lines);
  if (first === undefined) {
    return {
      verdict: 'not-enough-readings',
      reason: 'No line has been read yet.',
      line: null,
      untouched: false,
    };
  }
  const { verdict, untouched } = first.progress;
  if (verdict === 'within-tolerance' && unmeasured.length > 0) {
    const rules = unmeasured.map((result) => result.rule.label).join('; ');
    return {
      verdict: 'undecided',
      reason: `Every line read is inside its limits, but no readings answer: ${rules}.`,
      line: null,
      untouched: false,
    };
  }
  const words = others.map(({ line, progress }) => `${line.name}: ${shortVerdict(progress)}`);
  const rest = words.length === 0 ? '' : ` Other lines: ${words.join(', ')}.`;
  return {
    verdict,
    reason: `${first.line.name}: ${first.progress.reason}${rest}`,
    line: first.line.name,
    untouched,
  };
}
