import { expect, it } from 'vitest';
import type { SurveyFit } from '../../src/analysis.ts';
import { setAsideFindings } from '../../src/zones/findings.ts';
import type { Prepared } from '../../src/zones/prepare.ts';
import { LINE } from '../line-fit-builder.ts';

const FOOT = 0.3048;
const said = (feet: number, latest = true) => {
  const aside = { file: 'a.csv', row: 2, station: feet * FOOT, offset: 0.05, reason: 'x', by: 'rule' };
  const fit = { cycle: 1, stations: [], setAside: [aside] } as unknown as SurveyFit;
  const prepared = { survey: { cycle: 1 } } as unknown as Prepared;
  return setAsideFindings(LINE, prepared, fit, latest, 'us')[0]!.message;
};

it('a reading left out at a bearing says that the string’s end may have moved, and what would tell', () => {
  expect(said(60)).toMatch(/end of the string.*both ends before and after, or the plumb of the web/);
  expect(said(0)).toMatch(/end of the string/);
  expect(said(30)).not.toMatch(/end of the string/);
  // It can no longer be read again.
  expect(said(60, false)).not.toMatch(/end of the string/);
});
