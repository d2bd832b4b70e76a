import type { AcceptanceResult, Progress, Verdict } from '../analysis.ts';
import type { LineKind } from '../survey/survey.ts';

/** Verdicts as people say them. */
export const VERDICT_WORDS: Record<Verdict, string> = {
  'not-enough-readings': 'Not enough readings yet',
  progressing: 'Straightening is working',
  slow: 'Still moving, but slowly',
  undecided: 'Cannot tell yet',
  stalled: 'Stalled',
  regressing: 'Going the wrong way',
  'within-tolerance': 'Within tolerance',
  overcorrected: 'Overcorrected',
};

/** Those of a line or the member; a line no heat has acted on is not called stalled. */
export function verdictWords({ verdict, untouched }: Pick<Progress, 'verdict' | 'untouched'>): string {
  return untouched ? 'Stands as it was found' : VERDICT_WORDS[verdict];
}

/** The same of one zone, in a column. */
export const ZONE_WORDS: Record<Verdict, string> = {
  'not-enough-readings': 'too few readings',
  progressing: 'progressing',
  slow: 'slow',
  undecided: 'undecided',
  stalled: 'stalled',
  regressing: 'wrong way',
  'within-tolerance': 'straight enough',
  overcorrected: 'overcorrected',
};

export const KIND_WORDS: Record<LineKind, string> = {
  sweep: 'sweep, sideways along the member',
  camber: 'camber, up and down along the member',
  tilt: 'flange tilt across its width',
  plumb: 'web out of plumb over its depth',
  bulge: 'local out-of-flatness',
};

export const RESULT_WORDS: Record<AcceptanceResult['result'], string> = {
  within: 'Within',
  undetermined: 'Undetermined',
  outside: 'Outside',
};

/** Marks that carry the result without colour. */
export const RESULT_MARKS: Record<AcceptanceResult['result'], string> = {
  within: '\u2713',
  undetermined: '?',
  outside: '\u2717',
};

/** A number and its unit kept on one line: a sentence of the analysis as a paragraph. */
export function prose(text: string): string {
  return text
    .replace(/(^|[\s(])-(?=\d)/g, '$1\u2212')
    .replace(/(\d"?|±|\d\)?) (?=(?:in|mm|ft|m|%|°[CF]|mrad|ksi|MPa)(?![\p{L}\d])|±|\d+\/\d)/gu, '$1\u00a0');
}
