import type {
  LineAnalysis,
  LineFit,
  Movement,
  MovementPattern,
  Progress,
  Springback,
  StationFit,
  SurveyFit,
  ZoneRotation,
} from '../analysis.ts';
import type { Finding } from '../finding.ts';
import type { JobUnits, Line } from '../job/job.ts';
import { hypot } from '../maths/portable.ts';
import { shortfall, shortfallText } from './coverage.ts';
import { judgedSurveys } from './judged.ts';

/** Two stations closer than this are the same mark on the steel, m. */
const SAME_MARK = 1e-6;

/**
 * Movement between consecutive judged surveys (released, cooled), at stations read in both and by zone. A survey that
 * cannot carry a number (`shortfall`) has none: the movement then spans the cycles around it.
 * The largest deviation is the one the verdict follows, so that verdict and last movement cannot disagree.
 *
 * The two surveys have their own strings, so the uncertainties of both set-ups enter a station's movement;
 * a zone's rotation does not depend on where the string was tied, so its movement is free of them.
 * u² = u₁² + u₂² (JCGM 100:2008, 5.1.2, independent inputs).
 *
 * @param followed |largest deviation| by cycle as the progress follows it; left out: the largest reading of each survey
 */
export function movements(line: Line, fit: LineFit, followed: Progress['series'] = []): Movement[] {
  const judged = judgedSurveys(fit).filter((survey) => shortfall(line, fit, survey) === null);
  const values = new Map(followed.map((point) => [point.cycle, point]));
  const largest = (survey: SurveyFit) =>
    values.get(survey.cycle) ?? { value: Math.abs(survey.largest.deviation), u: survey.largest.u };
  return judged.slice(1).map((survey, i) => movementBetween(judged[i]!, survey, largest));
}

function movementBetween(
  before: SurveyFit,
  after: SurveyFit,
  largest: (survey: SurveyFit) => { readonly value: number; readonly u: number },
): Movement {
  const [then, now] = [largest(before), largest(after)];
  const most = { movement: now.value - then.value, u: hypot(then.u, now.u) };
  const elsewhere = Math.abs(most.movement) > 2 * most.u ? null : movedElsewhere(before, after);
  return {
    fromCycle: before.cycle,
    toCycle: after.cycle,
    stations: pairStations(before, after).map(([a, b]) => ({
      station: b.station,
      ...(b.height === undefined ? {} : { height: b.height }),
      movement: b.deviation - a.deviation,
      u: hypot(a.u, b.u),
    })),
    largest: most,
    ...(elsewhere === null ? {} : { elsewhere }),
    zones: pairZones(before.zones, after.zones),
  };
}

/** Uncertainties by which a place must have moved to be named: of some dozens looked at, none should by chance. */
const SURELY_MOVED = 4;

/** The station whose fitted deviation surely changed its size, and most of all; null where none did. */
function movedElsewhere(before: SurveyFit, after: SurveyFit): NonNullable<Movement['elsewhere']> | null {
  let most: NonNullable<Movement['elsewhere']> | null = null;
  for (const [a, b] of pairStations(before, after)) {
    const change = Math.abs(b.fitted ?? b.deviation) - Math.abs(a.fitted ?? a.deviation);
    const u = hypot(a.fittedU ?? a.u, b.fittedU ?? b.u);
    if (Math.abs(change) <= SURELY_MOVED * u || Math.abs(change) <= Math.abs(most?.movement ?? 0)) continue;
    most = { station: b.station, movement: change, u };
  }
  return most;
}

/** Uncertainties by which a cycle must have opened to be said to: one day in twenty reads beyond two by chance. */
const SURELY_OPENED = 3;

/** Of the last ten cycles, those in which the largest deviation did not close, by what was read of them. */
export interface QuietCycles {
  readonly still: readonly number[];
  /** It surely came back out. */
  readonly back: readonly number[];
  /** Steel elsewhere on the line surely moved. */
  readonly elsewhere: readonly number[];
}

/** @param moved what was read of a cycle; undefined: it was not read by itself */
export function quietCycles(
  { stoodStill, toCycle }: Pick<MovementPattern, 'stoodStill' | 'toCycle'>,
  moved: (cycle: number) => Pick<Movement, 'largest' | 'elsewhere'> | undefined,
): QuietCycles {
  const recent = Array.from({ length: stoodStill.of }, (_, k) => toCycle - stoodStill.of + 1 + k);
  const back = recent.filter((cycle) => {
    const largest = moved(cycle)?.largest;
    return largest !== undefined && largest.movement > SURELY_OPENED * largest.u;
  });
  const rest = stoodStill.cycles.filter((cycle) => !back.includes(cycle));
  const elsewhere = rest.filter((cycle) => moved(cycle)?.elsewhere !== undefined);
  return { still: rest.filter((cycle) => !elsewhere.includes(cycle)), back, elsewhere };
}

