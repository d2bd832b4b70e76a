/**
 * Hand-built results for page tests and benches: the right shape and plausible numbers, made from closed formulas.
 * Nothing here checks the estimators; the pages must show whatever they are given.
 */
import type {
  Analysis,
  LineAnalysis,
  Movement,
  Progress,
  StationFit,
  SurveyFit,
  Verdict,
  Zone,
} from '../../src/analysis.ts';
import type { Job, JobUnits } from '../../src/job/job.ts';
import { parseJob } from '../../src/job/job-file.ts';
import type { Reading } from '../../src/survey/survey.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

export interface SyntheticOptions {
  readonly units?: JobUnits;
  readonly name?: string;
  readonly note?: string;
  readonly lines?: number;
  readonly cycles?: number;
  readonly stations?: number;
  readonly zones?: boolean;
  readonly verdict?: Verdict;
  readonly dates?: boolean;
  /** Share of the as-found deviation left after the last cycle. */
  readonly left?: number;
  readonly positive?: string;
}

export function syntheticAnalysis(options: SyntheticOptions = {}): Analysis {
  const units = options.units ?? 'us';
  const job = syntheticJob(options, units);
  const lines = job.lines.map((_, i) => lineAnalysis(job, i, options));
  return {
    job,
    member: {
      verdict: options.verdict ?? 'progressing',
      reason:
        'The largest deviation of bottom-flange closes by 0.24 in a cycle (80 %: 0.19 to 0.29), more than the useful gain of 1/32 in.',
      line: job.lines[0]!.name,
      untouched: false,
    },
    lines,
    unmeasured: job.acceptance
      .filter((rule) => rule.line === null)
      .map((rule) => ({
        rule,
        limit: rule.limit,
        measured: null,
        u: null,
        at: null,
        result: 'undetermined',
        reason: 'No line of this kind has been read.',
      })),
    decision: {
      forStopping: ['Zone A has turned less than its uncertainty in the last 2 cycles.'],
      againstStopping: [
        'The largest deviation is 1 1/8 in over the tolerance.',
        'It still closes faster than the useful gain.',
      ],
      checkFirst: [
        'Compare the temperature reached in zone B with the plan.',
        'Check the jack gauge before the next heat.',
      ],
    },
    findings: [
      {
        severity: 'caution',
        code: 'diaphragm-reading-off',
        message: `Cycle 2: the reading at 31'-0" lies 1 in off its neighbours. ${options.note ?? ''}`,
        line: job.lines[0]!.name,
        cycle: 2,
        file: 'readings/cycle-2.csv',
        row: 17,
      },
      {
        severity: 'note',
        code: 'no-temperature',
        message: 'No steel temperature was recorded with cycle 1.',
      },
    ],
    readings: lines.flatMap((l) => readingsOf(l, options.note ?? null)),
  };
}

function syntheticJob(options: SyntheticOptions, units: JobUnits): Job {
  const us = units === 'us';
  const count = options.lines ?? 1;
  const kinds = ['sweep', 'camber', 'tilt', 'plumb', 'sweep', 'camber'] as const;
  const names = ['bottom-flange', 'bottom-camber', 'flange-tilt', 'web-plumb', 'top-flange', 'top-camber'];
  const end = us ? '62 ft' : '18.9 m';
  const job = parseJob(
    JSON.stringify({
      job: options.name ?? 'Juniper Lane over the canal, girder 4',
      units,
      member: {
        span: end,
        yieldStress: us ? '36 ksi' : '250 MPa',
        flangeWidth: us ? '12 in' : '300 mm',
        flangeThickness: us ? '15/16 in' : '24 mm',
        diaphragms: us ? ['15 ft', '31 ft', '47 ft'] : ['4.6 m', '9.45 m', '14.3 m'],
      },
      lines: Object.fromEntries(
        Array.from({ length: count }, (_, i) => [
          names[i],
          {
            kind: kinds[i],
            bearings: us ? ['0 ft', end] : ['0 m', end],
            positive: options.positive ?? 'toward the north shoulder',
            impact: us ? '28 ft' : '8.5 m',
          },
        ]),
      ),
      acceptance: [
        { line: 'bottom-flange', limit: us ? '1/2 in' : '13 mm', over: 'whole line' },
        { line: 'bottom-flange', limit: us ? '1/2 in' : '13 mm', over: us ? '20 ft' : '6 m' },
      ],
    }),
  );
  return {
    ...job,
    repairs: [
      {
        date: '2019-08-14',
        from: 8,
        to: 10,
        note: `Straightened after an earlier strike. ${options.note ?? ''}`,
      },
    ],
  };
}

