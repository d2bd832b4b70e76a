import type { Finding } from '../finding.ts';
import type { JobUnits } from '../job/job.ts';
import { log } from '../maths/portable.ts';
import { robustFit } from '../maths/robust-fit.ts';
import { formatLength } from '../units/format-length.ts';
import { type FitShape, type ShapeModel, shapeBeside } from './previous-cycle.ts';
import type { Survey } from './survey.ts';

/** Shortest run of rows that is called shifted: fewer can be chance. */
const SHORTEST_RUN = 4;
/** A misfit counts at most this much (squared, in sd), so that one blunder is not a run. */
const MOST = 25;
/**
 * A survey in two hundred has such a run (common practice, no source), and it may begin and end anywhere: what beginning or ending one
 * costs, as minus twice the log of its chance, in a survey of n rows.
 */
const switchCost = (n: number) => log(200) + 2 * log(n);
/** Drop of the capped squared misfit, in sd², beyond those costs before a shift is named: odds of four hundred to one. */
const ENOUGH = 12;

/**
 * Rows of a survey that are in the wrong order, found against the surveys nearest to it: neighbours exchanged, and runs of rows
 * written one station too early or too late (a line of the field sheet skipped or doubled).
 *
 * Method: this survey should be the shape of those beside it, more or less of each, under a string of its own (see
 * previous-cycle.ts). Each row is also tried with their values at the station before and after it; the cheapest
 * path through the three alignments (dynamic programming, capped squared misfit, a cost for every change) is the
 * reading order the steel supports, where a bend that is in this survey alone does not explain it as well. On a straight reach a shift
 * makes no difference and is not found.
 *
 * @param beside one or two, in the order of their cycles; two when there are two: one of them may be the one in disorder
 */
export function misorderedRows(
  survey: Survey,
  beside: readonly Survey[],
  readingSd: number,
  units: JobUnits,
): Finding[] {
  const rows = distinctStations(survey);
  const read = beside.flatMap((other) => {
    const values = valuesAt(rows, other);
    return values === null ? [] : [{ cycle: other.cycle, values }];
  });
  if (rows.length < 6 || read.length === 0) return [];
  const sheet: Sheet = {
    stations: rows.map((row) => row.station),
    offsets: rows.map((row) => row.offset),
    at: (i) => read.map(({ values }) => values[i]!),
    readingSd,
  };
  const fit = shapeBeside(
    sheet.stations,
    read.map(({ values }) => values),
    readingSd,
  );
  const plain = fit?.(sheet.offsets);
  if (!fit || !plain) return [];
  const against = read.map(({ cycle }) => cycle).join(' and ');
  const shift = shiftedRun(sheet, fit, plain);
  return shift === null
    ? exchangedNeighbours(survey, rows, sheet, plain, against, units)
    : [shiftFinding(survey, against, rows, shift, units)];
}

/** What is looked at: rows, and by row what the surveys beside read there. */
interface Sheet {
  readonly stations: readonly number[];
  readonly offsets: readonly number[];
  readonly at: (row: number) => readonly number[];
  readonly readingSd: number;
}

/** The shape of the surveys beside under this survey's string, every row taken to belong one station on or back. */
function moved(fit: FitShape, { offsets }: Sheet, lead: 1 | -1): ShapeModel | null {
  return lead === 1 ? fit(offsets.slice(0, -1), 1) : fit(offsets.slice(1));
}

