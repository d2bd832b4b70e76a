import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { VERDICTS } from '../../src/analysis.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { INCH } from '../../src/units/factors.ts';
import { fitOf, LINE, MEMBER, rule, type SurveyShape, triangle } from '../line-fit-builder.ts';

const judge = (surveys: readonly SurveyShape[], usefulGain = INCH / 32) =>
  judgeProgress(LINE, MEMBER, fitOf(surveys, 6), usefulGain, [rule(0.5)]);

const campaigns = fc.record({
  heights: fc.array(fc.double({ min: -8, max: 8, noNaN: true }), { minLength: 0, maxLength: 9 }),
  gaps: fc.array(fc.integer({ min: 1, max: 4 }), { minLength: 9, maxLength: 9 }),
  u: fc.constantFrom(0, 1e-9, 0.001, 0.04, 0.5),
});

function surveysOf(heights: readonly number[], gaps: readonly number[], u: number): SurveyShape[] {
  let cycle = 0;
  return heights.map((height, i) => {
    cycle += i === 0 ? 0 : gaps[i]!;
    const zones = [{ zone: 'A', rotation: height / 100, u: u / 100 }];
    return { cycle, shape: triangle(height), u, zones };
  });
}

/** Every number in a value, however deep. */
function numbers(value: unknown): number[] {
  if (typeof value === 'number') return [value];
  if (value === null || typeof value !== 'object') return [];
  return Object.values(value).flatMap(numbers);
}

describe('whatever the readings', () => {
  it('there is a word, a reason, and never a NaN or an infinity', () => {
    fc.assert(
      fc.property(campaigns, ({ heights, gaps, u }) => {
        const progress = judge(surveysOf(heights, gaps, u));
        expect(VERDICTS).toContain(progress.verdict);
        expect(numbers(progress).filter((n) => !Number.isFinite(n))).toEqual([]);
        const words = [progress.reason, ...progress.zones.map((z) => z.reason), ...progress.assumptions].join(
          ' ',
        );
        expect(words).not.toMatch(/NaN|Infinity|undefined|null/);
        if (progress.rate !== null) {
          expect(progress.rateLow!).toBeLessThanOrEqual(progress.rateHigh!);
        }
      }),
      { numRuns: 60, seed: 5 },
    );
  });

  it('the other side of the string gives the same verdict and rate', () => {
    fc.assert(
      fc.property(campaigns, ({ heights, gaps }) => {
        const here = judge(surveysOf(heights, gaps, 0.04));
        const there = judge(
          surveysOf(
            heights.map((h) => -h),
            gaps,
            0.04,
          ),
        );
        expect(there.verdict).toBe(here.verdict);
        expect(there.rate).toEqual(here.rate);
        expect(there.cyclesLeft).toEqual(here.cyclesLeft);
      }),
      { numRuns: 30, seed: 6 },
    );
  });

  it('a smaller useful gain never turns progress into a stall', () => {
    fc.assert(
      fc.property(campaigns, ({ heights, gaps }) => {
        const surveys = surveysOf(heights, gaps, 0.04);
        if (judge(surveys).verdict !== 'progressing') return;
        expect(judge(surveys, INCH / 64).verdict).not.toBe('stalled');
      }),
      { numRuns: 40, seed: 7 },
    );
  });
});
