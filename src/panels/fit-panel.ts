import type { LineFit, PanelSurvey, SetAside, StationFit, SurveyFit } from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits, Line, PanelPlace } from '../job/job.ts';
import { hypot } from '../maths/portable.ts';
import { markFinder } from '../survey/marks.ts';
import type { Mark, Reading, ReadingSd, Survey } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { panelFindings } from './findings.ts';
import { mapOf } from './map-of.ts';
import { usual } from './seen.ts';
import { fitSurface, type PanelPoint, type Surface } from './surface.ts';

/** Further than this many standard deviations from what the other readings say, a reading is left out. */
const LEFT_OUT = 4;
const RULE =
  'further from the surface the other readings give than a good reading could be (over 4 standard deviations of the difference)';
/** A place this far off in the fit it is part of is asked after. */
const SUSPECT = 3;
/**
 * With the suspect left out, a place beside it this far off on the same side says that it is no slip: the pen slips at one
 * place, a bulge narrower than the grid stands out at several. One place in a hundred and sixty is by chance.
 */
const BESIDE = 2.5;
/** Places within so many spacings are beside each other. */
const NEXT_TO = 1.6;
/** At most this share of a survey is left out by the rule; where more would go, the surface is wrong, not the readings. */
const MOST_LEFT_OUT = 0.06;
/** From so many places on, neighbouring ones are averaged before the fit (scans). */
const MOST_POINTS = 600;
/** Fewest places a surface can be laid through. */
export const FEWEST_PLACES = 9;

/** Readings of one place, pooled. */
interface Place {
  readonly station: number;
  readonly height: number;
  readonly z: number;
  readonly sd: number;
  readonly readings: readonly Reading[];
  readonly handOff: boolean;
  readonly pinned: boolean;
  /** Brought an sd of its own, as from a scan: its slips are looked for where it was taken. */
  readonly ownSd: boolean;
}

/**
 * Fits a panel: for every survey a set-up of its own (offset, lean, twist), the bow of the held edges, and the plate's
 * departure from the surface those span (`fitSurface`). A reading far from what the others say is set aside, unless the
 * same place says the same in another survey: a misreading does not repeat.
 *
 * Surveys in order of cycle. Deterministic; what cannot be said is a finding. Throws nothing.
 */
export function fitPanel(
  line: Line,
  panel: PanelPlace,
  surveys: readonly Survey[],
  marks: readonly Mark[],
  readingSd: ReadingSd,
  units: JobUnits,
): LineFit {
  const findings: Finding[] = [];
  const pooled = surveys.map((survey) => placesOf(line, survey, marks, readingSd));
  const judged = pooled.map((places) => leftOutByRule(line, panel, places));
  for (const [k, { out }] of judged.entries())
    for (const [i, residual] of [...out])
      if (borneOut(line, panel, pooled, k, pooled[k]![i]!, residual)) out.delete(i);

  const fits: SurveyFit[] = [];
  surveys.forEach((survey, k) => {
    const places = pooled[k]!;
    const out = new Set(judged[k]!.out.keys());
    places.forEach((place, i) => {
      if (place.handOff) out.add(i);
    });
    const kept = places.filter((_, i) => !out.has(i));
    if (kept.length < FEWEST_PLACES) {
      findings.push(tooFew(line, survey, kept.length));
      return;
    }
    const before = judged[k]!.surface;
    const surface =
      before !== null && judged[k]!.kept === kept.length
        ? before
        : fitSurface(pointsOf(line, panel, kept), shapeOf(line, panel));
    fits.push(surveyFit(line, panel, survey, places, out, surface, marks));
    const sharp = [...judged[k]!.sharp].filter((i) => !out.has(i)).map((i) => places[i]!);
    if (sharp.length > 0) findings.push(sharpFinding(line, survey, sharp, k === surveys.length - 1, units));
  });
  const latest = fits.at(-1)?.cycle ?? 0;
  findings.push(...fits.flatMap((fit) => asideFindings(line, fit, fit.cycle === latest, units)));
  findings.push(...panelFindings(line, fits, units));
  const first = fits.find((fit) => fit.state === 'released') ?? fits[0];
  return {
    baseline: {
      method: 'bearings',
      reason: `flat between its held edges (${panel.held.join(', ')}); the lean, the twist and the bow of those edges are taken off`,
      reaches: [],
      residualSd: first === undefined ? 0 : residualSd(first),
      about: (line.bearings[0] + line.bearings[1]) / 2,
      coefficients: [],
      profile: [],
      edgeSteps: [],
      undamagedShape: [],
    },
    readingSd,
    surveys: fits,
    zones: [],
    elastic: [],
    pointCurvature: [],
    findings,
  };
}

