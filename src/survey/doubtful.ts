import type { Finding } from '../finding.ts';
import type { JobUnits } from '../job/job.ts';
import { median } from '../maths/median.ts';
import { LONE, neighbourView, smoothView } from './lone-readings.ts';
import { explainMisread, type Misread } from './misread.ts';
import { compareWithPrevious } from './previous-cycle.ts';
import type { Reading, Survey } from './survey.ts';

export interface Doubtful {
  readonly reading: Reading;
  /** Offset expected here, m. */
  readonly expected: number;
  readonly u: number;
  readonly misread: Misread;
  /** Only the readings beside it speak of it: steel that bends sharply between coarse stations looks the same. */
  readonly alone: boolean;
}

/** A survey by distinct station: its readings there, and their median. */
interface Stations {
  readonly at: readonly number[];
  readonly groups: readonly (readonly Reading[])[];
  readonly values: readonly number[];
}

function byStation(survey: Survey): Stations {
  const at: number[] = [];
  const groups: Reading[][] = [];
  for (const reading of survey.readings) {
    if (at.length > 0 && reading.station - at.at(-1)! <= 1e-6) groups.at(-1)!.push(reading);
    else {
      at.push(reading.station);
      groups.push([reading]);
    }
  }
  return { at, groups, values: groups.map((group) => median(group.map((reading) => reading.offset))) };
}

/** A reading beside what the readings around it, and the survey next to it, say should stand there. */
interface Beside {
  readonly reading: Reading;
  readonly expected: number;
  readonly u: number;
  /** Only its neighbours speak of it. */
  readonly alone: boolean;
  /** Index of its station. */
  readonly at: number;
  readonly station: number;
  readonly offset: number;
}

function besides(
  survey: Survey,
  previous: Survey | null,
  readingSd: number,
): { stations: Stations; all: Beside[]; expectedAt: ((station: number) => number | null) | null } {
  const stations = byStation(survey);
  const alone = neighbourView(stations.at, stations.values, readingSd);
  const compared = previous === null ? null : compareWithPrevious(survey, previous, readingSd);
  let expected = alone.expected;
  let u = alone.u;
  if (previous !== null && compared !== null && compared.rows.length === survey.readings.length) {
    const model = stations.at.map((station) => compared.expectedAt(station)!);
    const change = smoothView(
      stations.values.map((value, i) => value - model[i]!),
      Math.SQRT2 * readingSd,
    );
    const blamed = blamedOnPrevious(stations, previous, alone, readingSd);
    expected = change.expected.map((value, i) =>
      value === null || blamed(i) ? alone.expected[i]! : model[i]! + value,
    );
    u = change.u;
  }
  const all = stations.groups.flatMap((group, i) => {
    const value = expected[i] ?? null;
    // Where only the neighbours speak, their own uncertainty counts.
    const own = value === alone.expected[i] ? alone.u : u;
    return value === null
      ? []
      : group.map((reading) => ({
          reading,
          expected: value,
          u: own,
          at: i,
          alone: value === alone.expected[i],
          station: reading.station,
          offset: reading.offset,
        }));
  });
  return { stations, all, expectedAt: compared?.expectedAt ?? null };
}

/** Those beyond `times` u, without the ones that a wrong reading next door misled. */
function standingAlone(
  { stations, all }: ReturnType<typeof besides>,
  times: number,
  readingSd: number,
): Beside[] {
  const lone = all.filter((row) => Math.abs(row.offset - row.expected) > times * row.u);
  const misled = misledStations(stations, [...new Set(lone.map((row) => row.at))], readingSd);
  return lone.filter((row) => !(row.alone && misled.has(row.at)));
}

/**
 * Readings of a survey that stand alone beyond some times u beside every survey given, whatever shape the line has; beside
 * their neighbours only where none is. A reading that repeats what the survey before or after it shows does not stand alone.
 *
 * @returns given the times u; what is long to work out does not depend on them
 */
