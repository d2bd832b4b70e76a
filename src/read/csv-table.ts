import type { Problem } from '../input-error.ts';
import { closest } from '../job/closest.ts';
import type { Job, JobUnits } from '../job/job.ts';
import { foldFieldText } from '../units/field-text.ts';
import { parseLength } from '../units/parse-length.ts';
import { parseQuantity } from '../units/parse-quantity.ts';
import type { Cell } from './cells.ts';
import { type ColumnKind, type Columns, defaultUnit, readColumnHeading } from './column-heading.ts';
import { csvRecords, TOO_LONG } from './csv-records.ts';
import { type AddProblem, problemList, shown } from './problem-list.ts';

/** Faults told of one file; the rest are counted. */
const MOST_PROBLEMS = 200;
/** Rows of one table kept by hand: a crew of twenty heats an hour takes a year to fill it. */
const MOST_ROWS = 20_000;

export interface TableForm<N extends string> {
  readonly file: string;
  readonly columns: Columns<N>;
  readonly units: JobUnits;
  readonly dashed?: Job['dashedLengths'];
  /** Columns without which no row can be read. */
  readonly needed: readonly N[];
  /** Anything else the heading line must have: what was found and what was expected; null where it is all right. */
  readonly alsoNeeded?: (has: (name: N) => boolean) => readonly [found: string, expected: string] | null;
  /** What an empty file should have had. */
  readonly expected: string;
  /** Told of every row that is not blank; what it finds wrong it tells through the row. */
  readonly row: (row: TableRow<N>) => void;
}

/** One row of a table, read cell by cell; a cell with a fault is reported once and gives null. */
export interface TableRow<N extends string> {
  /** File line. */
  readonly row: number;
  /** Trimmed; '' where the column or the cell is missing. */
  text(name: N): string;
  /** Null where blank. */
  words(name: N): string | null;
  /** A cell read by a reader of its own; blank cells are given to it too. */
  cell<T>(name: N, read: (text: string) => Cell<T>): T | null;
  /** A number in SI by the kind of the column (m, °C, rad, Pa, or plain); null where blank. */
  number(name: N, range?: Range): number | null;
  fault(name: N, expected: string, suggestion?: string): null;
  /** Whether nothing was found wrong in this row so far. */
  good(): boolean;
}

export interface Range {
  readonly from: number;
  readonly to: number;
  readonly expected: string;
}

export interface TableResult<N extends string> {
  readonly problems: readonly Problem[];
  /** Faults found, those not listed included. */
  readonly count: number;
  /** Headings that mean nothing here; their cells are not read. */
  readonly notRead: readonly string[];
  /** Unit each heading names, where it names one. */
  readonly unit: Partial<Readonly<Record<N, string>>>;
}

interface Layout<N extends string> {
  readonly at: Partial<Record<N, number>>;
  readonly unit: Partial<Record<N, string>>;
  readonly headings: readonly string[];
}

/**
 * Reads a CSV with one heading line and one thing a row: `,` `;` or tab, columns in any order, `#` comment lines. Units
 * stand in the heading, else in the cell, else they are the job's. Never throws for what is in the text: every fault
 * is in `problems`, with file, row and column.
 */
export function readTable<N extends string>(text: string, form: TableForm<N>): TableResult<N> {
  const list = problemList(form.file, MOST_PROBLEMS);
  let layout: Layout<N> | null = null;
  let headingSeen = false;
  let notRead: readonly string[] = [];
  let rows = 0;
  const records = csvRecords({
    record: (cells, row) => {
      if (!headingSeen) {
        headingSeen = true;
        const read = readLayout(cells, row, form, list.add);
        notRead = read.notRead;
        layout = read.layout;
      } else if (layout !== null && ++rows <= MOST_ROWS) readRow(layout, cells, row);
    },
    tooLong: (row) => list.add(row, null, ...TOO_LONG),
    brokenQuote: (row) =>
      list.add(row, null, 'a quote that does not close', 'quotes around whole cells only'),
  });
  if (/[\0\ufffd]/.test(text))
    list.add(0, null, 'characters that are not UTF-8 text', 'a CSV saved as UTF-8');
  records.push(text);
  records.end();
  if (rows > MOST_ROWS) {
    list.add(
      0,
      null,
      `${rows} rows`,
      `a table kept by hand, at most ${MOST_ROWS} rows (part it among several jobs)`,
    );
  }
  if (!headingSeen && list.count() === 0) list.add(0, null, 'no heading line', form.expected);
  // TypeScript cannot see the assignment inside the record handler.
  const found = layout as Layout<N> | null;
  return { problems: list.problems, count: list.count(), notRead, unit: found?.unit ?? {} };

  function readRow(layout: Layout<N>, cells: readonly string[], row: number): void {
    if (cells.every((cell) => cell.trim() === '')) return;
    if (cells.slice(layout.headings.length).some((cell) => cell.trim() !== '')) {
      const hint =
        records.delimiter() === ',' ? 'a decimal comma, or a comma inside a cell, needs quotes' : undefined;
      list.add(
        row,
        null,
        `${cells.length} cells`,
        `${layout.headings.length} cells, as in the heading`,
        hint,
      );
      return;
    }
    form.row(tableRow(layout, cells, row, records.delimiter() === ';'));
  }

  function tableRow(
    layout: Layout<N>,
    cells: readonly string[],
    row: number,
    decimalComma: boolean,
  ): TableRow<N> {
    const before = list.count();
    const decimal = (text: string) => (decimalComma ? text.replace(',', '.') : text);
    const text = (name: N) => {
      const at = layout.at[name];
      return at === undefined ? '' : (cells[at] ?? '').trim();
    };
    const fault = (name: N, expected: string, suggestion?: string) => {
      const at = layout.at[name];
      list.add(row, at === undefined ? name : layout.headings[at]!, shown(text(name)), expected, suggestion);
      return null;
    };
    const cell = <T>(name: N, read: (text: string) => Cell<T>): T | null => {
      const result = read(text(name));
      return 'value' in result ? result.value : fault(name, result.expected, result.suggestion);
    };
    const numberCell = (name: N, written: string): Cell<number> => {
      const kind = form.columns[name];
      const unit = layout.unit[name] ?? defaultUnit(kind, form.units);
      return numberOf(written, kind, unit, { decimal, decimalComma, dashed: form.dashed ?? null });
    };
    return {
      row,
      text,
      words: (name) => (text(name) === '' ? null : text(name)),
      cell,
      number: (name, range) =>
        text(name) === '' ? null : cell(name, (written) => inRange(numberCell(name, written), range)),
      fault,
      good: () => list.count() === before,
    };
  }
}

