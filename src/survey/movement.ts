import type { LineFit, Movement, Springback, StationFit, SurveyFit, ZoneRotation } from '../analysis.ts';
import { hypot } from '../maths/portable.ts';
import { judgedSurveys } from './judged.ts';

/** Two stations closer than this are the same mark on the steel, m. */
const SAME_MARK = 1e-6;

/**
 * Movement between consecutive judged surveys (released, cooled), at stations read in both and by zone.
 *
 * The two surveys have their own strings, so the uncertainties of both set-ups enter a station's movement;
 * a zone's rotation does not depend on where the string was tied, so its movement is free of them.
 * u² = u₁² + u₂² (JCGM 100:2008, 5.1.2, independent inputs).
 */
export function movements(fit: LineFit): Movement[] {
  const judged = judgedSurveys(fit);
  return judged.slice(1).map((survey, i) => movementBetween(judged[i]!, survey));
}

function movementBetween(before: SurveyFit, after: SurveyFit): Movement {
  return {
    fromCycle: before.cycle,
    toCycle: after.cycle,
    stations: pairStations(before, after).map(([a, b]) => ({
      station: b.station,
      movement: b.deviation - a.deviation,
      u: hypot(a.u, b.u),
    })),
    largest: {
      movement: Math.abs(after.largest.deviation) - Math.abs(before.largest.deviation),
      u: hypot(before.largest.u, after.largest.u),
    },
    zones: pairZones(before.zones, after.zones),
  };
}

/** What the steel gives back when the jacks come off: released minus restrained, in cycles read both ways. */
export function springback(fit: LineFit): Springback[] {
  const found: Springback[] = [];
  for (const restrained of fit.surveys.filter((survey) => survey.state === 'restrained')) {
    const released = fit.surveys.find((s) => s.state === 'released' && s.cycle === restrained.cycle);
    if (released === undefined) continue;
    const stations = pairStations(restrained, released).map(([a, b]) => ({
      station: b.station,
      springback: b.deviation - a.deviation,
      u: hypot(a.u, b.u),
    }));
    if (stations.length === 0) continue;
    const largest = stations.reduce((most, s) =>
      Math.abs(s.springback) > Math.abs(most.springback) ? s : most,
    );
    found.push({ cycle: restrained.cycle, stations, largest });
  }
  return found;
}

function pairStations(before: SurveyFit, after: SurveyFit): [StationFit, StationFit][] {
  const pairs: [StationFit, StationFit][] = [];
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

function pairZones(before: readonly ZoneRotation[], after: readonly ZoneRotation[]): ZoneRotation[] {
  return after.flatMap((zone) => {
    const earlier = before.find((other) => other.zone === zone.zone);
    if (earlier === undefined) return [];
    return [{ zone: zone.zone, rotation: zone.rotation - earlier.rotation, u: hypot(earlier.u, zone.u) }];
  });
}
