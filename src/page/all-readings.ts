import { readOptions } from '../job/read-options.ts';
import { readReadings } from '../read/readings-csv.ts';
import type { Reading } from '../survey/survey.ts';
import { samePlace } from './book.ts';
import { inFileOrder } from './file-order.ts';
import type { Sheet } from './job-bundle.ts';
import type { OpenedBundle } from './open-bundle.ts';
import { type KeyedAt, type SheetCsv, sheetCsv } from './sheet-csv.ts';

/** A sheet with what reading its CSV back gives. */
export interface SheetRead {
  readonly sheet: Sheet;
  /** What of it the job's files do not hold yet; all of it where they hold all. */
  readonly csv: SheetCsv;
  readonly readings: readonly Reading[];
  /** True when the job's own files hold every reading of it: it was exported and imported, and counts once. */
  readonly filed: boolean;
}

export function readSheet(sheet: Sheet, opened: OpenedBundle): SheetRead {
  const whole = readBack(sheet, opened);
  const open = new Set(unfiled(whole.readings, opened.readings).map(({ row }) => row));
  if (open.size === 0 || open.size === whole.readings.length) {
    return { sheet, ...whole, filed: whole.readings.length > 0 && open.size === 0 };
  }
  // Handed over in the middle of the day: what is in the files counts from there, only the rest is added to them.
  const filed = [...whole.csv.rows].flatMap(([row, at]) => (open.has(row) ? [] : [at]));
  return { sheet, ...readBack(without(sheet, filed), opened), filed: false };
}

function readBack(sheet: Sheet, opened: OpenedBundle): Pick<SheetRead, 'csv' | 'readings'> {
  const csv = sheetCsv(sheet, opened.job);
  return { csv, readings: readReadings(csv.text, readOptions(opened.job, sheet.file)).readings };
}

/** A sheet with these readings blank. */
function without(sheet: Sheet, filed: readonly KeyedAt[]): Sheet {
  const isFiled = (cell: Sheet['cells'][number], slot: number) =>
    filed.some((at) => samePlace(at, cell) && at.slot === slot);
  return {
    ...sheet,
    cells: sheet.cells.map((cell) => ({
      ...cell,
      readings: cell.readings.map((text, slot) => (isFiled(cell, slot) ? '' : text)),
    })),
  };
}

/** Keyed readings the job's files do not hold. */
function unfiled(keyed: readonly Reading[], held: readonly Reading[]): Reading[] {
  if (keyed.length === 0) return [];
  const rest = held.filter((reading) => reading.cycle === keyed[0]!.cycle);
  return keyed.filter((one) => {
    const at = rest.findIndex((other) => samePlace(other, one) && Math.abs(other.offset - one.offset) < 1e-9);
    // Each reading held answers for one keyed reading only, so that repeats are told apart.
    if (at >= 0) rest.splice(at, 1);
    return at < 0;
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