function readLayout<N extends string>(
  cells: readonly string[],
  row: number,
  form: TableForm<N>,
  add: AddProblem,
): { layout: Layout<N> | null; notRead: string[] } {
  let faults = 0;
  const problem: AddProblem = (...what) => {
    faults++;
    add(...what);
  };
  const at: Partial<Record<N, number>> = {};
  const unit: Partial<Record<N, string>> = {};
  const notRead: string[] = [];
  const headings = cells.map((cell, i) => (cell.trim() === '' ? `column ${i + 1}` : cell.trim()));
  cells.forEach((cell, i) => {
    const name = headings[i]!;
    const heading = readColumnHeading(cell, form.columns);
    if (heading.kind === 'empty') return;
    if (heading.kind === 'unknown') {
      if (heading.near === null) notRead.push(name);
      else {
        const known = Object.keys(form.columns).join(', ');
        problem(row, name, `the heading ${shown(cell)}`, `one of ${known}`, `"${heading.near}"?`);
      }
    } else if (heading.kind === 'bad-unit') {
      problem(row, name, `the unit "${heading.unit}"`, heading.expected);
    } else {
      if (at[heading.name] !== undefined)
        problem(row, name, `a second "${heading.name}" column`, 'each column once');
      at[heading.name] = i;
      if (heading.unit !== null) unit[heading.name] = heading.unit;
    }
  });
  const missing = form.needed.filter((name) => at[name] === undefined);
  if (missing.length > 0) {
    problem(row, null, `no ${missing.join(' and no ')} column`, `columns ${form.needed.join(' and ')}`);
  }
  const also = form.alsoNeeded?.((name) => at[name] !== undefined) ?? null;
  if (also !== null) problem(row, null, also[0], also[1]);
  return { layout: faults > 0 ? null : { at, unit, headings }, notRead };
}

function numberOf(
  written: string,
  kind: ColumnKind,
  unit: string,
  how: { decimal: (text: string) => string; decimalComma: boolean; dashed: Job['dashedLengths'] },
): Cell<number> {
  switch (kind) {
    case 'station':
    case 'length': {
      const parsed = parseLength(written, {
        unit: unit as Parameters<typeof parseLength>[1]['unit'],
        station: kind === 'station',
        decimalComma: how.decimalComma,
        dashed: how.dashed,
      });
      if (parsed.ok) return { value: parsed.metres };
      const { expected, suggestion } = parsed;
      return { expected, ...(suggestion === undefined ? {} : { suggestion }) };
    }
    case 'temperature':
    case 'angle':
    case 'stress': {
      const parsed = parseQuantity(how.decimal(written), kind, unit);
      return parsed.ok ? { value: parsed.value } : { expected: parsed.expected };
    }
    default: {
      const cell = how.decimal(foldFieldText(written));
      return /^\d{1,9}(?:\.\d{0,6})?$/.test(cell)
        ? { value: Number(cell) }
        : { expected: 'a plain number (its unit stands in the heading)' };
    }
  }
}

function inRange(cell: Cell<number>, range: Range | undefined): Cell<number> {
  if (range === undefined || !('value' in cell)) return cell;
  return cell.value >= range.from && cell.value <= range.to ? cell : { expected: range.expected };
}

/** A word out of a list, in any case; a near miss is suggested. */
export function wordOf<W extends string>(
  words: readonly W[],
  also: Readonly<Record<string, NoInfer<W>>> = {},
): (text: string) => Cell<W> {
  return (text) => {
    const word = foldFieldText(text).toLowerCase();
    const known = words.find((each) => each === word);
    if (known !== undefined) return { value: known };
    const near = Object.hasOwn(also, word) ? also[word]! : closest(word, words);
    return { expected: `one of ${words.join(', ')}`, ...(near === null ? {} : { suggestion: `${near}?` }) };
  };
}
