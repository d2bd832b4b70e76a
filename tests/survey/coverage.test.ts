import { describe, expect, it } from 'vitest';
import { judgeAcceptance } from '../../src/acceptance/acceptance.ts';
import type { LineFit } from '../../src/analysis.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { unreadPlace } from '../../src/survey/coverage.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { fitOf, LINE, MEMBER, rule } from '../line-fit-builder.ts';

// No outside source: statements about what a survey read in part may claim. The readings close at 1/4 in a cycle.
const shapes = [3, 2.75, 2.5, 2.25, 2, 1.75].map((peak, cycle) => ({
  cycle,
  u: 1 / 32,
  shape: (s: number) => (peak * Math.max(0, 30 - Math.abs(s - 30))) / 30,
  zones: [{ zone: 'A', rotation: peak / 100, u: 0.001 }],
}));

/** The same campaign with only some stations of the last survey read. */
function partly(read: (stationFeet: number) => boolean): LineFit {
  const fit = fitOf(shapes);
  const last = fit.surveys.at(-1)!;
  const stations = last.stations.filter((s) => read(Math.round(s.station / FOOT)));
  const largest = stations.reduce((a, b) => (Math.abs(b.deviation) > Math.abs(a.deviation) ? b : a));
  return { ...fit, surveys: [...fit.surveys.slice(0, -1), { ...last, stations, largest }] };
}

describe('a survey read in part', () => {
  it('of the bearings alone is neither within nor progressing, for the line and for the zone', () => {
    const fit = partly((s) => s === 0 || s === 60);
    expect(unreadPlace(fit, fit.surveys.at(-1)!)! / FOOT).toBeCloseTo(30, 6);
    for (const over of [{ kind: 'whole-line' as const }, { kind: 'chord' as const, length: 20 * FOOT }]) {
      const [result] = judgeAcceptance(LINE, MEMBER, fit, [rule(0.5, over)]);
      expect(result!.result).toBe('undetermined');
      expect(result!.reason).toContain('near 30\'-0"');
    }
    const progress = judgeProgress(LINE, MEMBER, fit, INCH / 32, [rule(0.5)], 'us');
    expect(progress.verdict).toBe('undecided');
    expect(progress.cyclesLeft).toBeNull();
    expect(progress.zones[0]!.verdict).toBe('undecided');
  });

  it('speaks for the line when every other station is read', () => {
    const fit = partly((s) => s % 4 === 0);
    expect(unreadPlace(fit, fit.surveys.at(-1)!)).toBeNull();
    expect(judgeProgress(LINE, MEMBER, fit, INCH / 32, [rule(0.5)], 'us').verdict).not.toBe('undecided');
  });
});

describe('readings side by side set aside by the rule', () => {
  const straight = { cycle: 0, u: 1 / 64, shape: () => 0.1 };
  const withAside = (stations: readonly number[], inches: number): LineFit => {
    const fit = fitOf([straight]);
    const [survey] = fit.surveys;
    const hit = (s: number) => stations.includes(Math.round(s / FOOT));
    return {
      ...fit,
      surveys: [
        {
          ...survey!,
          setAside: stations.map((at, row) => ({
            file: 'readings/a.csv',
            row: row + 2,
            station: at * FOOT,
            offset: inches * INCH,
            reason: 'far from the fit',
            by: 'rule' as const,
          })),
          stations: survey!.stations.map((s) =>
            hit(s.station)
              ? {
                  ...s,
                  station: Math.round(s.station / FOOT) * FOOT,
                  setAside: true,
                  deviation: inches * INCH,
                }
              : s,
          ),
        },
      ],
    };
  };
  const resultOf = (fit: LineFit) => judgeAcceptance(LINE, MEMBER, fit, [rule(0.5)])[0]!;

  it('that agree on being outside are not left out of an acceptance', () => {
    const result = resultOf(withAside([20, 22], 1));
    expect(result.result).toBe('undetermined');
    expect(result.reason).toContain('20\'-0" and 22\'-0"');
  });

  it('alone, or inside the limit, leave it as it is', () => {
    expect(resultOf(withAside([20], 1)).result).toBe('within');
    expect(resultOf(withAside([20, 22], 0.3)).result).toBe('within');
  });
});
