import type { Problem } from '../input-error.ts';
import type { Reading, ReadingState } from '../survey/survey.ts';
import { readCycle, readDate, readState, readTime } from './cells.ts';
import { csvRecords, type Delimiter, TOO_LONG } from './csv-records.ts';
import { problemList, shown } from './problem-list.ts';
import type { ReadOptions } from './read-options.ts';
import { remembered } from './remembered.ts';
import { rowCells } from './row-cells.ts';
import { type ColumnRead, type Layout, readLayout } from './sheet-layout.ts';

const SWALLOWED = 'a row inside the quote that opens in line ';

/** The line whose open quote swallowed the row of this problem; null where it is another problem. */
export function swallowedBy({ found }: Problem): number | null {
  return found.startsWith(SWALLOWED) ? Number.parseInt(found.slice(SWALLOWED.length), 10) : null;
}

/** What is known of a file after reading it. */
export interface ReadSummary {
  readonly form: 'long' | 'field sheet' | 'grid' | null;
  readonly delimiter: Delimiter | null;
  /** Columns used, in file order, with the unit that bare numbers in them have. */
  readonly columns: readonly ColumnRead[];
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

/** The reader itself, fed piece by piece; see `readReadings` and `streamReadings`. */
export function readingsReader(options: ReadOptions, onReading: (reading: Reading) => void) {
  const { file } = options;
  const faults = problemList(file, options.mostProblems ?? 1000);
  const problem = faults.add;
  let rows = 0;
  let count = 0;
  let layout: Layout | null = null;
  let headingSeen = false;
  let columns: readonly ColumnRead[] = [];
  let notRead: readonly string[] = [];
  let garbled = false;
  // Rows of one survey repeat these cells; reading them again and again is a fifth of the time of a large file.
  const cycleOf = remembered(readCycle);
  const stateOf = remembered(readState);
  const dateOf = remembered(readDate);
  const timeOf = remembered(readTime);
  let grid: GridFacts = {};
  const sheet: SheetFacts = { date: new Map(), time: new Map(), temperature: new Map(), state: new Map() };

  const records = csvRecords({
    record: (cells, row) => {
      if (!headingSeen) {
        headingSeen = true;
        // Not text at all, which is said already: its bytes are no headings to complain of.
        if (cells.some((cell) => cell.includes('\0'))) return;
        ({ layout, columns, notRead } = readLayout(cells, row, options, problem));
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
      const before = faults.count();
      if (layout.form === 'long') longRow(layout, cells, row);
      else if (layout.form === 'grid') gridRow(layout, cells, row);
      else sheetRow(layout, cells, row);
      // A quote that closes far below makes one cell of many rows; only a note may hold lines.
      if (faults.count() === before) return;
      const { note } = layout.at;
      const lines = cells.map((cell, at) => (at === note ? 0 : cell.split('\n').length - 1));
      swallowed(
        row,
        lines.reduce((sum, each) => sum + each, row),
      );
    },
    tooLong: (row) => problem(row, null, ...TOO_LONG),
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
      swallowed(row, lastRow);
    },
  });

  /** Rows inside a quote that opens in `row`: each is a row that is not read, and is said and counted as one. */
  function swallowed(row: number, lastRow: number): void {
    for (let lost = row + 1; lost <= lastRow; lost++) {
      rows++;
      problem(lost, null, `${SWALLOWED}${row}`, 'a row of its own');
    }
  }

  const {
    lengthCell,
    stationCell,
    lineCell,
    heightCell,
    onPanel,
    onLine,
    optional,
    temperatureOf,
    sdCell,
    noteCell,
  } = rowCells(options, problem, records.delimiter);

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
    const height = heightCell(line, form, cells, row);
    if (height === undefined) return;
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
      ...(height === null ? {} : { height }),
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
    const height = heightCell(line, form, cells, row);
    for (const column of form.cycles) {
      const text = cells[column.at] ?? '';
      if (text.trim() === '') continue;
      const offset = lengthCell(text, column.unit, false, row, column.heading);
      if (!placed || offset === null || sd === undefined || height === undefined) continue;
      deliver({
        cycle: column.cycle,
        line: line!,
        station: station!,
        ...(height === null ? {} : { height }),
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

  /**
   * A row of a grid: a height and its offsets. Rows of words above them say what they are of: `cycle`, `panel` (or `line`),
   * `date`, `time`, `temperature`, `state`, each with one value in a cell beside it; a new `cycle` starts the next survey.
   */
  function gridRow(form: Layout, cells: readonly string[], row: number): void {
    const label = (cells[0] ?? '').trim().toLowerCase();
    if (Object.hasOwn(GRID_FACTS, label)) {
      const at = cells.findIndex((cell, i) => i > 0 && cell.trim() !== '');
      if (at < 0) return;
      const text = cells[at]!;
      const cell =
        label === 'cycle'
          ? cycleOf(text)
          : label === 'date'
            ? readDate(text)
            : label === 'time'
              ? readTime(text)
              : label === 'state'
                ? readState(text)
                : label === 'temperature'
                  ? temperatureOf(text, form.temperatureUnit)
                  : panelCell(text);
      if ('value' in cell) {
        const what = label === 'line' ? 'panel' : label;
        // What was said of one cycle is not said of the next.
        if (what === 'cycle') grid = grid.panel === undefined ? {} : { panel: grid.panel };
        grid = { ...grid, [what]: cell.value };
      } else {
        if (label === 'cycle') grid = grid.panel === undefined ? {} : { panel: grid.panel };
        const hint = 'suggestion' in cell ? cell.suggestion : undefined;
        problem(row, label, shown(text), cell.expected, hint);
      }
      return;
    }
    if (grid.cycle === undefined) {
      problem(row, null, 'offsets before a row that says the cycle', 'a row such as "cycle, 3" above them');
      return;
    }
    const panel = grid.panel ?? onlyPanel();
    if (panel === null) {
      problem(
        row,
        null,
        'offsets before a row that says the panel',
        'a row such as "panel, web-3" above them',
      );
      return;
    }
    const height = lengthCell(cells[0] ?? '', form.heightUnit, false, row, form.headings[0]!);
    if (height === null || !onPanel(panel, height, row, form.headings[0]!)) return;
    for (const column of form.across) {
      const text = cells[column.at] ?? '';
      if (text.trim() === '') continue;
      if (!onLine(panel, column.station, { ...form, at: { station: column.at } }, row)) continue;
      const offset = lengthCell(text, form.offsetUnit, false, row, column.heading);
      if (offset === null) continue;
      deliver({
        cycle: grid.cycle,
        line: panel,
        station: column.station,
        height,
        offset,
        state: grid.state ?? 'released',
        sd: null,
        temperature: grid.temperature ?? null,
        date: grid.date ?? null,
        time: grid.time ?? null,
        note: null,
        file,
        row,
      });
    }
  }

  function onlyPanel(): string | null {
    if (options.line !== undefined) return options.line;
    const panels = options.lines?.filter((line) => line.heights !== undefined) ?? [];
    return panels.length === 1 ? panels[0]!.name : null;
  }

  function panelCell(text: string): { value: string } | { expected: string } {
    const name = text.trim();
    const panels = options.lines?.filter((line) => line.heights !== undefined);
    if (panels === undefined || panels.some((panel) => panel.name === name)) return { value: name };
    return { expected: `a panel of this job (${panels.map((panel) => panel.name).join(', ')})` };
  }

  function deliver(reading: Reading): void {
    count++;
    onReading(reading);
  }

  return {
    push(chunk: string): void {
      if (!garbled && (chunk.includes('\0') || chunk.includes('\ufffd'))) {
        garbled = true;
        problem(
          0,
          null,
          chunk.includes('\0')
            ? 'characters that are not UTF-8 text'
            : 'characters that are not UTF-8 text (saved as Latin-1 or Windows-1252?)',
          'a CSV saved as UTF-8',
        );
      }
      records.push(chunk);
    },
    end(): ReadSummary {
      records.end();
      if (!headingSeen && faults.count() === 0)
        problem(
          0,
          null,
          'no heading line',
          'columns cycle, line, station, offset, or station, cycle 0, cycle 1, …',
        );
      return {
        form: layout?.form ?? null,
        delimiter: records.delimiter(),
        columns,
        notRead,
        rows,
        count,
        problems: faults.problems,
        problemCount: faults.count(),
        badRows: faults.rows(),
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

/** Words a row of a grid may begin with. */
const GRID_FACTS: Readonly<Record<string, true>> = {
  cycle: true,
  panel: true,
  line: true,
  date: true,
  time: true,
  temperature: true,
  state: true,
};

/** What the rows above the offsets of a grid said. */
interface GridFacts {
  readonly cycle?: number;
  readonly panel?: string;
  readonly date?: string | null;
  readonly time?: string | null;
  readonly temperature?: number | null;
  readonly state?: ReadingState;
}
