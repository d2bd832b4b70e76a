import { InputError, type Problem } from '../input-error.ts';
import type { JobUnits } from '../job/job.ts';
import { type LengthUnit, parseLength } from '../units/parse-length.ts';
import { csvRecords } from './csv-records.ts';
import { defaultUnits, readHeading } from './headings.ts';

export interface ProfilePoint {
  /** m */
  readonly station: number;
  /** m */
  readonly offset: number;
}

/**
 * Reads a reference profile (neighbour girder, shop drawing, survey before the damage): a CSV with columns `station` and
 * `offset`, units as in a readings CSV. Sorted by station.
 *
 * @throws InputError with every unusable cell, a station given twice, or fewer than two points
 */
export function readProfile(text: string, file: string, units: JobUnits): ProfilePoint[] {
  const problems: Problem[] = [];
  const points: (ProfilePoint & { row: number })[] = [];
  let columns: { station: number; offset: number; stationUnit: LengthUnit; offsetUnit: LengthUnit } | null =
    null;
  let headingSeen = false;
  const defaults = defaultUnits(units);
  const add = (
    row: number,
    column: string | undefined,
    found: string,
    expected: string,
    suggestion?: string,
  ) =>
    problems.push({
      file,
      row,
      ...(column === undefined ? {} : { column }),
      found,
      expected,
      ...(suggestion === undefined ? {} : { suggestion }),
    });

  const records = csvRecords({
    record: (cells, row) => {
      if (!headingSeen) {
        headingSeen = true;
        const headings = cells.map(readHeading);
        const find = (name: 'station' | 'offset') =>
          headings.findIndex((h) => h.kind === 'column' && h.name === name);
        const [station, offset] = [find('station'), find('offset')];
        const unitOf = (at: number) => {
          const heading = headings[at];
          return heading?.kind === 'column' ? heading.unit : null;
        };
        if (station === -1 || offset === -1)
          add(row, undefined, 'the heading of another file', 'columns station and offset');
        else {
          columns = {
            station,
            offset,
            stationUnit: unitOf(station) ?? defaults.station,
            offsetUnit: unitOf(offset) ?? defaults.offset,
          };
        }
        return;
      }
      if (columns === null) return;
      const decimalComma = records.delimiter() === ';';
      const station = parseLength(cells[columns.station] ?? '', {
        unit: columns.stationUnit,
        station: true,
        decimalComma,
      });
      const offset = parseLength(cells[columns.offset] ?? '', { unit: columns.offsetUnit, decimalComma });
      if (!station.ok)
        add(row, 'station', `"${cells[columns.station] ?? ''}"`, station.expected, station.suggestion);
      if (!offset.ok)
        add(row, 'offset', `"${cells[columns.offset] ?? ''}"`, offset.expected, offset.suggestion);
      if (station.ok && offset.ok) points.push({ station: station.metres, offset: offset.metres, row });
    },
    brokenQuote: (row) =>
      add(row, undefined, 'a quote that does not close', 'quotes around whole cells only'),
  });
  records.push(text);
  records.end();

  points.sort((a, b) => a.station - b.station);
  points.forEach((point, i) => {
    if (i > 0 && point.station - points[i - 1]!.station < 1e-6) {
      add(point.row, 'station', `the station of line ${points[i - 1]!.row} again`, 'each station once');
    }
  });
  if (problems.length === 0 && points.length < 2) {
    problems.push({
      file,
      found: `${points.length} point${points.length === 1 ? '' : 's'}`,
      expected: 'at least two',
    });
  }
  if (problems.length > 0) throw new InputError(`${file} could not be used.`, problems);
  return points.map(({ station, offset }) => ({ station, offset }));
}
