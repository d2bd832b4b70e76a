import type { ReadingState } from '../survey/survey.ts';
import type { Cell, Sheet, SurveyFacts } from './job-bundle.ts';

/** Where a reading is keyed. */
export interface Place {
  readonly cycle: number;
  readonly line: string;
  readonly state: ReadingState;
  /** m */
  readonly station: number;
  /** m; on panels only */
  readonly height?: number | undefined;
}

/** One change of one place, as undo needs it. */
interface Edit {
  readonly place: Place;
  readonly before: readonly string[];
  readonly after: readonly string[];
  /** Keystrokes of one visit to a field are undone together. */
  readonly visit: number;
}

/** Everything keyed for a job, and where the crew is in it. Plain data: this is what is saved at every key. */
export interface Book {
  readonly sheets: readonly Sheet[];
  readonly cycle: number;
  readonly line: string;
  readonly state: ReadingState;
  /** Height of a panel that is being read, m. */
  readonly height?: number | undefined;
  readonly undo: readonly Edit[];
  readonly redo: readonly Edit[];
}

const MOST_UNDO = 500;
const SAME = 1e-6;

export function sameStation(a: number, b: number): boolean {
  return Math.abs(a - b) <= SAME;
}

/** Whether two readings stand at one place of one survey; a reading with a height and one without never do. */
export function samePlace(a: Omit<Place, 'cycle'>, b: Omit<Place, 'cycle'>): boolean {
  return (
    a.line === b.line &&
    a.state === b.state &&
    sameStation(a.station, b.station) &&
    (a.height === undefined || b.height === undefined
      ? a.height === b.height
      : sameStation(a.height, b.height))
  );
}

/** Text that is the same for the same place only, for maps. */
export function placeKey({ line, state, station, height }: Omit<Place, 'cycle'>): string {
  const micro = (metres: number): number => Math.round(metres * 1e6);
  return JSON.stringify([line, state, micro(station), ...(height === undefined ? [] : [micro(height)])]);
}

export function currentSheet(book: Book): Sheet | null {
  return book.sheets.find((sheet) => sheet.cycle === book.cycle) ?? null;
}

/** Name of a new sheet's file, different from every name taken. */
function sheetFile(cycle: number, date: string, taken: Iterable<string>): string {
  const names = new Set(taken);
  const stem = `readings/cycle-${String(cycle).padStart(2, '0')}${date === '' ? '' : `-${date}`}`;
  for (let n = 1; ; n++) {
    const name = `${stem}${n === 1 ? '' : `-${n}`}.csv`;
    if (!names.has(name)) return name;
  }
}

/** The sheet of a cycle, made where there is none, becomes the current one. */
export function openSheet(book: Book, cycle: number, date: string, taken: Iterable<string>): Book {
  if (book.sheets.some((sheet) => sheet.cycle === cycle)) return { ...book, cycle };
  const file = sheetFile(cycle, date, [...taken, ...book.sheets.map((each) => each.file)]);
  const sheet: Sheet = { cycle, date, file, surveys: [], cells: [], stations: [] };
  return { ...book, cycle, sheets: [...book.sheets, sheet].sort((a, b) => a.cycle - b.cycle) };
}

export function readingsAt(book: Book, place: Place): readonly string[] {
  const sheet = book.sheets.find((each) => each.cycle === place.cycle);
  return (sheet === undefined ? undefined : findCell(sheet, place))?.readings ?? [];
}

function findCell(sheet: Sheet, place: Omit<Place, 'cycle'>): Cell | undefined {
  return sheet.cells.find((cell) => samePlace(cell, place));
}

/** Puts a text into one slot of a place (slot 0 the reading, 1 and up its repeats). */
export function keyReading(book: Book, place: Place, slot: number, text: string, visit: number): Book {
  const before = readingsAt(book, place);
  const after = Array.from({ length: Math.max(before.length, slot + 1) }, (_, i) => before[i] ?? '');
  after[slot] = text;
  return change(book, { place, before, after: withoutTail(after), visit });
}

/** Blank readings at the end are none. */
function withoutTail(readings: readonly string[]): string[] {
  let length = readings.length;
  while (length > 0 && readings[length - 1]!.trim() === '') length--;
  return readings.slice(0, length);
}

