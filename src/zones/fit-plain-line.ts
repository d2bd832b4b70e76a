import type { Baseline, LineFit, SetUp, SurveyFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits, Line, Member } from '../job/job.ts';
import { robustPolynomial } from '../maths/robust-line.ts';
import type { Mark, ReadingSd, Survey } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { closureOf, compareClosures } from './closure.ts';
import { setAsideFindings } from './findings.ts';
import { yieldCurvatureOf } from './line-model.ts';
import { outboardStations } from './outboard-stations.ts';
import { pointCurvatures } from './point-curvature.ts';
import { type PooledStation, poolStations, prepareSurvey } from './prepare.ts';
import { largestAndRms, setAsideList, setUpAt, stationFits } from './survey-fit.ts';

/**
 * A line without zones. `tilt` and `plumb`: one value a station, set-up and baseline on the undamaged reaches
 * (given, or the stations a robust line agrees with). `bulge`: a straight-edge on its two feet.
 */
export function fitPlainLine(
  line: Line,
  member: Member,
  surveys: readonly Survey[],
  marks: readonly Mark[],
  readingSd: ReadingSd,
  units: JobUnits,
): LineFit {
  const findings: Finding[] = [];
  const prepared = surveys.map((survey) => prepareSurvey(line, survey, marks, readingSd));
  const asFoundIndex = Math.max(
    0,
    surveys.findIndex((survey) => survey.state === 'released'),
  );
  const asFound = prepared[asFoundIndex];
  const first = asFound ? poolStations(asFound.rows, asFound.handOff, 1) : [];
  const rest = chooseRest(line, first, units);
  if (asFound && first.length < 3)
    findings.push({
      severity: 'caution',
      code: 'too-few-stations',
      message: `Only ${first.length} ${first.length === 1 ? 'station was' : 'stations were'} read on ${line.name}: too few to tell a bend from the set-up.`,
      line: line.name,
    });

  const fitted = prepared.map((one): SurveyFit => {
    const stations = poolStations(one.rows, one.handOff, 1);
    const { setUp, ties } = setUpOn(rest, stations, line);
    const stationsFitted = stationFits(stations, setUp, () => 0, null);
    const closure = closureOf(
      ties.map((tie, i) => {
        const at = setUpAt(setUp, tie.station);
        return {
          station: tie.station,
          residual: tie.y - at.offset,
          u: Math.sqrt(tie.sd ** 2 + at.variance),
          // Each by itself: steel out of plumb waves from station to station, which is no string that moved.
          reach: i,
        };
      }),
      units,
    );
    return {
      cycle: one.survey.cycle,
      date: one.survey.date,
      time: one.survey.time,
      temperature: one.survey.temperature,
      state: one.survey.state,
      count: one.readings.length,
      setAside: setAsideList(one, one.handOff),
      setUp,
      stations: stationsFitted,
      ...largestAndRms(stationsFitted, line.bearings[0]),
      zones: [],
      zoneCovariance: [],
      closure,
    };
  });
  const fits = compareClosures(fitted, units);
  findings.push(
    ...fits.flatMap((fit, i) =>
      setAsideFindings(line, prepared[i]!, fit, fit.cycle === fits.at(-1)!.cycle, units),
    ),
  );
  const baseline: Baseline = {
    method: rest.method,
    reason: rest.reason,
    reaches: rest.reaches,
    residualSd: residualSd(fits[asFoundIndex], rest),
    about: (line.bearings[0] + line.bearings[1]) / 2,
    coefficients: [],
    profile: line.baseline.method === 'reference' ? line.baseline.profile : [],
    edgeSteps: line.edgeSteps,
    undamagedShape: [],
  };
  return {
    baseline,
    readingSd,
    surveys: fits,
    zones: [],
    elastic: [],
    pointCurvature: line.kind === 'bulge' ? pointCurvatures(first, yieldCurvatureOf(line, member)) : [],
    findings,
  };
}

interface Rest {
  readonly method: Baseline['method'];
  readonly reason: string;
  readonly reaches: readonly (readonly [number, number])[];
  /** Degree of the set-up: 0 (offset only) or 1. */
  readonly degree: 0 | 1;
}

