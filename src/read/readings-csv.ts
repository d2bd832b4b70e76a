import type { Problem } from '../input-error.ts';
import { closest } from '../job/closest.ts';
import type { Job, JobUnits } from '../job/job.ts';
import { memberExtent, overhang, runsAlongMember } from '../job/plausible.ts';
import type { LineKind, Reading, ReadingState } from '../survey/survey.ts';
import { formatLength } from '../units/format-length.ts';
import { type LengthUnit, type ParsedLength, parseLength, plainLength } from '../units/parse-length.ts';
import { parseQuantity } from '../units/parse-quantity.ts';
import { readCycle, readDate, readState, readTime } from './cells.ts';
import { csvRecords, type Delimiter } from './csv-records.ts';
import { COLUMNS, type ColumnName, defaultUnits, type Heading, readHeading } from './headings.ts';
import { remembered } from './remembered.ts';

/** What the reader must know of the job. */
export interface ReadOptions {
  /** Job-relative name the readings carry. */
  readonly file: string;
  readonly units: JobUnits;
  readonly dashed?: 'eighths' | 'sixteenths' | null;
  /** Lines of the job with the stations that can be on them, m; null: no job, any line name is taken. */
  readonly lines: readonly LineExtent[] | null;
  /** Line of a file without a line column, where the job has several. */
  readonly line?: string;
  /** Problems kept; the rest are only counted. Default 1000. */
  readonly mostProblems?: number;
}

export interface LineExtent {
  readonly name: string;
  readonly kind: LineKind;
  readonly from: number;
  readonly to: number;
  /** What to say when a station is outside, m: the member without the overhang allowed for. Default: from and to. */
  readonly said?: readonly [number, number];
}

/** Options for a file of this job. */
export function readOptions(job: Job, file: string, line?: string): ReadOptions {
  const { from, to } = memberExtent(job);
  const slack = overhang(job.member.span);
  return {
    file,
    units: job.units,
    dashed: job.dashedLengths,
    lines: job.lines.map((entry) => ({
      name: entry.name,
      kind: entry.kind,
      from: runsAlongMember(entry) ? from - slack : Number.NEGATIVE_INFINITY,
      to: runsAlongMember(entry) ? to + slack : Number.POSITIVE_INFINITY,
      said: [from, to],
    })),
    ...(line === undefined ? {} : { line }),
  };
}

/** What is known of a file after reading it. */
export interface ReadSummary {
  readonly form: 'long' | 'field sheet' | null;
  readonly delimiter: Delimiter | null;
  /** Columns used, in file order, with the unit that bare numbers in them have. */
  readonly columns: readonly {
    readonly heading: string;
    readonly meaning: string;
    readonly unit: string | null;
  }[];
  /** Headings that mean nothing here; their cells are kept in the file but not read. */
  readonly notRead: readonly string[];
  /** Records under the heading. */
  readonly rows: number;
  /** Readings delivered. */
  readonly count: number;
  /** Problems found, in file order, at most `mostProblems` of them. */
  readonly problems: readonly Problem[];
  readonly problemCount: number;
  /** File lines that gave at least one problem. */
  readonly badRows: number;
}

export interface ReadResult extends ReadSummary {
  readonly readings: readonly Reading[];
}

/** Reads a whole CSV of readings held in a string. Never throws for what is in the text: every fault is in `problems`. */
export function readReadings(text: string, options: ReadOptions): ReadResult {
  const readings: Reading[] = [];
  const reader = readingsReader(options, (reading) => readings.push(reading));
  reader.push(text);
  return { ...reader.end(), readings };
}

/**
 * Reads a CSV that arrives in pieces, in memory bounded by one piece: readings go to `onReading` and are not kept.
 * `onProgress` is called after every piece with the characters read so far.
 */
export async function streamReadings(
  chunks: AsyncIterable<string>,
  options: ReadOptions,
  onReading: (reading: Reading) => void,
  onProgress?: (characters: number) => void,
): Promise<ReadSummary> {
  const reader = readingsReader(options, onReading);
  let characters = 0;
  for await (const chunk of chunks) {
    reader.push(chunk);
    characters += chunk.length;
    onProgress?.(characters);
  }
  return reader.end();
}