const ZONE_PLACES = [
  { zone: 'A', from: 3.4, to: 4.3, rotation: 0.021, class: 'plastic' },
  { zone: 'B', from: 7.9, to: 9.4, rotation: -0.0485, class: 'plastic' },
  { zone: 'C', from: 13.6, to: 14.6, rotation: 0.0265, class: 'elastic' },
] as const;

function shape(station: number, span: number): number {
  let y = 0;
  for (const z of ZONE_PLACES) {
    const s = Math.max(0, station - z.from);
    const w = z.to - z.from;
    y -= z.rotation * (s < w ? (s * s) / (2 * w) : s - w / 2);
  }
  let end = 0;
  for (const z of ZONE_PLACES) end -= z.rotation * (span - (z.from + z.to) / 2);
  return y - (end * station) / span;
}

function lineAnalysis(job: Job, index: number, options: SyntheticOptions): LineAnalysis {
  const line = job.lines[index]!;
  const cycles = options.cycles ?? 8;
  const left = options.left ?? 0.35;
  const span = job.member.span;
  const n = options.stations ?? 32;
  const zoned = (options.zones ?? true) && (line.kind === 'sweep' || line.kind === 'camber');
  const size = 1 - 0.12 * index;
  const unit = job.units === 'us' ? INCH / 16 : 0.001;
  const u = 0.6 * unit;
  const factorOf = (cycle: number): number =>
    cycles === 0 ? 1 : 1 + (left - 1) * Math.min(1, (cycle / cycles) * 1.15) ** 0.8;
  const surveys: SurveyFit[] = [];
  for (let cycle = 0; cycle <= cycles; cycle++) {
    const factor = size * factorOf(cycle);
    const stations: StationFit[] = Array.from({ length: n }, (_, k) => {
      const station =
        job.units === 'us'
          ? (Math.round(((k / (n - 1)) * span) / (FOOT / 2)) * FOOT) / 2
          : Math.round((k / (n - 1)) * span * 10) / 10;
      const wobble = Math.sin(12.9898 * (k + 1) + 78.233 * (cycle + 1) + index) * 0.8 * unit;
      const blunder = cycle === 2 && k === Math.floor(n / 2) ? INCH : 0;
      const deviation = Math.round((shape(station, span) * factor + wobble + blunder) / unit) * unit;
      return {
        station,
        deviation,
        u,
        uReading: u * 0.9,
        fitted: null,
        fittedU: null,
        count: 1,
        setAside: blunder > 0,
      };
    });
    const kept = stations.filter((s) => !s.setAside);
    const largest = kept.reduce((a, b) => (Math.abs(b.deviation) > Math.abs(a.deviation) ? b : a));
    const day = 4 + Math.floor(cycle / 2);
    surveys.push({
      cycle,
      date: options.dates === false ? null : `2026-03-${String(day).padStart(2, '0')}`,
      time: options.dates === false ? null : cycle % 2 === 0 ? '08:20' : '15:40',
      temperature: cycle === 1 ? null : 18,
      state: 'released',
      count: n,
      setAside: stations
        .filter((s) => s.setAside)
        .map((s) => ({
          file: `readings/cycle-${cycle}.csv`,
          row: 17,
          station: s.station,
          offset: s.deviation + 0.0635,
          reason: `misread by 1 in: its neighbours agree with each other, not with it. ${options.note ?? ''}`,
          by: 'rule' as const,
        })),
      setUp: {
        offset: 0.0635,
        tilt: 0,
        about: span / 2,
        covariance: [
          [1e-8, 0],
          [0, 1e-10],
        ],
      },
      stations,
      largest: { station: largest.station, deviation: largest.deviation, u: largest.u },
      rms: Math.sqrt(kept.reduce((sum, s) => sum + s.deviation ** 2, 0) / kept.length),
      zones: zoned
        ? ZONE_PLACES.map((z) => ({ zone: z.zone, rotation: z.rotation * factor, u: 0.0012 }))
        : [],
      zoneCovariance: [],
      closure: {
        agrees: cycle !== 3,
        ties: [{ station: 0, residual: 0, u, off: false }],
        message: cycle === 3 ? `The string or an end moved: 0'-0" and 62'-0" no longer agree.` : null,
      },
    });
  }
  const zones: Zone[] = zoned
    ? ZONE_PLACES.map((z) => ({
        ...z,
        fromU: 0.1,
        toU: 0.12,
        core: {
          centre: (z.from + z.to) / 2,
          spread: (z.to - z.from) / Math.sqrt(12),
          from: z.from,
          to: z.to,
        },
        rotation: z.rotation * size,
        rotationU: 0.0011,
        radius: (z.to - z.from) / Math.abs(z.rotation),
        strainRatio: { mean: 6.3, peak: 11.8, peakU: 1.1, lowerBound: z.zone === 'C' },
        publishedStrain: null,
        degreeOfDamage: { angle: z.rotation * size * 1.02, u: 0.0012 },
      }))
    : [];
  const movements: Movement[] = surveys.slice(1).map((to, i) => {
    const from = surveys[i]!;
    return {
      fromCycle: from.cycle,
      toCycle: to.cycle,
      stations: to.stations.map((s, k) => ({
        station: s.station,
        movement: s.deviation - from.stations[k]!.deviation,
        u: u * 1.4,
      })),
      largest: {
        movement: Math.abs(to.largest.deviation) - Math.abs(from.largest.deviation),
        u: u * 1.2,
      },
      zones: to.zones.map((z, k) => ({
        zone: z.zone,
        rotation: z.rotation - from.zones[k]!.rotation,
        u: 0.0016,
      })),
    };
  });
  return {
    line,
    fit: {
      baseline: {
        method: 'undamaged',
        reason: `auto: the reaches 0'-0" to 10'-6" and 49'-0" to 62'-0" are straight within the readings, so the baseline is the line through them.`,
        reaches: [
          [0, 3.2],
          [15, span],
        ],
        residualSd: 0.7 * unit,
        about: span / 2,
        coefficients: [],
        profile: [],
        edgeSteps: [],
        undamagedShape: [],
      },
      readingSd: {
        value: unit,
        source: 'default',
        degreesOfFreedom: null,
        reason: 'Reading sd 1/16 in is the default; no repeats were taken.',
      },
      surveys,
      zones,
      elastic: [],
      pointCurvature: [],
      findings: [],
    },
    movements,
    springback: [],
    progress: progressOf(surveys, zones, options.verdict ?? 'progressing', u, cycles),
    acceptance: job.acceptance
      .filter((rule) => rule.line === line.name)
      .map((rule) => {
        const now = surveys.at(-1)!.largest;
        const size = Math.abs(now.deviation);
        const result =
          size + 2 * u < rule.limit ? 'within' : size - 2 * u > rule.limit ? 'outside' : 'undetermined';
        return {
          rule,
          limit: rule.limit,
          measured: size,
          u,
          at: {
            station: now.station,
            ...(rule.over.kind === 'chord' ? { from: now.station - 3, to: now.station + 3 } : {}),
          },
          result,
          reason: 'Measured value and uncertainty against the limit.',
        } as const;
      }),
  };
}

