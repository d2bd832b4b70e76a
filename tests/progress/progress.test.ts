import { describe, expect, it } from 'vitest';
import { memberVerdict } from '../../src/decision/member-verdict.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { INCH } from '../../src/units/factors.ts';
import { fitOf, LINE, MEMBER, rule, type SurveyShape, triangle } from '../line-fit-builder.ts';

const G = INCH / 32;
const judge = (surveys: readonly SurveyShape[], rules = [rule(0.5)]) =>
  judgeProgress(LINE, MEMBER, fitOf(surveys), G, rules);
const heights = (values: readonly number[], extra: Partial<SurveyShape> = {}): SurveyShape[] =>
  values.map((value, cycle) => ({ cycle, shape: triangle(value), ...extra }));

/** Small fixed errors of either sign, in inches, so that no series is exact. */
const jitter = [0.02, -0.03, 0.01, 0.03, -0.02, -0.01, 0.02, 0, -0.03, 0.01, 0.02, -0.02];
const steady = (from: number, step: number, count: number): number[] =>
  Array.from({ length: count }, (_, k) => from - step * k + jitter[k % jitter.length]!);

describe('the eight words', () => {
  it('not-enough-readings, with what is missing', () => {
    const progress = judge(heights([3, 2.6]));
    expect(progress.verdict).toBe('not-enough-readings');
    expect(progress.reason).toContain('2 of the 3 surveys');
    expect(progress).toMatchObject({ rate: null, rateLow: null, cyclesLeft: null, forecast: [] });
  });

  it('progressing at 0.3 in per cycle', () => {
    const progress = judge(heights(steady(4, 0.3, 7)));
    expect(progress.verdict).toBe('progressing');
    expect(progress.rate! / INCH).toBeCloseTo(-0.3, 1);
    expect(progress.rateLow!).toBeLessThan(progress.rate!);
    expect(progress.rateHigh!).toBeGreaterThan(progress.rate!);
  });

  it('slow at 0.015 in per cycle, read closely', () => {
    const values = Array.from({ length: 12 }, (_, k) => 2 - 0.015 * k + 0.2 * jitter[k]!);
    expect(judge(heights(values, { u: 0.008 })).verdict).toBe('slow');
  });

  it('stalled after a regime of good movement, from the right cycle', () => {
    const progress = judge(heights([...steady(4, 0.35, 6), ...steady(2.25, 0, 6)]));
    expect(progress.verdict).toBe('stalled');
    expect(Math.abs(progress.sinceCycle! - 5)).toBeLessThanOrEqual(1);
    expect(progress.reason).toMatch(/No useful movement over \d cycles/);
  });

  it('a stall is taken back by the first cycle that moves on: the rate is that of cycles that move', () => {
    const stalled = [...steady(4, 0.35, 6), ...steady(2.25, 0, 6)];
    const progress = judge(heights([...stalled, 2.05]));
    expect(progress.verdict).toBe('progressing');
    expect(progress.pattern!.spell).toBeNull();
    // 0.2 in moved, by readings of u 1/32 in each.
    expect(progress.rate! / INCH).toBeLessThan(-0.2 + 2 * Math.SQRT2 * (1 / 32));
    expect(progress.reason).toMatch(/stood still on \d of the last 10/);
  });

  it('a standstill from the start needs one cycle more than one after movement', () => {
    expect(judge(heights([2.01, 2, 2.01, 2], { u: 0.01 })).verdict).toBe('undecided');
    expect(judge(heights([2.01, 2, 2.01, 2, 2.01], { u: 0.01 })).verdict).toBe('stalled');
  });

  it('undecided when the readings are too coarse, and says how many more would do', () => {
    const progress = judge(heights([2.1, 2.02, 2.1, 1.95, 2.03], { u: 0.12 }));
    expect(progress.verdict).toBe('undecided');
    expect(progress.reason).toMatch(/About \d+ more cycles?|more than 20/);
  });

  it('regressing', () => {
    expect(judge(heights(steady(2, -0.15, 7))).verdict).toBe('regressing');
  });

  it('within-tolerance, guarded', () => {
    expect(judge(heights([3, 1.6, 0.4])).verdict).toBe('within-tolerance');
    expect(judge(heights([3, 1.6, 0.47])).verdict).not.toBe('within-tolerance');
  });

  it('overcorrected: past the baseline on the other side beyond tolerance', () => {
    const progress = judge(heights([3, 1.6, 0.4, -0.7]));
    expect(progress.verdict).toBe('overcorrected');
    expect(progress.reason).toContain('other side');
  });
});