interface Layout {
  readonly form: 'long' | 'field sheet';
  readonly at: Partial<Record<ColumnName, number>>;
  readonly stationUnit: LengthUnit;
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
  readonly width: number;
  readonly headings: readonly string[];
}

/** The reader itself, fed piece by piece; see `readReadings` and `streamReadings`. */
export function readingsReader(options: ReadOptions, onReading: (reading: Reading) => void) {
  const { file, units } = options;
  const most = options.mostProblems ?? 1000;
  const problems: Problem[] = [];
  let problemCount = 0;
  let badRows = 0;
  let lastBadRow = 0;
  let rows = 0;
  let count = 0;
  let layout: Layout | null = null;
  let headingSeen = false;
  let summaryColumns: ReadSummary['columns'] = [];
  let notRead: readonly string[] = [];
  let commaRow = 0;
  let pointRow = 0;
  let garbled = false;
  const known = options.lines === null ? null : new Map(options.lines.map((line) => [line.name, line]));
  const only = options.line ?? (options.lines?.length === 1 ? options.lines[0]!.name : null);
  // Rows of one survey repeat these cells; reading them again and again is a fifth of the time of a large file.
  const cycleOf = remembered(readCycle);
  const stateOf = remembered(readState);
  const dateOf = remembered(readDate);
  const timeOf = remembered(readTime);
  const lengthReaders = new Map<string, (text: string) => ParsedLength>();
  const lineOf = remembered((text) => known?.get(text.trim()));
  const sheet: SheetFacts = { date: new Map(), time: new Map(), temperature: new Map(), state: new Map() };

  function problem(
    row: number,
    column: string | null,
    found: string,
    expected: string,
    suggestion?: string,
  ): void {
    problemCount++;
    if (row !== lastBadRow) {
      badRows++;
      lastBadRow = row;
    }
    if (problems.length >= most) return;
    problems.push({
      file,
      ...(row > 0 ? { row } : {}),
      ...(column === null ? {} : { column }),
      found,
      expected,
      ...(suggestion === undefined ? {} : { suggestion }),
    });
  }

  const records = csvRecords({
    record: (cells, row) => {
      if (!headingSeen) {
        headingSeen = true;
        layout = readLayout(cells, row);
        return;
      }
      rows++;
      if (layout === null) return;
      if (cells.length > layout.width && cells.slice(layout.width).some((cell) => cell.trim() !== '')) {
        const hint =
          records.delimiter() === ',' ? 'a decimal comma, or a comma inside a cell, needs quotes' : undefined;
        problem(row, null, `${cells.length} cells`, `${layout.width} cells, as in the heading`, hint);
        return;
      }
      if (cells[0] === '' && cells.every((cell) => cell.trim() === '')) return;
      if (layout.form === 'long') longRow(layout, cells, row);
      else sheetRow(layout, cells, row);
    },
    brokenQuote: (row, lastRow) => {
      const what =
        lastRow > row
          ? `a quote that does not close, so that lines ${row} to ${lastRow} run together`
          : 'a quote that does not close';
      problem(
        row,
        null,
        what,
        'quotes around whole cells only (an inch mark needs none, or is doubled inside quotes)',
      );
    },
  });

  function readLayout(cells: readonly string[], row: number): Layout | null {
    const headings = cells.map((cell) => readHeading(cell));
    const names = cells.map((cell, i) => (cell.trim() === '' ? `column ${i + 1}` : cell.trim()));
    const before = problemCount;
    const defaults = defaultUnits(units);
    const at: Partial<Record<ColumnName, number>> = {};
    const unitOf: Partial<Record<ColumnName, LengthUnit | null>> = {};
    let temperatureUnit: string = defaults.temperature;
    const cycles: Layout['cycles'][number][] = [];
    const unread: string[] = [];
    headings.forEach((heading, i) => {
      const name = names[i]!;
      if (heading.kind === 'column') {
        if (at[heading.name] !== undefined)
          problem(row, name, `a second "${heading.name}" column`, 'each column once');
        at[heading.name] = i;
        unitOf[heading.name] = heading.unit;
        if (heading.temperature !== null) temperatureUnit = heading.temperature;
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
        problem(
          row,
          name,
          `the unit "${heading.unit}"`,
          heading.name === 'temperature' ? 'F or C' : 'ft, in, m, cm or mm',
        );
      } else if (heading.kind === 'unknown') {
        if (heading.near !== null && !headings.some((h) => h.kind === 'column' && h.name === heading.near)) {
          problem(
            row,
            name,
            `the heading "${clip(name)}"`,
            `one of ${COLUMNS.join(', ')}`,
            `"${heading.near}"?`,
          );
        } else unread.push(name);
      }
    });
    notRead = unread;
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
    if (missing.length > 0 && problemCount === before) {
      problem(
        row,
        null,
        `the heading ${clip(cells.map((cell) => cell.trim()).join(', '))}`,
        isSheet
          ? 'a first column "station"'
          : `columns cycle, station and offset (missing: ${missing.join(', ')}), or station, cycle 0, cycle 1, …`,
      );
    }
    if (at.line === undefined && only === null) {
      const names = options.lines?.map((line) => line.name).join(', ');
      problem(
        row,
        'line',
        'no line column',
        names === undefined ? 'a line column' : `a line column, because the job has several lines (${names})`,
      );
    }
    if (options.line !== undefined && known !== null && !known.has(options.line)) {
      problem(
        row,
        'line',
        `the line "${clip(options.line)}"`,
        `a line of this job (${[...known.keys()].join(', ')})`,
      );
    }
    const stationUnit = unitOf.station ?? defaults.station;
    const offsetUnit = unitOf.offset ?? defaults.offset;
    const sdUnit = unitOf.sd ?? offsetUnit;
    summaryColumns = headings.flatMap((heading, i) =>
      describe(heading, names[i]!, { stationUnit, offsetUnit, sdUnit, temperatureUnit, defaults }),
    );
    if (problemCount > before) return null;
    return {
      form: isSheet ? 'field sheet' : 'long',
      at,
      stationUnit,
      offsetUnit,
      sdUnit,
      temperatureUnit,
      cycles,
      width: cells.length,
      headings: names,
    };
  }

  /** Reader of lengths that are more than a plain decimal, one a unit: fractions repeat all through a file. */
  function writtenLength(unit: LengthUnit, station: boolean): (text: string) => ParsedLength {
    const key = station ? `${unit} station` : unit;
    let read = lengthReaders.get(key);
    if (read === undefined) {
      const decimalComma = records.delimiter() === ';';
      const dashed = options.dashed ?? null;
      read = remembered((text) => parseLength(text, { unit, station, decimalComma, dashed }));
      lengthReaders.set(key, read);
    }
    return read;
  }

  /** A cell as a length in metres, or null after reporting it. */
  function lengthCell(
    text: string,
    unit: LengthUnit,
    station: boolean,
    row: number,
    column: string,
  ): number | null {
    const parsed = plainLength(text, unit) ?? writtenLength(unit, station)(text);
    if (!parsed.ok) {
      problem(row, column, shown(text), parsed.expected, parsed.suggestion);
      return null;
    }
    if (records.delimiter() === ';') noteDecimalMark(text, row);
    return parsed.metres;
  }

  /** In a file with decimal commas a point may be a thousands mark; one file, one mark. */
  function noteDecimalMark(text: string, row: number): void {
    if (commaRow === 0 && text.includes(',')) commaRow = row;
    if (pointRow === 0 && text.includes('.') && /\d\.\d/.test(text)) pointRow = row;
  }

  function stationCell(form: Layout, cells: readonly string[], row: number): number | null {
    return lengthCell(
      cells[form.at.station!] ?? '',
      form.stationUnit,
      true,
      row,
      form.headings[form.at.station!]!,
    );
  }

  function lineCell(form: Layout, cells: readonly string[], row: number): string | null {
    if (form.at.line === undefined) return only;
    const text = cells[form.at.line] ?? '';
    const line = lineOf(text);
    if (line !== undefined) return line.name;
    const name = text.trim();
    if (name === '') {
      if (only !== null) return only;
      problem(row, form.headings[form.at.line]!, 'nothing', 'the name of a line');
      return null;
    }
    if (known === null) return name;
    const names = [...known.keys()];
    const near = closest(name, names);
    problem(
      row,
      form.headings[form.at.line]!,
      shown(name),
      `a line of this job (${names.join(', ')})`,
      near === null ? undefined : `"${near}"?`,
    );
    return null;
  }

  function onLine(name: string | null, station: number | null, form: Layout, row: number): boolean {
    if (name === null || station === null) return false;
    const extent = known?.get(name);
    if (extent === undefined || (station >= extent.from && station <= extent.to)) return true;
    const say = (metres: number) => formatLength(metres, { units, as: 'station', fraction: 2 });
    const inOther = otherUnit(station, extent, units);
    problem(
      row,
      form.headings[form.at.station!]!,
      `the station ${say(station)}`,
      `a station on the member, ${say(extent.said?.[0] ?? extent.from)} to ${say(extent.said?.[1] ?? extent.to)}`,
      inOther,
    );
    return false;
  }

  function optional<T>(
    form: Layout,
    cells: readonly string[],
    name: ColumnName,
    row: number,
    read: (text: string) => { value: T } | { expected: string; suggestion?: string },
    blank: T,
  ): T | undefined {
    const at = form.at[name];
    if (at === undefined) return blank;
    const text = cells[at] ?? '';
    if (text === '') return blank;
    const cell = read(text);
    if ('value' in cell) return cell.value;
    problem(row, form.headings[at]!, shown(text), cell.expected, cell.suggestion);
    return undefined;
  }

  function temperatureOf(text: string, unit: string): { value: number | null } | { expected: string } {
    if (text.trim() === '') return { value: null };
    const parsed = parseQuantity(
      records.delimiter() === ';' ? text.replace(',', '.') : text,
      'temperature',
      unit,
    );
    if (!parsed.ok) return { expected: parsed.expected };
    // Steel that is read is between deep frost and heating temperature; outside, the column or unit is wrong.
    return parsed.value >= -60 && parsed.value <= 800
      ? { value: parsed.value }
      : { expected: 'a steel temperature between -60 and 800 °C' };
  }

  function longRow(form: Layout, cells: readonly string[], row: number): void {
    const cycleText = cells[form.at.cycle!] ?? '';
    const cycle = cycleOf(cycleText);
    if (!('value' in cycle))
      problem(row, form.headings[form.at.cycle!]!, shown(cycleText), cycle.expected, cycle.suggestion);
    const line = lineCell(form, cells, row);
    const station = stationCell(form, cells, row);
    const offset = lengthCell(
      cells[form.at.offset!] ?? '',
      form.offsetUnit,
      false,
      row,
      form.headings[form.at.offset!]!,
    );
    const state = optional(form, cells, 'state', row, stateOf, 'released' as ReadingState);
    const date = optional(form, cells, 'date', row, dateOf, null);
    const time = optional(form, cells, 'time', row, timeOf, null);
    const temperature = optional(
      form,
      cells,
      'temperature',
      row,
      (text) => temperatureOf(text, form.temperatureUnit),
      null,
    );
    const sd = sdCell(form, cells, row);
    const placed = onLine(line, station, form, row);
    if (!('value' in cycle) || !placed || offset === null) return;
    if (
      state === undefined ||
      date === undefined ||
      time === undefined ||
      temperature === undefined ||
      sd === undefined
    )
      return;
    deliver({
      cycle: cycle.value,
      line: line!,
      station: station!,
      offset,
      state,
      sd,
      temperature,
      date,
      time,
      note: noteCell(form, cells),
      file,
      row,
    });
  }

  function sdCell(form: Layout, cells: readonly string[], row: number): number | null | undefined {
    const at = form.at.sd;
    const text = at === undefined ? '' : (cells[at] ?? '').trim();
    if (at === undefined || text === '') return null;
    const sd = lengthCell(text, form.sdUnit, false, row, form.headings[at]!);
    if (sd === null) return undefined;
    if (sd > 0) return sd;
    problem(row, form.headings[at]!, shown(text), 'a standard deviation above zero');
    return undefined;
  }

  function noteCell(form: Layout, cells: readonly string[]): string | null {
    const text = form.at.note === undefined ? '' : (cells[form.at.note] ?? '').trim();
    return text === '' ? null : text;
  }

  /** `date`, `time`, `temperature` and `state` can stand in the station column above the readings: one value a cycle. */
  function sheetRow(form: Layout, cells: readonly string[], row: number): void {
    const label = (cells[form.at.station!] ?? '').trim().toLowerCase();
    if (label === 'date' || label === 'time' || label === 'temperature' || label === 'state') {
      for (const column of form.cycles) {
        const text = cells[column.at] ?? '';
        if (text.trim() === '') continue;
        const cell =
          label === 'date'
            ? readDate(text)
            : label === 'time'
              ? readTime(text)
              : label === 'state'
                ? readState(text)
                : temperatureOf(text, form.temperatureUnit);
        if ('value' in cell) (sheet[label] as Map<number, unknown>).set(column.at, cell.value);
        else
          problem(
            row,
            column.heading,
            shown(text),
            cell.expected,
            'suggestion' in cell ? cell.suggestion : undefined,
          );
      }
      return;
    }
    const line = lineCell(form, cells, row);
    const station = stationCell(form, cells, row);
    const placed = onLine(line, station, form, row);
    const sd = sdCell(form, cells, row);
    const note = noteCell(form, cells);
    for (const column of form.cycles) {
      const text = cells[column.at] ?? '';
      if (text.trim() === '') continue;
      const offset = lengthCell(text, column.unit, false, row, column.heading);
      if (!placed || offset === null || sd === undefined) continue;
      deliver({
        cycle: column.cycle,
        line: line!,
        station: station!,
        offset,
        state: sheet.state.get(column.at) ?? column.state,
        sd,
        temperature: sheet.temperature.get(column.at) ?? null,
        date: sheet.date.get(column.at) ?? null,
        time: sheet.time.get(column.at) ?? null,
        note,
        file,
        row,
      });
    }
  }

  function deliver(reading: Reading): void {
    count++;
    onReading(reading);
  }

  return {
    push(chunk: string): void {
      if (!garbled && (chunk.includes('\0') || chunk.includes('\ufffd'))) {
        garbled = true;
        problem(0, null, 'characters that are not UTF-8 text', 'a CSV saved as UTF-8');
      }
      records.push(chunk);
    },
    end(): ReadSummary {
      records.end();
      if (!headingSeen && problemCount === 0)
        problem(
          0,
          null,
          'no heading line',
          'columns cycle, line, station, offset, or station, cycle 0, cycle 1, …',
        );
      if (commaRow > 0 && pointRow > 0) {
        problem(
          Math.max(commaRow, pointRow),
          null,
          `a decimal comma in line ${commaRow} and a point in line ${pointRow}`,
          'one decimal mark in the whole file',
        );
      }
      return {
        form: layout?.form ?? null,
        delimiter: records.delimiter(),
        columns: summaryColumns,
        notRead,
        rows,
        count,
        problems,
        problemCount,
        badRows,
      };
    },
  };
}

