import type { Job, Line } from '../job/job.ts';
import { assembleSurveys } from '../survey/assemble.ts';
import type { Reading, ReadingState, Survey } from '../survey/survey.ts';
import { sameStation } from './book.ts';
import type { Sheet } from './job-bundle.ts';
import { type Course, chosenHeight, givenHeights, heightsOf } from './panel-grid.ts';

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
  /** On a panel: the height whose stations these are, m, and every height from the top down. */
  readonly height?: number | undefined;
  readonly courses: readonly Course[];
}

/**
 * Stations of a line for today: those of the survey before, those keyed or added by hand. Of a panel those of one of its
 * heights: a place the survey before left out (a hole) is left out again.
 *
 * @param readings of every other cycle (today's own are ignored)
 */
export function stationList(
  job: Job,
  lineName: string,
  state: ReadingState,
  sheet: Sheet,
  readings: readonly Reading[],
  height?: number,
): StationList {
  const line = job.lines.find((each) => each.name === lineName);
  const surveys = assembleSurveys(
    readings.filter((reading) => reading.cycle < sheet.cycle && reading.line === lineName),
    { name: lineName },
  );
  if (line?.panel !== undefined) return courseList(job, line, state, sheet, surveys, height);
  const own = { ...sheet, cells: sheet.cells.filter((cell) => cell.height === undefined) };
  return { ...listOf(job, lineName, line, state, own, surveys, []), courses: [] };
}

/** The list of one height of a panel, with how far every height is. */
function courseList(
  job: Job,
  line: Line,
  state: ReadingState,
  sheet: Sheet,
  surveys: readonly Survey[],
  wanted: number | undefined,
): StationList {
  const cells = sheet.cells.filter((cell) => cell.line === line.name && cell.height !== undefined);
  const before = surveyBefore(surveys, state)?.readings ?? [];
  const heights = heightsOf([
    ...before.map((reading) => reading.height ?? 0),
    ...cells.map((cell) => cell.height!),
    ...givenHeights(sheet, line.name),
  ]);
  const given = sheet.stations.filter((each) => each.line === line.name).map((each) => each.station);
  const at = (height: number): Omit<StationList, 'courses'> => {
    const here = (each: { readonly height?: number | undefined }) => sameStation(each.height ?? 0, height);
    const course = surveys.map((survey) => ({ ...survey, readings: survey.readings.filter(here) }));
    const read = course.filter((survey) => survey.readings.length > 0);
    // A height that is new is read at the stations of the others.
    const others = read.length === 0 && given.length === 0 ? before.map((reading) => reading.station) : [];
    const own = { ...sheet, cells: cells.filter(here) };
    return listOf(job, line.name, undefined, state, own, read, others);
  };
  const lists = heights.map((height) => ({ height, list: at(height) }));
  const height = chosenHeight(heights, wanted);
  const list = lists.find((each) => each.height === height)?.list ?? {
    rows: [],
    previous: null,
    earlier: [],
  };
  return {
    ...list,
    height,
    courses: lists.map((each) => ({
      height: each.height,
      read: each.list.rows.filter((row) => row.readings.length > 0).length,
      places: each.list.rows.length,
    })),
  };
}

function listOf(
  job: Job,
  lineName: string,
  line: Line | undefined,
  state: ReadingState,
  sheet: Sheet,
  surveys: readonly Survey[],
  others: readonly number[],
): Omit<StationList, 'courses'> {
  const previous = surveyBefore(surveys, state);
  const cells = sheet.cells.filter((cell) => cell.line === lineName && cell.state === state);
  const stations = distinct([
    ...others,
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
