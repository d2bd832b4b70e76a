import type { Mark, Reading } from './survey.ts';

/**
 * Finds the mark in force for a reading: the last one that names its file and row and, where the mark names a cycle
 * (a field-sheet row holds one reading a cycle) or a station (a row of a grid holds one a station), that too.
 */
export function markFinder(marks: readonly Mark[]): (reading: Reading) => Mark | null {
  const byRow = new Map<string, Mark[]>();
  for (const mark of marks) {
    const key = `${mark.file}\n${mark.row}`;
    const earlier = byRow.get(key);
    if (earlier === undefined) byRow.set(key, [mark]);
    else earlier.push(mark);
  }
  return (reading) =>
    byRow
      .get(`${reading.file}\n${reading.row}`)
      ?.findLast(
        (mark) =>
          (mark.cycle === undefined || mark.cycle === reading.cycle) &&
          (mark.station === undefined || sameStation(mark.station, reading.station)),
      ) ?? null;
}

/** Stations a row of a sheet cannot tell apart, m: the same one written in two ways. */
export function sameStation(a: number, b: number): boolean {
  return Math.abs(a - b) < 1e-3;
}
