import type { ReadingState } from '../survey/survey.ts';
import { type LengthUnit, parseLength } from '../units/parse-length.ts';
import { COLUMNS, type ColumnName, defaultUnits, type Heading, readHeading } from './headings.ts';
import { type AddProblem, clip } from './problem-list.ts';
import type { ReadOptions } from './read-options.ts';

/** Where everything stands in a file, by column. */
export interface Layout {
  /** `grid`: one panel at one cycle, heights down and stations across. */
  readonly form: 'long' | 'field sheet' | 'grid';
  readonly at: Partial<Record<ColumnName, number>>;
  readonly stationUnit: LengthUnit;
  readonly heightUnit: LengthUnit;
  readonly offsetUnit: LengthUnit;
  readonly sdUnit: LengthUnit;
  readonly temperatureUnit: string;
  readonly cycles: readonly {
    at: number;
    cycle: number;
    state: ReadingState;
    unit: LengthUnit;
    heading: string;
  }[];
  /** Columns of a grid, by station, m. */
  readonly across: readonly { at: number; station: number; heading: string }[];
  readonly width: number;
  readonly headings: readonly string[];
}

export interface ColumnRead {
  readonly heading: string;
  readonly meaning: string;
  /** Unit that bare numbers in it have. */
  readonly unit: string | null;
}

/** A field sheet has a column a cycle; a thousand is no campaign. */
const MOST_COLUMNS = 1000;

/** The line every row belongs to, where the file need not say; null: it must. */
export function onlyLine(options: ReadOptions): string | null {
  return options.line ?? (options.lines?.length === 1 ? options.lines[0]!.name : null);
}

/** What the heading line says; `layout` null where rows under it cannot be read. */
export interface Sheet {
  readonly layout: Layout | null;
  readonly columns: readonly ColumnRead[];
  readonly notRead: readonly string[];
}

/** Reads the heading line: long form, field sheet or grid, units, and every fault in it. */
export function readLayout(
  cells: readonly string[],
  row: number,
  options: ReadOptions,
  add: AddProblem,
): Sheet {
  let faults = 0;
  const problem: AddProblem = (...what) => {
    faults++;
    add(...what);
  };
  if (cells.length > MOST_COLUMNS) {
    problem(row, null, `${cells.length} columns`, `a sheet of readings, at most ${MOST_COLUMNS} columns`);
    return { layout: null, columns: [], notRead: [] };
  }
  const found = readHeadings(cells, row, options, problem);
  const across = gridStations(cells, found.headings, found.at, options);
  const sheet =
    across === null
      ? rowsOfReadings(found, row, options, problem, () => faults)
      : gridOfReadings(found, across, row, options, problem);
  return faults > 0 ? { ...sheet, layout: null } : sheet;
}

/** What the headings say, one by one. */
interface Headings {
  readonly headings: readonly Heading[];
  /** As written, or `column 3`. */
  readonly titles: readonly string[];
  readonly at: Layout['at'];
  readonly unitOf: Partial<Record<ColumnName, LengthUnit | null>>;
  readonly temperatureUnit: string;
  readonly cycles: Layout['cycles'];
  readonly unread: readonly string[];
}

function readHeadings(
  cells: readonly string[],
  row: number,
  options: ReadOptions,
  problem: AddProblem,
): Headings {
  const headings = cells.map((cell) => readHeading(cell));
  const titles = cells.map((cell, i) => (cell.trim() === '' ? `column ${i + 1}` : cell.trim()));
  const defaults = defaultUnits(options.units);
  const at: Partial<Record<ColumnName, number>> = {};
  const unitOf: Partial<Record<ColumnName, LengthUnit | null>> = {};
  let temperatureUnit: string = defaults.temperature;
  const cycles: Layout['cycles'][number][] = [];
  const unread: string[] = [];
  headings.forEach((heading, i) => {
    const name = titles[i]!;
    if (heading.kind === 'column') {
      if (heading.name === 'height' && options.lines?.every((line) => line.heights === undefined)) {
        // A job without panels has no use for heights: such a column is one of the crew's own.
        unread.push(name);
        return;
      }
      if (at[heading.name] !== undefined)
        problem(row, name, `a second "${heading.name}" column`, 'each column once');
      at[heading.name] = i;
      if (heading.name === 'temperature') temperatureUnit = heading.unit ?? temperatureUnit;
      else unitOf[heading.name] = heading.unit as LengthUnit | null;
    } else if (heading.kind === 'cycle') {
      if (cycles.some((c) => c.cycle === heading.cycle && c.state === heading.state)) {
        problem(
          row,
          name,
          `a second column of cycle ${heading.cycle}`,
          'each cycle once (put repeats in a second row of the station)',
        );
      }
      cycles.push({
        at: i,
        cycle: heading.cycle,
        state: heading.state,
        unit: heading.unit ?? defaults.offset,
        heading: name,
      });
    } else if (heading.kind === 'bad-unit') {
      problem(row, name, `the unit "${heading.unit}"`, heading.expected);
    } else if (heading.kind === 'unknown') {
      if (heading.near !== null && !headings.some((h) => h.kind === 'column' && h.name === heading.near)) {
        problem(
          row,
          name,
          `the heading "${clip(name)}"`,
          `one of ${Object.keys(COLUMNS).join(', ')}`,
          `"${heading.near}"?`,
        );
      } else unread.push(name);
    }
  });
  return { headings, titles, at, unitOf, temperatureUnit, cycles, unread };
}

/** Headings closer than this are one station, m. */
const SAME_STATION = 1e-3;

