import type { Job } from '../job/job.ts';
import type { Book } from './book.ts';
import { sameStation } from './book.ts';
import type { Sheet } from './job-bundle.ts';
import { type SheetCsv, sheetCsv } from './sheet-csv.ts';

/** Readings keyed on a line that today's job does not have: they count nowhere until they are put on a line of it. */
export interface Unfitted {
  readonly cycle: number;
  readonly line: string;
  /** Readings keyed there. */
  readonly count: number;
}

/** Keyed readings the job has no line for, by cycle and line. */
export function unfitted(book: Book, job: Job): Unfitted[] {
  const known = new Set(job.lines.map((line) => line.name));
  return book.sheets.flatMap((sheet) => {
    const lines = new Set(sheet.cells.map((cell) => cell.line).filter((line) => !known.has(line)));
    return [...lines].map((line) => ({
      cycle: sheet.cycle,
      line,
      count: sheet.cells
        .filter((cell) => cell.line === line)
        .reduce((sum, cell) => sum + cell.readings.filter((text) => text.trim() !== '').length, 0),
    }));
  });
}

/** The readings of one of them as a CSV, under the line they were keyed on. */
export function unfittedCsv(book: Book, job: Job, { cycle, line }: Unfitted): SheetCsv {
  const sheet = book.sheets.find((each) => each.cycle === cycle)!;
  return sheetCsv(sheet, { ...job, lines: [{ ...job.lines[0]!, name: line }] });
}

/**
 * Puts them on a line of the job. Where that line holds readings of the same place already, both cannot be right: those
 * stay where they are.
 */
export function mapUnfitted(book: Book, { cycle, line }: Unfitted, to: string): Book {
  return onSheet(book, cycle, (sheet) => {
    const taken = (cell: Sheet['cells'][number]) =>
      sheet.cells.some(
        (each) => each.line === to && each.state === cell.state && sameStation(each.station, cell.station),
      );
    return {
      ...sheet,
      cells: sheet.cells.map((cell) => (cell.line === line && !taken(cell) ? { ...cell, line: to } : cell)),
      surveys: sheet.surveys.map((facts) =>
        facts.line === line && !sheet.surveys.some((each) => each.line === to && each.state === facts.state)
          ? { ...facts, line: to }
          : facts,
      ),
    };
  });
}

/** Takes them out of the book. */
export function discardUnfitted(book: Book, { cycle, line }: Unfitted): Book {
  return onSheet(book, cycle, (sheet) => ({
    ...sheet,
    cells: sheet.cells.filter((cell) => cell.line !== line),
    surveys: sheet.surveys.filter((facts) => facts.line !== line),
    stations: sheet.stations.filter((each) => each.line !== line),
  }));
}

/** Undo would bring back places by their old line, so it begins anew. */
function onSheet(book: Book, cycle: number, map: (sheet: Sheet) => Sheet): Book {
  return {
    ...book,
    undo: [],
    redo: [],
    sheets: book.sheets.map((sheet) => (sheet.cycle === cycle ? map(sheet) : sheet)),
  };
}
