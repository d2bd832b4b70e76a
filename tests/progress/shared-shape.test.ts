import { Matrix, SVD } from 'ml-matrix';
import { describe, expect, it } from 'vitest';
import type { LineFit } from '../../src/analysis.ts';
import { leadingDirection } from '../../src/progress/directions.ts';
import { sharedShape } from '../../src/progress/shared-shape.ts';
import { trendOf } from '../../src/progress/trend.ts';
import { fitReadings } from '../fit-readings.ts';
import { type Campaign, prepareCampaign, simulateCampaign } from '../mechanics/campaign.ts';
import { simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { createRandom } from '../mechanics/random.ts';
import { stationsAlong } from '../mechanics/readings.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const KSI = 6.894757e6;

// Against mechanics: an elastic-plastic beam on springs struck twice, read with a string set up anew every cycle.
const truth = simulateGirder({
  span: 70 * FOOT,
  flangeWidth: 12 * INCH,
  flangeThickness: INCH,
  yieldStress: 36 * KSI,
  hardening: 0.008,
  diaphragms: [18, 35, 52].map((feet) => ({ station: feet * FOOT, stiffness: 2e7 })),
  impacts: [
    { station: 24 * FOOT, patch: FOOT, set: 3 * INCH },
    { station: 46 * FOOT, patch: FOOT, set: 2 * INCH },
  ],
  sweep: () => 0,
});
const model = prepareCampaign(truth);

function work(
  zoneShare: readonly number[],
  { seed = 'shared shape', scatter = 0.1 }: { seed?: string; scatter?: number } = {},
) {
  const campaign = simulateCampaign(model, {
    cycles: 10,
    process: { kind: 'constant', rate: INCH / 10 },
    scatter,
    zoneShare,
    reading: { stations: stationsAlong(0, 70 * FOOT, 2 * FOOT), sd: INCH / 16, rounding: INCH / 16 },
    random: createRandom(seed),
  });
  const job = jobOf(truth, { readingSd: INCH / 16, baseline: { method: 'bearings' } });
  const fit = fitReadings(job, campaign.readings);
  return { campaign, fit };
}

/** Errors of the movement from survey to survey, in inches. */
function errors(fit: LineFit, campaign: Campaign): number[] {
  const off = trendOf(fit).map(
    (p) => (p.value - Math.abs(campaign.truth[p.cycle]!.largest.deviation)) / INCH,
  );
  return off.slice(1).map((value, i) => value - off[i]!);
}
const rms = (values: readonly number[]) => Math.sqrt(values.reduce((s, v) => s + v * v, 0) / values.length);

const zones = truth.zones.length;
const alike = work(truth.zones.map(() => 1));

describe('one shape shared by all surveys', () => {
  it('knows movements better than the fits of each survey, and says how well', () => {
    const shared = sharedShape(alike.fit).fit;
    const u = trendOf(shared).map((p) => p.u / INCH);
    const before = trendOf(alike.fit).map((p) => p.u / INCH);
    expect(Math.max(...u)).toBeLessThan(0.9 * Math.min(...before));
    const z = rms(errors(shared, alike.campaign)) / (Math.SQRT2 * rms(u));
    expect(z).toBeGreaterThan(0.4);
    expect(z).toBeLessThan(1.5);
  });

  it('the scatter it finds is the one the readings were made with', () => {
    // Errors of sd 1/16 in, rounded to 1/16 in: together √(1 + 1/12) of the stated sd (a uniform error, JCGM 100 4.3.7).
    const found = [1, 2, 3, 4, 5, 6].map((n) => {
      const { fit } = work(
        truth.zones.map(() => 1),
        { seed: `scatter ${n}`, scatter: 0 },
      );
      const { fit: followed, noise } = sharedShape(fit);
      return (noise * followed.surveys[0]!.stations[0]!.uReading) / (INCH / 16);
    });
    // 11 surveys of 36 stations: each factor is known to 1/√(2·300) = 4 %, the mean of six to 1.7 %.
    const mean = found.reduce((sum, one) => sum + one, 0) / found.length;
    expect(Math.abs(mean - Math.sqrt(1 + 1 / 12))).toBeLessThan(3 * 0.017);
  });

  it('a zone worked alone makes a shape of its own: the movement of the largest deviation is not mistaken', () => {
    // The first half of the zones only.
    const { fit, campaign } = work(Array.from({ length: zones }, (_, z) => (z < zones / 2 ? 1 : 0)));
    const shared = trendOf(sharedShape(fit).fit);
    const [first, last] = [shared[0]!, shared.at(-1)!];
    const moved = first.value - last.value;
    const really = [0, 10].map((cycle) => Math.abs(campaign.truth[cycle]!.largest.deviation));
    expect(really[0]! - really[1]!).toBeGreaterThan(0.3 * INCH);
    expect(Math.abs(moved - (really[0]! - really[1]!))).toBeLessThan(3 * Math.hypot(first.u, last.u));
  });

  it('a reading a foot off, set aside by the fit, moves nothing', () => {
    const spoiled: LineFit = {
      ...alike.fit,
      surveys: alike.fit.surveys.map((survey) => ({
        ...survey,
        stations: survey.stations.map((s, i) =>
          survey.cycle === 6 && i === 14 ? { ...s, deviation: s.deviation + FOOT, setAside: true } : s,
        ),
      })),
    };
    const [clean, dirty] = [alike.fit, spoiled].map((fit) => trendOf(sharedShape(fit).fit));
    clean!.forEach((p, k) => {
      expect(Math.abs(p.value - dirty![k]!.value)).toBeLessThan(0.6 * p.u);
    });
  });

  it('leaves lines alone whose surveys have nothing in common', () => {
    const apart: LineFit = {
      ...alike.fit,
      surveys: alike.fit.surveys.map((survey) => ({
        ...survey,
        stations: survey.stations.map((s) => ({ ...s, station: s.station + 0.01 * survey.cycle })),
      })),
    };
    expect(sharedShape(apart).fit).toBe(apart);
  });
});

describe('leading direction', () => {
  it('is the first right singular vector (ml-matrix)', () => {
    const random = createRandom('directions');
    const rows = Array.from({ length: 7 }, (_, k) =>
      Float64Array.from({ length: 12 }, (_, i) => 3 * k * Math.sin(i) + random.normal()),
    );
    const first = new SVD(new Matrix(rows.map((row) => [...row])), {
      autoTranspose: true,
    }).rightSingularVectors.getColumn(0);
    const found = leadingDirection(rows)!;
    const cosine = found.reduce((sum, v, i) => sum + v * first[i]!, 0);
    expect(Math.abs(cosine)).toBeCloseTo(1, 5);
  });

  it('is null where there is nothing', () => {
    expect(leadingDirection([new Float64Array(3), new Float64Array(3)])).toBeNull();
  });
});
