import { InputError, type Problem } from '../input-error.ts';
import type { JobUnits } from '../job/job.ts';
import { readTable } from './csv-table.ts';

const COLUMNS = { station: 'station', offset: 'length' } as const;

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
  const points: (ProfilePoint & { row: number })[] = [];
  const table = readTable<keyof typeof COLUMNS>(text, {
    file,
    columns: COLUMNS,
    units,
    needed: ['station', 'offset'],
    expected: 'columns station and offset',
    row: (row) => {
      for (const name of ['station', 'offset'] as const) {
        if (row.text(name) === '') row.fault(name, 'a length');
      }
      const [station, offset] = [row.number('station'), row.number('offset')];
      if (station !== null && offset !== null) points.push({ station, offset, row: row.row });
    },
  });
  const problems: Problem[] = [...table.problems];
  points.sort((a, b) => a.station - b.station);
  points.forEach((point, i) => {
    if (i > 0 && point.station - points[i - 1]!.station < 1e-6) {
      problems.push({
        file,
        row: point.row,
        column: 'station',
        found: `the station of line ${points[i - 1]!.row} again`,
        expected: 'each station once',
      });
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
