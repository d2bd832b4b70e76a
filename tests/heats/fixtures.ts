import type { LineFit, SurveyFit, Zone } from '../../src/analysis.ts';
import type { Job } from '../../src/job/job.ts';
import { parseJob } from '../../src/job/job-file.ts';

/** A plainly invented job: 62 ft, one sweep line, jacks where wanted. */
export function jobWith(more: Record<string, unknown> = {}): Job {
  return parseJob(
    JSON.stringify({
      job: 'Juniper Lane over the canal, girder 4',
      units: 'us',
      member: {
        span: '62 ft',
        yieldStress: '36 ksi',
        flangeWidth: '12 in',
        flangeThickness: '15/16 in',
        steel: 'A36',
      },
      lines: {
        'bottom-flange': {
          kind: 'sweep',
          bearings: ['0 ft', '62 ft'],
          positive: 'toward the north shoulder',
          impact: '31 ft',
        },
      },
      ...more,
    }),
  );
}

export function zone(
  name: string,
  from: number,
  to: number,
  rotation: number,
  more: Partial<Zone> = {},
): Zone {
  return {
    zone: name,
    from,
    to,
    fromU: 0.05,
    toU: 0.05,
    core: { centre: (from + to) / 2, spread: (to - from) / Math.sqrt(12), from, to },
    rotation,
    rotationU: 2e-4,
    radius: (to - from) / Math.abs(rotation),
    strainRatio: { mean: 5, peak: 8, peakU: 1, lowerBound: false },
    publishedStrain: null,
    class: 'plastic',
    degreeOfDamage: null,
    ...more,
  };
}

const EMPTY: LineFit = {
  baseline: {
    method: 'bearings',
    reason: 'test',
    reaches: [],
    residualSd: 0,
    about: 0,
    coefficients: [],
    profile: [],
    undamagedShape: [],
    edgeSteps: [],
  },
  readingSd: { value: 1e-3, source: 'default', degreesOfFreedom: null, reason: 'test' },
  surveys: [],
  zones: [],
  elastic: [],
  pointCurvature: [],
  findings: [],
};

const SURVEY: SurveyFit = {
  cycle: 0,
  date: null,
  time: null,
  temperature: null,
  state: 'released',
  count: 0,
  setAside: [],
  setUp: { offset: 0, tilt: 0, about: 0, covariance: [] },
  stations: [],
  largest: { station: 0, deviation: 0, u: 0 },
  rms: 0,
  zones: [],
  zoneCovariance: [],
  closure: { agrees: true, ties: [], message: null },
};

function stationFit(station: number, deviation: number, u: number): SurveyFit['stations'][number] {
  return { station, deviation, u, uReading: u, fitted: null, fittedU: null, count: 1, setAside: false };
}

/** A fit whose surveys carry only zone rotations: all that the heats read. */
export function fitWith(
  zones: readonly Zone[],
  surveys: readonly { readonly cycle: number; readonly rotations: readonly number[]; readonly u: number }[],
): LineFit {
  return {
    ...EMPTY,
    surveys: surveys.map((s) => ({
      ...SURVEY,
      cycle: s.cycle,
      stations: [stationFit(0, 0, 1e-3)],
      zones: zones.map((z, i) => ({ zone: z.zone, rotation: s.rotations[i]!, u: s.u })),
    })),
    zones,
  };
}

/** A fit with one survey of given deviations: all that a plate reads. */
export function fitOfDeviations(
  points: readonly (readonly [station: number, deviation: number])[],
  u: number,
  more: Partial<LineFit['baseline']> = {},
): LineFit {
  return {
    ...EMPTY,
    baseline: { ...EMPTY.baseline, ...more },
    surveys: [{ ...SURVEY, cycle: 3, stations: points.map(([s, d]) => stationFit(s, d, u)) }],
  };
}
