import { BATCH, batcher, type CloudReader, cloudError, emptyTally, type PointSink } from './cloud.ts';
import { textRows } from './text-rows.ts';

const AXES = ['x', 'y', 'z'] as const;
/** As surveyors head their columns (common practice): right-handed with up, whatever order they stand in. */
const SURVEY_NAMES: Readonly<Record<string, string>> = {
  easting: 'x',
  east: 'x',
  e: 'x',
  northing: 'y',
  north: 'y',
  n: 'y',
  elevation: 'z',
  elev: 'z',
  height: 'z',
};

/**
 * Reader of XYZ text: one point a line, columns split by spaces, tabs, commas or semicolons. The order of
 * the columns is not part of any standard, so it must be given, or stand in a heading line of the file (x, y, z, or
 * easting, northing, elevation in any order).
 *
 * @param columns names by position, e.g. ['x', 'y', 'z', 'intensity']; null: the file must have a heading
 */
export function xyzReader(file: string, columns: readonly string[] | null, sink: PointSink): CloudReader {
  const tally = emptyTally();
  const batch = batcher(sink, tally);
  let order = columns === null ? null : positions(columns);
  let filled = 0;
  const rows = textRows(
    (values, count, line, commas) => {
      if (count === 0) return;
      if (order === null) {
        throw cloudError(
          file,
          { line },
          `${count} columns without a heading`,
          `which column is which: give --columns, for example --columns ${exampleColumns(count)}`,
        );
      }
      if (count < order.needed) {
        throw cloudError(
          file,
          { line },
          `${count} values`,
          `at least ${order.needed} (x, y and z are among them)`,
        );
      }
      // Decimal commas between columns that commas separate too: every number falls apart into two.
      if (commas && count >= 2 * order.named) {
        throw cloudError(
          file,
          { line },
          `${count} values between commas for ${order.named} columns`,
          'decimal points where commas separate the columns; if these are columns, a name for each (in the heading, or by --columns)',
        );
      }
      batch.x[filled] = values[order.x]!;
      batch.y[filled] = values[order.y]!;
      batch.z[filled] = values[order.z]!;
      filled++;
      if (filled === BATCH) {
        batch.handOver(filled);
        filled = 0;
      }
    },
    file,
    0,
    (text, line, comment) => {
      // A heading counts only before the first point, and only where the order was not given.
      if (tally.points + filled > 0) return false;
      // Of comments only one that begins with the column x is a heading; others may talk of axes.
      if (comment && !/^x[\s,;]/i.test(text)) return false;
      const names = axisNames(text);
      if (!AXES.every((axis) => names.includes(axis))) {
        const words = names.every((name) => !/^[-+.\d]/.test(name)) && !text.includes('\0');
        if (line === 1 && !comment && columns === null && words) {
          throw cloudError(
            file,
            { line },
            `the heading "${text.slice(0, 60)}"`,
            'columns named x, y and z (or easting, northing and elevation) in it, or their names by --columns, in the order they stand',
          );
        }
        return line === 1 && columns !== null && words;
      }
      if (columns === null) order = positions(names);
      return true;
    },
  );
  return {
    push: rows.push,
    end() {
      rows.end();
      batch.handOver(filled);
      filled = 0;
      if (tally.points + tally.notFinite === 0) {
        throw cloudError(
          file,
          { line: rows.line() },
          'the end of the file without a point',
          'one point a line',
        );
      }
      return tally;
    },
  };

  function positions(names: readonly string[]) {
    const [x, y, z] = AXES.map((axis) => names.indexOf(axis)) as [number, number, number];
    if (Math.min(x, y, z) < 0) {
      throw cloudError(file, {}, `columns "${names.join(',')}"`, 'x, y and z among the column names');
    }
    return { x, y, z, needed: Math.max(x, y, z) + 1, named: names.length };
  }
}

/** Names of a heading's columns, small letters. Survey names stand for axes only where each axis is named once and none plainly. */
function axisNames(text: string): string[] {
  const names = text
    .toLowerCase()
    .split(/[\s,;]+/)
    .map((n) => n.replace(/^["'/]+|["']+$/g, ''));
  if (AXES.every((axis) => names.includes(axis))) return names;
  const axes = names.map((name) => SURVEY_NAMES[name] ?? name);
  return AXES.every((axis) => axes.filter((name) => name === axis).length === 1) ? axes : names;
}

/** Stands for the number of points in a file that begins with points. */
const UNCOUNTED = Number.POSITIVE_INFINITY;

/**
 * Reader of PTS text: a line with the number of points, then x y z and, as a rule, intensity and colour.
 * The count may come again before every scan; every count is checked. Some writers leave it out: then a file cut
 * short between lines cannot be told. (Common practice, no published standard.)
 */
export function ptsReader(file: string, sink: PointSink): CloudReader {
  const tally = emptyTally();
  const batch = batcher(sink, tally);
  let filled = 0;
  let promised = -1;
  let promisedAt = 0;
  let done = 0;

  function checkBlock(line: number): void {
    if (promised >= 0 && promised !== UNCOUNTED && done !== promised) {
      throw cloudError(file, { line }, `${done} points`, `${promised}, as line ${promisedAt} says`);
    }
  }
  const rows = textRows((values, count, line, commas) => {
    if (count === 0) return;
    if (commas) {
      throw cloudError(file, { line }, 'commas between digits', 'blanks between values and decimal points');
    }
    if (count === 1) {
      checkBlock(line);
      promised = values[0]!;
      if (!Number.isInteger(promised) || promised < 0) {
        throw cloudError(file, { line }, `${promised}`, 'a whole number of points, or x y z');
      }
      promisedAt = line;
      done = 0;
      return;
    }
    if (promised < 0 && count >= 3) promised = UNCOUNTED;
    if (count < 3)
      throw cloudError(file, { line }, `${count} values`, 'x y z and perhaps intensity and colour');
    if (done === promised) {
      throw cloudError(
        file,
        { line },
        `more points than ${promised}`,
        `${promised}, as line ${promisedAt} says`,
      );
    }
    batch.x[filled] = values[0]!;
    batch.y[filled] = values[1]!;
    batch.z[filled] = values[2]!;
    done++;
    filled++;
    if (filled === BATCH) {
      batch.handOver(filled);
      filled = 0;
    }
  }, file);
  return {
    push: rows.push,
    end() {
      rows.end();
      batch.handOver(filled);
      filled = 0;
      if (promised < 0)
        throw cloudError(file, { line: 1 }, 'no number of points', 'the number of points on the first line');
      checkBlock(rows.line());
      return tally;
    },
  };
}

/** Columns as scanners write them, for as many as there are. */
function exampleColumns(count: number): string {
  const colours = ['red', 'green', 'blue'];
  const rest = count === 6 ? colours : ['intensity', ...colours];
  const names = ['x', 'y', 'z', ...rest];
  return Array.from({ length: Math.max(3, count) }, (_, k) => names[k] ?? `column${k + 1}`).join(',');
}
