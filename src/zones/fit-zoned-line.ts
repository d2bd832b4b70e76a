import type { Baseline, ElasticReaction, LineFit, SetAside, SetUp, SurveyFit, Zone } from '../analysis.ts';
import { type BaselineChoice, chooseBaseline } from '../baseline/choose-baseline.ts';
import { sagFindings } from '../baseline/string-sag.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits, Line, Member } from '../job/job.ts';
import { exp } from '../maths/portable.ts';
import { robustPolynomial } from '../maths/robust-line.ts';
import type { Mark, ReadingSd, Survey } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import type { AsFound } from './as-found.ts';
import { closureOf, compareClosures } from './closure.ts';
import { zoneName } from './describe-zones.ts';
import {
  angleFindings,
  doubtWords,
  misfitFinding,
  reachFindings,
  setAsideFindings,
  spacingFindings,
  strainFindings,
} from './findings.ts';
import { fittedShape, shapeAlong } from './fitted-shape.ts';
import { atStations, continued, rotations } from './held-design.ts';
import { allStretches, type Held, type HeldFit, solveHeld } from './hold.ts';
import { createLineModel } from './line-model.ts';
import { elasticFrom, fixedColumns, isBearing, type LineModel } from './model.ts';
import { newCurvatureFindings } from './new-curvature.ts';
import { pointCurvatures } from './point-curvature.ts';
import { type PooledStation, type Prepared, poolStations, prepareSurvey } from './prepare.ts';
import { type Settled, settleZones } from './settle.ts';
import { NO_STRETCHES, smoothRotations } from './smooth-shape.ts';
import type { BentStretch } from './stretch.ts';
import { stringEndWords } from './string-end.ts';
import { largestAndRms, setAsideList, setUpAt, stationFits } from './survey-fit.ts';

/** A sweep or camber line: zones found as-found, refined over all released surveys, then held for each. */
export function fitZonedLine(
  line: Line,
  member: Member,
  surveys: readonly Survey[],
  marks: readonly Mark[],
  readingSd: ReadingSd,
  units: JobUnits,
): LineFit {
  const model = createLineModel(line, member);
  const prepared = surveys.map((survey) => prepareSurvey(line, survey, marks, readingSd));
  const asFoundIndex = Math.max(
    0,
    surveys.findIndex((survey) => survey.state === 'released'),
  );
  if (prepared[asFoundIndex] === undefined) return emptyFit(line, readingSd, units);

  const settled = settleZones(model, prepared, asFoundIndex, line.impact, readingSd);
  const { asFoundStations, doubtful, doubt, held, stretches } = settled;
  const outboard = outboardReaches(model, stretches, asFoundStations);
  const choice = chooseBaseline(
    line,
    asFoundStations.map((s) => s.station),
    outboard,
    units,
  );
  const shape = undamagedShape(choice, asFoundStations, model);
  const frame: Frame = { line, units, settled, choice, shape, outboard };
  const fits = compareClosures(
    prepared.map((one, i) => fitSurvey(frame, one, held[i]!)),
    units,
  );
  const baseline: Baseline = {
    method: choice.method,
    reason: choice.reason,
    reaches: choice.reaches,
    residualSd: reachSd(fits[asFoundIndex]!, outboard),
    about: shape.about,
    coefficients: shape.coefficients,
    profile: line.baseline.method === 'reference' ? line.baseline.profile : [],
    edgeSteps: line.edgeSteps,
    undamagedShape: undamagedCurve(model, settled.whole, fits[asFoundIndex]!.setUp),
  };
  return {
    baseline,
    readingSd,
    surveys: fits,
    zones: settled.zones,
    elastic: doubtful ? [] : elasticReactions(model, settled.whole),
    ...(doubt !== null && doubtful ? { doubt: doubtWords(doubt, prepared, units) } : {}),
    pointCurvature: pointCurvatures(asFoundStations, model.yieldCurvature),
    findings: [
      ...sagFindings(line, units),
      ...zoneFindings(line, member, settled, readingSd, units),
      ...newCurvatureFindings(line, surveys, held, stretches, asFoundIndex, units),
      ...surveyFindings(line, prepared, fits, units),
    ],
  };
}

