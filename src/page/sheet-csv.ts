import { isDate } from '../job/dates.ts';
import type { Job, JobUnits } from '../job/job.ts';
import { readTime } from '../read/cells.ts';
import type { ReadingState } from '../survey/survey.ts';
import { inUnit } from '../units/format-length.ts';
import { parseLength } from '../units/parse-length.ts';
import { parseQuantity } from '../units/parse-quantity.ts';
import { factsOf } from './book.ts';
import type { Sheet } from './job-bundle.ts';
import { fits } from './panel-grid.ts';

/** Where a row of the CSV was keyed. */
export interface KeyedAt {
  readonly line: string;
  readonly state: ReadingState;
  /** m */
  readonly station: number;
  /** m; on panels only */
  readonly height?: number | undefined;
  /** 0 the reading, 1 and up its repeats */
  readonly slot: number;
}

export interface SheetCsv {
  readonly text: string;
  readonly count: number;
  /** By 1-based file line. */
  readonly rows: ReadonlyMap<number, KeyedAt>;
  /** Keyed, but no length (yet): in the file as comments only. */
  readonly unreadable: readonly (KeyedAt & { readonly text: string; readonly expected: string })[];
}

/** A keyed text as metres, or what was expected. */
export function keyedOffset(text: string, job: Pick<Job, 'units' | 'dashedLengths'>) {
  return parseLength(text, { unit: job.units === 'us' ? 'in' : 'mm', dashed: job.dashedLengths });
}

/**
 * A sheet as the readings CSV of the contract. It is also what the page itself reads back, so that the numbers here and
 * after an import are the same to the last digit.
 */
export function sheetCsv(sheet: Sheet, job: Job): SheetCsv {
  const byName = new Map(job.lines.map((line) => [line.name, line]));
  const cells = sheet.cells.filter((cell) => byName.has(cell.line) && fits(cell, byName.get(cell.line)!));
  return csvOfLines({ ...sheet, cells }, job, [...byName.keys()]);
}

/** As `sheetCsv`, of these lines, whether the job has them or not. */
export function csvOfLines(sheet: Sheet, job: Job, lines: readonly string[]): SheetCsv {
  const us = job.units === 'us';
  const high = sheet.cells.some((cell) => cell.height !== undefined);
  const out: string[] = [
    comment(`${job.name}: cycle ${sheet.cycle}, keyed on the Sweepbook readings page`),
    `cycle,line,station (${us ? 'ft' : 'm'}),${high ? `height (${us ? 'in' : 'mm'}),` : ''}offset (${us ? 'in' : 'mm'}),state,date,time,temperature (${us ? 'F' : 'C'})`,
  ];
  const rows = new Map<number, KeyedAt>();
  const unreadable: SheetCsv['unreadable'][number][] = [];
  const date = isDate(sheet.date) ? sheet.date : '';
  for (const line of lines) {
    for (const state of ['restrained', 'released'] as const) {
      const facts = factsOf(sheet, line, state);
      const cells = sheet.cells
        .filter((cell) => cell.line === line && cell.state === state)
        .sort((a, b) => (b.height ?? 0) - (a.height ?? 0) || a.station - b.station);
      if (cells.length > 0 && facts.note.trim() !== '') out.push(comment(`${line}: ${facts.note}`));
      const tail = [state, date, timeText(facts.time), temperatureText(facts.temperature, job.units)];
      for (const cell of cells) {
        cell.readings.forEach((text, slot) => {
          if (text.trim() === '') return;
          const height = cell.height === undefined ? {} : { height: cell.height };
          const at = { line, state, station: cell.station, ...height, slot };
          const parsed = keyedOffset(text, job);
          if (!parsed.ok) {
            unreadable.push({ ...at, text, expected: parsed.expected });
            out.push(
              comment(
                `not a reading: ${line}, ${state}, station ${stationText(cell.station, job.units)}${cell.height === undefined ? '' : `, height ${heightText(cell.height, job.units)}`}: ${text}`,
              ),
            );
            return;
          }
          out.push(
            [
              ...[String(sheet.cycle), line, stationText(cell.station, job.units)],
              ...(high ? [cell.height === undefined ? '' : heightText(cell.height, job.units)] : []),
              ...[text.trim(), ...tail],
            ]
              .map(csvCell)
              .join(','),
          );
          rows.set(out.length, at);
        });
      }
    }
  }
  return { text: `${out.join('\n')}\n`, count: rows.size, rows, unreadable };
}

/** A station as a plain decimal in feet or metres, exact to a micrometre. */
function stationText(metres: number, units: JobUnits): string {
  return decimal(inUnit(metres, units, 'station'));
}

/** A height as a plain decimal in inches or millimetres. */
function heightText(metres: number, units: JobUnits): string {
  return decimal(inUnit(metres, units, 'offset'));
}

function decimal(number: number): string {
  const value = Math.round(number * 1e7) / 1e7;
  return String(Object.is(value, -0) ? 0 : value);
}

function timeText(keyed: string): string {
  const cell = readTime(keyed);
  return 'value' in cell && cell.value !== null ? cell.value : '';
}

/** Temperature as keyed where it is one, else nothing. */
function temperatureText(keyed: string, units: JobUnits): string {
  const text = keyed.trim();
  if (!/^-?\d{1,3}(\.\d)?$/.test(text)) return '';
  const parsed = parseQuantity(text, 'temperature', units === 'us' ? 'F' : 'C');
  return parsed.ok ? text : '';
}

function comment(text: string): string {
  return `# ${text.replace(/[\p{Cc}\u2028\u2029]+/gu, ' ').slice(0, 400)}`;
}

function csvCell(text: string): string {
  return /[",;\t\r\n]|^\s|\s$/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
}
