import type { Finding } from '../finding.ts';
import type { JobUnits } from '../job/job.ts';
import { formatLength } from '../units/format-length.ts';
import { fitShape, type ShapeModel } from './previous-cycle.ts';
import type { Survey } from './survey.ts';

/** Shortest run of rows that is called shifted: fewer can be chance. */
const SHORTEST_RUN = 4;
/** A misfit counts at most this much (squared, in sd), so that one blunder is not a run. */
const MOST = 25;
/** Evidence asked for before a shift is named: drop of the capped squared misfit, in sd². Far beyond chance in a survey of hundreds of rows. */
const ENOUGH = 40;
/** Cost of beginning or ending a run. */
const SWITCH = 12;

/**
 * Rows of a survey that are in the wrong order, found against the survey before it: neighbours exchanged, and runs of rows
 * written one station too early or too late (a line of the field sheet skipped or doubled).
 *
 * Method: this survey should be the earlier shape, proportionally straightened, under a string of its own (see
 * previous-cycle.ts). Each row is also tried with the earlier value of the station before and after it; the cheapest
 * path through the three alignments (dynamic programming, capped squared misfit, a cost for every change) is the
 * reading order the steel supports. On a straight reach a shift makes no difference and is not found.
 */
export function misorderedRows(
  survey: Survey,
  previous: Survey,
  readingSd: number,
  units: JobUnits,
): Finding[] {
  const rows = distinctStations(survey);
  const earlier = new Map(distinctStations(previous).map((row) => [key(row.station), row.offset]));
  if (rows.length < 6 || rows.some((row) => !earlier.has(key(row.station)))) return [];
  const stations = rows.map((row) => row.station);
  const offsets = rows.map((row) => row.offset);
  const before = stations.map((station) => earlier.get(key(station))!);
  const plain = fitShape(stations, before, offsets, readingSd);
  if (plain === null) return [];
  const swaps = exchangedNeighbours(survey, rows, before, plain, units);
  const shift = shiftedRun(stations, before, offsets, readingSd, plain);
  return shift === null ? swaps : [shiftFinding(survey, previous, rows, shift, units)];
}

interface Row {
  readonly station: number;
  readonly offset: number;
  readonly file: string;
  readonly row: number;
}

/** First reading at each station: order is a matter of the sheet, not of repeats. */
function distinctStations(survey: Survey): Row[] {
  const rows: Row[] = [];
  for (const reading of survey.readings) {
    if (rows.length > 0 && reading.station - rows.at(-1)!.station <= 1e-6) continue;
    rows.push(reading);
  }
  return rows;
}

function key(station: number): number {
  return Math.round(station * 1e5);
}

interface Run {
  readonly from: number;
  readonly to: number;
  /** +1: the offsets belong one station further on. */
  readonly shift: 1 | -1;
}

function shiftedRun(
  stations: readonly number[],
  before: readonly number[],
  offsets: readonly number[],
  readingSd: number,
  plain: ShapeModel,
): Run | null {
  const n = stations.length;
  const straightCost = offsets.reduce(
    (sum, offset, i) => sum + capped(offset - plain.at(stations[i]!, before[i]!), plain.fit.scale),
    0,
  );
  // Any other order costs one change at least.
  if (straightCost < ENOUGH + SWITCH) return null;
  let best: { cost: number; path: number[]; scale: number } | null = null;
  // The string is fitted on each alignment in turn, because a long run drags the plain fit with it.
  for (const lead of [0, 1, -1]) {
    const use = stations.map((_, i) => i).filter((i) => i + lead >= 0 && i + lead < n);
    const model =
      lead === 0
        ? plain
        : fitShape(
            use.map((i) => stations[i + lead]!),
            use.map((i) => before[i + lead]!),
            use.map((i) => offsets[i]!),
            readingSd,
          );
    if (model === null) continue;
    const scale = Math.min(model.fit.scale, plain.fit.scale);
    const cost = (i: number, shift: number) => {
      const j = i + shift;
      return j < 0 || j >= n ? MOST : capped(offsets[i]! - model.at(stations[j]!, before[j]!), scale);
    };
    const found = cheapestPath(n, cost);
    if (best === null || found.cost < best.cost) best = { ...found, scale };
  }
  if (best === null || straightCost - best.cost < ENOUGH) return null;
  const from = best.path.findIndex((shift) => shift !== 0);
  if (from === -1) return null;
  const shift = best.path[from] as 1 | -1;
  let to = from;
  while (to + 1 < n && best.path[to + 1] === shift) to++;
  return to - from + 1 >= SHORTEST_RUN ? { from, to, shift } : null;
}

