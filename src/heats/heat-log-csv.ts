import type { Problem } from '../input-error.ts';
import { closest } from '../job/closest.ts';
import type { Job, JobUnits } from '../job/job.ts';
import { memberExtent, overhang } from '../job/plausible.ts';
import { type Cell, readCycle, readDate, readTime } from '../read/cells.ts';
import { csvRecords } from '../read/csv-records.ts';
import { foldFieldText } from '../units/field-text.ts';
import { formatLength } from '../units/format-length.ts';
import { type LengthUnit, lengthUnit, parseLength } from '../units/parse-length.ts';
import { parseQuantity, type QuantityKind, quantityUnit } from '../units/parse-quantity.ts';
import { type Heat, type HeatLog, PATTERNS, type Pattern } from './heat-log.ts';

/** What a column holds, which decides the units its heading may name. */
const COLUMNS = {
  cycle: 'count',
  line: 'words',
  zone: 'words',
  station: 'station',
  pattern: 'words',
  angle: 'angle',
  depth: 'length',
  width: 'length',
  apex: 'words',
  temperature: 'temperature',
  before: 'temperature',
  date: 'words',
  time: 'words',
  pressure: 'stress',
  torch: 'words',
  gas: 'amount',
  cost: 'amount',
  note: 'words',
} as const;
type ColumnName = keyof typeof COLUMNS;
const NAMES = Object.keys(COLUMNS) as ColumnName[];

const QUANTITIES: Partial<Record<(typeof COLUMNS)[ColumnName], QuantityKind>> = {
  angle: 'angle',
  temperature: 'temperature',
  stress: 'stress',
};

export interface HeatLogResult {
  readonly log: HeatLog;
  readonly problems: readonly Problem[];
  /** Headings that mean nothing here; their cells are not read. */
  readonly notRead: readonly string[];
}

interface Layout {
  readonly at: Partial<Record<ColumnName, number>>;
  readonly unit: Partial<Record<ColumnName, string>>;
  readonly headings: readonly string[];
}

/**
 * Reads a heat log: a CSV with a heading, `,` `;` or tab, one heat a row, columns in any order. `cycle` and
 * `pattern` are needed, and `zone` or `station` in every row; the rest may be missing or blank. Units stand in the
 * heading (`temperature_F`, `pressure (psi)`), else in the cell, else they are the job's. Never throws for what is
 * in the text: every fault is in `problems`, and a row with one gives no heat.
 */