function chooseRest(line: Line, stations: readonly PooledStation[], units: JobUnits): Rest {
  const at = (s: number) => formatLength(s, { units, as: 'station' });
  const spec = line.baseline;
  const [from, to] = line.bearings;
  if (line.kind === 'bulge' || spec.method === 'bearings' || spec.method === 'reference') {
    const what = line.kind === 'bulge' ? 'the feet of the straight-edge' : 'the bearings';
    return {
      method: spec.method === 'reference' ? 'reference' : 'bearings',
      reason:
        spec.method === 'reference'
          ? `the profile of ${spec.file}, tied at ${what} (${at(from)} and ${at(to)})`
          : `${what} at ${at(from)} and ${at(to)}`,
      reaches: nearest(stations, line).map((s) => [s.station, s.station] as const),
      degree: 1,
    };
  }
  if (spec.method === 'undamaged' && spec.reaches !== null)
    return {
      method: 'undamaged',
      reason: 'the job gives the undamaged reaches',
      reaches: spec.reaches,
      degree: spec.degree === 0 ? 0 : 1,
    };
  const degree = spec.method === 'undamaged' && spec.degree === 0 ? 0 : 1;
  const outboard = outboardStations(stations, degree);
  const agreeing =
    outboard ??
    robustPolynomial(
      stations.map((s) => s.station),
      stations.map((s) => s.y),
      stations.map((s) => s.sd),
      degree,
    ).kept;
  const reaches: [number, number][] = [];
  let open: [number, number] | null = null;
  stations.forEach((s, i) => {
    if (agreeing[i]) {
      if (open) open[1] = s.station;
      else {
        open = [s.station, s.station];
        reaches.push(open);
      }
    } else open = null;
  });
  const long = reaches.filter(
    ([a, b]) => stations.filter((s) => s.station >= a && s.station <= b).length >= 3,
  );
  const kept = outboard !== null || long.length === 0 ? reaches : long;
  const where = kept.map(([a, b]) => `${at(a)} to ${at(b)}`).join(', ');
  return {
    method: 'undamaged',
    reason:
      outboard === null
        ? `the stations that agree with one straight line (${where}), found from the as-found readings`
        : `the stations from either end inward that lie on one straight line (${where}), found from the as-found readings`,
    reaches: kept,
    degree,
  };
}

/** The reading nearest each bearing. */
function nearest(stations: readonly PooledStation[], line: Line): PooledStation[] {
  const good = stations.filter((s) => !s.setAside);
  const used = good.length >= 2 ? good : stations;
  const closest = (bearing: number) =>
    used.reduce<PooledStation | null>(
      (best, s) => (!best || Math.abs(s.station - bearing) < Math.abs(best.station - bearing) ? s : best),
      null,
    );
  const ends = line.bearings.map(closest).filter((s): s is PooledStation => s !== null);
  return ends.length === 2 && ends[0]!.station === ends[1]!.station ? ends.slice(0, 1) : ends;
}

function setUpOn(
  rest: Rest,
  stations: readonly PooledStation[],
  line: Line,
): { setUp: SetUp; ties: readonly PooledStation[] } {
  const inside = stations.filter(
    (s) => !s.setAside && rest.reaches.some(([a, b]) => s.station >= a && s.station <= b),
  );
  const ties = rest.method !== 'undamaged' || inside.length === 0 ? nearest(stations, line) : inside;
  const fit = robustPolynomial(
    ties.map((s) => s.station),
    ties.map((s) => s.y),
    ties.map((s) => s.sd),
    rest.degree,
  );
  const c = fit.covariance;
  return {
    setUp: {
      offset: fit.coefficients[0] ?? 0,
      tilt: fit.coefficients[1] ?? 0,
      about: fit.about,
      covariance: [
        [c[0]?.[0] ?? 0, c[0]?.[1] ?? 0],
        [c[1]?.[0] ?? 0, c[1]?.[1] ?? 0],
      ],
    },
    ties: ties.length > 2 ? ties : [],
  };
}

function residualSd(fit: SurveyFit | undefined, rest: Rest): number {
  const inside = (fit?.stations ?? []).filter(
    (s) => !s.setAside && rest.reaches.some(([a, b]) => s.station >= a && s.station <= b),
  );
  if (inside.length <= rest.degree + 1) return 0;
  return Math.sqrt(inside.reduce((sum, s) => sum + s.deviation ** 2, 0) / (inside.length - rest.degree - 1));
}