function change(book: Book, edit: Edit): Book {
  if (equal(edit.before, edit.after)) return book;
  const last = book.undo.at(-1);
  const merged =
    last !== undefined && last.visit === edit.visit && sameCycle(last.place, edit.place)
      ? [...book.undo.slice(0, -1), { ...edit, before: last.before }]
      : [...book.undo, edit];
  return {
    ...put(book, edit.place, edit.after),
    undo: merged.filter((each) => !equal(each.before, each.after)).slice(-MOST_UNDO),
    redo: [],
  };
}

function put(book: Book, place: Place, readings: readonly string[]): Book {
  const { cycle, ...where } = place;
  return {
    ...book,
    sheets: book.sheets.map((sheet) => {
      if (sheet.cycle !== cycle) return sheet;
      const old = findCell(sheet, where);
      const others = sheet.cells.filter((cell) => cell !== old);
      const cells = readings.length === 0 ? others : [...others, { ...where, readings: [...readings] }];
      return { ...sheet, cells };
    }),
  };
}

/** Takes the last change back; `place` is where it was. Null where there is nothing to take back. */
export function undo(book: Book): { readonly book: Book; readonly place: Place } | null {
  const edit = book.undo.at(-1);
  if (edit === undefined) return null;
  const back = put(book, edit.place, edit.before);
  return { book: { ...back, undo: book.undo.slice(0, -1), redo: [...book.redo, edit] }, place: edit.place };
}

export function redo(book: Book): { readonly book: Book; readonly place: Place } | null {
  const edit = book.redo.at(-1);
  if (edit === undefined) return null;
  const again = put(book, edit.place, edit.after);
  // A redone edit never merges with keys typed later.
  const done = { ...edit, visit: -1 - edit.visit };
  return { book: { ...again, undo: [...book.undo, done], redo: book.redo.slice(0, -1) }, place: edit.place };
}

export function factsOf(sheet: Sheet, line: string, state: ReadingState): SurveyFacts {
  return (
    sheet.surveys.find((each) => each.line === line && each.state === state) ?? {
      line,
      state,
      time: '',
      temperature: '',
      note: '',
    }
  );
}

export function setFacts(book: Book, facts: SurveyFacts): Book {
  return onSheet(book, (sheet) => ({
    ...sheet,
    surveys: [
      ...sheet.surveys.filter((each) => each.line !== facts.line || each.state !== facts.state),
      facts,
    ],
  }));
}

/**
 * The book with the time of day at a survey that begins now; itself where the survey has begun, has a time, or its
 * sheet is of another day.
 *
 * @param today ISO date
 * @param time hh:mm
 */
export function withTime(book: Book, today: string, time: string): Book {
  const sheet = currentSheet(book)!;
  const facts = factsOf(sheet, book.line, book.state);
  const begun = sheet.cells.some((cell) => cell.line === book.line && cell.state === book.state);
  return begun || facts.time !== '' || sheet.date !== today ? book : setFacts(book, { ...facts, time });
}

export function setDate(book: Book, date: string): Book {
  return onSheet(book, (sheet) => ({ ...sheet, date }));
}

/** Puts stations on the list of a line, each once. */
export function addStations(book: Book, line: string, stations: readonly number[]): Book {
  return onSheet(book, (sheet) => {
    const added = [...sheet.stations];
    for (const station of stations) {
      if (!added.some((each) => each.line === line && sameStation(each.station, station))) {
        added.push({ line, station });
      }
    }
    return { ...sheet, stations: added };
  });
}

/** Puts heights on the list of a panel, each once. */
export function addHeights(book: Book, line: string, heights: readonly number[]): Book {
  return onSheet(book, (sheet) => {
    const added = [...(sheet.heights ?? [])];
    for (const height of heights) {
      if (!added.some((each) => each.line === line && sameStation(each.height, height)))
        added.push({ line, height });
    }
    return { ...sheet, heights: added };
  });
}

function onSheet(book: Book, map: (sheet: Sheet) => Sheet): Book {
  return {
    ...book,
    sheets: book.sheets.map((sheet) => (sheet.cycle === book.cycle ? map(sheet) : sheet)),
  };
}

function sameCycle(a: Place, b: Place): boolean {
  return a.cycle === b.cycle && samePlace(a, b);
}

function equal(a: readonly string[], b: readonly string[]): boolean {
  return a.length === b.length && a.every((text, i) => text === b[i]);
}
