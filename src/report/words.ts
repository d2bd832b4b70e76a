import type { AcceptanceResult } from '../analysis.ts';
import type { LineKind } from '../survey/survey.ts';

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