/** What is to be said of the zones, and of how far the model holds. */
function zoneFindings(
  line: Line,
  member: Member,
  { model, prepared, places, zones, ...settled }: Settled,
  readingSd: ReadingSd,
  units: JobUnits,
): Finding[] {
  const { doubt, doubtful, apart } = settled;
  const found = places?.filter((at) => !isBearing(model, at)) ?? null;
  const supports = model.nodesGiven
    ? model.nodes.stations
    : [...model.bearings, ...(places ?? [])].sort((a, b) => a - b);
  return [
    ...(doubt === null ? [] : [misfitFinding(line, doubt, prepared, units, doubtful ? null : apart)]),
    ...modelFindings(
      line,
      model,
      doubtful ? null : found,
      settled.scale,
      settled.asFoundStations,
      readingSd,
      units,
    ),
    ...spacingFindings(line, zones, units),
    ...strainFindings(line, zones, units),
    ...angleFindings(line, zones),
    ...reachFindings(line, member.struck ?? null, supports, zones, units),
  ];
}

/** What is to be said of each survey: a string that does not close, readings left out. */
function surveyFindings(
  line: Line,
  prepared: readonly Prepared[],
  fits: readonly SurveyFit[],
  units: JobUnits,
): Finding[] {
  return fits.flatMap((fit, i) => {
    // What an earlier cycle showed can no longer be read again: kept as a note, not repeated as a caution every day.
    const isLatest = fit.cycle === fits.at(-1)!.cycle;
    const { agrees, message } = fit.closure;
    const closure: Finding[] =
      agrees || message === null
        ? []
        : [
            {
              severity: isLatest ? 'caution' : 'note',
              code: 'string-closure',
              message: `Cycle ${fit.cycle}: ${message}`,
              line: line.name,
              cycle: fit.cycle,
            },
          ];
    const atEnd = (aside: SetAside) => (isLatest ? stringEndWords(line, fit, aside, fits) : '');
    return [...closure, ...setAsideFindings(line, prepared[i]!, fit, isLatest, units, atEnd)];
  });
}

/** Straight steel outside the outermost zones. Without zones: the whole line. */
function outboardReaches(
  model: LineModel,
  zones: readonly BentStretch[],
  stations: readonly PooledStation[],
): [number, number][] {
  const start = Math.min(model.from, stations[0]?.station ?? model.from);
  const end = Math.max(model.to, stations[stations.length - 1]?.station ?? model.to);
  if (zones.length === 0) return [[start, end]];
  const left = Math.max(start, zones[0]!.from);
  const right = Math.min(end, zones[zones.length - 1]!.to);
  return [
    [start, left],
    [right, end],
  ];
}

interface Shape {
  readonly about: number;
  readonly coefficients: readonly number[];
}

/** Baseline curvature of the `undamaged` method at degree 2, from the as-found survey; straight otherwise. */
function undamagedShape(choice: BaselineChoice, stations: readonly PooledStation[], model: LineModel): Shape {
  const about = (model.from + model.to) / 2;
  if (choice.method !== 'undamaged' || choice.degree < 2) return { about, coefficients: [] };
  const inside = within(stations, choice.reaches);
  const fit = robustPolynomial(
    inside.map((s) => s.station - about),
    inside.map((s) => s.y),
    inside.map((s) => s.sd),
    2,
  );
  return { about, coefficients: fit.coefficients.length > 2 ? [0, 0, fit.coefficients[2]!] : [] };
}

