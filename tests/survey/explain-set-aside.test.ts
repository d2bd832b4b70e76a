import { beforeAll, describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import type { Analysis } from '../../src/analysis.ts';
import type { Campaign } from '../mechanics/campaign.ts';
import { jobOf } from '../mechanics/job.ts';
import { campaignOn, struckGirder } from './simulated.ts';

/** Slips made by the simulated crew, in words a finding must use for them. Common practice, no source. */
const WORDS: Record<string, RegExp> = {
  inch: /one-inch|counted back|exchanged/,
  foot: /one-foot|feet written/,
  sign: /sign|inch/,
  swap: /exchanged|inch/,
  transpose: /./,
  fraction: /half-inch|fraction/,
};

let campaign: Campaign;
let analysis: Analysis;

beforeAll(() => {
  const truth = struckGirder();
  campaign = campaignOn(truth, 2, 'slipped');
  analysis = analyse(jobOf(truth), campaign.readings);
});

describe('explainSetAside', () => {
  it('names the slip behind the readings the fit set aside', () => {
    const aside = analysis.lines[0]!.fit.surveys.flatMap((survey) => survey.setAside);
    const explained = campaign.blunders.filter((blunder) => {
      const found = aside.find((each) => each.file === blunder.file && each.row === blunder.row);
      return found?.reason.includes('; ') === true && WORDS[blunder.kind]!.test(found.reason.split('; ')[1]!);
    });
    expect(campaign.blunders.length).toBeGreaterThanOrEqual(10);
    expect(explained.length).toBeGreaterThanOrEqual(0.7 * campaign.blunders.length);
  });

  it('says it in the finding too, and leaves the numbers of the fit alone', () => {
    const findings = analysis.findings.filter((finding) => finding.code === 'reading-set-aside');
    expect(
      findings.some((finding) =>
        /Looks like a one-(inch|foot) misreading: [^?]* in\? Read that station again/.test(finding.message),
      ),
    ).toBe(true);
    for (const survey of analysis.lines[0]!.fit.surveys) {
      for (const aside of survey.setAside) {
        const read = campaign.readings.find(
          (reading) => reading.file === aside.file && reading.row === aside.row,
        )!;
        expect(aside.offset).toBe(read.offset);
      }
    }
  });
});
