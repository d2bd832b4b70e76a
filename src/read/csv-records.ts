import Papa from 'papaparse';

export type Delimiter = ',' | ';' | '\t';

export interface CsvRecords {
  /** Next piece of the file, in order. */
  push(chunk: string): void;
  /** No more pieces. */
  end(): void;
  /** Delimiter found in the heading line; null before it was seen. */
  readonly delimiter: () => Delimiter | null;
}

export interface CsvHandlers {
  /** One record with the file line it starts on. Blank lines and `#` comment lines do not come here. */
  readonly record: (cells: string[], row: number) => void;
  /** A quoted cell that is never closed, or that goes on after its closing quote, from line `row` to `lastRow`. */
  readonly brokenQuote: (row: number, lastRow: number) => void;
  /** A line of more than 200,000 characters without a quote in it; nothing after it is read. */
  readonly tooLong: (row: number) => void;
}

/** A record longer than this is an unclosed quote, or no record of a person's. Characters. */
const LONGEST_RECORD = 200_000;

/** What to say of a line that is too long. */
export const TOO_LONG = [
  `a line of more than ${LONGEST_RECORD} characters; the file is not read beyond it`,
  'one reading or heat a line (are the line ends missing?)',
] as const;

/** Pieces are gathered to about this size before they are cut into records: larger costs memory, smaller time. */
const PIECE = 1 << 16;

/**
 * Cuts CSV text that arrives in pieces into records, in memory bounded by the longest record. The only user of
 * papaparse.
 *
 * Traps it is kept away from: the delimiter is pinned from the first line that is neither blank nor a comment
 * (its own guess changes with its options); headings are ours (it renames repeats); file lines are counted here
 * (its row numbers are not file lines); mixed line endings are made one before it sees them.
 */
export function csvRecords(handlers: CsvHandlers): CsvRecords {
  let parser: { parse: (input: string, base: number, ignoreLast: boolean) => ParserResult } | null = null;
  let delimiter: Delimiter | null = null;
  let rest = '';
  let first = true;
  let row = 1;
  let stopped = false;

  function push(chunk: string): void {
    if (stopped || chunk === '') return;
    let text = chunk;
    if (first) {
      first = false;
      if (text.startsWith('\ufeff')) text = text.slice(1);
    }
    // A whole file at once would be one array of all its cells: it is cut up like one that arrives in pieces.
    for (let from = 0; from < text.length && !stopped; from += PIECE) {
      rest += text.length <= PIECE ? text : text.slice(from, from + PIECE);
      if (rest.length >= PIECE) take(false);
    }
  }

  function take(last: boolean): void {
    // A carriage return at the end may be half of CRLF: it waits for the next piece.
    let text = rest;
    let held = '';
    if (!last && text.endsWith('\r')) {
      held = '\r';
      text = text.slice(0, -1);
    }
    if (text.includes('\r')) text = text.replace(/\r\n?/g, '\n');
    if (delimiter === null) {
      // Blank and comment lines before the heading are let go at once: there may be megabytes of them.
      const heading = headingAt(text);
      row += newlines(text, heading);
      text = text.slice(heading);
      delimiter = findDelimiter(text, last);
      if (delimiter === null) {
        rest = text + held;
        return;
      }
      parser = new Papa.Parser({ delimiter, newline: '\n' });
    }
    const result = parser!.parse(text, 0, !last);
    // Where there are as many line ends as records, no (quoted) cell holds one.
    const ends = newlines(text, last ? text.length : result.meta.cursor);
    deliver(result, last, ends !== result.data.length - (last ? 1 : 0));
    rest = last ? '' : text.slice(result.meta.cursor) + held;
    if (rest.length > LONGEST_RECORD) {
      if (rest.includes('"')) handlers.brokenQuote(row, row + newlines(rest));
      else handlers.tooLong(row);
      rest = '';
      stopped = true;
    }
  }

  function deliver(result: ParserResult, last: boolean, spread: boolean): void {
    const broken = result.errors.length === 0 ? null : new Set(result.errors.map((error) => error.row));
    const { data } = result;
    for (let i = 0; i < data.length; i++) {
      const cells = data[i]!;
      const start = row;
      const inside = spread ? newlinesIn(cells) : 0;
      row += 1 + inside;
      if (broken?.has(i) === true) {
        handlers.brokenQuote(start, start + inside);
      } else if (cells.length === 1 && cells[0]!.trim() === '') {
        if (last && i === data.length - 1) row -= 1;
      } else if (!isComment(cells[0]!)) {
        handlers.record(cells, start);
      }
    }
  }

  return {
    push,
    end: () => {
      if (!stopped && rest !== '') take(true);
    },
    delimiter: () => delimiter,
  };
}

type ParserResult = ReturnType<InstanceType<typeof Papa.Parser>['parse']>;

function newlinesIn(cells: readonly string[]): number {
  let count = 0;
  for (const cell of cells) if (cell.includes('\n')) count += newlines(cell);
  return count;
}

function newlines(text: string, to = text.length): number {
  let count = 0;
  for (let at = text.indexOf('\n'); at !== -1 && at < to; at = text.indexOf('\n', at + 1)) count++;
  return count;
}

/** Trims only where the first character is not already a plain one; most cells start with a digit or letter. */
function isComment(cell: string): boolean {
  return cell.charCodeAt(0) <= 0x23 || cell.charCodeAt(0) > 0x7f ? cell.trimStart().startsWith('#') : false;
}

/** Where the first line starts that is neither blank nor a comment, or that is not whole yet. */
function headingAt(text: string): number {
  let from = 0;
  for (;;) {
    const to = text.indexOf('\n', from);
    if (to === -1) return from;
    const line = text.slice(from, to).trim();
    if (line !== '' && !line.startsWith('#')) return from;
    from = to + 1;
  }
}

/** The mark that parts the heading line, outside quotes and brackets; a single column counts as a comma file. Null: not seen yet. */
function findDelimiter(text: string, last: boolean): Delimiter | null {
  let from = 0;
  while (from < text.length) {
    let to = text.indexOf('\n', from);
    if (to === -1) {
      if (!last && text.length - from < LONGEST_RECORD) return null;
      to = text.length;
    }
    const line = text.slice(from, to).trim();
    if (line !== '' && !line.startsWith('#')) {
      const bare = text.slice(from, to).replace(/"[^"]*"/g, '');
      const counts = ([',', ';', '\t'] as const).map((mark) => ({ mark, count: bare.split(mark).length }));
      return counts.reduce((a, b) => (b.count > a.count ? b : a)).mark;
    }
    from = to + 1;
  }
  return last ? ',' : null;
}