describe('days on which nothing moves', () => {
  // Hand-made: a crest of 10 in, read closely; shape left by cycle. The rate is what the cycles moved that did.
  const cases = [
    { left: [1, 0.9, 0.9, 0.8, 0.7], rate: 1, dead: [2] },
    { left: [1, 1, 0.86, 0.73], rate: 1.35, dead: [1] },
    { left: [1, 0.86, 0.73, 0.61, 0.5, 0.495, 0.49, 0.38, 0.27], rate: 1.17, dead: [5, 6] },
  ];
  it.each(cases)('$left: the rate of cycles that move, the dead days told', ({ left, rate, dead }) => {
    const progress = judge(
      heights(
        left.map((share) => 10 * share),
        { u: 0.01 },
      ),
    );
    expect(progress.verdict).toBe('progressing');
    expect(-progress.rate! / INCH).toBeGreaterThan(0.9 * rate);
    expect(-progress.rate! / INCH).toBeLessThan(1.1 * rate);
    expect(-progress.rateLow! / INCH).toBeGreaterThan(rate);
    expect(-progress.rateHigh! / INCH).toBeLessThan(rate);
    expect(progress.pattern!.stoodStill).toMatchObject({
      count: dead.length,
      of: left.length - 1,
      cycles: dead,
    });
    expect(progress.reason).toContain(`stood still on ${dead.length} of the last ${left.length - 1}`);
  });

  it('one dead day after good ones leaves the rate and waits for the next; two are a spell; three a stall', () => {
    const words = [1, 2, 3].map((still) =>
      judge(heights([10, 9, 8, 7, ...new Array<number>(still).fill(7)], { u: 0.01 })),
    );
    expect(words.map((p) => p.verdict)).toEqual(['undecided', 'undecided', 'stalled']);
    expect(words[0]!.rate! / INCH).toBeCloseTo(-1, 0);
    expect(words.map((p) => p.pattern!.spell)).toEqual([
      null,
      { sinceCycle: 3, cycles: 2 },
      { sinceCycle: 3, cycles: 3 },
    ]);
    for (const { pattern } of words) expect(pattern!.whenMoving!.rate / INCH).toBeCloseTo(-1, 0);
  });

  it('a line read at cycles 0, 4 and 8: the rate is per cycle over the span, and the reason says so', () => {
    const progress = judge(
      [0, 4, 8].map((cycle, k) => ({ cycle, shape: triangle([10, 6, 2][k]!), u: 0.01 })),
    );
    expect(progress.rate! / INCH).toBeCloseTo(-1, 0);
    expect(progress.pattern).toMatchObject({ fromCycle: 0, toCycle: 8, movements: 2, gaps: true });
    expect(progress.reason).toContain('from 0 to 8, not all of which were read');
  });

  it('the plain trend counts the same cycles: those that moved', () => {
    const { secondOpinion } = judge(heights([10, 9, 9, 8, 7], { u: 0.01 }));
    expect(secondOpinion!.leastSquares / INCH).toBeCloseTo(-1, 9);
  });
});

describe('past straight', () => {
  it('work that goes on past the baseline is regressing, not stalled, before it is outside on the other side', () => {
    // Down to nothing and up again: as a magnitude this looks like a standstill.
    const progress = judge(heights(steady(1.5, 0.2, 11)), [rule(0.52)]);
    expect(progress.series.at(-1)!.value / INCH).toBeCloseTo(0.48, 1);
    expect(progress.verdict).toBe('regressing');
    expect(progress.rate! / INCH).toBeCloseTo(0.2, 1);
  });
});

describe('lines without a fitted shape', () => {
  it('follow the station that governs, not whichever reading erred most', () => {
    const surveys = Array.from({ length: 8 }, (_, cycle) => ({ cycle, shape: triangle(0.6 - 0.04 * cycle) }));
    const fit = fitOf(surveys);
    const bare = {
      ...fit,
      surveys: fit.surveys.map((survey, k) => ({
        ...survey,
        // One station errs outward in one survey, another in the next.
        stations: survey.stations.map((s, i) => ({
          ...s,
          fitted: null,
          fittedU: null,
          deviation: s.deviation + (i === 5 + (k % 3) ? 0.5 * INCH : 0),
        })),
      })),
    };
    const progress = judgeProgress(LINE, MEMBER, bare, G, []);
    expect(progress.series.map((p) => p.value / INCH)).toEqual(
      surveys.map((s) => expect.closeTo(0.6 - 0.04 * s.cycle, 9)),
    );
    expect(progress.series[7]!.value / INCH).toBeCloseTo(0.32, 6);
  });
});

