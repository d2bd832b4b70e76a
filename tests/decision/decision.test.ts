import { describe, expect, it } from 'vitest';
import { judgeAcceptance } from '../../src/acceptance/acceptance.ts';
import type { LineAnalysis, LineFit } from '../../src/analysis.ts';
import { decide } from '../../src/decision/decision.ts';
import type { Job } from '../../src/job/job.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { fitOf, LINE, MEMBER, rule, type SurveyShape, triangle } from '../line-fit-builder.ts';

const RULES = [rule(0.5)];
const job = (repairs: Job['repairs'] = []): Job =>
  ({
    name: 'Test',
    units: 'us',
    member: MEMBER,
    lines: [LINE],
    usefulGain: INCH / 32,
    acceptance: RULES,
    repairs,
  }) as unknown as Job;

function analysed(fit: LineFit): LineAnalysis {
  return {
    line: LINE,
    fit,
    movements: [],
    springback: [],
    progress: judgeProgress(LINE, MEMBER, fit, INCH / 32, RULES, 'us'),
    acceptance: judgeAcceptance(LINE, MEMBER, fit, RULES, 'us'),
  };
}

const jitter = [0.02, -0.03, 0.01, 0.03, -0.02, -0.01, 0.02, 0];
const run = (values: readonly number[], zone = 0.03): SurveyShape[] =>
  values.map((value, cycle) => ({
    cycle,
    shape: triangle(value + jitter[cycle % jitter.length]!),
    zones: [{ zone: 'A', rotation: (zone * value) / values[0]!, u: 0.0004 }],
  }));

const STALLED = run([3, 2.6, 2.2, 1.8, 1.4, 1.4, 1.4, 1.4, 1.4]);
const MOVING = run([3, 2.6, 2.2, 1.8, 1.4]);

describe('facts for and against stopping', () => {
  it('a young stall outside tolerance stands on both sides, with what to check first', () => {
    const facts = decide(job(), [analysed(fitOf(STALLED))]);
    expect(facts.forStopping.join(' ')).toContain('No useful movement');
    expect(facts.againstStopping.join(' ')).toContain('outside 1/2 in');
    expect(facts.againstStopping.join(' ')).toContain('keep at it for some cycles');
    expect(facts.checkFirst.join(' ')).toMatch(/heat reached.*vees.*jacks.*residual stress/s);
  });

  it('work that goes well is a fact against stopping, with the cycles left', () => {
    const facts = decide(job(), [analysed(fitOf(MOVING))]);
    expect(facts.forStopping).toEqual([]);
    expect(facts.againstStopping.join(' ')).toMatch(/closing .* About \d+ more cycles/s);
  });

  it('inside tolerance is a fact for stopping', () => {
    const facts = decide(job(), [analysed(fitOf(run([3, 1.5, 0.3])))]);
    expect(facts.forStopping.join(' ')).toContain('Inside every limit');
    expect(facts.againstStopping).toEqual([]);
  });

  it('a zone beyond 100 times yield strain is told (Avent et al.: what is proven)', () => {
    const fit = fitOf(MOVING);
    const strained = (peak: number) => ({
      ...fit,
      zones: fit.zones.map((z) => ({ ...z, strainRatio: { ...z.strainRatio, peak, peakU: 5 } })),
    });
    const at = (peak: number) => decide(job(), [analysed(strained(peak))]).forStopping.join(' ');
    expect(at(130)).toContain('beyond the 100 times yield strain');
    expect(at(96)).toContain('may be beyond');
    expect(at(60)).not.toContain('strain ratio');
  });

  it('either way of reckoning tells it: 130 by the published second difference with 40 by the fitted shape', () => {
    const fit = fitOf(MOVING);
    const strained = {
      ...fit,
      zones: fit.zones.map((z) => ({
        ...z,
        strainRatio: { ...z.strainRatio, peak: 40, peakU: 5 },
        publishedStrain: { ratio: 130, u: 6, station: z.from, leftOut: false },
      })),
    };
    expect(decide(job(), [analysed(strained)]).forStopping.join(' ')).toContain(
      'strain ratio 130 ± 12 by the published second difference, beyond the 100 times yield strain',
    );
  });

  it('a third repair of one place is told, a repair elsewhere is not', () => {
    const here = { date: '1998-05-01', from: 21 * FOOT, to: 23 * FOOT, note: '' };
    const there = { date: '2001-05-01', from: 50 * FOOT, to: 55 * FOOT, note: '' };
    const twice = decide(job([here, { ...here, date: '2010-06-01' }, there]), [analysed(fitOf(MOVING))]);
    expect(twice.forStopping.join(' ')).toMatch(/repair number 3 .*1998-05-01, 2010-06-01.*embrittle/s);
    const elsewhere = decide(job([there]), [analysed(fitOf(MOVING))]);
    expect(elsewhere.forStopping).toEqual([]);
  });

  it('a rule without readings is named', () => {
    const open = { ...rule(0.25), line: null, kind: 'tilt' as const, label: 'tilt 1/4 in' };
    const facts = decide(
      job(),
      [analysed(fitOf(MOVING))],
      [
        {
          rule: open,
          limit: open.limit,
          measured: null,
          u: null,
          at: null,
          result: 'undetermined',
          reason: 'no tilt line',
        },
      ],
    );
    expect(facts.againstStopping.join(' ')).toContain('tilt 1/4 in');
  });

  it('never says what to do: the engineer decides', () => {
    for (const surveys of [STALLED, MOVING]) {
      const facts = decide(job(), [analysed(fitOf(surveys))]);
      expect(facts.checkFirst.at(-1)).toContain('licensed engineer decide');
      expect([...facts.forStopping, ...facts.againstStopping].join(' ')).not.toMatch(
        /\b(must|should) (stop|go on)\b/i,
      );
    }
  });
});
