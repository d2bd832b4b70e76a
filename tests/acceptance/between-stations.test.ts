import { describe, expect, it } from 'vitest';
import { governingChord } from '../../src/acceptance/chord.ts';
import { measureRule, type RuleMeasure } from '../../src/acceptance/measure-rule.ts';
import { analyse } from '../../src/analyse.ts';
import type { SurveyFit } from '../../src/analysis.ts';
import type { AcceptanceRule } from '../../src/job/job.ts';
import { interpolate } from '../../src/maths/interpolate.ts';
import { FOOT, INCH } from '../../src/units/factors.ts';
import { fitReadings } from '../fit-readings.ts';
import { valueAt } from '../mechanics/beam.ts';
import { prepareCampaign, simulateCampaign } from '../mechanics/campaign.ts';
import { simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { randomGirder } from '../mechanics/population.ts';
import { createRandom } from '../mechanics/random.ts';
import { stationsAlong } from '../mechanics/readings.ts';

// Monte Carlo against mechanics (in the sense of JCGM 101:2008, 8): one simulated girder straightened to a sixth of its
// damage and then surveyed 100 times over. What a rule measures scatters from survey to survey by what its u should say.
const REDRAWS = 100;
const CHORD = 20 * FOOT;

function redrawn(seed: string) {
  const truth = simulateGirder({ ...randomGirder(createRandom(seed).fork('girder')), sweep: () => 0 });
  const model = prepareCampaign(truth);
  const campaign = simulateCampaign(model, {
    cycles: REDRAWS,
    process: { kind: 'stalling', rate: 0.85 * model.largest, stallAt: 1 },
    scatter: 0,
    reading: { stations: stationsAlong(0, truth.options.span, 2 * FOOT), sd: INCH / 16, rounding: 0 },
    random: createRandom(`${seed}/redrawn`),
  });
  const job = jobOf(truth, { readingSd: INCH / 16, baseline: { method: 'bearings' } });
  const line = job.lines[0]!;
  const fit = fitReadings(job, campaign.readings);
  const state = campaign.truth[1]!;
  const fine = stationsAlong(0, truth.options.span, FOOT / 4);
  return {
    job,
    line,
    campaign,
    largest: Math.abs(state.largest.deviation),
    chord: Math.abs(
      governingChord(
        fine,
        fine.map((station) => valueAt(truth.grid, state.deviation, station)),
        CHORD,
      )!.departure,
    ),
    later: fit.surveys.filter((survey) => survey.cycle >= 1),
  };
}

type Measured = Extract<RuleMeasure, { value: number }>;

function measures(over: AcceptanceRule['over'], of: ReturnType<typeof redrawn>, surveys = of.later) {
  const rule: AcceptanceRule = { ...of.job.acceptance[0]!, over };
  return surveys.map((survey) => measureRule(rule, of.line, survey) as Measured);
}

const mean = (values: readonly number[]) => values.reduce((sum, v) => sum + v, 0) / values.length;
const rms = (values: readonly number[]) => Math.sqrt(mean(values.map((v) => v * v)));
const scatter = (values: readonly number[]) => rms(values.map((v) => v - mean(values)));

/** The survey as it would be without what its stations share: they then count as independent. */
function apart({ shape: _shape, ...survey }: SurveyFit): SurveyFit {
  return survey;
}

describe.each(['a', 'c', 'e', 'h'])('a girder surveyed 100 times, seed %s', (seed) => {
  const girder = redrawn(seed);

  it('u of a 20 ft chord is its scatter; stations taken as independent overstate it', () => {
    const now = measures({ kind: 'chord', length: CHORD }, girder);
    const ratio = rms(now.map((m) => m.u)) / scatter(now.map((m) => m.value));
    // The sample gives the scatter to 7 % (1/√(2·99)); u is wider by the priors and by a misfit never taken below 1.
    expect(ratio).toBeGreaterThan(0.86);
    expect(ratio).toBeLessThan(1.36);
    const before = measures({ kind: 'chord', length: CHORD }, girder, girder.later.map(apart));
    expect(rms(before.map((m) => m.u)) / scatter(before.map((m) => m.value))).toBeGreaterThan(1.1 * ratio);
  });

  it.each([
    ['chord', { kind: 'chord', length: CHORD }, 'chord'],
    ['whole line', { kind: 'whole-line' }, 'largest'],
  ] as const)('%s: the true value, between stations or not, is inside ± 2u', (_, over, truth) => {
    const now = measures(over, girder);
    const covered = now.filter((m) => Math.abs(m.value - girder[truth]) <= 2 * m.u).length / REDRAWS;
    // 95.4 % expected of a right u (normal distribution); three binomial standard deviations below.
    expect(covered).toBeGreaterThan(0.954 - 3 * Math.sqrt((0.954 * 0.046) / REDRAWS));
  });

  it('what stations share has the u that each of them has', () => {
    for (const { shape, stations } of girder.later.slice(0, 5)) {
      for (const { station, fitted, fittedU } of stations) {
        const i = shape!.stations.indexOf(station);
        expect(shape!.deviation[i]).toBeCloseTo(fitted!, 12);
        expect(Math.sqrt(Array.from(shape!.parts[i]!).reduce((sum, p) => sum + p * p, 0))).toBeCloseTo(
          fittedU!,
          12,
        );
      }
    }
  });
});

describe('a crest between stations', () => {
  const girder = redrawn('h');
  const low = (m: Measured) => (m.value - girder.largest) / INCH;

  it('is judged at its own height, with the nearest station read named', () => {
    const before = measures({ kind: 'whole-line' }, girder, girder.later.map(apart)).map(low);
    const now = measures({ kind: 'whole-line' }, girder);
    expect(mean(before)).toBeLessThan(-0.05);
    expect(Math.abs(mean(now.map(low)))).toBeLessThan(0.02);
    const read = new Set(girder.later[0]!.stations.map((s) => s.station));
    for (const { at, crest } of now) {
      expect(read.has(at.station)).toBe(true);
      if (crest !== null) expect(Math.abs(crest - at.station)).toBeLessThanOrEqual(FOOT + 1e-9);
    }
    expect(now.filter((m) => m.crest !== null).length).toBeGreaterThan(REDRAWS / 2);
  });

  it('the reason says so, and the analysis does not carry the shape it was judged on', () => {
    const readings = girder.campaign.readings.filter((reading) => reading.cycle <= 3);
    const { lines } = analyse(girder.job, readings);
    const [result] = lines[0]!.acceptance;
    expect(result!.reason).toMatch(/by the fitted shape at .+, between stations \(nearest .+\), in cycle 3/);
    expect(result!.measured! / INCH).toBeGreaterThan(girder.largest / INCH - 0.15);
    for (const survey of lines[0]!.fit.surveys) expect(survey).not.toHaveProperty('shape');
  });
});

describe('at the point of impact between stations', () => {
  it('the fitted shape there, not a straight line between its neighbours', () => {
    const girder = redrawn('h');
    const state = girder.campaign.truth[1]!;
    // Midway between the two stations the crest lies between.
    const at = (2 * Math.floor(state.largest.station / (2 * FOOT)) + 1) * FOOT;
    const line = { ...girder.line, impact: at };
    const rule: AcceptanceRule = { ...girder.job.acceptance[0]!, over: { kind: 'impact' } };
    const now = girder.later.map((survey) => measureRule(rule, line, survey) as Measured);
    const true_ = Math.abs(valueAt(girder.campaign.model.truth.grid, state.deviation, at));
    const straight = girder.later.map((survey) =>
      Math.abs(
        interpolate(
          survey.stations.map((s) => s.station),
          survey.stations.map((s) => s.fitted!),
          at,
        ),
      ),
    );
    expect(Math.abs(mean(now.map((m) => m.value)) - true_)).toBeLessThan(Math.abs(mean(straight) - true_));
    const ratio = rms(now.map((m) => m.u)) / scatter(now.map((m) => m.value));
    expect(ratio).toBeGreaterThan(0.86);
    expect(ratio).toBeLessThan(1.36);
  });
});