describe('what is judged', () => {
  it('restrained and hot surveys change nothing', () => {
    const released = heights(steady(4, 0.3, 6));
    const mixed = released.flatMap((s) => [
      { ...s, state: 'restrained' as const, shape: triangle(0) },
      s,
      { ...s, cycle: s.cycle + 0.5, temperature: 400, shape: triangle(9) },
    ]);
    const plain = judge(released);
    const judged = judge(mixed);
    expect(judged.series).toEqual(plain.series);
    expect(judged.reason).toBe(plain.reason);
  });

  it('no survey at all is not an error', () => {
    expect(judge([]).verdict).toBe('not-enough-readings');
  });

  it('a zone past straight is followed on its present side: brought back is not bent the wrong way', () => {
    const zone = (rotation: number) => [{ zone: 'A', rotation, u: 0.0004 }];
    const there = [40, 25, 10, -5, -20, -35].map((mrad, cycle) => ({
      cycle,
      shape: triangle(4 - 0.3 * cycle),
      zones: zone(mrad / 1000),
    }));
    const back = [-32, -29, -26, -23].map((mrad, k) => ({
      cycle: 6 + k,
      shape: triangle(2.2 - 0.3 * k),
      zones: zone(mrad / 1000),
    }));
    const [out] = judge(there).zones;
    expect(out).toMatchObject({ verdict: 'overcorrected' });
    expect(out!.rate!).toBeGreaterThan(0);
    expect(out!.reason).toContain('now opening');
    const [home] = judge([...there, ...back]).zones;
    expect(home).toMatchObject({ verdict: 'overcorrected' });
    expect(home!.rate!).toBeLessThan(0);
    expect(home!.reason).toMatch(/now closing 0\.17\d?° per cycle/);
  });

  it('a zone that turns the wrong way is seen while the largest deviation improves', () => {
    const surveys = steady(4, 0.3, 8).map((value, cycle) => ({
      cycle,
      shape: triangle(value),
      zones: [
        { zone: 'A', rotation: 0.04 - 0.003 * cycle, u: 0.0004 },
        { zone: 'B', rotation: -0.01 - 0.001 * cycle, u: 0.0004 },
        { zone: 'C', rotation: 0.02 - 0.006 * cycle, u: 0.0004 },
      ],
    }));
    const progress = judge(surveys);
    expect(progress.verdict).toBe('progressing');
    expect(progress.zones.map((z) => z.verdict)).toEqual(['progressing', 'regressing', 'overcorrected']);
  });
});

describe('forecast', () => {
  it('2.2 in to go at 0.3 in per cycle: about 6 cycles more, and working days from the dates', () => {
    // 2026-06-01 is a Monday; one cycle per working day.
    const dates = ['01', '02', '03', '04', '05', '08', '09'].map((day) => `2026-06-${day}`);
    const surveys = heights(steady(4, 0.3, 7)).map((s, i) => ({ ...s, date: dates[i]! }));
    const progress = judge(surveys);
    const left = progress.cyclesLeft!;
    expect(left.low).toBeLessThanOrEqual((4 - 0.3 * 6 - 0.5) / 0.3);
    expect(left.high ?? 99).toBeGreaterThanOrEqual((4 - 0.3 * 6 - 0.5) / 0.3);
    expect(progress.daysLeft!.expected).toBeCloseTo(left.expected, 6);
    expect(progress.probabilityWithin).toBeGreaterThan(0.7);
    expect(progress.forecast[0]!.cycle).toBe(7);
  });

  it('at a standstill there is none, and getting there is less likely than not', () => {
    const progress = judge(heights([...steady(4, 0.35, 6), ...steady(2.25, 0, 8)]));
    expect(progress.cyclesLeft).toBeNull();
    // Less likely than not. It is not next to nothing: on some jobs going on works after all (common practice, no source).
    expect(progress.probabilityWithin).toBeLessThan(0.5);
  });

  it('is the same every time', () => {
    const surveys = heights(steady(4, 0.2, 6));
    expect(judge(surveys)).toEqual(judge(surveys));
  });
});

describe('member', () => {
  it('takes the most pressing line and needs every rule answered to be done', () => {
    const done = judge(heights([3, 1.6, 0.3]));
    const stalled = judge(heights([...steady(4, 0.35, 6), ...steady(2.25, 0, 6)]));
    const analysis = (name: string, progress: typeof done) => ({
      line: { ...LINE, name },
      fit: fitOf([]),
      movements: [],
      springback: [],
      progress,
      acceptance: [],
    });
    expect(memberVerdict([analysis('a', done), analysis('b', stalled)])).toMatchObject({
      verdict: 'stalled',
      line: 'b',
    });
    expect(memberVerdict([analysis('a', done)]).verdict).toBe('within-tolerance');
    const open = { ...rule(0.25), line: null, kind: 'tilt' as const };
    const unmeasured = [
      {
        rule: open,
        limit: open.limit,
        measured: null,
        u: null,
        at: null,
        result: 'undetermined' as const,
        reason: '',
      },
    ];
    expect(memberVerdict([analysis('a', done)], unmeasured).verdict).toBe('undecided');
  });
});

describe('a survey read half-way', () => {
  // No outside source: a statement about the tool's own words. The readings before it close at 1/4 in a cycle.
  const all = [3, 2.75, 2.5, 2.25, 2, 1.75].map((peak, cycle) => ({
    cycle,
    u: 1 / 32,
    shape: (s: number) => (peak * Math.max(0, 30 - Math.abs(s - 30))) / 30,
  }));
  const before = all.slice(0, -1);
  const today = all.at(-1)!;
  const verdictWith = (u: number) =>
    judgeProgress(LINE, MEMBER, fitOf([...before, { ...today, u }]), INCH / 32, [rule(0.5)], 'us');

  it('does not let the rate of earlier cycles pass for an answer', () => {
    const thin = verdictWith(1);
    expect(thin.verdict).toBe('undecided');
    expect(thin.reason).toMatch(/^Too little to judge: .* cycle 5 .* read both ends/);
  });

  it('leaves an ordinary survey to the rate', () => {
    expect(verdictWith(1 / 32).verdict).not.toBe('undecided');
  });
});