/** What a survey read at the stations of the rows; null where it did not read all of them. */
function valuesAt(rows: readonly Row[], survey: Survey): number[] | null {
  const read = new Map(distinctStations(survey).map((row) => [key(row.station), row.offset]));
  const values = rows.map((row) => read.get(key(row.station)));
  return values.every((value) => value !== undefined) ? values : null;
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

function shiftedRun(sheet: Sheet, fit: FitShape, plain: ShapeModel): Run | null {
  const n = sheet.offsets.length;
  const costOf = costsBy(sheet, plain, plain.fit.scale);
  let inOrder = 0;
  for (let i = 0; i < n; i++) inOrder += costOf(i, 0);
  // Any other order costs one change at least.
  if (inOrder < ENOUGH + switchCost(n)) return null;
  const pathBy = (model: ShapeModel) => {
    const scale = Math.min(model.fit.scale, plain.fit.scale);
    return { scale, ...cheapestPath(n, costsBy(sheet, model, scale)) };
  };
  let best = pathBy(plain);
  // The string is fitted on each alignment in turn, because a long run drags the plain fit with it.
  for (const lead of [1, -1] as const) {
    const model = moved(fit, sheet, lead);
    if (model === null) continue;
    const found = pathBy(model);
    if (found.cost < best.cost) best = found;
  }
  if (inOrder - best.cost < ENOUGH) return null;
  const from = best.path.findIndex((shift) => shift !== 0);
  if (from === -1) return null;
  const shift = best.path[from] as 1 | -1;
  let to = from;
  while (to + 1 < n && best.path[to + 1] === shift) to++;
  if (to - from + 1 < SHORTEST_RUN) return null;
  return bendExplains(sheet, plain, best.scale, best.cost + ENOUGH) ? null : { from, to, shift };
}

/** Places a bend is looked for at first, and then around the best of them: of a scan of thousands of rows each would be fitted for itself. */
const CORNERS = 64;
const CORNERS_NEAR = 16;

/**
 * Whether the rows in order with one bend more, which this survey alone has, cost less than `bound`: steel may have moved so.
 * All rows between the ends are tried as its place, or in a long survey every few of them and then those around the best.
 */
function bendExplains(sheet: Sheet, plain: ShapeModel, scale: number, bound: number): boolean {
  const { stations, offsets, at, readingSd } = sheet;
  const n = stations.length;
  const left = offsets.map((offset, i) => offset - plain.at(stations[i]!, at(i)));
  const one = new Array<number>(n).fill(1);
  const most = bound - 2 * log(n);
  const cost = (corner: number): number => {
    const bent = stations.map((station) => Math.max(0, station - stations[corner]!));
    const fit = robustFit([one, stations, bent], left, readingSd);
    return fit === null
      ? Number.POSITIVE_INFINITY
      : fit.residuals.reduce((sum, r) => sum + capped(r, scale), 0);
  };
  const likely = likelyCorners(stations, left, scale);
  /** The cheapest of every `step`th corner, the likeliest first; none further is tried where one is cheap enough. */
  const cheapest = (from: number, to: number, step: number) => {
    const corners: number[] = [];
    for (let corner = from; corner <= to; corner += step) corners.push(corner);
    corners.sort((a, b) => likely[b]! - likely[a]! || a - b);
    let best = { corner: from, cost: Number.POSITIVE_INFINITY };
    for (const corner of corners) {
      const found = cost(corner);
      if (found < best.cost) best = { corner, cost: found };
      if (best.cost < most) break;
    }
    return best;
  };
  const step = Math.ceil((n - 2) / CORNERS);
  const best = cheapest(1, n - 2, step);
  if (best.cost < most || step === 1) return best.cost < most;
  const [from, to] = [Math.max(1, best.corner - step + 1), Math.min(n - 2, best.corner + step - 1)];
  return cheapest(from, to, Math.ceil((to - from + 1) / CORNERS_NEAR)).cost < most;
}

/**
 * By station, how much a bend there takes off the squares of what is left, roughly: by plain least squares on values cut
 * off where a misfit counts no more. Only for the order in which corners are tried.
 */
function likelyCorners(stations: readonly number[], left: readonly number[], scale: number): Float64Array {
  const n = stations.length;
  const middle = stations.reduce((sum, s) => sum + s, 0) / n;
  const t = stations.map((s) => s - middle);
  const limit = Math.sqrt(MOST) * scale;
  const cut = left.map((value) => Math.max(-limit, Math.min(limit, value)));
  const mean = cut.reduce((sum, v) => sum + v, 0) / n;
  const squares = t.reduce((sum, v) => sum + v * v, 0);
  const slope = t.reduce((sum, v, i) => sum + v * cut[i]!, 0) / squares;
  const gains = new Float64Array(n);
  // Sums over the stations past the corner.
  let [count, ofT, ofSquare, ofLeft, ofProduct] = [0, 0, 0, 0, 0];
  for (let i = n - 1; i > 0; i--) {
    const at = t[i]!;
    const r = cut[i]! - mean - slope * at;
    const bend = ofSquare - 2 * at * ofT + count * at * at;
    const along = ofSquare - at * ofT;
    const risen = ofT - count * at;
    const size = bend - risen ** 2 / n - along ** 2 / squares;
    const gain = (ofProduct - at * ofLeft) ** 2 / size;
    gains[i] = Number.isFinite(gain) && size > 0 ? gain : 0;
    count++;
    ofT += at;
    ofSquare += at * at;
    ofLeft += r;
    ofProduct += at * r;
  }
  return gains;
}

function capped(misfit: number, scale: number): number {
  return Math.min(MOST, (misfit / scale) ** 2);
}

/** What a row costs where it stands, or taken to belong `shift` stations on. */
function costsBy({ stations, offsets, at }: Sheet, model: ShapeModel, scale: number): CostOf {
  const n = stations.length;
  const expected = Float64Array.from(stations, (station, j) => model.at(station, at(j)));
  return (i, shift) => {
    const j = i + shift;
    return j < 0 || j >= n ? MOST : capped(offsets[i]! - expected[j]!, scale);
  };
}

type CostOf = (i: number, shift: number) => number;

/** Alignments, in the order in which the first of those that cost the same is taken. */
const SHIFTS = [0, 1, -1] as const;

/** Cheapest sequence of alignments over the rows. */
function cheapestPath(n: number, cost: CostOf): { cost: number; path: number[] } {
  const change = switchCost(n);
  const totals = Float64Array.from(SHIFTS, (shift) => cost(0, shift) + (shift === 0 ? 0 : change));
  // Row by row, from which alignment each is come to most cheaply.
  const from = new Uint8Array(n * SHIFTS.length);
  const before = new Float64Array(SHIFTS.length);
  for (let i = 1; i < n; i++) {
    before.set(totals);
    for (let k = 0; k < SHIFTS.length; k++) {
      let least = Number.POSITIVE_INFINITY;
      for (let j = 0; j < SHIFTS.length; j++) {
        const total = before[j]! + (j === k ? 0 : change);
        if (total < least) {
          least = total;
          from[i * SHIFTS.length + k] = j;
        }
      }
      totals[k] = least + cost(i, SHIFTS[k]!);
    }
  }
  const least = Math.min(...totals);
  let k = totals.indexOf(least);
  const path = new Array<number>(n);
  for (let i = n - 1; i >= 0; i--) {
    path[i] = SHIFTS[k]!;
    k = from[i * SHIFTS.length + k]!;
  }
  return { cost: least, path };
}

function shiftFinding(
  survey: Survey,
  against: string,
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
    message: `Cycle ${survey.cycle}, ${survey.line}: the offsets from ${station(run.from)} to ${station(run.to)} look written ${way} (${run.to - run.from + 1} rows fit cycle ${against} when moved, and do not where they stand): ${cause}? Check the field sheet.`,
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
  { at }: Sheet,
  model: ShapeModel,
  against: string,
  units: JobUnits,
): Finding[] {
  const findings: Finding[] = [];
  const { scale } = model.fit;
  const say = (metres: number) => formatLength(metres, { units, as: 'offset' });
  const expected = rows.map((row, i) => model.at(row.station, at(i)));
  for (let i = 0; i + 1 < rows.length; i++) {
    const [a, b] = [rows[i]!, rows[i + 1]!];
    const off = (offset: number, at: number) => Math.abs(offset - expected[at]!) / scale;
    if (!(off(a.offset, i) > 4 && off(b.offset, i + 1) > 4)) continue;
    if (!(off(b.offset, i) < 3 && off(a.offset, i + 1) < 3)) continue;
    const [here, there] = [a, b].map((row) => formatLength(row.station, { units, as: 'station' }));
    findings.push({
      severity: 'caution',
      code: 'neighbours-exchanged',
      message: `Cycle ${survey.cycle}, ${survey.line}: the offsets at ${here} (${say(a.offset)}) and ${there} (${say(b.offset)}) look exchanged: about ${say(expected[i]!)} and ${say(expected[i + 1]!)} are expected from cycle ${against}.`,
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

/** Each survey against the two nearest in the same state, one before and one after it where there are both. */
export function orderFindings(surveys: readonly Survey[], readingSd: number, units: JobUnits): Finding[] {
  return surveys.flatMap((survey) => {
    const alike = surveys.filter((other) => other.state === survey.state);
    const at = alike.indexOf(survey);
    const first = Math.max(0, Math.min(at - 1, alike.length - 3));
    const beside = alike.slice(first, first + 3).filter((other) => other !== survey);
    // Of two surveys nobody can tell which is in disorder: the later one, which can still be read again, is named.
    return beside.length === 0 || (at === 0 && beside.length === 1)
      ? []
      : misorderedRows(survey, beside, readingSd, units);
  });
}