function progressOf(
  surveys: readonly SurveyFit[],
  zones: readonly Zone[],
  verdict: Verdict,
  u: number,
  cycles: number,
): Progress {
  const series = surveys.map((s) => ({ cycle: s.cycle, value: Math.abs(s.largest.deviation), u }));
  const last = series.at(-1)!;
  const enough = cycles >= 3;
  return {
    rate: enough ? -0.006 : null,
    rateLow: enough ? -0.0073 : null,
    rateHigh: enough ? -0.0047 : null,
    sinceCycle: enough ? 2 : null,
    verdict,
    reason: enough
      ? 'Since cycle 2 the largest deviation closes by 0.24 in a cycle (80 %: 0.19 to 0.29); the useful gain is 1/32 in.'
      : `Only ${surveys.length} judged surveys: a pace needs at least 3.`,
    cyclesLeft: enough ? { low: 4, expected: 5, high: 9 } : null,
    probabilityWithin: enough ? 0.94 : null,
    untouched: false,
    series,
    forecast: enough
      ? Array.from({ length: 6 }, (_, k) => ({
          cycle: last.cycle + k + 1,
          low: Math.max(0, last.value - 0.0075 * (k + 1)),
          expected: Math.max(0, last.value - 0.0055 * (k + 1)),
          high: Math.max(0, last.value - 0.0032 * (k + 1)),
        }))
      : [],
    daysLeft: enough ? { low: 2, expected: 3, high: 5 } : null,
    zones: zones.map((z) => ({
      zone: z.zone,
      rate: -0.002,
      rateLow: -0.0026,
      rateHigh: -0.0014,
      sinceCycle: 2,
      verdict,
      reason: 'Turns by 0.11° a cycle.',
    })),
    pattern: null,
    secondOpinion: null,
    fallingOff: null,
    level: 0.8,
    assumptions: ['The surveys are taken as independent of each other.'],
  };
}

function readingsOf(line: LineAnalysis, note: string | null): Reading[] {
  return line.fit.surveys.flatMap((survey) =>
    survey.stations.map((s, i) => ({
      cycle: survey.cycle,
      line: line.line.name,
      station: s.station,
      offset: s.deviation + 0.0635,
      state: survey.state,
      sd: null,
      temperature: survey.temperature,
      date: survey.date,
      time: survey.time,
      note,
      file: `readings/cycle-${survey.cycle}.csv`,
      row: i + 2,
    })),
  );
}