/** Chord and original sweep by the as-found fit, about the set-up in use, at 33 places. */
function undamagedCurve(model: LineModel, whole: AsFound, setUp: SetUp): Baseline['undamagedShape'] {
  const columns = elasticFrom(model);
  return Array.from({ length: 33 }, (_, i) => {
    const station = model.from + ((model.to - model.from) * i) / 32;
    const row = fixedColumns(model, Float64Array.of(station))
      .slice(0, columns)
      .map((c) => c[0]!);
    let offset = 0;
    let variance = 0;
    row.forEach((a, p) => {
      offset += a * whole.coefficients[p]!;
      row.forEach((b, q) => {
        variance += a * b * (whole.covariance[p]?.[q] ?? 0);
      });
    });
    return { station, offset: offset - setUpAt(setUp, station).offset, u: Math.sqrt(Math.max(0, variance)) };
  });
}

function shapeAt(shape: Shape, station: number): number {
  let value = 0;
  for (let k = shape.coefficients.length - 1; k >= 0; k--)
    value = value * (station - shape.about) + shape.coefficients[k]!;
  return value;
}

function within<S extends { readonly station: number; readonly setAside: boolean }>(
  stations: readonly S[],
  reaches: readonly (readonly [number, number])[],
): S[] {
  return stations.filter(
    (s) => !s.setAside && reaches.some(([a, b]) => s.station >= a - 1e-9 && s.station <= b + 1e-9),
  );
}

/** What all surveys of a line are fitted in. */
interface Frame {
  readonly line: Line;
  readonly units: JobUnits;
  readonly settled: Settled;
  readonly choice: BaselineChoice;
  readonly shape: Shape;
  /** Reaches of straight steel outside the outermost zones, m. */
  readonly outboard: readonly (readonly [number, number])[];
}

function fitSurvey(frame: Frame, prepared: Prepared, held: Held): SurveyFit {
  const { line, units, settled, choice, shape, outboard } = frame;
  const { model, stretches, scale } = settled;
  const { survey } = prepared;
  const smooth = settled.doubt !== null;
  const shapes = smooth ? NO_STRETCHES : allStretches(stretches, held.elsewhere);
  const linear = solveHeld(held.fixed, shapes);
  const inflate = Math.max(1, held.misfit) ** 2;
  const stations = poolStations(prepared.rows, held.off, scale);
  const chord = chordSetUp(model, linear, inflate);
  const reach =
    choice.method === 'undamaged' ? reachSetUp(within(stations, choice.reaches), choice, shape) : null;
  const setUp = reach ?? chord;
  const { index, columns, variance, aboveChord } = atStations(held.fixed.design, shapes);
  const fitted = stationFits(
    stations,
    setUp,
    (s) => shapeAt(shape, s),
    (s) => {
      const i = index.get(s)!;
      const up = setUpAt(setUp, s);
      let value = 0;
      for (let p = 0; p < columns.length; p++) value += columns[p]![i]! * linear.coefficients[p]!;
      // The chord is part of the fit: leaving it out of the sum gives the deviation with what the two share. A line
      // through the reaches is a fit of its own, taken as independent, which errs on the wide side.
      const spread = (of: Float64Array) => Math.sqrt(Math.max(0, of[i]! * inflate));
      const u = reach === null ? spread(aboveChord) : Math.sqrt(spread(variance) ** 2 + up.variance);
      return { value: value - up.offset - shapeAt(shape, s), u };
    },
  );
  const turns = smooth ? smoothRotations(held.fixed.design, stretches) : rotations(held.fixed.design, shapes);
  const known = stretches.map((_, j) => j);
  return {
    cycle: survey.cycle,
    date: survey.date,
    time: survey.time,
    temperature: survey.temperature,
    state: survey.state,
    count: prepared.readings.length,
    setAside: setAsideList(prepared, held.off),
    setUp,
    stations: fitted,
    ...largestAndRms(fitted, line.bearings[0], leftOut(prepared, held.off, setUp, shape)),
    zones: known.map((j) => ({
      zone: zoneName(j),
      rotation: turns.rows[j]!.reduce((sum, a, p) => sum + a * linear.coefficients[p]!, 0),
      u: Math.sqrt(inflate * turns.covariance[j]![j]!),
    })),
    zoneCovariance: known.map((j) => known.map((k) => turns.covariance[j]![k]! * inflate)),
    closure: surveyClosure(held, shapes, stations, fitted, outboard, units),
    shape: fittedShape(
      shapeAlong(held.fixed.design, shapes),
      linear.coefficients,
      inflate,
      setUp,
      reach,
      (s) => shapeAt(shape, s),
    ),
  };
}

