import { describe, expect, it } from 'vitest';
import type { Verdict, ZoneProgress } from '../../src/analysis.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { FOOT, INCH, KSI } from '../../src/units/factors.ts';
import { fitReadings } from '../fit-readings.ts';
import { fitOf, LINE, MEMBER, rule, triangle } from '../line-fit-builder.ts';
import { prepareCampaign, simulateCampaign } from '../mechanics/campaign.ts';
import { simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { createRandom } from '../mechanics/random.ts';
import { stationsAlong } from '../mechanics/readings.ts';

const MRAD = 1e-3;
/** Words that nothing but a zone still bent can deserve. */
const RATE_WORDS: readonly Verdict[] = ['progressing', 'slow', 'stalled', 'regressing', 'overcorrected'];

/** Zone A read with a normal error of `u` over cycles, beside steel that closes steadily. */
function judgeZone(rotations: readonly number[], u: number, limitInches: number | null): ZoneProgress {
  const surveys = rotations.map((rotation, cycle) => ({
    cycle,
    shape: triangle(4 - 0.2 * cycle),
    zones: [{ zone: 'A', rotation, u }],
  }));
  const rules = limitInches === null ? [] : [rule(limitInches)];
  return judgeProgress(LINE, MEMBER, fitOf(surveys), INCH / 32, rules).zones[0]!;
}

describe('a zone that cannot be told from straight', () => {
  const DRAWS = 100;
  const words = (path: (cycle: number) => number, limit: number | null, u = 2 * MRAD) => {
    const random = createRandom('straight zone');
    return Array.from({ length: DRAWS }, () => {
      const read = Array.from({ length: 10 }, (_, cycle) => path(cycle) + u * random.normal());
      return judgeZone(read, u, limit).verdict;
    });
  };
  // Two standard deviations: 4.55 % of straight zones stand clear of straight (every table of the normal distribution); the
  // count of 100 draws then stays below 4.55 % + 3·√(0.0455·0.9545/100) = 10.8 % in 999 of 1000 tries.
  const MOST = 0.108;

  it.each([
    ['never bent', () => 0, 0.5],
    ['never bent, no rule of acceptance', () => 0, null],
    ['worked straight by cycle 4', (cycle: number) => Math.max(0, 40 - 10 * cycle) * MRAD, 0.5],
  ])('%s: no word for its rate but for the share the statistic allows', (_, path, limit) => {
    const drawn = words(path, limit);
    const share = drawn.filter((word) => RATE_WORDS.includes(word)).length / DRAWS;
    expect(share).toBeLessThan(MOST);
  });

  it('one that is bent keeps its word: straightening, and at a standstill', () => {
    const progressing = words((cycle) => (60 - 5 * cycle) * MRAD, 0.5);
    const stalled = words(() => 30 * MRAD, 0.5, MRAD);
    const share = (list: readonly Verdict[], word: Verdict) => list.filter((w) => w === word).length / DRAWS;
    // 95.0 of 100 on 600 draws, and 95.3 before a pace was let pick up (standard error 0.9).
    expect(share(progressing, 'progressing')).toBeGreaterThanOrEqual(0.95);
    // Of a standstill read to 1 mrad against a useful gain of 0.2 mrad little can be said, but not that it is progress. (Read to
    // 2 mrad next to nothing: two useful gains in one of three cycles must be ruled out to 1 chance in 100.)
    expect(share(stalled, 'stalled')).toBeGreaterThan(0.2);
    expect(share(stalled, 'progressing')).toBeLessThan(0.03);
  });

  it('says why, with numbers', () => {
    const said = judgeZone(
      [20, 14, 9, 3, 1, 2, 1].map((v) => v * MRAD),
      3 * MRAD,
      0.5,
    );
    expect(said.verdict).toBe('undecided');
    expect(said.reason).toMatch(/^Zone A cannot be told from straight, .+: bent by .+° ± .+° now/);
    // Δ = φ·a·b/(a + b): half an inch at 22 ft of 60 ft (38 ft to the other end) is 0.5/12·60/(22·38) = 2.99 mrad = 0.171°.
    expect(said.reason).toContain('0.171°');
  });
});

describe('zones worked straight on a simulated girder', () => {
  // Elastic-plastic beam struck once, all its zones heated until nothing is left in them (cycle 8 or so).
  const truth = simulateGirder({
    span: 60 * FOOT,
    flangeWidth: 12 * INCH,
    flangeThickness: INCH,
    yieldStress: 36 * KSI,
    hardening: 0.008,
    diaphragms: [20, 40].map((feet) => ({ station: feet * FOOT, stiffness: 2e7 })),
    impacts: [{ station: 31 * FOOT, patch: FOOT, set: 3 * INCH }],
    sweep: () => 0,
  });
  const model = prepareCampaign(truth);

  it('have a word for their rate while they are bent, and none once they are straight', () => {
    const DRAWS = 8;
    const all = { bent: 0, progressing: 0, straight: 0, named: 0 };
    for (let draw = 0; draw < DRAWS; draw++) {
      const campaign = simulateCampaign(model, {
        cycles: 11,
        process: { kind: 'constant', rate: 0.4 * INCH },
        scatter: 0.1,
        reading: { stations: stationsAlong(0, 60 * FOOT, 2 * FOOT), sd: INCH / 16, rounding: INCH / 16 },
        random: createRandom(`zones worked straight ${draw}`),
      });
      const job = jobOf(truth, { readingSd: INCH / 16, baseline: { method: 'bearings' } });
      const line = job.lines[0]!;
      const fit = fitReadings(job, campaign.readings);
      const wordsAt = (cycle: number) => {
        const sofar = { ...fit, surveys: fit.surveys.filter((survey) => survey.cycle <= cycle) };
        const { zones } = judgeProgress(line, job.member, sofar, INCH / 32, job.acceptance, 'us');
        return zones.map((zone) => zone.verdict);
      };
      for (const word of wordsAt(4)) {
        all.bent++;
        if (word === 'progressing') all.progressing++;
      }
      for (const turned of campaign.truth[11]!.rotations) expect(Math.abs(turned)).toBeLessThan(0.5 * MRAD);
      for (const word of wordsAt(11)) {
        all.straight++;
        if (RATE_WORDS.includes(word)) all.named++;
      }
    }
    expect(all.straight).toBeGreaterThanOrEqual(2 * DRAWS);
    expect(all.progressing / all.bent).toBeGreaterThan(0.9);
    // Zones of one survey share its errors: 4.55 % expected, up to 20 % of two dozen by chance.
    expect(all.named / all.straight).toBeLessThan(0.2);
  });
});
