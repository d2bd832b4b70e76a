import { type Book, placeKey } from './book.ts';
import type { Cell, Sheet, SurveyFacts } from './job-bundle.ts';

type Height = NonNullable<Sheet['heights']>[number];

/** Two windows' books as one. */
export interface Merged {
  readonly book: Book;
  /** Cycles in which both windows changed the same thing differently: the other window's stands. */
  readonly differing: readonly number[];
}

/**
 * Merges what two windows keyed since they last agreed. What only one of them changed is taken from that one; what both
 * changed differently is kept as the other window saved it, and told: the caller keeps this window's.
 *
 * @param base what this window last saw on the device; null where it is not known: then every difference is told
 */
export function mergeBooks(base: Book | null, mine: Book, theirs: Book): Merged {
  const differing = new Set<number>();
  const cycles = new Set([...theirs.sheets, ...mine.sheets].map((sheet) => sheet.cycle));
  const sheets = [...cycles]
    .sort((a, b) => a - b)
    .map((cycle) => {
      const of = (book: Book | null) => book?.sheets.find((sheet) => sheet.cycle === cycle);
      const own = of(mine);
      const other = of(theirs);
      if (own === undefined || other === undefined) return (own ?? other)!;
      return mergeSheets(of(base) ?? null, own, other, () => differing.add(cycle));
    });
  return { book: { ...mine, sheets, undo: [], redo: [] }, differing: [...differing] };
}

function mergeSheets(base: Sheet | null, mine: Sheet, theirs: Sheet, clash: () => void): Sheet {
  const three = <T>(of: (sheet: Sheet) => readonly T[], key: (item: T) => string): T[] => {
    const by = (sheet: Sheet | null) =>
      new Map((sheet === null ? [] : of(sheet)).map((item) => [key(item), item]));
    const [was, own, other] = [by(base), by(mine), by(theirs)];
    return [...new Set([...other.keys(), ...own.keys()])].flatMap((at) => {
      const text = (map: ReadonlyMap<string, T>) => JSON.stringify(map.get(at) ?? null);
      const item = text(other) === text(was) ? own.get(at) : other.get(at);
      if (text(own) !== text(other) && text(own) !== text(was) && text(other) !== text(was)) clash();
      return item === undefined ? [] : [item];
    });
  };
  const date = theirs.date === base?.date ? mine.date : theirs.date;
  if (mine.date !== theirs.date && mine.date !== base?.date && theirs.date !== base?.date) clash();
  const heights = three<Height>(
    (sheet) => sheet.heights ?? [],
    ({ line, height }) => JSON.stringify([line, Math.round(height * 1e6)]),
  );
  return {
    ...theirs,
    date,
    cells: three<Cell>((sheet) => sheet.cells, placeKey),
    surveys: three<SurveyFacts>(
      (sheet) => sheet.surveys,
      ({ line, state }) => JSON.stringify([line, state]),
    ),
    stations: three<Sheet['stations'][number]>(
      (sheet) => sheet.stations,
      ({ line, station }) => JSON.stringify([line, Math.round(station * 1e6)]),
    ),
    ...(heights.length === 0 ? {} : { heights }),
  };
}
