import type { Job } from '../job/job.ts';
import { assembleSurveys } from '../survey/assemble.ts';
import type { Reading, ReadingState, Survey } from '../survey/survey.ts';
import { sameStation } from './book.ts';
import type { Sheet } from './job-bundle.ts';

/** What the last cycle read at a station, m; several are repeats. */
interface Previous {
  readonly cycle: number;
  readonly state: ReadingState;
  readonly offsets: readonly number[];
}

/** One line of the list the crew works down. */
export interface StationRow {
  /** m */
  readonly station: number;
  readonly previous: Previous | null;
  /** Texts keyed here today. */
  readonly readings: readonly string[];
  readonly bearing: boolean;
  readonly diaphragm: boolean;
  readonly impact: boolean;
}

export interface StationList {
  readonly rows: readonly StationRow[];
  /** The survey the list follows; null for the first one of a line. */
  readonly previous: { readonly cycle: number; readonly state: ReadingState } | null;
  /** Stations of earlier surveys that are not on the list, m. */
  readonly earlier: readonly number[];
}

/**
 * Stations of a line for today: those of the survey before, those keyed or added by hand.
 *
 * @param readings of every other cycle (today's own are ignored)
 */
export function stationList(
  job: Job,
  lineName: string,
  state: ReadingState,
  sheet: Sheet,
  readings: readonly Reading[],
): StationList {
  const line = job.lines.find((each) => each.name === lineName);
  const surveys = assembleSurveys(
    readings.filter((reading) => reading.cycle < sheet.cycle && reading.line === lineName),
    { name: lineName },
  );
  const previous = surveyBefore(surveys, state);
  const cells = sheet.cells.filter((cell) => cell.line === lineName && cell.state === state);
  const stations = distinct([
    ...(previous?.readings.map((reading) => reading.station) ?? []),
    ...cells.map((cell) => cell.station),
    ...sheet.cells.filter((cell) => cell.line === lineName).map((cell) => cell.station),
    ...sheet.stations.filter((each) => each.line === lineName).map((each) => each.station),
  ]);
  const near = (list: readonly number[], station: number) => list.some((each) => sameStation(each, station));
  const rows = stations.map((station): StationRow => {
    const offsets =
      previous?.readings.filter((r) => sameStation(r.station, station)).map((r) => r.offset) ?? [];
    return {
      station,
      previous:
        previous === null || offsets.length === 0
          ? null
          : { cycle: previous.cycle, state: previous.state, offsets },
      readings: cells.find((cell) => sameStation(cell.station, station))?.readings ?? [],
      bearing: near(line?.bearings ?? [], station),
      diaphragm: near(job.member.diaphragms ?? [], station),
      impact: line?.impact != null && sameStation(line.impact, station),
    };
  });
  const ever = distinct(
    surveys.filter((survey) => survey.state === 'released').flatMap((s) => s.readings.map((r) => r.station)),
  );
  return {
    rows,
    previous: previous === null ? null : { cycle: previous.cycle, state: previous.state },
    earlier: ever.filter((station) => !near(stations, station)),
  };
}

/** The last survey in the same state, else the last one in the other (the rule the readings check uses). */
function surveyBefore(surveys: readonly Survey[], state: ReadingState): Survey | null {
  return surveys.filter((survey) => survey.state === state).at(-1) ?? surveys.at(-1) ?? null;
}

function distinct(stations: readonly number[]): number[] {
  const sorted = [...stations].sort((a, b) => a - b);
  return sorted.filter((station, i) => i === 0 || !sameStation(station, sorted[i - 1]!));
}

/** Stations every `step` from `from` to `to`, both ends included; m. At most 1000. */
export function evenStations(from: number, to: number, step: number): number[] {
  if (!(step > 0) || !(to > from) || (to - from) / step > 1000) return [];
  const stations: number[] = [];
  for (let k = 0; from + k * step < to - step * 1e-6; k++) stations.push(from + k * step);
  return [...stations, to];
}
