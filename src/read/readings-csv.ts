import type { Problem } from '../input-error.ts';
import type { Reading } from '../survey/survey.ts';
import { csvRecords, type Delimiter, TOO_LONG } from './csv-records.ts';
import { fieldSheetRows } from './field-sheet-rows.ts';
import { gridRows, isFact } from './grid-rows.ts';
import { longRows } from './long-rows.ts';
import { clip, problemList } from './problem-list.ts';
import type { ReadOptions } from './read-options.ts';
import { rowCells } from './row-cells.ts';
import type { RowReader, RowTools } from './row-reader.ts';
import { type ColumnRead, type Layout, readLayout } from './sheet-layout.ts';

const SWALLOWED = 'a row inside the quote that opens in line ';

/** The line whose open quote swallowed the row of this problem; null where it is another problem. */
export function swallowedBy({ found }: Problem): number | null {
  return found.startsWith(SWALLOWED) ? Number.parseInt(found.slice(SWALLOWED.length), 10) : null;
}

/** Rows above the heading of a grid, at most: one of each kind, and some to spare. */
const MOST_ABOVE = 12;

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
  const { file, mostProblems = 1000 } = options;
  const faults = problemList(file, mostProblems);
  const problem = faults.add;
  let rows = 0;
  let count = 0;
  let layout: Layout | null = null;
  let headingSeen = false;
  /** Rows above the heading that say what a grid is of. */
  const above: { cells: string[]; row: number }[] = [];
  let columns: readonly ColumnRead[] = [];
  let notRead: readonly string[] = [];
  /** What shows that the file is no UTF-8 text: a zero byte (no text at all), a byte of another encoding. */
  let zeros = false;
  let foreign = false;

  const records = csvRecords({
    record: (cells, row) => {
      if (!headingSeen) {
        if (above.length < MOST_ABOVE && isFact(cells)) {
          above.push({ cells, row });
          return;
        }
        headingSeen = true;
        // Not text at all, which is said already: its bytes are no headings to complain of.
        if (cells.some((cell) => cell.includes('\0'))) return;
        ({ layout, columns, notRead } = readLayout(cells, row, options, problem));
        readAbove();
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
      readers[layout.form](layout, cells, row);
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

  /** A crew writes cycle and panel over the heading as well as under it. */
  function readAbove(): void {
    for (const { cells, row } of above) {
      rows++;
      if (layout?.form === 'grid') readers.grid(layout, cells, row);
      else if (layout !== null)
        problem(
          row,
          null,
          `"${clip(cells.join(', '))}" above the heading`,
          'the heading first; only a sheet with heights down and stations across has such rows',
        );
    }
  }

  /** Rows inside a quote that opens in `row`: each is a row that is not read, and is said and counted as one. */
  function swallowed(row: number, lastRow: number): void {
    for (let lost = row + 1; lost <= lastRow; lost++) {
      rows++;
      problem(lost, null, `${SWALLOWED}${row}`, 'a row of its own');
    }
  }

  const tools: RowTools = {
    options,
    cells: rowCells(options, problem, records.delimiter),
    problem,
    deliver: (reading) => {
      count++;
      onReading(reading);
    },
  };
  const readers: Record<Layout['form'], RowReader> = {
    long: longRows(tools),
    'field sheet': fieldSheetRows(tools),
    grid: gridRows(tools),
  };

  return {
    push(chunk: string): void {
      zeros ||= chunk.includes('\0');
      foreign ||= chunk.includes('\ufffd');
      records.push(chunk);
    },
    end(): ReadSummary {
      records.end();
      // Said first, but known only at the end: where a file is cut into blocks must not change what is said of it.
      const whole = problemList(file, 1);
      if (zeros || foreign)
        whole.add(
          0,
          null,
          zeros
            ? 'characters that are not UTF-8 text'
            : 'characters that are not UTF-8 text (saved as Latin-1 or Windows-1252?)',
          'a CSV saved as UTF-8',
        );
      if (!headingSeen && whole.count() + faults.count() === 0)
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
        problems: [...whole.problems, ...faults.problems].slice(0, mostProblems),
        problemCount: whole.count() + faults.count(),
        badRows: faults.rows(),
      };
    },
  };
}
