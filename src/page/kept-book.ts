import * as z from 'zod';
import type { Book } from './book.ts';
import { type Cell, type JobBundle, readBundle, type Sheet, sheetParts } from './job-bundle.ts';

/** One job kept on this device. */
export interface StoredBook {
  readonly id: string;
  readonly name: string;
  /** ISO date-time of the last change */
  readonly saved: string;
  /** Counts the saves: a second window that saved in between is noticed. */
  readonly revision: number;
  readonly book: Book;
}

/** What could be read of a kept record. */
export interface ReadBack {
  readonly stored: StoredBook;
  /** False where something in the record is not what this page writes: then the record itself must be kept too. */
  readonly whole: boolean;
}

const edit = z.object({
  place: z.object({
    cycle: z.number(),
    line: z.string(),
    state: z.enum(['released', 'restrained']),
    station: z.number(),
    height: z.number().optional(),
  }),
  before: z.array(z.string()),
  after: z.array(z.string()),
  visit: z.number(),
});
const rest = z.object({
  cycle: z.int().min(0),
  line: z.string(),
  state: z.enum(['released', 'restrained']),
  height: z.number().optional(),
  undo: z.array(edit),
  redo: z.array(edit),
});

/**
 * Reads a record of the device's store. Whatever is sound in it is taken, cell by cell; nothing is made up.
 * Null where no record is there at all.
 */
export function readStoredBook(id: string, raw: unknown): ReadBack | null {
  if (raw === undefined || raw === null) return null;
  const record = fields(raw);
  const book = fields(record.book);
  const given = Array.isArray(book.sheets) ? (book.sheets as unknown[]) : null;
  const sheets: Sheet[] = [];
  let whole = given !== null && typeof record.name === 'string' && typeof record.saved === 'string';
  for (const each of given ?? []) {
    const read = readSheetRecord(each);
    // Two sheets of one cycle: only the first could ever be shown.
    if (read === null || sheets.some((other) => other.cycle === read.sheet.cycle)) whole = false;
    else {
      sheets.push(read.sheet);
      whole &&= read.whole;
    }
  }
  const others = rest.safeParse(book);
  const revision = typeof record.revision === 'number' && Number.isSafeInteger(record.revision);
  return {
    whole: whole && others.success && revision,
    stored: {
      id,
      name: typeof record.name === 'string' ? record.name : 'A job without a readable name',
      saved: typeof record.saved === 'string' ? record.saved : '',
      revision: revision ? (record.revision as number) : 0,
      book: {
        ...(others.success ? others.data : { cycle: 0, line: '', state: 'released', undo: [], redo: [] }),
        sheets: sheets.sort((a, b) => a.cycle - b.cycle),
      },
    },
  };
}

/** A kept bundle, or null where it is not one. */
export function readStoredBundle(raw: unknown): JobBundle | null {
  return raw === undefined ? null : readBundle(raw);
}

function readSheetRecord(raw: unknown): { readonly sheet: Sheet; readonly whole: boolean } | null {
  const full = sheetParts.sheet.safeParse(raw);
  if (full.success) return { sheet: full.data, whole: true };
  const record = fields(raw);
  const cells: Cell[] = (Array.isArray(record.cells) ? record.cells : []).flatMap((each: unknown) => {
    const cell = sheetParts.cell.safeParse(each);
    return cell.success ? [cell.data] : [];
  });
  const sheet = sheetParts.sheet.safeParse({
    cycle: record.cycle,
    date: typeof record.date === 'string' ? record.date : '',
    file: record.file,
    surveys: [],
    cells,
    stations: [],
  });
  return sheet.success ? { sheet: sheet.data, whole: false } : null;
}

function fields(raw: unknown): Readonly<Record<string, unknown>> {
  return typeof raw === 'object' && raw !== null ? (raw as Record<string, unknown>) : {};
}
