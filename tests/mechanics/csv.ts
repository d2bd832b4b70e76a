/**
 * Readings written as a field book writes them: the long form or the field sheet, feet and inch fractions or
 * metres and millimetres.
 */
import type { Reading } from '../../src/survey/survey.ts';

const INCH = 0.0254;
const FOOT = 0.3048;

export interface CsvOptions {
  readonly units: 'us' | 'si';
  /** `fraction`: 3 1/16; `decimal`: 3.0625 (millimetres are always decimal). Default: fraction. */
  readonly offsets?: 'fraction' | 'decimal';
  /** `decimal`: 12.5; `feet-inches`: 12'-6"; `chainage`: 0+12.5. Default: decimal. */
  readonly stations?: 'decimal' | 'feet-inches' | 'chainage';
  /** Finest inch fraction written. Default 16. */
  readonly denominator?: 8 | 16 | 32;
  /** Where the unit is named: in the header (default), in each cell, or nowhere (the job's units). */
  readonly unitIn?: 'header' | 'cell' | 'nowhere';
  readonly separator?: ',' | ';' | '\t';
  /** Lines put above the header, each behind a `#`. */
  readonly comments?: readonly string[];
  /** Optional columns of the long form. Default: those of which any reading has a value. */
  readonly columns?: readonly ('line' | 'date' | 'time' | 'state' | 'temperature' | 'note')[];
  readonly newline?: '\n' | '\r\n';
  readonly bom?: boolean;
}

/** `5 1/8`, `-3/16`, `0`: whole inches and a reduced fraction, to the nearest 1/denominator. */
export function inchFraction(metres: number, denominator = 16): string {
  const parts = Math.round((Math.abs(metres) / INCH) * denominator);
  if (parts === 0) return '0';
  const whole = Math.floor(parts / denominator);
  let top = parts - whole * denominator;
  let bottom = denominator;
  while (top > 0 && top % 2 === 0) {
    top /= 2;
    bottom /= 2;
  }
  const words = [whole > 0 ? String(whole) : '', top > 0 ? `${top}/${bottom}` : ''].filter(Boolean);
  return (metres < 0 ? '-' : '') + words.join(' ');
}

/** `12'-6"`: feet and inches to the nearest 1/denominator. */
export function feetInches(metres: number, denominator = 16): string {
  const parts = Math.round((Math.abs(metres) / INCH) * denominator);
  const feet = Math.floor(parts / (12 * denominator));
  const rest = parts - feet * 12 * denominator;
  return `${metres < 0 ? '-' : ''}${feet}'-${inchFraction((rest / denominator) * INCH, denominator)}"`;
}

function decimal(value: number, places: number): string {
  return String(Number(value.toFixed(places)));
}

function stationText(metres: number, options: CsvOptions): string {
  if (options.units === 'si') return decimal(metres, 4) + (options.unitIn === 'cell' ? ' m' : '');
  switch (options.stations ?? 'decimal') {
    case 'feet-inches':
      return feetInches(metres);
    case 'chainage': {
      const feet = metres / FOOT;
      const hundreds = Math.floor(feet / 100 + 1e-9);
      return `${hundreds}+${decimal(feet - 100 * hundreds, 3).replace(/^(\d)(\.|$)/, '0$1$2')}`;
    }
    case 'decimal':
      return decimal(metres / FOOT, 4) + (options.unitIn === 'cell' ? ' ft' : '');
  }
}

function offsetText(metres: number, options: CsvOptions): string {
  const unit = options.unitIn === 'cell' ? (options.units === 'si' ? ' mm' : ' in') : '';
  if (options.units === 'si') return decimal(metres * 1000, 2) + unit;
  const text =
    options.offsets === 'decimal'
      ? decimal(metres / INCH, 5)
      : inchFraction(metres, options.denominator ?? 16);
  return text + unit;
}

function heading(name: 'station' | 'offset', options: CsvOptions): string {
  if ((options.unitIn ?? 'header') !== 'header') return name;
  if (options.units === 'si') return name === 'station' ? 'station_m' : 'offset_mm';
  if (name === 'offset') return 'offset (in)';
  return (options.stations ?? 'decimal') === 'decimal' ? 'station (ft)' : 'station';
}

function cell(text: string, separator: string): string {
  return text.includes(separator) || text.includes('"') ? `"${text.replaceAll('"', '""')}"` : text;
}

function assembleFile(rows: readonly (readonly string[])[], options: CsvOptions): string {
  const separator = options.separator ?? ',';
  const newline = options.newline ?? '\n';
  const lines = [
    ...(options.comments ?? []).map((comment) => `# ${comment}`),
    ...rows.map((row) => row.map((text) => cell(text, separator)).join(separator)),
  ];
  return (options.bom ? '\ufeff' : '') + lines.join(newline) + newline;
}

/** Whole degrees, Fahrenheit in a US book. */
function degrees(celsius: number | null, options: CsvOptions): string {
  if (celsius === null) return '';
  return String(Math.round(options.units === 'us' ? celsius * 1.8 + 32 : celsius));
}

/** Long form: one reading a row, in the order given. The first reading stands on line comments + 2. */
export function longFormCsv(readings: readonly Reading[], options: CsvOptions): string {
  const has = (column: 'date' | 'time' | 'temperature' | 'note') => readings.some((r) => r[column] !== null);
  const columns = options.columns ?? [
    ...(new Set(readings.map((r) => r.line)).size > 1 ? (['line'] as const) : []),
    ...(['date', 'time', 'temperature', 'note'] as const).filter(has),
    ...(readings.some((r) => r.state === 'restrained') ? (['state'] as const) : []),
  ];
  const rows = readings.map((reading) => [
    String(reading.cycle),
    stationText(reading.station, options),
    offsetText(reading.offset, options),
    ...columns.map((column) =>
      column === 'temperature' ? degrees(reading.temperature, options) : String(reading[column] ?? ''),
    ),
  ]);
  return assembleFile(
    [['cycle', heading('station', options), heading('offset', options), ...columns], ...rows],
    options,
  );
}

/**
 * Field sheet: one station a row, one cycle a column; empty where not read. Dates and times, where the readings
 * have them, stand in rows above. One line, one state, no repeats.
 */
export function fieldSheetCsv(readings: readonly Reading[], options: CsvOptions): string {
  const cycles = [...new Set(readings.map((r) => r.cycle))].sort((a, b) => a - b);
  const stations = [...new Set(readings.map((r) => r.station))].sort((a, b) => a - b);
  const book = new Map<string, string>();
  for (const reading of readings) {
    const key = `${reading.station}/${reading.cycle}`;
    if (book.has(key))
      throw new Error(`field sheet has one cell for station ${reading.station}, two readings`);
    book.set(key, offsetText(reading.offset, options));
  }
  const unit = (options.unitIn ?? 'header') === 'header' ? (options.units === 'si' ? ' (mm)' : ' (in)') : '';
  const heads = (['date', 'time'] as const).flatMap((label) => {
    const values = cycles.map((cycle) => readings.find((r) => r.cycle === cycle)![label]);
    return values.some((value) => value !== null) ? [[label, ...values.map((value) => value ?? '')]] : [];
  });
  return assembleFile(
    [
      [heading('station', options), ...cycles.map((cycle) => `cycle ${cycle}${unit}`)],
      ...heads,
      ...stations.map((station) => [
        stationText(station, options),
        ...cycles.map((cycle) => book.get(`${station}/${cycle}`) ?? ''),
      ]),
    ],
    options,
  );
}
