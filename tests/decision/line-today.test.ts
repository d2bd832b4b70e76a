import { describe, expect, it } from 'vitest';
import { judgeAcceptance } from '../../src/acceptance/acceptance.ts';
import type { LineAnalysis, LineFit, Progress, Verdict } from '../../src/analysis.ts';
import { decidingRule, lineToday, placeOfBend } from '../../src/decision/line-today.ts';
import { linesThatDecide, memberVerdict } from '../../src/decision/member-verdict.ts';
import { nextStep } from '../../src/decision/next-step.ts';
import type { AcceptanceRule, Job } from '../../src/job/job.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { guardWords, headline, noZonesWords } from '../../src/status/crew-words.ts';
import { movements, quietCycles } from '../../src/survey/movement.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { fitOf, LINE, MEMBER, rule, type SurveyShape, triangle } from '../line-fit-builder.ts';

// No outside source: which line, survey and limit a screen must lead with is what the issue and the design say.
function item(name: string, fit: LineFit, rules: readonly AcceptanceRule[], word?: Verdict): LineAnalysis {
  const line = { ...LINE, name };
  const own = rules.map((r) => ({ ...r, line: name }));
  const progress = judgeProgress(line, MEMBER, fit, INCH / 32, own, 'us');
  return {
    line,
    fit,
    movements: movements(line, fit, progress.series),
    springback: [],
    progress: word === undefined ? progress : { ...progress, verdict: word },
    acceptance: judgeAcceptance(line, MEMBER, fit, own, 'us'),
  };
}

const run = (values: readonly number[], more: Partial<SurveyShape> = {}): LineFit =>
  fitOf(values.map((value, cycle) => ({ cycle, shape: triangle(value), ...more })));
const job = { units: 'us' } as Job;
const next = (lines: readonly LineAnalysis[]) =>
  nextStep({ job, lines, unmeasured: [], findings: [], member: memberVerdict(lines) });
const names = (lines: readonly LineAnalysis[]) => linesThatDecide(lines).map((l) => l.line.name);

describe('the line that decides', () => {
  const flange = item('flange', run([10, 8, 6, 4]), [rule(0.5)]);

  it('is the one furthest outside, in multiples of its limit: 1 of 1/4 in (4 times) before 1.5 of 1/2 in (3 times)', () => {
    const wide = item('wide', run([3, 2.5, 2, 1.5]), [rule(0.5)]);
    const tight = item('tight', run([1.6, 1.4, 1.2, 1]), [rule(0.25)]);
    expect(names([wide, tight])).toEqual(['tight', 'wide']);
    expect(names([tight, wide, flange])).toEqual(['flange', 'tight', 'wide']);
  });

  it('is outside before one going the wrong way inside its limit, and that before what is not shown to be inside', () => {
    const wrong = item('wrong', run([0, 0.1, 0.2, 0.3]), [rule(0.35)], 'regressing');
    const near = item('near', run([1, 0.8, 0.6, 0.5]), [rule(0.5)]);
    const inside = item('inside', run([1, 0.5, 0.2, 0.1]), [rule(0.5)]);
    expect(inside.progress.verdict).toBe('within-tolerance');
    expect(names([inside, near, wrong, flange])).toEqual(['flange', 'wrong', 'near', 'inside']);
    expect(memberVerdict([inside, near, wrong, flange]).line).toBe('flange');
  });

  it('a tilt that stands still inside its limit never takes the headline from a flange that closes', () => {
    const tilt = item('tilt', run([0.1, 0.1, 0.1, 0.1, 0.1]), [rule(0.25)], 'stalled');
    expect(memberVerdict([tilt, flange])).toMatchObject({ line: 'flange', verdict: flange.progress.verdict });
  });

  it('without limits is the larger one', () => {
    expect(names([item('small', run([0.1, 0.1, 0.1]), []), item('large', run([9, 8, 7]), [])])).toEqual([
      'large',
      'small',
    ]);
  });
});

