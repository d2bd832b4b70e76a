import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import { lineToday } from '../../src/decision/line-today.ts';
import { PAPER_RULES, type Papers, paperContradictions, papersOf } from './paper-contradictions.ts';
import { randomJob } from './random-job.ts';

// No outside source: the rules are statements about the tool's own papers, in words in paper-contradictions.ts, on the jobs of
// no-contradiction.test.ts.
const [JOBS, EACH] = [240, 4];

const papers = (seed: number): Papers => {
  const { job, readings, marks } = randomJob(seed);
  return papersOf(analyse(job, readings, marks));
};

describe('final report and readings page', () => {
  it(`contradict neither themselves nor the first screen on every ${EACH}th of ${JOBS} random jobs`, () => {
    const broken: string[] = [];
    for (let seed = 1; seed <= JOBS; seed += EACH) {
      for (const each of paperContradictions(papers(seed))) broken.push(`job ${seed}: ${each}`);
    }
    expect(broken).toEqual([]);
  }, 480_000);
});

describe('papers made wrong on purpose are caught', () => {
  const broken = (words: string) => {
    expect(PAPER_RULES.some(([rule]) => rule.startsWith(words))).toBe(true);
    return expect.arrayContaining([expect.stringMatching(`^${words}`)]);
  };
  /** A job with a limit whose last survey was read in part. */
  const partly = papers(5);
  const whole = papers(2);

  it('a number as left from a survey that carries none', () => {
    expect(partly.analysis.lines.some((item) => lineToday(item).lack !== null)).toBe(true);
    const leaf = partly.leaf.replace(/cannot be told\s+from cycle/g, '1/4 in at cycle');
    expect(paperContradictions({ ...partly, leaf })).toEqual(broken('as found and as left'));
  });

  it('another word, a limit left out, a miscount', () => {
    const wrong = whole.leaf.replace(/\d+ of (\d+) within/, '9 of $1 within');
    expect(wrong).not.toBe(whole.leaf);
    expect(paperContradictions({ ...whole, leaf: wrong })).toEqual(broken('every limit stands'));
    expect(paperContradictions({ ...whole, answer: '' })).toEqual(broken('final report and page lead'));
  });

  it('a sentence twice, a number that is none', () => {
    const twice = 'It came one inch closer.';
    expect(paperContradictions({ ...whole, answer: `${whole.answer}\n\n${twice} ${twice}` })).toEqual(
      broken('no sentence stands twice'),
    );
    expect(
      paperContradictions({ ...whole, final: `${whole.final} the largest is now NaN in as it stands here` }),
    ).toEqual(broken('no paper shows'));
  });
});