export function readHeatLog(text: string, job: Job, file: string): HeatLogResult {
  const { units } = job;
  const problems: Problem[] = [];
  const heats: Heat[] = [];
  let layout: Layout | null = null;
  let headingSeen = false;
  let notRead: string[] = [];
  const problem = (
    row: number,
    column: string | null,
    found: string,
    expected: string,
    suggestion?: string,
  ) =>
    problems.push({
      file,
      ...(row > 0 ? { row } : {}),
      ...(column === null ? {} : { column }),
      found,
      expected,
      ...(suggestion === undefined ? {} : { suggestion }),
    });

  const records = csvRecords({
    record: (cells, row) => {
      if (!headingSeen) {
        headingSeen = true;
        layout = readLayout(cells, row);
      } else if (layout !== null) readRow(layout, cells, row);
    },
    brokenQuote: (row) => {
      problem(row, null, 'a quote that does not close', 'quotes around whole cells only');
    },
  });
  if (/[\0\ufffd]/.test(text)) problem(0, null, 'characters that are not UTF-8 text', 'a CSV saved as UTF-8');
  records.push(text);
  records.end();
  if (!headingSeen && problems.length === 0) {
    problem(
      0,
      null,
      'no heading line',
      `columns cycle, pattern, zone or station, and any of ${NAMES.slice(5).join(', ')}`,
    );
  }
  // TypeScript cannot see the assignment inside the record handler.
  const found = layout as Layout | null;
  return {
    log: { heats, gasUnit: found?.unit.gas ?? null, currency: found?.unit.cost ?? null },
    problems,
    notRead,
  };

  function readLayout(cells: readonly string[], row: number): Layout | null {
    const before = problems.length;
    const at: Layout['at'] = {};
    const unit: Layout['unit'] = {};
    const headings = cells.map((cell, i) => (cell.trim() === '' ? `column ${i + 1}` : cell.trim()));
    notRead = [];
    cells.forEach((cell, i) => {
      const heading = readHeading(cell);
      if (heading.kind === 'empty') return;
      if (heading.kind === 'unknown') {
        if (heading.near === null) notRead.push(headings[i]!);
        else
          problem(
            row,
            headings[i]!,
            `the heading ${shown(cell)}`,
            `one of ${NAMES.join(', ')}`,
            `"${heading.near}"?`,
          );
      } else if (heading.kind === 'bad-unit') {
        problem(row, headings[i]!, `the unit "${heading.unit}"`, heading.expected);
      } else {
        if (at[heading.name] !== undefined)
          problem(row, headings[i]!, `a second "${heading.name}" column`, 'each column once');
        at[heading.name] = i;
        if (heading.unit !== null) unit[heading.name] = heading.unit;
      }
    });
    const missing = (['cycle', 'pattern'] as const).filter((name) => at[name] === undefined);
    if (missing.length > 0)
      problem(row, null, `no ${missing.join(' and no ')} column`, 'columns cycle and pattern');
    if (at.zone === undefined && at.station === undefined) {
      problem(
        row,
        null,
        'neither a zone nor a station column',
        'where each heat was made: zone, station or both',
      );
    }
    return problems.length > before ? null : { at, unit, headings };
  }

  function readRow(form: Layout, cells: readonly string[], row: number): void {
    if (cells.every((cell) => cell.trim() === '')) return;
    const before = problems.length;
    if (cells.slice(form.headings.length).some((cell) => cell.trim() !== '')) {
      const hint =
        records.delimiter() === ',' ? 'a decimal comma, or a comma inside a cell, needs quotes' : undefined;
      problem(row, null, `${cells.length} cells`, `${form.headings.length} cells, as in the heading`, hint);
      return;
    }
    const text = (name: ColumnName) =>
      form.at[name] === undefined ? '' : (cells[form.at[name]] ?? '').trim();
    const words = (name: ColumnName) => (text(name) === '' ? null : text(name));
    const fault = (name: ColumnName, expected: string, suggestion?: string) => {
      problem(
        row,
        form.at[name] === undefined ? name : form.headings[form.at[name]]!,
        shown(text(name)),
        expected,
        suggestion,
      );
      return null;
    };
    const cell = <T>(name: ColumnName, read: (text: string) => Cell<T>): T | null => {
      const result = read(text(name));
      return 'value' in result ? result.value : fault(name, result.expected, result.suggestion);
    };
    const amount = (name: ColumnName, read: (text: string) => Cell<number>): number | null =>
      text(name) === '' ? null : cell(name, read);

    const cycle = cell('cycle', readCycle);
    const pattern = cell('pattern', readPattern);
    const lineName = words('line');
    if (lineName !== null && !job.lines.some((line) => line.name === lineName)) {
      const names = job.lines.map((line) => line.name);
      const near = closest(lineName, names);
      fault('line', `a line of this job (${names.join(', ')})`, near === null ? undefined : `"${near}"?`);
    }
    const station = amount('station', (t) => length(t, unitFor('station'), true));
    if (station !== null) checkStation(station, () => fault('station', stationsOfMember(job)));
    if (text('station') === '' && text('zone') === '') {
      fault(form.at.station === undefined ? 'zone' : 'station', 'a zone or a station');
    }
    const heat: Omit<Heat, 'cycle' | 'pattern'> = {
      line: lineName,
      zone: words('zone'),
      station,
      angle: amount('angle', (t) =>
        inRange(quantity(t, 'angle'), 0.02, 2.1, 'a vee angle between 1° and 120°'),
      ),
      depth: amount('depth', (t) =>
        inRange(length(t, unitFor('depth'), false), 0.005, 5, 'a depth above zero'),
      ),
      width: amount('width', (t) =>
        inRange(length(t, unitFor('width'), false), 0.005, 5, 'a width above zero'),
      ),
      apex: words('apex'),
      temperature: amount('temperature', (t) =>
        inRange(quantity(t, 'temperature'), -60, 1500, 'a steel temperature between -60 and 1500 °C'),
      ),
      before: amount('before', (t) =>
        inRange(quantity(t, 'before'), -60, 1500, 'a steel temperature between -60 and 1500 °C'),
      ),
      date: cell('date', readDate),
      time: cell('time', readTime),
      pressure: amount('pressure', (t) =>
        inRange(quantity(t, 'pressure'), 0, 1.5e8, 'a gauge pressure between 0 and 150 MPa'),
      ),
      torch: words('torch'),
      gas: amount('gas', plainAmount),
      cost: amount('cost', plainAmount),
      note: words('note'),
      file,
      row,
    };
    if (problems.length > before || cycle === null || pattern === null) return;
    heats.push({ cycle, pattern, ...heat });

    function unitFor(name: ColumnName): LengthUnit {
      return (form.unit[name] as LengthUnit | undefined) ?? (defaultUnit(name, units) as LengthUnit);
    }
    function length(t: string, unit: LengthUnit, isStation: boolean): Cell<number> {
      const parsed = parseLength(t, {
        unit,
        station: isStation,
        decimalComma: records.delimiter() === ';',
        dashed: job.dashedLengths,
      });
      if (parsed.ok) return { value: parsed.metres };
      return {
        expected: parsed.expected,
        ...(parsed.suggestion === undefined ? {} : { suggestion: parsed.suggestion }),
      };
    }
    function quantity(t: string, name: ColumnName): Cell<number> {
      const kind = QUANTITIES[COLUMNS[name]]!;
      const parsed = parseQuantity(decimal(t), kind, form.unit[name] ?? defaultUnit(name, units));
      return parsed.ok ? { value: parsed.value } : { expected: parsed.expected };
    }
  }

  function plainAmount(t: string): Cell<number> {
    const cell = decimal(foldFieldText(t));
    return /^\d{1,9}(?:\.\d{0,6})?$/.test(cell)
      ? { value: Number(cell) }
      : { expected: 'a plain number (its unit stands in the heading)' };
  }

  function decimal(t: string): string {
    return records.delimiter() === ';' ? t.replace(',', '.') : t;
  }

  function checkStation(station: number, fault: () => void): void {
    const { from, to } = memberExtent(job);
    const slack = overhang(job.member.span);
    if (station < from - slack || station > to + slack) fault();
  }
}

