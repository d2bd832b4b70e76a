/**
 * Source: made by hand. Crests as a crew might chalk them on the web, in inches read to the sixteenth, put down without any formula,
 * generator or scatter law; what is expected is what anybody reads off them who knows which days moved.
 */
import { describe, expect, it } from 'vitest';
import type { LineAnalysis } from '../../src/analysis.ts';
import { verdictWords } from '../../src/decision/verdict-words.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { markUntouched } from '../../src/progress/untouched.ts';
import { INCH } from '../../src/units/factors.ts';
import { fitOf, LINE, MEMBER, rule, triangle } from '../line-fit-builder.ts';

const G = 1 / 32;
/** Standard uncertainty of the crest, in. */
const U = 1 / 32;

const judge = (crests: readonly number[]) =>
  judgeProgress(
    LINE,
    MEMBER,
    fitOf(crests.map((crest, cycle) => ({ cycle, shape: triangle(crest), u: U }))),
    G * INCH,
    [rule(0.5)],
  );

interface Sheet {
  readonly what: string;
  readonly crests: readonly number[];
  readonly word: string;
  /** Closing in a cycle that moves, from … to …, in. */
  readonly pace?: readonly [number, number];
  /** Cycles that stood still, to be named. */
  readonly still?: readonly number[];
}

const SHEETS: readonly Sheet[] = [
  {
    what: 'issue: one dead day',
    crests: [10, 9, 9, 8, 7],
    word: 'progressing',
    pace: [0.9, 1.1],
    still: [2],
  },
  {
    what: 'issue: a dead day first',
    crests: [10, 10, 8.625, 7.3125],
    word: 'progressing',
    pace: [1.2, 1.5],
    still: [1],
  },
  {
    what: 'issue: two dead days in a row, work resumed',
    crests: [10, 8.625, 7.3125, 6.125, 5, 4.9375, 4.875, 3.8125, 2.6875],
    word: 'progressing',
    pace: [1, 1.35],
    still: [5, 6],
  },
  { what: 'steady', crests: [6, 5.5, 5, 4.5, 4, 3.5], word: 'progressing', pace: [0.45, 0.55], still: [] },
  {
    what: 'every second day is dead',
    crests: [6, 5.5, 5.5, 5, 5, 4.5, 4.5, 4],
    word: 'progressing',
    pace: [0.45, 0.55],
    still: [2, 4, 6],
  },
  {
    what: 'a slow start',
    crests: [8, 7.9375, 7.875, 7.4375, 6.9375, 6.5, 6],
    word: 'progressing',
    pace: [0.4, 0.55],
  },
  {
    what: 'heats that scatter by half',
    crests: [7, 6.75, 5.9375, 5.5, 5.3125, 4.5, 4.125],
    word: 'progressing',
    pace: [0.3, 0.7],
    still: [],
  },
  {
    what: 'fading, and still worth its while',
    crests: [5, 4, 3.375, 3, 2.75, 2.5625, 2.4375],
    word: 'progressing',
    pace: [0.1, 0.3],
  },
  {
    what: 'good work, then nothing for four cycles',
    crests: [6, 5.375, 4.875, 4.3125, 4.3125, 4.3125, 4.25, 4.3125],
    word: 'stalled',
  },
  {
    what: 'a stall of four, then it moves again',
    crests: [6, 5.375, 4.875, 4.3125, 4.3125, 4.3125, 4.25, 4.3125, 3.75, 3.1875],
    word: 'progressing',
    pace: [0.45, 0.7],
    still: [4, 5, 6, 7],
  },
  { what: 'never moved', crests: [2, 2, 2.0625, 2, 2, 2], word: 'stalled' },
  { what: 'opening day by day', crests: [3, 3.125, 3.25, 3.4375, 3.5625], word: 'regressing' },
  {
    what: 'one survey read an eighth too far out',
    crests: [6, 5.5, 5, 4.625, 4, 3.5],
    word: 'progressing',
    pace: [0.4, 0.6],
    still: [],
  },
];

describe('sheets made by hand', () => {
  it.each(SHEETS)('$what: $crests', ({ crests, word, pace, still }) => {
    const progress = judge(crests);
    expect(progress.verdict).toBe(word);
    if (pace !== undefined) {
      expect(-progress.rate! / INCH).toBeGreaterThan(pace[0]);
      expect(-progress.rate! / INCH).toBeLessThan(pace[1]);
    }
    if (still !== undefined) expect(progress.pattern!.stoodStill.cycles).toEqual(still);
  });

  it('on none of their days is called stalled what moved in one of the last three cycles, nor undecided what moved twice running', () => {
    const wrong: string[] = [];
    for (const { what, crests } of SHEETS) {
      for (let day = 2; day < crests.length; day++) {
        const moved = (k: number) => (k < 1 ? 0 : crests[k - 1]! - crests[k]!);
        const last = [0, 1, 2].map((back) => moved(day - back));
        const { verdict, rate, rateLow } = judge(crests.slice(0, day + 1));
        // Four useful gains are three of its standard uncertainties: a sheet shows them beyond doubt.
        if (verdict === 'stalled' && Math.max(...last) >= 4 * G) wrong.push(`${what}, cycle ${day}: stalled`);
        const two = Math.min(last[0]!, last[1]!);
        if (two < 8 * G) continue;
        if (verdict === 'undecided') wrong.push(`${what}, cycle ${day}: undecided`);
        if (-rateLow! / INCH < 0.7 * two) wrong.push(`${what}, cycle ${day}: ${rate! / INCH} in a cycle`);
      }
    }
    expect(wrong).toEqual([]);
  });

  it('a line that has never moved has no forecast: nobody knows its pace', () => {
    const progress = judge([2, 2, 2.0625, 2, 2, 2]);
    expect(progress.pattern!.neverMoved).toBe(true);
    expect(progress).toMatchObject({
      cyclesLeft: null,
      probabilityWithin: null,
      forecast: [],
      untouched: false,
    });
    expect(progress.reason).toMatch(/^It has not moved since it was found, by the readings of 5 cycles/);
    expect(judge([6, 5.5, 5, 4.5]).pattern!.neverMoved).toBe(false);
  });

  it('a line that stands as found while another moves is not called stalled; alone, or where nothing has moved, it is', () => {
    const item = (name: string, crests: readonly number[]): LineAnalysis => ({
      line: { ...LINE, name },
      fit: fitOf([]),
      movements: [],
      springback: [],
      progress: judge(crests),
      acceptance: [],
    });
    const still = [2, 2, 2.0625, 2, 2, 2];
    const [flange, web] = markUntouched([item('flange', [6, 5.5, 5, 4.5, 4, 3.5]), item('web', still)]);
    expect(flange!.progress.untouched).toBe(false);
    expect(web!.progress).toMatchObject({ untouched: true, verdict: 'stalled' });
    expect(web!.progress.reason).toContain(
      'Meanwhile flange has moved: by these readings no heat acts on this line.',
    );
    expect(verdictWords(web!.progress)).toBe('Stands as it was found');
    const both = markUntouched([item('flange', still), item('web', still)]);
    expect(both.map(({ progress }) => progress.untouched)).toEqual([false, false]);
    const stalled = [6, 5.375, 4.875, 4.3125, 4.3125, 4.3125, 4.25, 4.3125];
    const [worked] = markUntouched([item('flange', stalled), item('web', still)]);
    expect(worked!.progress.untouched).toBe(false);
  });
});
