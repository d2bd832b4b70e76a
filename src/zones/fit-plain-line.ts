import type { Baseline, LineFit, SetUp, SurveyFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits, Line, Member } from '../job/job.ts';
import { robustPolynomial } from '../maths/robust-line.ts';
import type { Mark, ReadingSd, Survey } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { closureOf, compareClosures } from './closure.ts';
import { setAsideFindings } from './findings.ts';
import { yieldCurvatureOf } from './line-model.ts';
import { pointCurvatures } from './point-curvature.ts';
import { type PooledStation, poolStations, prepareSurvey } from './prepare.ts';
import { largestAndRms, setAsideList, setUpAt, stationFits } from './survey-fit.ts';

/**
 * A line without zones. `tilt` and `plumb`: one absolute value a station, with no string to set up. `bulge`: a
 * straight-edge on its two feet.
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
  if (line.kind === 'bulge' && asFound && first.length < 3)
    findings.push({
      severity: 'caution',
      code: 'too-few-stations',
      message: `Only ${first.length} ${first.length === 1 ? 'station was' : 'stations were'} read on ${line.name}: too few to tell a bend from the set-up.`,
      line: line.name,
    });

  if (asFound && line.kind === 'tilt' && line.baseline.method === 'auto')
    findings.push({
      severity: 'note',
      code: 'tilt-reference-not-said',
      message: `The job does not say what ${line.name} was read against, so its readings stand as they are. Give its "baseline": "level" or "square to the web".`,
      line: line.name,
    });

  const fitted = prepared.map((one): SurveyFit => {
    const stations = poolStations(one.rows, one.handOff, 1);
    const { setUp, ties } = setUpOn(stations, line);
    const stationsFitted = stationFits(stations, setUp, () => 0, null);
    const leftOut = one.readings.flatMap((reading, i) =>
      one.handOff[i]
        ? [{ station: reading.station, deviation: one.rows.y[i]! - setUpAt(setUp, reading.station).offset }]
        : [],
    );
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
      ...largestAndRms(stationsFitted, line.bearings[0], leftOut),
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
}

function chooseRest(line: Line, stations: readonly PooledStation[], units: JobUnits): Rest {
  const at = (s: number) => formatLength(s, { units, as: 'station' });
  if (line.kind === 'bulge') {
    const [from, to] = line.bearings;
    const feet = `the feet of the straight-edge (${at(from)} and ${at(to)})`;
    const { baseline } = line;
    return {
      method: baseline.method === 'reference' ? 'reference' : 'bearings',
      reason: baseline.method === 'reference' ? `the profile of ${baseline.file}, tied at ${feet}` : feet,
      reaches: nearest(stations, line).map((s) => [s.station, s.station] as const),
    };
  }
  return { ...absoluteBaseline(line, units), reaches: [] };
}

const READ_AS = {
  vertical: 'the vertical: a lean is judged as it stands, whatever the rest of the web does',
  level: 'the level: a tilt is judged as it stands, whatever the rest of the flange does',
  'square-to-web': 'square to the web: a tilt is judged as it stands, whatever the rest of the flange does',
} as const;

/**
 * What tilt and plumb are held against. A web that leans from end to end is out of plumb, so nothing of the member's
 * own lean is ever taken off: only a profile or a value that the job cites.
 */
function absoluteBaseline(line: Line, units: JobUnits): Pick<Rest, 'method' | 'reason'> {
  const spec = line.baseline;
  if (spec.method === 'reference')
    return { method: 'reference', reason: `the profile of ${spec.file}, taken off as it stands` };
  if (spec.method === 'as-built')
    return {
      method: 'reference',
      reason: `the value it was built with, ${formatLength(spec.offset, { units, as: 'offset', sign: 'always' })} (${spec.source})`,
    };
  if (spec.method === 'absolute') return { method: 'absolute', reason: READ_AS[spec.against] };
  return {
    method: 'absolute',
    reason:
      line.kind === 'plumb'
        ? READ_AS.vertical
        : 'the readings’ own zero: the job does not say whether that is the level or square to the web',
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

const NO_SET_UP: SetUp = {
  offset: 0,
  tilt: 0,
  about: 0,
  covariance: [
    [0, 0],
    [0, 0],
  ],
};

/** A straight-edge rests on its feet; tilt and plumb are read from the level or the vertical, which nothing sets up. */
function setUpOn(
  stations: readonly PooledStation[],
  line: Line,
): { setUp: SetUp; ties: readonly PooledStation[] } {
  if (line.kind !== 'bulge') return { setUp: NO_SET_UP, ties: [] };
  const ties = nearest(stations, line);
  const fit = robustPolynomial(
    ties.map((s) => s.station),
    ties.map((s) => s.y),
    ties.map((s) => s.sd),
    1,
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
  if (inside.length <= 2) return 0;
  return Math.sqrt(inside.reduce((sum, s) => sum + s.deviation ** 2, 0) / (inside.length - 2));
}
