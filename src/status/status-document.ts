import * as z from 'zod';
import { type Analysis, type LineAnalysis, type PanelSurvey, VERDICTS } from '../analysis.ts';
import { nextStep } from '../decision/next-step.ts';
import { type JobUnits, PANEL_SIDES } from '../job/job.ts';
import { CATEGORIES, damageKinds } from '../member/damage-kinds.ts';
import { shortfall, shortfallText } from '../survey/coverage.ts';
import { isJudged, judgedSurveys } from '../survey/judged.ts';
import { bendAsFound } from './crew-words.ts';

const verdict = z.enum(VERDICTS);
const station = z.number();
const rotation = z.strictObject({ zone: z.string(), rotation: z.number(), u: z.number().nonnegative() });
/** Of a panel, m; left out on lines. */
const height = z.number().optional();
const deviation = z.strictObject({ station, height, deviation: z.number(), u: z.number().nonnegative() });
const estimate = z.strictObject({ value: z.number(), u: z.number().nonnegative() });

/** The bulge of a panel in one survey, m, m² and m³; left out on lines. `largest` is its crest. */
const panel = z.strictObject({
  /** A hole or unread part touches the crest: the largest is at least this. */
  lowerBound: z.boolean(),
  half: z.strictObject({ along: z.number(), up: z.number(), area: z.number() }),
  volume: z.number(),
  volumeU: z.number(),
  unseen: z.array(
    z.strictObject({
      from: z.number(),
      to: z.number(),
      low: z.number(),
      high: z.number(),
      area: z.number(),
      touchesCrest: z.boolean(),
    }),
  ),
  takenOff: z.strictObject({
    sway: estimate,
    twist: estimate,
    bows: z.array(estimate.extend({ side: z.enum(PANEL_SIDES) })),
  }),
});

const survey = z.strictObject({
  cycle: z.int().nonnegative(),
  date: z.string().nullable(),
  state: z.enum(['released', 'restrained']),
  /** Jacks off, steel cooled, something read: a verdict may rest on it. */
  judged: z.boolean(),
  /** Why it can carry no number for the line (read in part, string loose); null where it can. */
  cannotTell: z.string().nullable(),
  count: z.int().nonnegative(),
  setAside: z.array(z.strictObject({ file: z.string(), row: z.int(), station, height, reason: z.string() })),
  panel: panel.optional(),
  /** leftOut: a reading set aside that is further out than the largest kept; absent: none is */
  largest: deviation.extend({
    leftOut: z.strictObject({ station, deviation: z.number() }).optional(),
  }),
  rms: z.number().nonnegative(),
  deviations: z.array(deviation),
  zones: z.array(rotation),
});

const zone = z.strictObject({
  zone: z.string(),
  from: station,
  to: station,
  fromU: z.number().nonnegative(),
  toU: z.number().nonnegative(),
  rotation: z.number(),
  rotationU: z.number().nonnegative(),
  /** null when the zone has no rotation left to speak of */
  radius: z.number().nullable(),
  strainRatio: z.strictObject({
    mean: z.number(),
    peak: z.number(),
    peakU: z.number().nonnegative(),
    lowerBound: z.boolean(),
  }),
  class: z.enum(['plastic', 'elastic']),
  /** present where the zone model does not fit the readings of the line: place and length are a guess */
  doubtful: z.literal(true).optional(),
});

const progress = z.strictObject({
  rate: z.number().nullable(),
  rateLow: z.number().nullable(),
  rateHigh: z.number().nullable(),
  /** Coverage of rateLow to rateHigh and of cyclesLeft low to high. */
  level: z.number(),
  sinceCycle: z.int().nullable(),
  verdict,
  reason: z.string(),
  /** true: it stands as it was found while another line moves; no heat acts on it, so `stalled` blames no work */
  untouched: z.boolean(),
  /** high is null where the interval has no upper end (it may never get there) */
  cyclesLeft: z
    .strictObject({ low: z.number(), expected: z.number(), high: z.number().nullable() })
    .nullable(),
  probabilityWithin: z.number().min(0).max(1).nullable(),
  /** How the steel moved from cycle to cycle, by the model of the rate; null where there were not enough readings. */
  pattern: z
    .strictObject({
      fromCycle: z.int(),
      toCycle: z.int(),
      /** cycles among the last `of` that stood still */
      stoodStill: z.strictObject({ count: z.number(), of: z.number(), cycles: z.array(z.int()) }),
      /** standing still now; null: it is not */
      spell: z.strictObject({ sinceCycle: z.int(), cycles: z.int() }).nullable(),
    })
    .nullable(),
});