/** Deviations of the readings left out, as read. */
function leftOut(prepared: Prepared, off: readonly boolean[], setUp: SetUp, shape: Shape) {
  return prepared.readings.flatMap((reading, i) =>
    off[i]
      ? [
          {
            station: reading.station,
            deviation:
              prepared.rows.y[i]! - setUpAt(setUp, reading.station).offset - shapeAt(shape, reading.station),
          },
        ]
      : [],
  );
}

/** The chord through the bearings, from the fit of all readings. */
function chordSetUp(model: LineModel, { coefficients, covariance }: HeldFit, inflate: number): SetUp {
  const length = model.to - model.from;
  const c00 = (covariance[0]?.[0] ?? 0) * inflate;
  const c01 = (covariance[0]?.[1] ?? 0) * inflate;
  const c11 = (covariance[1]?.[1] ?? 0) * inflate;
  return {
    offset: coefficients[0]!,
    tilt: (coefficients[1]! - coefficients[0]!) / length,
    about: model.from,
    covariance: [
      [c00, (c01 - c00) / length],
      [(c01 - c00) / length, (c00 + c11 - 2 * c01) / length ** 2],
    ],
  };
}

/** Offset and tilt on the undamaged reaches; null where nothing was read there. */
function reachSetUp(ties: readonly PooledStation[], choice: BaselineChoice, shape: Shape): SetUp | null {
  if (ties.length === 0) return null;
  const fit = robustPolynomial(
    ties.map((s) => s.station),
    ties.map((s) => s.y - shapeAt(shape, s.station)),
    ties.map((s) => s.sd),
    choice.degree === 0 ? 0 : 1,
  );
  const c = fit.covariance;
  return {
    offset: fit.coefficients[0] ?? 0,
    tilt: fit.coefficients[1] ?? 0,
    about: fit.about,
    covariance: [
      [c[0]?.[0] ?? 0, c[0]?.[1] ?? 0],
      [c[1]?.[0] ?? 0, c[1]?.[1] ?? 0],
    ],
  };
}

function surveyClosure(
  held: Held,
  shapes: readonly BentStretch[],
  stations: readonly PooledStation[],
  fitted: readonly { station: number; deviation: number; fitted: number | null }[],
  outboard: readonly (readonly [number, number])[],
  units: JobUnits,
) {
  const { share } = continued(held.fixed.design, shapes);
  const shareAt = new Map<number, number>();
  held.fixed.x.forEach((x, i) => {
    if (!held.off[i]) shareAt.set(x, Math.min(shareAt.get(x) ?? 1, Math.max(0.05, share[i]!)));
  });
  const ties = within(stations, outboard).filter((s) => s.count > 0);
  if (ties.length < 3) return closureOf([], units);
  const fittedAt = new Map(fitted.map((each) => [each.station, each]));
  return closureOf(
    ties.map((tie) => {
      const at = fittedAt.get(tie.station)!;
      return {
        station: tie.station,
        residual: at.deviation - (at.fitted ?? 0),
        u: tie.sd * Math.sqrt(shareAt.get(tie.station) ?? 1),
        reach: outboard.findIndex(([a, b]) => tie.station >= a - 1e-9 && tie.station <= b + 1e-9),
      };
    }),
    units,
  );
}

function reachSd(fit: SurveyFit, reaches: readonly (readonly [number, number])[]): number {
  const inside = within(fit.stations, reaches);
  if (inside.length < 3) return 0;
  const sum = inside.reduce((total, s) => total + (s.deviation - (s.fitted ?? 0)) ** 2, 0);
  return Math.sqrt(sum / (inside.length - 2));
}