/** The same of a line's own movements. */
export function quietOf({ progress, movements }: Pick<LineAnalysis, 'progress' | 'movements'>): QuietCycles {
  const { pattern } = progress;
  if (pattern === null) return { still: [], back: [], elsewhere: [] };
  return quietCycles(pattern, (cycle) =>
    movements.find((each) => each.toCycle === cycle && each.fromCycle === cycle - 1),
  );
}

/**
 * What the steel gives back when the jacks come off: released minus restrained, in cycles read both ways. A string that
 * was loose in either survey tells nothing of it: such a cycle is left out here and named by `springbackFindings`.
 */
export function springback(line: Line, fit: LineFit): Springback[] {
  return bothWays(fit).flatMap(({ restrained, released }) => {
    if ((shortfall(line, fit, restrained) ?? shortfall(line, fit, released)) !== null) return [];
    const stations = pairStations(restrained, released).map(([a, b]) => ({
      station: b.station,
      springback: b.deviation - a.deviation,
      u: hypot(a.u, b.u),
    }));
    if (stations.length === 0) return [];
    const largest = stations.reduce((most, s) =>
      Math.abs(s.springback) > Math.abs(most.springback) ? s : most,
    );
    return [{ cycle: restrained.cycle, stations, largest }];
  });
}

/** Cycles read with the jacks on and off whose springback cannot be told, and why. */
export function springbackFindings(line: Line, fit: LineFit, units: JobUnits): Finding[] {
  return bothWays(fit).flatMap(({ restrained, released }): Finding[] => {
    const [survey, lack] = shortfall(line, fit, restrained)
      ? ([restrained, shortfall(line, fit, restrained)] as const)
      : ([released, shortfall(line, fit, released)] as const);
    if (lack === null) return [];
    return [
      {
        severity: 'note',
        code: 'springback-not-told',
        message: `The springback of cycle ${survey.cycle} cannot be told: ${shortfallText(lack, line.name, survey, units)}.`,
        line: line.name,
        cycle: survey.cycle,
      },
    ];
  });
}

function bothWays(fit: LineFit): { readonly restrained: SurveyFit; readonly released: SurveyFit }[] {
  const judged = judgedSurveys(fit);
  return fit.surveys
    .filter((survey) => survey.state === 'restrained')
    .flatMap((restrained) => {
      const released = judged.find((survey) => survey.cycle === restrained.cycle);
      return released === undefined ? [] : [{ restrained, released }];
    });
}

function pairStations(before: SurveyFit, after: SurveyFit): [StationFit, StationFit][] {
  const pairs: [StationFit, StationFit][] = [];
  if (after.panel !== undefined) return pairPlaces(before, after);
  const earlier = before.stations.filter((station) => !station.setAside);
  let i = 0;
  for (const station of after.stations) {
    if (station.setAside) continue;
    while (i < earlier.length && earlier[i]!.station < station.station - SAME_MARK) i++;
    const candidate = earlier[i];
    if (candidate !== undefined && Math.abs(candidate.station - station.station) <= SAME_MARK) {
      pairs.push([candidate, station]);
    }
  }
  return pairs;
}

/** The same for a panel: station and height must agree. */
function pairPlaces(before: SurveyFit, after: SurveyFit): [StationFit, StationFit][] {
  const key = (s: StationFit) => `${Math.round(s.station * 1e4)} ${Math.round((s.height ?? 0) * 1e4)}`;
  const earlier = new Map(before.stations.filter((s) => !s.setAside).map((s) => [key(s), s]));
  return after.stations.flatMap((station): [StationFit, StationFit][] => {
    const candidate = station.setAside ? undefined : earlier.get(key(station));
    return candidate === undefined ? [] : [[candidate, station]];
  });
}

function pairZones(before: readonly ZoneRotation[], after: readonly ZoneRotation[]): ZoneRotation[] {
  return after.flatMap((zone) => {
    const earlier = before.find((other) => other.zone === zone.zone);
    if (earlier === undefined) return [];
    return [{ zone: zone.zone, rotation: zone.rotation - earlier.rotation, u: hypot(earlier.u, zone.u) }];
  });
}