describe('the limit that decides', () => {
  it('is a chord where only a chord is set, and is said', () => {
    const chord = item('flange', run([4, 3, 2]), [rule(0.5, { kind: 'chord', length: 20 * FOOT })]);
    expect(decidingRule(chord.acceptance)?.rule.over).toMatchObject({ kind: 'chord' });
    const analysis = {
      job,
      lines: [chord],
      unmeasured: [],
      findings: [],
      member: memberVerdict([chord]),
    } as never;
    expect(headline(analysis).sentences.join(' ')).toContain('1/2 in over any 20\'-0"');
  });
});

describe('the survey of today', () => {
  const hot = fitOf([
    { cycle: 0, shape: triangle(4) },
    { cycle: 1, shape: triangle(2) },
    { cycle: 2, shape: triangle(0.2), temperature: 200 },
  ]);
  const line = item('flange', hot, [rule(0.5)]);

  it('is the last one read with the jacks off and the steel cooled; a hot one is named and to be read again', () => {
    const today = lineToday(line);
    expect(today.now?.cycle).toBe(1);
    expect(today.notJudged.map((s) => s.cycle)).toEqual([2]);
    expect(today.limit?.result).toBe('outside');
    expect(next([line])).toMatch(/^Read flange again below 250 °F: cycle 2 was read at 392 °F/);
  });

  it('is compared over the cycles it spans', () => {
    const spans = item('flange', fitOf([0, 4, 8].map((cycle, i) => ({ cycle, shape: triangle(4 - i) }))), [
      rule(0.5),
    ]);
    const analysis = { job, lines: [spans], unmeasured: [], findings: [] } as never;
    expect(headline(analysis).sentences.join(' ')).toMatch(/It came 1 in ± .* closer from cycle 4 to 8\./);
  });

  it('carries no number with one station, one half, or the middle read', () => {
    const only = (keep: (feet: number) => boolean): LineAnalysis => {
      const fit = run([4, 3, 2]);
      const last = fit.surveys.at(-1)!;
      const stations = last.stations.filter((s) => keep(Math.round(s.station / FOOT)));
      const largest = stations.reduce((a, b) => (Math.abs(b.deviation) > Math.abs(a.deviation) ? b : a));
      return item(
        'flange',
        { ...fit, surveys: [...fit.surveys.slice(0, -1), { ...last, stations, largest }] },
        [rule(0.5)],
      );
    };
    for (const keep of [(s: number) => s === 0, (s: number) => s <= 30, (s: number) => s > 20 && s < 40]) {
      const part = only(keep);
      const today = lineToday(part);
      expect(today.lack).not.toBeNull();
      expect(today.moved).toBeNull();
      expect(today.told?.cycle).toBe(1);
      expect(part.acceptance[0]!.measured).toBeNull();
      expect(next([part])).toMatch(/read the (remaining stations|bend and both ends)\. Until then cycle 2/);
    }
    expect(lineToday(only((s) => s % 4 === 0)).lack).toBeNull();
  });

  it('a first survey of one station is no line within its limit', () => {
    const fit = run([0.1]);
    const one = { ...fit.surveys[0]!, stations: fit.surveys[0]!.stations.slice(0, 1) };
    const first = item('flange', { ...fit, surveys: [one] }, [rule(0.5)]);
    expect(first.progress.verdict).toBe('not-enough-readings');
    expect(first.acceptance[0]!.result).toBe('undetermined');
  });
});