/** A sheet with heights down and stations across. */
function gridOfReadings(
  { titles, at, unitOf, temperatureUnit }: Headings,
  across: Layout['across'],
  row: number,
  options: ReadOptions,
  problem: AddProblem,
): Sheet {
  const defaults = defaultUnits(options.units);
  const heightUnit = unitOf.height ?? defaults.offset;
  if (
    onlyLine(options) === null &&
    options.lines !== null &&
    options.lines.filter((line) => line.heights).length === 0
  )
    problem(row, null, 'a sheet with heights down', 'a job with panels');
  across.forEach(({ station, heading }, i) => {
    if (across.slice(0, i).some((before) => Math.abs(before.station - station) < SAME_STATION))
      problem(
        row,
        heading,
        `a second column of the station ${heading}`,
        'each station once (put repeats in a second row of the height)',
      );
  });
  return {
    layout: {
      ...{ form: 'grid', at, stationUnit: defaults.station, heightUnit, cycles: [], across },
      ...{ offsetUnit: defaults.offset, sdUnit: defaults.offset, temperatureUnit },
      ...{ width: titles.length, headings: titles },
    },
    columns: [
      { heading: titles[at.height!]!, meaning: 'height', unit: heightUnit },
      ...across.map(({ heading }) => ({ heading, meaning: 'offset', unit: defaults.offset })),
    ],
    notRead: [],
  };
}

/** A reading a row, or a station a row with a column a cycle. */
function rowsOfReadings(
  { headings, titles, at, unitOf, temperatureUnit, cycles, unread }: Headings,
  row: number,
  options: ReadOptions,
  problem: AddProblem,
  faults: () => number,
): Sheet {
  const defaults = defaultUnits(options.units);
  const isSheet = cycles.length > 0 && at.cycle === undefined && at.offset === undefined;
  const wanted: ColumnName[] = isSheet ? ['station'] : ['cycle', 'station', 'offset'];
  if (!isSheet && cycles.length > 0) {
    problem(
      row,
      cycles[0]!.heading,
      'a cycle column in a sheet that also has cycle or offset',
      'either columns cycle,line,station,offset or columns station,cycle 0,cycle 1,…',
    );
  }
  const missing = wanted.filter((name) => at[name] === undefined);
  if (missing.length > 0 && faults() === 0) {
    problem(
      row,
      null,
      `the heading ${clip(titles.join(', '))}`,
      isSheet
        ? 'a first column "station"'
        : `columns cycle, station and offset (missing: ${missing.join(', ')}), or station, cycle 0, cycle 1, …${options.lines?.some((line) => line.heights !== undefined) === true ? '; for a panel height, then its stations' : ''}`,
    );
  }
  if (at.line === undefined && onlyLine(options) === null) {
    const names = options.lines?.map((line) => line.name).join(', ');
    problem(
      row,
      'line',
      'no line column',
      names === undefined ? 'a line column' : `a line column, because the job has several lines (${names})`,
    );
  }
  const names = options.lines?.map((line) => line.name);
  if (options.line !== undefined && names !== undefined && !names.includes(options.line)) {
    problem(row, 'line', `the line "${clip(options.line)}"`, `a line of this job (${names.join(', ')})`);
  }
  const stationUnit = unitOf.station ?? defaults.station;
  const heightUnit = unitOf.height ?? defaults.offset;
  const offsetUnit = unitOf.offset ?? defaults.offset;
  const sdUnit = unitOf.sd ?? offsetUnit;
  const columns = headings.flatMap((heading, i) =>
    describe(heading, titles[i]!, { stationUnit, heightUnit, offsetUnit, sdUnit, temperatureUnit, defaults }),
  );
  const layout: Layout = {
    form: isSheet ? 'field sheet' : 'long',
    at,
    stationUnit,
    heightUnit,
    offsetUnit,
    sdUnit,
    temperatureUnit,
    cycles,
    across: [],
    width: titles.length,
    headings: titles,
  };
  return { layout, columns, notRead: unread };
}

/**
 * Stations across the head of a grid: a first column `height`, every other heading a station. Null: no such sheet.
 * Plain numbers are in the job's unit of stations, whatever the heights are in.
 */
function gridStations(
  cells: readonly string[],
  headings: readonly Heading[],
  at: Partial<Record<ColumnName, number>>,
  options: ReadOptions,
): Layout['across'] | null {
  if (at.height !== 0 || Object.keys(at).length > 1 || headings.length < 2) return null;
  const { station: unit } = defaultUnits(options.units);
  const across: { at: number; station: number; heading: string }[] = [];
  for (let i = 1; i < cells.length; i++) {
    if (headings[i]!.kind === 'empty') continue;
    const parsed = parseLength(cells[i]!, { unit, station: true, dashed: options.dashed ?? null });
    if (!parsed.ok) return null;
    across.push({ at: i, station: parsed.metres, heading: cells[i]!.trim() });
  }
  return across.length > 0 ? across : null;
}

function describe(
  heading: Heading,
  name: string,
  u: {
    stationUnit: string;
    heightUnit: string;
    offsetUnit: string;
    sdUnit: string;
    temperatureUnit: string;
    defaults: { offset: string };
  },
): { heading: string; meaning: string; unit: string | null }[] {
  if (heading.kind === 'cycle') {
    return [
      {
        heading: name,
        meaning: `offset, cycle ${heading.cycle} ${heading.state}`,
        unit: heading.unit ?? u.defaults.offset,
      },
    ];
  }
  if (heading.kind !== 'column') return [];
  const unit =
    heading.name === 'station'
      ? u.stationUnit
      : heading.name === 'height'
        ? u.heightUnit
        : heading.name === 'offset'
          ? u.offsetUnit
          : heading.name === 'sd'
            ? u.sdUnit
            : heading.name === 'temperature'
              ? u.temperatureUnit.toUpperCase()
              : null;
  return [{ heading: name, meaning: heading.name, unit }];
}