function capped(misfit: number, scale: number): number {
  return Math.min(MOST, (misfit / scale) ** 2);
}

/** Cheapest sequence of alignments 0, +1, −1 over the rows. */
function cheapestPath(
  n: number,
  cost: (i: number, shift: number) => number,
): { cost: number; path: number[] } {
  const shifts = [0, 1, -1];
  let totals = shifts.map((shift) => cost(0, shift) + (shift === 0 ? 0 : SWITCH));
  const from: number[][] = [];
  for (let i = 1; i < n; i++) {
    const next: number[] = [];
    const back: number[] = [];
    for (let k = 0; k < shifts.length; k++) {
      let least = Number.POSITIVE_INFINITY;
      let source = 0;
      for (let j = 0; j < shifts.length; j++) {
        const total = totals[j]! + (j === k ? 0 : SWITCH);
        if (total < least) {
          least = total;
          source = j;
        }
      }
      next.push(least + cost(i, shifts[k]!));
      back.push(source);
    }
    from.push(back);
    totals = next;
  }
  let k = totals.indexOf(Math.min(...totals));
  const total = totals[k]!;
  const path = [shifts[k]!];
  for (let i = n - 2; i >= 0; i--) {
    k = from[i]![k]!;
    path.push(shifts[k]!);
  }
  return { cost: total, path: path.reverse() };
}

function shiftFinding(
  survey: Survey,
  previous: Survey,
  rows: readonly Row[],
  run: Run,
  units: JobUnits,
): Finding {
  const station = (i: number) => formatLength(rows[i]!.station, { units, as: 'station' });
  const way = run.shift === 1 ? 'one station too early' : 'one station too late';
  const cause = run.shift === 1 ? 'a line of the sheet skipped when reading' : 'a line written twice';
  return {
    severity: 'caution',
    code: 'rows-shifted',
    message: `Cycle ${survey.cycle}, ${survey.line}: the offsets from ${station(run.from)} to ${station(run.to)} look written ${way} (${run.to - run.from + 1} rows fit cycle ${previous.cycle} when moved, and do not where they stand): ${cause}? Check the field sheet.`,
    line: survey.line,
    cycle: survey.cycle,
    station: rows[run.from]!.station,
    file: rows[run.from]!.file,
    row: rows[run.from]!.row,
  };
}

function exchangedNeighbours(
  survey: Survey,
  rows: readonly Row[],
  before: readonly number[],
  model: ShapeModel,
  units: JobUnits,
): Finding[] {
  const findings: Finding[] = [];
  const { scale } = model.fit;
  const say = (metres: number) => formatLength(metres, { units, as: 'offset' });
  const expected = rows.map((row, i) => model.at(row.station, before[i]!));
  for (let i = 0; i + 1 < rows.length; i++) {
    const [a, b] = [rows[i]!, rows[i + 1]!];
    const asRead = [a.offset - expected[i]!, b.offset - expected[i + 1]!];
    const exchanged = [b.offset - expected[i]!, a.offset - expected[i + 1]!];
    if (!asRead.every((r) => Math.abs(r) > 4 * scale) || !exchanged.every((r) => Math.abs(r) < 3 * scale))
      continue;
    const [here, there] = [a, b].map((row) => formatLength(row.station, { units, as: 'station' }));
    findings.push({
      severity: 'caution',
      code: 'neighbours-exchanged',
      message: `Cycle ${survey.cycle}, ${survey.line}: the offsets at ${here} (${say(a.offset)}) and ${there} (${say(b.offset)}) look exchanged: about ${say(expected[i]!)} and ${say(expected[i + 1]!)} are expected from the cycle before.`,
      line: survey.line,
      cycle: survey.cycle,
      station: a.station,
      file: a.file,
      row: a.row,
    });
    i++;
  }
  return findings;
}