const acceptance = z.strictObject({
  rule: z.string(),
  limit: z.number(),
  measured: z.number().nullable(),
  u: z.number().nonnegative().nullable(),
  /** the governing station, or the governing chord [from, to]; null when it could not be measured */
  at: z.union([station, z.tuple([station, station])]).nullable(),
  result: z.enum(['within', 'undetermined', 'outside']),
  source: z.string(),
  /** by which the result was reached: JCGM 106, 8.3.2 (guarded) or 8.2 (simple) */
  decisionRule: z.enum(['guarded', 'simple']),
  /** tilt and plumb: change of the signed value at that place since as found; null for other kinds or before a second survey */
  sinceAsFound: z.strictObject({ change: z.number(), u: z.number().nonnegative() }).nullable(),
});

/**
 * The document of `sweepbook status --json`, schema `sweepbook/status/1`. SI units: metres, radians;
 * rates per cycle; `u` a standard uncertainty. A missing value is an explicit null.
 */
export const statusSchema = z.strictObject({
  schema: z.literal('sweepbook/status/1'),
  job: z.string(),
  units: z.literal('SI'),
  /** `line`: the line that decides, null where none does; `next`: what to do next, in one line. */
  member: z.strictObject({
    verdict,
    reason: z.string(),
    line: z.string().nullable(),
    next: z.string(),
    /** What kind of damage it was found with, by the categories of the published guide; `open`: not told by what was read. */
    damage: z.array(
      z.strictObject({
        category: z.enum(CATEGORIES),
        state: z.enum(['shown', 'not-shown', 'open']),
        why: z.string(),
      }),
    ),
  }),
  lines: z.array(
    z.strictObject({
      name: z.string(),
      kind: z.enum(['sweep', 'camber', 'tilt', 'plumb', 'bulge']),
      baseline: z.strictObject({
        method: z.enum(['bearings', 'undamaged', 'reference', 'absolute']),
        reason: z.string(),
        reaches: z.array(z.tuple([station, station])),
        residualSd: z.number().nonnegative(),
      }),
      surveys: z.array(survey),
      zones: z.array(zone),
      /** Published second difference at every station with a neighbour on either side, as found (1/m); readings set aside left out. */
      pointCurvature: z.array(
        z.strictObject({
          station,
          curvature: z.number(),
          u: z.number().nonnegative(),
          strainRatio: z.number(),
        }),
      ),
      progress,
      acceptance: z.array(acceptance),
    }),
  ),
  findings: z.array(
    z.strictObject({
      severity: z.enum(['note', 'caution', 'stop']),
      code: z.string(),
      message: z.string(),
      file: z.string().nullable(),
      row: z.int().nullable(),
    }),
  ),
});

export type StatusDocument = z.infer<typeof statusSchema>;

/** The analysis as the contract's status document. Pure; every number stays unrounded SI. */
export function statusDocument(analysis: Analysis): StatusDocument {
  return {
    schema: 'sweepbook/status/1',
    job: analysis.job.name,
    units: 'SI',
    member: {
      verdict: analysis.member.verdict,
      reason: analysis.member.reason,
      line: analysis.member.line,
      next: nextStep(analysis),
      damage: damageKinds(analysis.lines, analysis.job),
    },
    lines: analysis.lines.map((item) => lineDocument(item, analysis.job.units)),
    findings: analysis.findings.map(({ severity, code, message, file, row }) => ({
      severity,
      code,
      message,
      file: file ?? null,
      row: row ?? null,
    })),
  };
}

