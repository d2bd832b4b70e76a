import { readOptions } from '../job/read-options.ts';
import { readReadings } from '../read/readings-csv.ts';
import type { Reading } from '../survey/survey.ts';
import { sameStation } from './book.ts';
import { inFileOrder } from './file-order.ts';
import type { Sheet } from './job-bundle.ts';
import type { OpenedBundle } from './open-bundle.ts';
import { type SheetCsv, sheetCsv } from './sheet-csv.ts';

/** A sheet with what reading its CSV back gives. */
export interface SheetRead {
  readonly sheet: Sheet;
  readonly csv: SheetCsv;
  readonly readings: readonly Reading[];
  /** True when the job's own files hold every reading of it: it was exported and imported, and counts once. */
  readonly filed: boolean;
}

export function readSheet(sheet: Sheet, opened: OpenedBundle): SheetRead {
  const csv = sheetCsv(sheet, opened.job);
  const { readings } = readReadings(csv.text, readOptions(opened.job, sheet.file));
  return { sheet, csv, readings, filed: isFiled(readings, opened.readings) };
}

function isFiled(keyed: readonly Reading[], held: readonly Reading[]): boolean {
  if (keyed.length === 0) return false;
  const rest = held.filter((reading) => reading.cycle === keyed[0]!.cycle);
  return keyed.every((one) => {
    const at = rest.findIndex(
      (other) =>
        other.line === one.line &&
        other.state === one.state &&
        sameStation(other.station, one.station) &&
        Math.abs(other.offset - one.offset) < 1e-9,
    );
    // Each reading held answers for one keyed reading only, so that repeats are told apart.
    if (at >= 0) rest.splice(at, 1);
    return at >= 0;
  });
}

/** What the sheets add to the job's files: readings that were keyed and are not filed yet. */
export function keyedReadings(sheets: readonly SheetRead[]): Reading[] {
  return sheets.filter((each) => !each.filed).flatMap((each) => each.readings);
}

/** Every reading of the job: its files, and the sheets that are not among them yet; in the order of a job folder. */
export function allReadings(opened: OpenedBundle, sheets: readonly SheetRead[]): Reading[] {
  return inFileOrder([...opened.readings, ...keyedReadings(sheets)]);
}
