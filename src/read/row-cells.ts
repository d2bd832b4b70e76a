import { closest } from '../job/closest.ts';
import type { JobUnits } from '../job/job.ts';
import { formatLength } from '../units/format-length.ts';
import { type LengthUnit, type ParsedLength, parseLength, plainLength } from '../units/parse-length.ts';
import { parseQuantity } from '../units/parse-quantity.ts';
import type { Delimiter } from './csv-records.ts';
import type { ColumnName } from './headings.ts';
import { type AddProblem, shown } from './problem-list.ts';
import type { LineExtent, ReadOptions } from './read-options.ts';
import { remembered } from './remembered.ts';
import { type Layout, onlyLine } from './sheet-layout.ts';

/** Readers of the cells of a row: each gives a value in SI, or reports what is wrong and gives none. */
export function rowCells(options: ReadOptions, add: AddProblem, delimiter: () => Delimiter | null) {
  const { units } = options;
  const known = options.lines === null ? null : new Map(options.lines.map((line) => [line.name, line]));
  const only = onlyLine(options);
  const lengthReaders = new Map<string, (text: string) => ParsedLength>();
  const lineOf = remembered((text) => known?.get(text.trim()));
  let decimalMark: { readonly mark: ',' | '.'; readonly row: number } | null = null;

  /** Reader of lengths that are more than a plain decimal, one a unit: fractions repeat all through a file. */
  function writtenLength(unit: LengthUnit, station: boolean): (text: string) => ParsedLength {
    const key = station ? `${unit} station` : unit;
    let read = lengthReaders.get(key);
    if (read === undefined) {
      const decimalComma = delimiter() === ';';
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
      add(row, column, shown(text), parsed.expected, parsed.suggestion);
      return null;
    }
    if (delimiter() === ';' && !keepsDecimalMark(text, row, column)) return null;
    return parsed.metres;
  }

  /**
   * In a file with decimal commas a point may be a thousands mark: one file, one mark. The first one seen holds; a cell
   * with the other is a fault of its row, so that a row said to be set aside is one that does not count.
   */
  function keepsDecimalMark(text: string, row: number, column: string): boolean {
    const mark = text.includes(',') ? ',' : /\d\.\d/.test(text) ? '.' : null;
    if (mark === null) return true;
    decimalMark ??= { mark, row };
    if (decimalMark.mark === mark) return true;
    const [here, there] = mark === '.' ? ['point', 'comma'] : ['comma', 'point'];
    const found = `${shown(text)}, a decimal ${here} where line ${decimalMark.row} has a ${there}`;
    add(row, column, found, 'one decimal mark in the whole file');
    return false;
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
      add(row, form.headings[form.at.line]!, 'nothing', 'the name of a line');
      return null;
    }
    if (known === null) return name;
    const names = [...known.keys()];
    const near = closest(name, names);
    add(
      row,
      form.headings[form.at.line]!,
      shown(name),
      `a line of this job (${names.join(', ')})`,
      near === null ? undefined : `"${near}"?`,
    );
    return null;
  }

  /** The height of a reading: none on a line, needed on a panel; undefined after reporting what is wrong with it. */
  function heightCell(
    name: string | null,
    form: Layout,
    cells: readonly string[],
    row: number,
  ): number | null | undefined {
    const at = form.at.height;
    const text = at === undefined ? '' : (cells[at] ?? '');
    const panel = name === null ? undefined : known?.get(name);
    if (text.trim() === '') {
      if (panel?.heights === undefined) return null;
      const column = at === undefined ? 'height' : form.headings[at]!;
      add(row, column, 'nothing', `the height of the reading on the panel ${name}`);
      return undefined;
    }
    const height = lengthCell(text, form.heightUnit, false, row, form.headings[at!]!);
    if (height === null) return undefined;
    return onPanel(name, height, row, form.headings[at!]!) ? height : undefined;
  }

  /** Whether a height can be on this line: on none of the lines, between its edges (and a little past) on a panel. */
  function onPanel(name: string | null, height: number, row: number, column: string): boolean {
    const extent = name === null ? undefined : known?.get(name);
    if (extent === undefined) return true;
    const say = (metres: number) => formatLength(metres, { units, as: 'offset' });
    if (extent.heights === undefined) {
      add(row, column, `the height ${say(height)}`, `no height: ${name} is a line, not a panel`);
      return false;
    }
    const [low, high] = extent.heights;
    const slack = 0.1 * (high - low);
    if (height >= low - slack && height <= high + slack) return true;
    add(row, column, `the height ${say(height)}`, `a height on the panel, ${say(low)} to ${say(high)}`);
    return false;
  }

  function onLine(
    name: string | null,
    station: number | null,
    form: Layout,
    row: number,
    cell?: string,
  ): boolean {
    if (name === null || station === null) return false;
    const extent = known?.get(name);
    if (extent === undefined || (station >= extent.from && station <= extent.to)) return true;
    const say = (metres: number) => formatLength(metres, { units, as: 'station', fraction: 2 });
    const inOther = otherUnit(station, extent, units);
    add(
      row,
      form.headings[form.at.station!]!,
      `${cell === undefined ? '' : `${shown(cell)}, `}the station ${say(station)}`,
      `a station on the ${extent.heights === undefined ? 'member' : `panel ${name}`}, ${say(extent.said?.[0] ?? extent.from)} to ${say(extent.said?.[1] ?? extent.to)}`,
      inOther,
    );
    return false;
  }

  /** A cell of a column that may be missing: its value, `blank` without one, undefined after reporting a fault. */
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
    add(row, form.headings[at]!, shown(text), cell.expected, cell.suggestion);
    return undefined;
  }

  function temperatureOf(text: string, unit: string): { value: number | null } | { expected: string } {
    if (text.trim() === '') return { value: null };
    const parsed = parseQuantity(delimiter() === ';' ? text.replace(',', '.') : text, 'temperature', unit);
    if (!parsed.ok) return { expected: parsed.expected };
    // Steel that is read is between deep frost and heating temperature; outside, the column or unit is wrong.
    return parsed.value >= -60 && parsed.value <= 800
      ? { value: parsed.value }
      : { expected: 'a steel temperature between -60 and 800 °C' };
  }

  function sdCell(form: Layout, cells: readonly string[], row: number): number | null | undefined {
    const at = form.at.sd;
    const text = at === undefined ? '' : (cells[at] ?? '').trim();
    if (at === undefined || text === '') return null;
    const sd = lengthCell(text, form.sdUnit, false, row, form.headings[at]!);
    if (sd === null) return undefined;
    if (sd > 0) return sd;
    add(row, form.headings[at]!, shown(text), 'a standard deviation above zero');
    return undefined;
  }

  function noteCell(form: Layout, cells: readonly string[]): string | null {
    const text = form.at.note === undefined ? '' : (cells[form.at.note] ?? '').trim();
    return text === '' ? null : text;
  }

  return {
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
  };
}

/** A station that fits when its number is taken in another unit. */
function otherUnit(station: number, extent: LineExtent, units: JobUnits): string | undefined {
  const fits = (factor: number) => {
    const value = station * factor;
    return station > 0 && value >= extent.from && value <= extent.to;
  };
  if (units === 'us') return fits(1 / 12) ? 'inches in a feet column?' : undefined;
  if (fits(0.001)) return 'millimetres in a metres column?';
  return fits(0.3048) ? 'feet in a metres column?' : undefined;
}
