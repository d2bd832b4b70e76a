import type { LineFit, StationFit, SurveyFit } from '../src/analysis.ts';
import type { AcceptanceRule, Line, Member } from '../src/job/job.ts';
import { FOOT, INCH, KSI } from '../src/units/factors.ts';

/** Plain hand-made fits for tests of the stages behind the fit: shapes in inches over stations in feet. */
export const MEMBER: Member = {
  span: 60 * FOOT,
  yieldStress: 36 * KSI,
  elasticModulus: 29_000 * KSI,
  flangeWidth: 12 * INCH,
  flangeThickness: INCH,
  webThickness: null,
  depth: 36 * INCH,
  steel: null,
  diaphragms: [],
};

export const LINE: Line = {
  name: 'bottom-flange',
  kind: 'sweep',
  bearings: [0, 60 * FOOT],
  positive: 'toward the north shoulder',
  baseline: { method: 'bearings' },
  standoff: 0,
  readingSd: null,
  impact: 30 * FOOT,
  edgeSteps: [],
};

export function rule(
  limitInches: number,
  over: AcceptanceRule['over'] = { kind: 'whole-line' },
): AcceptanceRule {
  return {
    line: LINE.name,
    kind: 'sweep',
    limit: limitInches * INCH,
    over,
    label: 'sweep',
    source: 'set by the job',
    preset: null,
  };
}

export interface SurveyShape {
  readonly cycle: number;
  /** Deviation in inches at a station in feet. */
  readonly shape: (stationFeet: number) => number;
  /** Standard uncertainty in inches. Default 1/32. */
  readonly u?: number;
  readonly state?: 'released' | 'restrained';
  readonly temperature?: number | null;
  readonly date?: string | null;
  readonly zones?: readonly { readonly zone: string; readonly rotation: number; readonly u: number }[];
}

export function fitOf(surveys: readonly SurveyShape[], step = 2): LineFit {
  const made = surveys.map((s) => surveyOf(s, step));
  return {
    baseline: {
      method: 'bearings',
      reason: 'chord through the bearings',
      reaches: [],
      residualSd: INCH / 16,
      about: 0,
      coefficients: [],
      profile: [],
      edgeSteps: [],
      undamagedShape: [],
    },
    readingSd: { value: INCH / 16, source: 'default', degreesOfFreedom: null, reason: 'default' },
    surveys: made,
    zones: (surveys[0]?.zones ?? []).map((z, i) => ({
      zone: z.zone,
      from: (20 + 10 * i) * FOOT,
      to: (24 + 10 * i) * FOOT,
      fromU: 0,
      toU: 0,
      core: {
        centre: (22 + 10 * i) * FOOT,
        spread: (4 * FOOT) / Math.sqrt(12),
        from: (20 + 10 * i) * FOOT,
        to: (24 + 10 * i) * FOOT,
      },
      rotation: z.rotation,
      rotationU: z.u,
      radius: 1,
      strainRatio: { mean: 10, peak: 20, peakU: 1, lowerBound: false },
      class: 'plastic' as const,
      publishedStrain: null,
      degreeOfDamage: null,
    })),
    elastic: [],
    pointCurvature: [],
    findings: [],
  };
}

function surveyOf(given: SurveyShape, step: number): SurveyFit {
  const u = (given.u ?? 1 / 32) * INCH;
  const stations: StationFit[] = [];
  for (let feet = 0; feet <= 60; feet += step) {
    const deviation = given.shape(feet) * INCH;
    stations.push({
      station: feet * FOOT,
      deviation,
      u: 1.4 * u,
      uReading: 1.2 * u,
      fitted: deviation,
      fittedU: u,
      count: 1,
      setAside: false,
    });
  }
  const worst = stations.reduce((a, b) => (Math.abs(b.deviation) > Math.abs(a.deviation) ? b : a));
  return {
    cycle: given.cycle,
    date: given.date ?? null,
    time: null,
    temperature: given.temperature ?? null,
    state: given.state ?? 'released',
    count: stations.length,
    setAside: [],
    setUp: { offset: 0, tilt: 0, about: 0, covariance: [] },
    stations,
    largest: { station: worst.station, deviation: worst.deviation, u: worst.u },
    rms: 0,
    zones: given.zones ?? [],
    zoneCovariance: [],
    closure: { agrees: true, ties: [], message: null },
  };
}

/** A single bend at mid-length: triangle of the given height in inches. */
export const triangle = (height: number) => (feet: number) => height * (1 - Math.abs(feet - 30) / 30);
