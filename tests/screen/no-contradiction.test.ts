import { describe, expect, it } from 'vitest';
import { analyse } from '../../src/analyse.ts';
import type { Analysis, LineAnalysis } from '../../src/analysis.ts';
import { lineToday } from '../../src/decision/line-today.ts';
import { INCH } from '../../src/units/factors.ts';
import { contradictions, RULES, screensOf } from './contradictions.ts';
import { randomJob } from './random-job.ts';

// No outside source: the rules are statements about the tool's own screens, in words in contradictions.ts. The jobs are
// made by hand rules (random-job.ts) and share nothing with the estimator.
const JOBS = 240;
/** The rest of them are looked at in no-contradiction-many.test.ts, with the hostile runs. */
const HERE = 60;

const done = new Map<number, Analysis>();
const analysed = (seed: number): Analysis => {
  const { job, readings, marks } = randomJob(seed);
  const analysis = done.get(seed) ?? analyse(job, readings, marks);
  done.set(seed, analysis);
  return analysis;
};

describe('the first screen', () => {
  it(`contradicts neither itself nor the readings on the first ${HERE} of ${JOBS} random jobs`, () => {
    const broken: string[] = [];
    for (let seed = 1; seed <= HERE; seed++) {
      for (const each of contradictions(screensOf(analysed(seed)))) broken.push(`job ${seed}: ${each}`);
    }
    expect(broken).toEqual([]);
  }, 240_000);
});

describe('a screen made wrong on purpose is caught', () => {
  /** The first random job that is as wanted, with its first line changed. */
  const doctored = (
    wanted: (item: LineAnalysis, analysis: Analysis) => boolean,
    change: (item: LineAnalysis) => Partial<LineAnalysis>,
  ): string[] => {
    for (let seed = 1; seed <= JOBS; seed++) {
      if (seed % 15 === 0) continue;
      const analysis = analysed(seed);
      const item = analysis.lines.find((each) => wanted(each, analysis));
      if (item === undefined) continue;
      const lines = analysis.lines.map((each) => (each === item ? { ...each, ...change(item) } : each));
      return contradictions(screensOf({ ...analysis, lines }));
    }
    throw new Error('no random job is as wanted');
  };
  const broken = (words: string) => {
    expect(RULES.some(([rule]) => rule.startsWith(words))).toBe(true);
    return expect.arrayContaining([expect.stringMatching(`^${words}`)]);
  };
  const outside = (item: LineAnalysis) => item.acceptance.some((a) => a.result === 'outside');
  const single = (item: LineAnalysis) => {
    const { moved } = lineToday(item);
    return moved !== null && moved.toCycle === moved.fromCycle + 1;
  };
  const moved = (item: LineAnalysis, inches: number) => ({
    movements: item.movements.map((m) => ({ ...m, largest: { movement: inches * INCH, u: 0.01 * INCH } })),
  });

  it('a word for the member that is not that of its line', () => {
    const analysis = analysed(4);
    expect(
      contradictions(screensOf({ ...analysis, member: { ...analysis.member, verdict: 'overcorrected' } })),
    ).toEqual(broken('the word for the member'));
  });

  it('within tolerance with a limit exceeded', () => {
    const seed = Array.from({ length: JOBS }, (_, i) => i + 1).find(
      (each) => each % 15 !== 0 && analysed(each).lines.some(outside),
    )!;
    const analysis = analysed(seed);
    expect(
      contradictions(screensOf({ ...analysis, member: { ...analysis.member, verdict: 'within-tolerance' } })),
    ).toEqual(broken('"within tolerance" stands only'));
  });

  it('progress on a day that opened, and a stall on one that closed', () => {
    const word = 'the word does not contradict';
    expect(
      doctored(single, (item) => ({
        ...moved(item, 0.5),
        progress: { ...item.progress, verdict: 'progressing' },
      })),
    ).toEqual(broken(word));
    expect(
      doctored(single, (item) => ({
        ...moved(item, -0.5),
        progress: { ...item.progress, verdict: 'stalled' },
      })),
    ).toEqual(broken(word));
  });

  it('a movement that is not the one the verdict follows', () => {
    expect(
      doctored(
        (item, all) => single(item) && all.lines.length === 1,
        (item) => moved(item, -0.4),
      ),
    ).toEqual(broken('tile, headline and terminal'));
  });

  it('cycles left, or a pace, from a survey that carries no number', () => {
    expect(
      doctored(
        (item) => lineToday(item).lack !== null,
        (item) => ({
          progress: {
            ...item.progress,
            verdict: 'progressing',
            cyclesLeft: { low: 1, expected: 2, high: 3 },
          },
        }),
      ),
    ).toEqual(broken('a survey that cannot carry a number'));
  });

  it('a zone that closes on a day it opened, and a standstill on a day steel moved', () => {
    const zone = { zone: 'A', rotation: 0.05, u: 0.001 };
    expect(
      doctored(single, (item) => ({
        fit: { ...item.fit, surveys: item.fit.surveys.map((survey) => ({ ...survey, zones: [zone] })) },
        movements: item.movements.map((m) => ({ ...m, zones: [{ ...zone, rotation: 0.01 }] })),
        progress: {
          ...item.progress,
          zones: [
            {
              ...{ zone: 'A', rate: null, rateLow: null, rateHigh: null, sinceCycle: null },
              ...{ verdict: 'progressing', reason: '' },
            },
          ],
        },
      })),
    ).toEqual(broken('a zone is not said to close'));
    expect(
      doctored(
        (item) => single(item) && item.progress.pattern !== null,
        (item) => ({
          movements: item.movements.map((m) => ({
            ...m,
            stations: m.stations.map((s) => ({ ...s, movement: 10 * s.u })),
          })),
          progress: {
            ...item.progress,
            pattern: {
              ...item.progress.pattern!,
              stoodStill: {
                ...item.progress.pattern!.stoodStill,
                cycles: [item.movements.at(-1)!.toCycle],
              },
            },
          },
        }),
      ),
    ).toEqual(broken('no cycle is counted as a standstill of the line'));
  });

  it('none left outside a limit', () => {
    expect(
      doctored(outside, (item) => ({
        progress: { ...item.progress, cyclesLeft: { low: 0, expected: 0, high: 0 } },
      })),
    ).toEqual(broken('the forecast is in order'));
  });

  it('a sentence twice, an engineer’s unit, a level that is another’s', () => {
    const screens = screensOf(analysed(4));
    const text = `${screens.text}\nIt came one inch closer. It came one inch closer. By 3 mrad. Cycles left (95 %).`;
    const found = contradictions({ ...screens, text });
    expect(found).toEqual(broken('no sentence stands twice'));
    expect(found).toEqual(broken('an interval has its own level'));
  });
});
