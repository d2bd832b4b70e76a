import type { LineFit, SetAside, SurveyFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits } from '../job/job.ts';
import { hypot } from '../maths/portable.ts';
import { neighbourView } from './lone-readings.ts';
import { explainMisread } from './misread.ts';
import type { Survey } from './survey.ts';

interface Station {
  readonly station: number;
  /** Mean of the readings here that are not set aside, or of all when all are, m as read. */
  readonly offset: number;
  /** m as read */
  readonly expected: number;
  readonly u: number;
}

/**
 * Says of every reading the fit set aside what slip it most likely was, in its finding and its reason. Numbers of the fit are
 * not touched.
 *
 * @param surveys of the line, as fitted
 */
export function explainSetAside(fit: LineFit, surveys: readonly Survey[], units: JobUnits): LineFit {
  const slips = new Map<string, string>();
  const explained = fit.surveys.map((survey, k): SurveyFit => {
    const asRead = surveys.find((other) => other.cycle === survey.cycle && other.state === survey.state);
    if (asRead === undefined || !survey.setAside.some((aside) => aside.by === 'rule')) return survey;
    const stations = expectedStations(survey, asRead, fit.readingSd.value);
    const previous = previousOf(surveys, fit.surveys[k]!);
    return {
      ...survey,
      setAside: survey.setAside.map((aside): SetAside => {
        if (aside.by === 'hand') return aside;
        const slip = slipOf(aside, stations, expectedAlong(survey, stations), previous, units);
        if (slip === null) return aside;
        slips.set(placeOf(aside.file, aside.row, aside.station, survey.cycle), slip);
        return { ...aside, reason: `${aside.reason}; ${slip}` };
      }),
    };
  });
  const findings = fit.findings.map((finding): Finding => {
    if (finding.code !== 'reading-set-aside') return finding;
    const slip = slips.get(placeOf(finding.file, finding.row, finding.station, finding.cycle));
    return slip === undefined
      ? finding
      : { ...finding, message: withSlip(finding.message, `${slip[0]!.toUpperCase()}${slip.slice(1)}`) };
  });
  return { ...fit, surveys: explained, findings };
}

/** The likely slip, before the advice to read again where there is one. */
function withSlip(message: string, slip: string): string {
  const advice = message.indexOf(' Read that station again');
  return advice === -1 ? `${message} ${slip}` : `${message.slice(0, advice)} ${slip}${message.slice(advice)}`;
}

function placeOf(file?: string, row?: number, station?: number, cycle?: number): string {
  return `${file} ${row} ${cycle} ${Math.round((station ?? 0) * 1e5)}`;
}

function previousOf(surveys: readonly Survey[], survey: Pick<Survey, 'cycle' | 'state'>): Survey | null {
  return surveys.filter((other) => other.state === survey.state && other.cycle < survey.cycle).at(-1) ?? null;
}

function expectedStations(survey: SurveyFit, asRead: Survey, readingSd: number): Station[] {
  const out = new Set(survey.setAside.map((aside) => placeOf(aside.file, aside.row, aside.station)));
  // A line without a model has only its neighbours to say what is expected.
  const view = neighbourView(
    survey.stations.map((station) => station.station),
    survey.stations.map((station) => station.deviation),
    readingSd,
  );
  return survey.stations.flatMap((station, i): Station[] => {
    const here = asRead.readings.filter((reading) => Math.abs(reading.station - station.station) <= 1e-6);
    const good = here.filter((reading) => !out.has(placeOf(reading.file, reading.row, reading.station)));
    const used = good.length > 0 ? good : here;
    const fitted = station.fitted ?? view.expected[i] ?? null;
    if (used.length === 0 || fitted === null) return [];
    const offset = used.reduce((sum, reading) => sum + reading.offset, 0) / used.length;
    return [
      {
        station: station.station,
        offset,
        expected: offset - (station.deviation - fitted),
        u: station.fitted === null ? view.u : hypot(readingSd, station.fittedU ?? 0),
      },
    ];
  });
}

/** What is expected at any station, read or not: the fitted shape under the string and known shape of the stations around. */
function expectedAlong(
  { shape, stations: fitted }: SurveyFit,
  stations: readonly Station[],
): (station: number) => number | null {
  const exact = (at: number) => stations.find((other) => Math.abs(other.station - at) <= 1e-6)?.expected;
  if (shape === undefined) return (at) => exact(at) ?? null;
  const under = stations.map((each): [number, number] => [
    each.station,
    each.expected - (fitted.find((other) => other.station === each.station)?.fitted ?? 0),
  ]);
  const curve = shape.stations.map((at, i): [number, number] => [at, shape.deviation[i]!]);
  return (at) => {
    const [below, above] = [between(under, at), between(curve, at)];
    return exact(at) ?? (below === null || above === null ? null : below + above);
  };
}

/** Straight between the points either side; null outside them. */
function between(points: readonly (readonly [number, number])[], at: number): number | null {
  const i = points.findIndex(([x]) => x >= at);
  if (i < 0 || (i === 0 && points[0]![0] !== at)) return null;
  const [x1, y1] = points[i]!;
  const [x0, y0] = points[Math.max(0, i - 1)]!;
  return x1 === x0 ? y1 : y0 + ((y1 - y0) * (at - x0)) / (x1 - x0);
}

function slipOf(
  aside: SetAside,
  stations: readonly Station[],
  expectedAt: (station: number) => number | null,
  previous: Survey | null,
  units: JobUnits,
): string | null {
  const here = stations.find((station) => Math.abs(station.station - aside.station) <= 1e-6);
  if (here === undefined) return null;
  const before = previous?.readings.find((reading) => Math.abs(reading.station - aside.station) <= 1e-6);
  return explainMisread({
    station: aside.station,
    offset: aside.offset,
    expected: here.expected,
    u: here.u,
    neighbours: stations,
    previous:
      before === undefined || previous === null ? null : { cycle: previous.cycle, offset: before.offset },
    expectedAt,
    units,
  }).slip;
}