export function loneReadings(
  survey: Survey,
  others: readonly Survey[],
  readingSd: number,
): (times: number) => ReadonlySet<Reading> {
  const views = (others.length === 0 ? [null] : others).map((other) => besides(survey, other, readingSd));
  return (times) => {
    const alone = views.map(
      (view) => new Set(standingAlone(view, times, readingSd).map((row) => row.reading)),
    );
    return new Set([...alone[0]!].filter((reading) => alone.every((each) => each.has(reading))));
  };
}

/**
 * Readings of one survey that stand alone, as it comes in and before any fit; meant to be seen the same day. With a survey
 * before it, the change from that survey is compared with the change at the stations around; without one, the reading
 * with straight predictions from its neighbours (lone-readings.ts). Doubtful is beyond 4.5 u.
 */
export function doubtfulReadings(
  survey: Survey,
  previous: Survey | null,
  readingSd: number,
  units: JobUnits,
): Doubtful[] {
  const beside = besides(survey, previous, readingSd);
  const earlier = new Map(
    previous === null ? [] : previous.readings.map((reading) => [key(reading.station), reading.offset]),
  );
  return standingAlone(beside, LONE, readingSd).map((row) => {
    const before = earlier.get(key(row.station));
    return {
      reading: row.reading,
      expected: row.expected,
      u: row.u,
      alone: row.alone,
      misread: explainMisread({
        station: row.station,
        offset: row.offset,
        expected: row.expected,
        u: row.u,
        neighbours: beside.all.filter((other) => Math.abs(other.station - row.station) < 8),
        previous: before === undefined ? null : { cycle: previous!.cycle, offset: before },
        ...(beside.expectedAt === null ? {} : { expectedAt: beside.expectedAt }),
        units,
      }),
    };
  });
}

/** More doubtful stations than this are a survey in disorder: who misled whom can then not be told. */
const MOST_COMPARED = 12;

/**
 * Doubtful stations that another one misled: near an end few predictions are possible, and a wrong reading next door
 * can spoil all of them. Such a station agrees once the other is left out, and not the other way round.
 */
function misledStations(stations: Stations, lone: readonly number[], readingSd: number): ReadonlySet<number> {
  if (lone.length < 2 || lone.length > MOST_COMPARED) return new Set();
  const agrees = (i: number, without: number): boolean => {
    const rest = <T>(list: readonly T[]) => list.filter((_, k) => k !== without);
    const view = neighbourView(rest(stations.at), rest(stations.values), readingSd);
    const value = view.expected[i < without ? i : i - 1]!;
    return value !== null && Math.abs(stations.values[i]! - value) <= LONE * view.u;
  };
  return new Set(lone.filter((i) => lone.some((j) => j !== i && agrees(i, j) && !agrees(j, i))));
}

function key(station: number): number {
  return Math.round(station * 1e5);
}

/** Where the earlier reading is the one that stands alone among its neighbours, a jump is its fault. */
function blamedOnPrevious(
  stations: Stations,
  previous: Survey,
  alone: ReturnType<typeof neighbourView>,
  readingSd: number,
): (index: number) => boolean {
  const then = byStation(previous);
  const view = neighbourView(then.at, then.values, readingSd);
  const index = new Map(then.at.map((station, i) => [key(station), i]));
  return (i) => {
    const j = index.get(key(stations.at[i]!));
    const [now, before] = [alone.expected[i], j === undefined ? null : view.expected[j]];
    if (now == null || before == null) return false;
    return (
      Math.abs(then.values[j!]! - before) > 2 * Math.abs(stations.values[i]! - now) + Math.sqrt(6) * readingSd
    );
  };
}

const OR_A_BEND =
  'Only the readings beside it say so, and a sharp bend looks the same: read it again, and between its neighbours.';

/** The same as findings. */
export function doubtFindings(doubts: readonly Doubtful[]): Finding[] {
  return doubts.map(({ reading, misread, alone }) => ({
    severity: 'caution',
    code: 'reading-doubtful',
    message: alone ? `${misread.message} ${OR_A_BEND}` : misread.message,
    line: reading.line,
    cycle: reading.cycle,
    station: reading.station,
    file: reading.file,
    row: reading.row,
  }));
}
