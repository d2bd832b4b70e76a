import type { Job } from '../job/job.ts';
import type { Book } from './book.ts';
import { samePlace } from './book.ts';
import type { Cell, Sheet } from './job-bundle.ts';
import { fits } from './panel-grid.ts';
import { csvOfLines, type SheetCsv } from './sheet-csv.ts';

/** Readings keyed on a line that today's job does not have: they count nowhere until they are put on a line of it. */
export interface Unfitted {
  readonly cycle: number;
  readonly line: string;
  /** Whether they were read at heights, so that only a panel can take them. */
  readonly onPanel: boolean;
  /** Readings keyed there. */
  readonly count: number;
}

function isFitted(cell: Cell, job: Job): boolean {
  const line = job.lines.find((each) => each.name === cell.line);
  return line !== undefined && fits(cell, line);
}

/** Keyed readings the job has no line for, by cycle and line. */
export function unfitted(book: Book, job: Job): Unfitted[] {
  return book.sheets.flatMap((sheet) => {
    const cells = sheet.cells.filter((cell) => !isFitted(cell, job));
    return [...new Set(cells.map((cell) => cell.line))].map((line) => ({
      cycle: sheet.cycle,
      line,
      onPanel: cells.some((cell) => cell.line === line && cell.height !== undefined),
      count: cells
        .filter((cell) => cell.line === line)
        .reduce((sum, cell) => sum + cell.readings.filter((text) => text.trim() !== '').length, 0),
    }));
  });
}

/** The readings of one of them as a CSV, under the line they were keyed on. */
export function unfittedCsv(book: Book, job: Job, { cycle, line }: Unfitted): SheetCsv {
  const sheet = book.sheets.find((each) => each.cycle === cycle)!;
  const cells = sheet.cells.filter((cell) => cell.line === line && !isFitted(cell, job));
  return csvOfLines({ ...sheet, cells }, job, [line]);
}

/**
 * Puts them on a line of the job. Where that line holds readings of the same place already, both cannot be right: those
 * stay where they are.
 */
export function mapUnfitted(book: Book, job: Job, { cycle, line }: Unfitted, to: string): Book {
  return onSheet(book, cycle, (sheet) => {
    const goes = (cell: Cell) =>
      cell.line === line &&
      !isFitted(cell, job) &&
      isFitted({ ...cell, line: to }, job) &&
      !sheet.cells.some((each) => samePlace(each, { ...cell, line: to }));
    return {
      ...sheet,
      cells: sheet.cells.map((cell) => (goes(cell) ? { ...cell, line: to } : cell)),
      surveys: sheet.surveys.map((facts) =>
        facts.line === line && !sheet.surveys.some((each) => each.line === to && each.state === facts.state)
          ? { ...facts, line: to }
          : facts,
      ),
    };
  });
}

/** Takes them out of the book. */
export function discardUnfitted(book: Book, job: Job, { cycle, line }: Unfitted): Book {
  const stays = job.lines.some((each) => each.name === line);
  return onSheet(book, cycle, (sheet) => ({
    ...sheet,
    cells: sheet.cells.filter((cell) => cell.line !== line || isFitted(cell, job)),
    surveys: sheet.surveys.filter((facts) => facts.line !== line || stays),
    stations: sheet.stations.filter((each) => each.line !== line || stays),
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