function shapeOf(line: Line, panel: PanelPlace) {
  return {
    width: line.bearings[1] - line.bearings[0],
    height: panel.heights[1] - panel.heights[0],
    held: panel.held,
  };
}

function placesOf(line: Line, survey: Survey, marks: readonly Mark[], readingSd: ReadingSd): Place[] {
  const markOf = markFinder(marks);
  const groups = new Map<string, Reading[]>();
  for (const reading of survey.readings) {
    const key = `${Math.round(reading.station * 1e5)} ${Math.round((reading.height ?? 0) * 1e5)}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [reading]);
    else group.push(reading);
  }
  return [...groups.values()].map((readings): Place => {
    const good = readings.filter((reading) => markOf(reading)?.action !== 'set-aside');
    const used = good.length > 0 ? good : readings;
    let [weight, sum] = [0, 0];
    for (const reading of used) {
      const w = 1 / (reading.sd ?? readingSd.value) ** 2;
      weight += w;
      sum += w * (reading.offset - line.standoff);
    }
    return {
      station: readings[0]!.station,
      height: readings[0]!.height ?? 0,
      z: sum / weight,
      sd: 1 / Math.sqrt(weight),
      readings,
      handOff: good.length === 0,
      pinned: readings.some((reading) => markOf(reading)?.action === 'reinstate'),
      ownSd: readings.every((reading) => reading.sd !== null),
    };
  });
}

function pointsOf(line: Line, panel: PanelPlace, places: readonly Place[]): PanelPoint[] {
  const { width, height } = shapeOf(line, panel);
  const points = places.map((place) => ({
    x: (place.station - line.bearings[0]) / width,
    y: (place.height - panel.heights[0]) / height,
    z: place.z,
    sd: place.sd,
  }));
  return points.length <= MOST_POINTS ? points : averaged(points, width / height);
}

/** Neighbouring points of a dense survey as one: their mean, which is fitted as the mean over their places. */
function averaged(points: readonly PanelPoint[], aspect: number): PanelPoint[] {
  const rows = Math.max(6, Math.floor(Math.sqrt(MOST_POINTS / aspect)));
  const columns = Math.max(6, Math.floor(MOST_POINTS / rows));
  const cells = new Map<number, PanelPoint[]>();
  for (const point of points) {
    const key = Math.floor(point.y * rows) * 10_000 + Math.floor(point.x * columns);
    const cell = cells.get(key);
    if (cell === undefined) cells.set(key, [point]);
    else cell.push(point);
  }
  return [...cells.values()].map((cell) => {
    const mean = (of: (p: PanelPoint) => number) => cell.reduce((sum, p) => sum + of(p), 0) / cell.length;
    return {
      x: mean((p) => p.x),
      y: mean((p) => p.y),
      z: mean((p) => p.z),
      sd: Math.sqrt(mean((p) => p.sd ** 2) / cell.length),
      over: cell.map(({ x, y }) => ({ x, y })),
    };
  });
}

interface ByRule {
  /** Places left out, with how far off each is, m. */
  readonly out: Map<number, number>;
  /** Places as far off that are kept, because places beside them are off on the same side. */
  readonly sharp: ReadonlySet<number>;
  /** The last surface fitted to the rest, and how many places that was; null where none was. */
  readonly surface: Surface | null;
  readonly kept: number;
}

/** Places left out by the rule, one after the other. */
function leftOutByRule(line: Line, panel: PanelPlace, places: readonly Place[]): ByRule {
  const out = new Map<number, number>();
  const usable = places.map((place, i) => ({ place, i })).filter(({ place }) => !place.handOff);
  const sharp = new Set<number>();
  const none = { out, sharp, surface: null, kept: 0 };
  if (usable.length > MOST_POINTS || usable.every(({ place }) => place.ownSd)) return none;
  const fit = (of: readonly { readonly place: Place }[]) =>
    fitSurface(
      pointsOf(
        line,
        panel,
        of.map(({ place }) => place),
      ),
      shapeOf(line, panel),
    );
  const most = Math.max(1, Math.floor(MOST_LEFT_OUT * usable.length));
  let kept = usable;
  if (kept.length <= FEWEST_PLACES + 1) return none;
  let surface = fit(kept);
  const [apartX, apartY] = [
    NEXT_TO * usual(places.map((p) => p.station)),
    NEXT_TO * usual(places.map((p) => p.height)),
  ];
  const beside = (a: Place, b: Place) =>
    Math.abs(a.station - b.station) <= apartX && Math.abs(a.height - b.height) <= apartY;
  const result = () => ({ out, sharp, surface, kept: kept.length });
  while (out.size <= most && kept.length > FEWEST_PLACES + 1) {
    const { standardised } = surface;
    let worst = -1;
    standardised.forEach((t, k) => {
      if (kept[k]!.place.pinned || sharp.has(kept[k]!.i)) return;
      if (worst < 0 || Math.abs(t) > Math.abs(standardised[worst]!)) worst = k;
    });
    // Below this no fit without it would call it wrong: one fit less for nearly every survey.
    if (worst < 0 || Math.abs(standardised[worst]!) < SUSPECT) return result();
    // The suspect itself may have made the surface rough enough to hold it: the others are asked without it.
    const others = kept.filter((_, k) => k !== worst);
    const without = fit(others);
    const suspect = kept[worst]!;
    const residual = residualAt(line, panel, without, suspect.place);
    if (Math.abs(residual.value) < LEFT_OUT * residual.u) return result();
    const side = Math.sign(residual.value);
    if (
      others.some(({ place }, k) => beside(place, suspect.place) && side * without.standardised[k]! > BESIDE)
    ) {
      sharp.add(suspect.i);
      continue;
    }
    out.set(suspect.i, residual.value);
    surface = without;
    kept = others;
  }
  // So many wrong readings are none: the plate is not as smooth as the fit believes.
  out.clear();
  return none;
}

/** How far a reading is from what a fit without it expects, and the sd of that. */
function residualAt(line: Line, panel: PanelPlace, without: Surface, place: Place) {
  const [suspect] = pointsOf(line, panel, [place]);
  const { value, u } = without.expected(suspect!.x, suspect!.y);
  return { value: suspect!.z - value, u: hypot(u, suspect!.sd) };
}

/** A misreading does not repeat: another survey reads the place off the same way, by half as much at least. */
function borneOut(
  line: Line,
  panel: PanelPlace,
  surveys: readonly (readonly Place[])[],
  own: number,
  place: Place,
  residual: number,
): boolean {
  return [own - 1, own + 1].some((k) => {
    const other = surveys[k];
    const there = other?.find((each) => samePlace(each, place) && !each.handOff);
    if (other === undefined || there === undefined) return false;
    const rest = other.filter((each) => each !== there && !each.handOff);
    if (rest.length < FEWEST_PLACES) return false;
    const again = residualAt(
      line,
      panel,
      fitSurface(pointsOf(line, panel, rest), shapeOf(line, panel)),
      there,
    ).value;
    return again * Math.sign(residual) > Math.abs(residual) / 2;
  });
}

function surveyFit(
  line: Line,
  panel: PanelPlace,
  survey: Survey,
  places: readonly Place[],
  out: ReadonlySet<number>,
  surface: Surface,
  marks: readonly Mark[],
): SurveyFit {
  const { width, height } = shapeOf(line, panel);
  const [from, low] = [line.bearings[0], panel.heights[0]];
  const stations = places.map((place, i): StationFit => {
    const [x, y] = [(place.station - from) / width, (place.height - low) / height];
    const taken = surface.reference(x, y);
    const fitted = surface.bulge(x, y);
    return {
      station: place.station,
      height: place.height,
      deviation: place.z - taken.value,
      u: hypot(place.sd, taken.u),
      uReading: place.sd,
      fitted: fitted.value,
      fittedU: fitted.u,
      count: place.readings.length,
      setAside: out.has(i),
    };
  });
  const kept = stations.filter((station) => !station.setAside);
  // Readings averaged before the fit leave it all their scatter about the averages.
  const freedom = kept.length - surface.standardised.length + surface.freedom;
  const map: PanelSurvey = {
    ...mapOf(
      line,
      panel,
      kept.map((s) => ({ station: s.station, height: s.height! })),
      surface,
    ),
    freedom: freedom / kept.length,
  };
  const markOf = markFinder(marks);
  const setAside = places.flatMap((place, i): SetAside[] =>
    place.readings.flatMap((reading): SetAside[] => {
      const mark = markOf(reading);
      const byHand = mark?.action === 'set-aside';
      if (!byHand && !out.has(i)) return [];
      return [
        {
          file: reading.file,
          row: reading.row,
          station: reading.station,
          height: place.height,
          offset: reading.offset,
          reason: byHand ? `set aside by ${mark.who}: ${mark.why}` : RULE,
          by: byHand ? 'hand' : 'rule',
        },
      ];
    }),
  );
  const { crest } = map;
  const beyond = stations.reduce<StationFit | null>(
    (most, s) =>
      s.setAside &&
      Math.abs(s.deviation) > Math.max(Math.abs(crest.deviation), Math.abs(most?.deviation ?? 0))
        ? s
        : most,
    null,
  );
  const middle = surface.reference(0.5, 0.5);
  const tilt = (surface.reference(1, 0.5).value - surface.reference(0, 0.5).value) / width;
  return {
    cycle: survey.cycle,
    date: survey.date,
    time: survey.time,
    temperature: survey.temperature,
    state: survey.state,
    count: survey.readings.length,
    setAside,
    setUp: {
      offset: middle.value,
      tilt,
      about: from + width / 2,
      covariance: [
        [middle.u ** 2, 0],
        [0, 0],
      ],
    },
    stations,
    largest: {
      station: crest.station,
      height: crest.height,
      deviation: crest.deviation,
      u: crest.u,
      ...(beyond === null ? {} : { leftOut: { station: beyond.station, deviation: beyond.deviation } }),
    },
    rms: Math.sqrt(kept.reduce((sum, s) => sum + s.deviation ** 2, 0) / Math.max(1, kept.length)),
    zones: [],
    zoneCovariance: [],
    closure: { agrees: true, ties: [], message: null },
    panel: map,
  };
}

function samePlace(a: Place, b: Place): boolean {
  return Math.abs(a.station - b.station) < 1e-3 && Math.abs(a.height - b.height) < 1e-3;
}

function residualSd(fit: SurveyFit): number {
  const kept = fit.stations.filter((s) => !s.setAside);
  return Math.sqrt(
    kept.reduce((sum, s) => sum + (s.deviation - (s.fitted ?? 0)) ** 2, 0) / Math.max(1, kept.length),
  );
}

function tooFew(line: Line, survey: Survey, count: number): Finding {
  return {
    severity: 'caution',
    code: 'too-few-places',
    message: `Cycle ${survey.cycle} of the panel ${line.name} has ${count} places read: too few to lay a surface through (at least ${FEWEST_PLACES}, spread over the panel and up to its held edges). It is not judged.`,
    line: line.name,
    cycle: survey.cycle,
  };
}

function sharpFinding(
  line: Line,
  survey: Survey,
  places: readonly Place[],
  latest: boolean,
  units: JobUnits,
): Finding {
  const [first] = places;
  const at = `${formatLength(first!.station, { units, as: 'station' })}, height ${formatLength(first!.height, { units, as: 'offset' })}`;
  return {
    severity: latest ? 'caution' : 'note',
    code: 'bulge-narrower-than-grid',
    message: `Panel ${line.name}, cycle ${survey.cycle}: about ${at} places beside each other stand further out than the rest of the grid explains. They are kept: a misreading stands alone, a bulge narrower than the grid does not. Its top can be higher than any place read; read closer there, and read those places again.`,
    line: line.name,
    cycle: survey.cycle,
    station: first!.station,
    file: first!.readings[0]!.file,
    row: first!.readings[0]!.row,
  };
}

function asideFindings(line: Line, fit: SurveyFit, latest: boolean, units: JobUnits): Finding[] {
  const offset = (m: number) => formatLength(m, { units, as: 'offset' });
  return fit.setAside.map((aside): Finding => {
    const place = fit.stations.find(
      (s) => Math.abs(s.station - aside.station) < 1e-5 && Math.abs(s.height! - aside.height!) < 1e-5,
    );
    const off =
      place?.fitted == null ? '' : ` It is ${offset(Math.abs(place.deviation - place.fitted))} from it.`;
    const again = latest ? ' Read that place again; reinstate it if the steel really is there.' : '';
    return {
      severity: aside.by === 'rule' && latest ? 'caution' : 'note',
      code: aside.by === 'hand' ? 'reading-set-aside-by-hand' : 'reading-set-aside',
      message: `The reading ${offset(aside.offset)} at ${formatLength(aside.station, { units, as: 'station' })}, height ${offset(aside.height!)}, cycle ${fit.cycle}, is left out of the fit: ${aside.reason}.${aside.by === 'hand' ? '' : off + again}`,
      line: line.name,
      cycle: fit.cycle,
      station: aside.station,
      file: aside.file,
      row: aside.row,
    };
  });
}