interface SheetFacts {
  readonly date: Map<number, string | null>;
  readonly time: Map<number, string | null>;
  readonly temperature: Map<number, number | null>;
  readonly state: Map<number, ReadingState>;
}

function describe(
  heading: Heading,
  name: string,
  u: {
    stationUnit: string;
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
      : heading.name === 'offset'
        ? u.offsetUnit
        : heading.name === 'sd'
          ? u.sdUnit
          : heading.name === 'temperature'
            ? u.temperatureUnit.toUpperCase()
            : null;
  return [{ heading: name, meaning: heading.name, unit }];
}

/** A station that fits when its number is taken in another unit. */
function otherUnit(station: number, extent: LineExtent, units: JobUnits): string | undefined {
  const fits = (factor: number) => {
    const value = station * factor;
    return value >= extent.from && value <= extent.to;
  };
  if (units === 'us') return fits(1 / 12) ? 'inches in a feet column?' : undefined;
  if (fits(0.001)) return 'millimetres in a metres column?';
  return fits(0.3048) ? 'feet in a metres column?' : undefined;
}

function clip(text: string): string {
  return text.length > 60 ? `${text.slice(0, 57)}…` : text;
}

function shown(text: string): string {
  return text.trim() === '' ? 'nothing' : `"${clip(text.trim())}"`;
}