type HeadingMeaning =
  | { readonly kind: 'column'; readonly name: ColumnName; readonly unit: string | null }
  | { readonly kind: 'empty' }
  | { readonly kind: 'unknown'; readonly near: string | null }
  | { readonly kind: 'bad-unit'; readonly unit: string; readonly expected: string };

/** `temperature (F)`, `pressure_psi`, `depth [in]`, `gas, lb`, `Station`. */
function readHeading(text: string): HeadingMeaning {
  const folded = foldFieldText(text);
  if (folded === '') return { kind: 'empty' };
  const whole = columnName(folded);
  if (whole !== null) return { kind: 'column', name: whole, unit: null };
  const parts = /^(.*?)\s*(?:\(([^()]*)\)|\[([^[\]]*)\]|,\s*([^,]+)|[_ ]([^_ ]+))$/.exec(folded);
  const name = parts === null ? null : columnName(parts[1]!);
  if (parts !== null && name !== null) {
    const unit = (parts[2] ?? parts[3] ?? parts[4] ?? parts[5] ?? '').trim();
    const kind = COLUMNS[name];
    if (kind === 'amount') return { kind: 'column', name, unit };
    if (kind === 'station' || kind === 'length') {
      const read = lengthUnit(unit);
      if (read !== null) return { kind: 'column', name, unit: read };
      return { kind: 'bad-unit', unit, expected: 'ft, in, m, cm or mm' };
    }
    const quantity = QUANTITIES[kind];
    if (quantity !== undefined) {
      const read = quantityUnit(unit, quantity);
      if (read !== null) return { kind: 'column', name, unit: read };
      return {
        kind: 'bad-unit',
        unit,
        expected: { angle: 'deg', temperature: 'F or C', stress: 'psi, bar or MPa' }[kind as 'angle'],
      };
    }
  }
  return { kind: 'unknown', near: closest(folded.replace(/[^A-Za-z0-9 ]/g, ''), NAMES) };
}

function columnName(word: string): ColumnName | null {
  const key = word.trim().toLowerCase();
  return (NAMES as string[]).includes(key) ? (key as ColumnName) : null;
}

function defaultUnit(name: ColumnName, units: JobUnits): string {
  const us = units === 'us';
  switch (COLUMNS[name]) {
    case 'station':
      return us ? 'ft' : 'm';
    case 'length':
      return us ? 'in' : 'mm';
    case 'temperature':
      return us ? 'f' : 'c';
    case 'stress':
      return us ? 'psi' : 'mpa';
    default:
      return 'deg';
  }
}

function readPattern(text: string): Cell<Pattern> {
  const word = foldFieldText(text).toLowerCase();
  const known = PATTERNS.find((pattern) => pattern === word);
  if (known !== undefined) return { value: known };
  const near = word === 'v' ? 'vee' : closest(word, PATTERNS);
  return { expected: `one of ${PATTERNS.join(', ')}`, ...(near === null ? {} : { suggestion: `${near}?` }) };
}

function inRange(cell: Cell<number>, low: number, high: number, expected: string): Cell<number> {
  return 'value' in cell && !(cell.value >= low && cell.value <= high) ? { expected } : cell;
}

function stationsOfMember(job: Job): string {
  const { from, to } = memberExtent(job);
  const say = (metres: number) => formatLength(metres, { units: job.units, as: 'station', fraction: 2 });
  return `a station on the member, ${say(from)} to ${say(to)}`;
}

function shown(text: string): string {
  const trimmed = text.trim();
  if (trimmed === '') return 'nothing';
  return `"${trimmed.length > 60 ? `${trimmed.slice(0, 57)}…` : trimmed}"`;
}