function lineDocument(
  { line, fit, progress, acceptance }: LineAnalysis,
  units: JobUnits,
): StatusDocument['lines'][number] {
  const asFound = judgedSurveys(fit)[0] ?? null;
  return {
    name: line.name,
    kind: line.kind,
    baseline: {
      method: fit.baseline.method,
      reason: fit.baseline.reason,
      reaches: fit.baseline.reaches.map(([from, to]) => [from, to]),
      residualSd: fit.baseline.residualSd,
    },
    surveys: fit.surveys.map((survey) => ({
      cycle: survey.cycle,
      date: survey.date,
      state: survey.state,
      judged: isJudged(survey),
      cannotTell: cannotTell(line, fit, survey, units),
      count: survey.count,
      setAside: survey.setAside.map(({ file, row, station, height, reason }) => ({
        ...{ file, row, station },
        ...(height === undefined ? {} : { height }),
        reason,
      })),
      ...(survey.panel === undefined ? {} : { panel: panelDocument(survey.panel) }),
      largest: {
        ...pickDeviation(survey.largest),
        ...(survey.largest.leftOut === undefined ? {} : { leftOut: survey.largest.leftOut }),
      },
      rms: survey.rms,
      deviations: survey.stations.map(pickDeviation),
      zones: survey.zones.map(({ zone, rotation, u }) => ({ zone, rotation, u })),
    })),
    zones: fit.zones.map((zone) => {
      // One number per bend: the one of the as-found survey, which every screen and the movement start from.
      const { rotation, u } = bendAsFound({ fit }, zone, asFound);
      return {
        zone: zone.zone,
        from: zone.from,
        to: zone.to,
        fromU: zone.fromU,
        toU: zone.toU,
        rotation,
        rotationU: u,
        radius: rotation === 0 ? null : (zone.to - zone.from) / Math.abs(rotation),
        strainRatio: {
          mean: zone.strainRatio.mean,
          peak: zone.strainRatio.peak,
          peakU: zone.strainRatio.peakU,
          lowerBound: zone.strainRatio.lowerBound,
        },
        class: zone.class,
        ...(zone.doubtful ? { doubtful: zone.doubtful } : {}),
      };
    }),
    pointCurvature: fit.pointCurvature.map(({ station, curvature, u, strainRatio }) => ({
      station,
      curvature,
      u,
      strainRatio,
    })),
    progress: {
      rate: progress.rate,
      rateLow: progress.rateLow,
      rateHigh: progress.rateHigh,
      level: progress.level,
      sinceCycle: progress.sinceCycle,
      verdict: progress.verdict,
      reason: progress.reason,
      untouched: progress.untouched,
      cyclesLeft: progress.cyclesLeft && {
        low: progress.cyclesLeft.low,
        expected: progress.cyclesLeft.expected,
        high: progress.cyclesLeft.high,
      },
      probabilityWithin: progress.probabilityWithin,
      pattern: progress.pattern && {
        fromCycle: progress.pattern.fromCycle,
        toCycle: progress.pattern.toCycle,
        stoodStill: {
          count: progress.pattern.stoodStill.count,
          of: progress.pattern.stoodStill.of,
          cycles: [...progress.pattern.stoodStill.cycles],
        },
        spell: progress.pattern.spell,
      },
    },
    acceptance: acceptance.map(({ rule, limit, measured, u, at, result, sinceAsFound }) => ({
      rule: rule.label,
      limit,
      measured,
      u,
      at: at && (at.from === undefined || at.to === undefined ? at.station : [at.from, at.to]),
      result,
      source: rule.source,
      decisionRule: rule.decision ?? 'guarded',
      sinceAsFound: sinceAsFound ?? null,
    })),
  };
}

function cannotTell(
  line: LineAnalysis['line'],
  fit: LineAnalysis['fit'],
  survey: LineAnalysis['fit']['surveys'][number],
  units: JobUnits,
): string | null {
  const lack = shortfall(line, fit, survey);
  return lack === null ? null : shortfallText(lack, line.name, survey, units);
}

function panelDocument({ crest, half, volume, volumeU, unseen, takenOff }: PanelSurvey) {
  return {
    lowerBound: crest.lowerBound,
    half: { ...half },
    volume,
    volumeU,
    unseen: unseen.map((each) => ({ ...each })),
    takenOff: {
      sway: { ...takenOff.sway },
      twist: { ...takenOff.twist },
      bows: takenOff.bows.map((bow) => ({ ...bow })),
    },
  };
}

function pickDeviation({
  station,
  height: up,
  deviation: off,
  u,
}: {
  readonly station: number;
  readonly height?: number;
  readonly deviation: number;
  readonly u: number;
}) {
  return { station, ...(up === undefined ? {} : { height: up }), deviation: off, u };
}