describe('the pace, as a crew says it', () => {
  const said = (heights: readonly number[]) => {
    const lines = [item('flange', run(heights), [rule(0.5)])];
    const analysis = { job, lines, unmeasured: [], findings: [], member: memberVerdict(lines) } as never;
    return headline(analysis);
  };

  /** The pace written, in inches. By hand it is 1 in in all of these; few cycles tell it within an eighth. */
  const paceOf = (text: string): number => {
    const [, written] = /, ([^,]*?) in a cycle/.exec(text)!;
    return written!.split(' ').reduce((sum, part) => {
      const [top, bottom = '1'] = part.split('/');
      return sum + Number(top) / Number(bottom);
    }, 0);
  };

  it('is that of the days it moves, with the days it stood still', () => {
    const text = said([10, 9, 9, 8, 7]).sentences.join(' ');
    expect(text).toMatch(/On days it moves, .* in a cycle; it stood still on 1 of the last 4\./);
    expect(Math.abs(paceOf(text) - 1)).toBeLessThan(1 / 8);
  });

  it('claims no cycle it was not seen on: a slow start, and a job read at cycles 0, 4 and 8 (drawn by hand)', () => {
    const slow = [14, 13.97, 13.94, 13.92, 13.3, 12.6, 11.9, 11.2, 10.5];
    const sparse = fitOf([8, 5.6, 3.2].map((value, k) => ({ cycle: 4 * k, shape: triangle(value) })));
    for (const fit of [run(slow), sparse]) {
      const lines = [item('flange', fit, [rule(0.5)])];
      const analysis = { job, lines, unmeasured: [], findings: [], member: memberVerdict(lines) } as never;
      const text = headline(analysis).sentences.join(' ');
      expect(text).toMatch(/moves .* a cycle/);
      expect(text).not.toMatch(/every one|of the last 8 cycles/);
    }
  });

  it('a last day that stood still is laid beside the others, and work goes on', () => {
    const { sentences, next: step } = said([10, 9, 8, 7, 6, 6]);
    expect(sentences.join(' ')).toMatch(/within reading error .* it stood still on 1 of the last 5\./);
    expect(step).toMatch(/^Lay the last day beside the others/);
  });

  /** The same progress with the cycles named having stood still, the last of them today. */
  const stoodToday = (progress: Progress, cycles: readonly number[]): Progress => ({
    ...progress,
    verdict: 'undecided',
    pattern: {
      ...progress.pattern!,
      stoodStill: { ...progress.pattern!.stoodStill, cycles },
      lastCycle: { closed: 0.1, stoodStill: 0.9, opened: 0 },
    },
  });

  it('a day it came back out is no day it stood still', () => {
    const text = said([6, 5.3, 4.6, 3.9, 4.3, 3.6, 2.9]).sentences.join(' ');
    expect(text).toMatch(/On days it moves, .* in a cycle; it came back out on 1 of the last 6\./);
  });

  it('a day whose work shows at another bend of the line is no day it stood still, and says where', () => {
    // Two bends worked by turns, the first the larger: drawn by hand.
    const left = [6, 5.3, 5.3, 4.6, 4.6, 3.9, 3.9];
    const right = [3, 3, 2.4, 2.4, 1.8, 1.8, 1.2];
    const bump = (height: number, at: number, s: number) => height * Math.max(0, 1 - Math.abs(s - at) / 12);
    const two = (k: number) => (s: number) => bump(left[k]!, 14, s) + bump(right[k]!, 44, s);
    const turns = fitOf(left.map((_, cycle) => ({ cycle, shape: two(cycle) })));
    const lines = [item('flange', turns, [rule(0.5)])];
    const analysis = { job, lines, unmeasured: [], findings: [], member: memberVerdict(lines) } as never;
    const { sentences } = headline(analysis);
    expect(sentences.join(' ')).toMatch(
      /within reading error \(.*\); near 44'-0" it came 19\/32 in closer\./,
    );
    const quiet = quietCycles(
      { stoodStill: { count: 3, low: 3, high: 3, of: 6, cycles: [2, 3, 4, 6] }, toCycle: 6 },
      (cycle) => lines[0]!.movements.find(({ toCycle }) => toCycle === cycle),
    );
    expect(quiet).toEqual({ still: [3], back: [], elsewhere: [2, 4, 6] });
    const stood = [{ ...lines[0]!, progress: stoodToday(lines[0]!.progress, [2, 3, 4, 6]) }];
    const words = headline({ ...(analysis as object), lines: stood, member: memberVerdict(stood) } as never);
    expect(words.sentences.join(' ')).toMatch(
      /it stood still on 1 of the last 6, and on 3 only steel elsewhere on the line moved\./,
    );
    expect(words.next).toMatch(/^Go on by the plan: the work of cycle 6 shows near 44'-0"\./);
  });

  it('a spell is said with what it moved before', () => {
    const text = said([10, 9, 8, 7, 7, 7, 7, 7]).sentences.join(' ');
    expect(text).toMatch(/stood still for 4 cycles, since cycle 3; on days it moved before, .* in a cycle\./);
    expect(Math.abs(paceOf(text) - 1)).toBeLessThan(1 / 8);
  });

  it('a spell in which the readings show a little of movement is not called a standstill', () => {
    const text = said([10, 8, 6, 5.93, 5.86]).sentences.join(' ');
    expect(text).toMatch(
      /hardly moved for 2 cycles, \S+ in closer in all since cycle 2; on days it moved before, /,
    );
  });
});

describe('what to do next', () => {
  it('never says to go on past a stop', () => {
    const flange = item('flange', run([10, 8, 6, 4]), [rule(0.5)]);
    const stop = { severity: 'stop', code: 'any', message: 'A stop.' } as const;
    const said = nextStep({
      job,
      lines: [flange],
      unmeasured: [],
      findings: [stop],
      member: memberVerdict([flange]),
    });
    expect(said).toMatch(/STOP/);
    expect(next([flange])).toMatch(/Go on as now/);
  });
});

describe('a result that its guard band decides', () => {
  const words = (inches: number, u: number, limit: number, decision?: 'simple') => {
    const fit = fitOf([{ cycle: 0, shape: triangle(inches), u }]);
    const own = { ...rule(limit), ...(decision === undefined ? {} : { decision }) };
    return guardWords(judgeAcceptance(LINE, MEMBER, fit, [own])[0]!, 'us');
  };

  it('says the number with its ± added or taken off, to the decimals compared', () => {
    // 1/8 ± 0.13 of 1/4 in fractions adds up to more than the limit; 0.118 + 2·0.065 = 0.248 does not.
    expect(words(0.118, 0.065, 0.25)).toBe(': with its ± at most 0.248 in, still inside');
    expect(words(0.2, 0.065, 0.25)).toBe(': reads inside, but with its ± it may be 0.330 in');
    expect(words(0.3, 0.065, 0.25)).toBe(': reads outside, but less its ± it may be 0.170 in');
    expect(words(0.4, 0.065, 0.25)).toBe(': less its ± at least 0.270 in, still outside');
  });

  it('says nothing where the number alone leaves no question, or simple acceptance leaves the band out', () => {
    expect(words(0.05, 0.02, 0.25)).toBe('');
    expect(words(2, 0.065, 0.25)).toBe('');
    expect(words(0.2, 0.065, 0.25, 'simple')).toBe('');
  });
});

describe('one place per bend', () => {
  const at = (shape: (feet: number) => number) => fitOf([{ cycle: 0, shape }]).surveys[0]!;
  /** Two crests, at 10 and 46 ft, the second the larger, with straight steel between. */
  const two = (feet: number) =>
    Math.max(0, 2 - Math.abs(feet - 10) / 2) + Math.max(0, 3 - Math.abs(feet - 46) / 2);

  it('a rule that finds its value a station beside the largest reading names that reading’s place', () => {
    expect(placeOfBend(at(triangle(3)), 34 * FOOT)).toEqual({ station: 30 * FOOT, same: true });
  });

  it('a place in another bend, or on its far slope, keeps its own name', () => {
    expect(placeOfBend(at(two), 10 * FOOT)).toEqual({ station: 10 * FOOT, same: false });
    expect(placeOfBend(at(two), 44 * FOOT)).toEqual({ station: 46 * FOOT, same: true });
  });
});

describe('a bent line without zones', () => {
  const bent = item('flange', run([3, 2]), [rule(0.5)]);

  it('gives the reason: without diaphragms a long curve may be held or yielded; with them it says what heat can do', () => {
    expect(noZonesWords(bent, { ...MEMBER, diaphragms: null })).toMatch(/^none: .*give member\.diaphragms/);
    expect(noZonesWords(bent, MEMBER)).toMatch(/^none: .*heat works only where steel yielded$/);
  });

  it('says nothing of a straight line, of one with zones, and of kinds that have none', () => {
    expect(noZonesWords(item('flange', run([0.05]), []), MEMBER)).toBeNull();
    const zoned = fitOf([{ cycle: 0, shape: triangle(3), zones: [{ zone: 'A', rotation: 0.02, u: 1e-3 }] }]);
    expect(noZonesWords(item('flange', zoned, []), MEMBER)).toBeNull();
    expect(noZonesWords({ ...bent, line: { ...LINE, kind: 'plumb' } }, MEMBER)).toBeNull();
  });
});