function elasticReactions(model: LineModel, whole: AsFound): ElasticReaction[] {
  if (!model.nodesGiven) return [];
  const { stations } = model.nodes;
  const inner = stations.slice(1, -1);
  const first = elasticFrom(model);
  // Kink of M/EI at node k: slope after less slope before, of the broken line through the node curvatures.
  const rows = inner.map((station, k) => {
    const row = new Float64Array(inner.length);
    const before = station - stations[k]!;
    const after = stations[k + 2]! - station;
    row[k] = -1 / before - 1 / after;
    if (k > 0) row[k - 1] = 1 / before;
    if (k + 1 < row.length) row[k + 1] = 1 / after;
    return row;
  });
  const coefficient = (row: Float64Array) =>
    row.reduce((sum, a, i) => sum + a * whole.coefficients[first + i]!, 0);
  const covariance = (one: Float64Array, other: Float64Array) => {
    let sum = 0;
    one.forEach((a, i) => {
      other.forEach((b, j) => {
        sum += a * b * (whole.covariance[first + i]?.[first + j] ?? 0);
      });
    });
    return sum;
  };
  return inner.map((station, k) => {
    const spring = whole.springs?.[k] ?? null;
    return {
      station,
      coefficient: coefficient(rows[k]!),
      u: Math.sqrt(Math.max(0, covariance(rows[k]!, rows[k]!))),
      covariance: rows.map((other) => covariance(rows[k]!, other)),
      spring: spring === null ? null : { compliance: exp(spring.logCompliance), logU: spring.u },
    };
  });
}

function modelFindings(
  line: Line,
  model: LineModel,
  places: readonly number[] | null,
  scale: number,
  stations: readonly PooledStation[],
  readingSd: ReadingSd,
  units: JobUnits,
): Finding[] {
  const findings: Finding[] = [];
  if (stations.length < 8)
    findings.push({
      severity: 'caution',
      code: 'too-few-stations',
      message: `Only ${stations.length} ${stations.length === 1 ? 'station was' : 'stations were'} read as-found on ${line.name}: zones and their strain cannot be told from so few. Read at least 8, closer near the bend.`,
      line: line.name,
    });
  if (!model.nodesGiven)
    findings.push({
      severity: 'note',
      code: 'diaphragms-not-given',
      message: `The job does not give the diaphragm stations. The struck member is locked elastically against them, and without their places that bending is told less well from the plastic zones: rotations and edges are less certain.${places === null || places.length === 0 ? '' : ` The shape fits best with ${places.length === 1 ? 'one' : places.length}, near ${places.map((at) => formatLength(at, { units, as: 'station', fraction: 2 })).join(', ')}.`} Add "diaphragms" to the member.`,
      line: line.name,
    });
  if (scale > 1.6)
    findings.push({
      severity: 'caution',
      code: 'readings-scatter-more-than-stated',
      message: `The readings scatter about the fitted shape ${scale.toFixed(1)} times as much as their stated standard deviation (${readingSd.reason.replace(/\.$/, '')}). Uncertainties have been widened to match; check the string, wind and rounding.`,
      line: line.name,
    });
  return findings;
}

function emptyFit(line: Line, readingSd: ReadingSd, units: JobUnits): LineFit {
  const choice = chooseBaseline(line, [], [], units);
  return {
    baseline: {
      method: choice.method,
      reason: choice.reason,
      reaches: [],
      residualSd: 0,
      about: (line.bearings[0] + line.bearings[1]) / 2,
      coefficients: [],
      profile: [],
      edgeSteps: line.edgeSteps,
      undamagedShape: [],
    },
    readingSd,
    surveys: [],
    zones: [] as Zone[],
    elastic: [],
    pointCurvature: [],
    findings: [
      {
        severity: 'caution',
        code: 'no-readings',
        message: `Line ${line.name} has no readings yet.`,
        line: line.name,
      },
    ],
  };
}
