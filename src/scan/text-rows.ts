import { cloudError } from './cloud.ts';

/** Most columns of a row that are kept; the rest is read over. */
const MAX_COLUMNS = 32;
/** Longest line accepted, bytes: a file without line endings is not a table of points. */
const LINE_LIMIT = 8192;

/** Row callback: parsed values (reused array), their number, the 1-based file line, and whether commas stand between digits. */
export type RowSink = (values: Float64Array, count: number, line: number, commas: boolean) => void;

const POWERS = Float64Array.from({ length: 23 }, (_, i) => 10 ** i);

/**
 * Parses rows of numbers from chunks of bytes, without making strings for ordinary numbers.
 * Separators: spaces, tabs, commas, semicolons. `#` and `//` lines and blank lines give no row.
 * "nan" and "inf" give NaN (the caller counts such points). LF and CR LF line endings; a UTF-8 byte order mark is
 * passed over. Commas between digits beside other separators are decimal commas, which would be read as two
 * numbers each: refused.
 *
 * @param lines lines already read before the first chunk
 * @param onText called for a line that holds something else than numbers; when absent, or when it answers
 *   false, an InputError names the line. Comments are shown to it too, without their mark, because some hold the heading
 */
export function textRows(
  sink: RowSink,
  file: string,
  lines = 0,
  onText?: (text: string, line: number, comment: boolean) => boolean,
) {
  const values = new Float64Array(MAX_COLUMNS);
  let line = lines;
  let carry = new Uint8Array(LINE_LIMIT);
  let carried = 0;

  function tooLong(): never {
    throw cloudError(file, { line: line + 1 }, `a line of more than ${LINE_LIMIT} bytes`, 'one point a line');
  }

  function parseLine(bytes: Uint8Array, from: number, to: number): void {
    line++;
    let count = 0;
    let i = from;
    if (line === 1 && bytes[i] === 0xef && bytes[i + 1] === 0xbb && bytes[i + 2] === 0xbf) i += 3;
    let emptyCell = false;
    let betweenDigits = false;
    let otherSeparator = false;
    while (i < to) {
      const c = bytes[i]!;
      if (c === 44 || c === 59) {
        // An empty cell must not shift the columns after it.
        if (emptyCell && count < MAX_COLUMNS) values[count++] = Number.NaN;
        emptyCell = true;
        if (c === 59) otherSeparator = true;
        else if (i > from && i + 1 < to && isDigit(bytes[i - 1]!) && isDigit(bytes[i + 1]!))
          betweenDigits = true;
        i++;
        continue;
      }
      if (c === 32 || c === 9 || c === 13) {
        // Padding beside a comma or at an end separates nothing.
        if (i > from && i + 1 < to && isDigit(bytes[i - 1]!) && startsNumber(bytes[i + 1]!))
          otherSeparator = true;
        i++;
        continue;
      }
      emptyCell = false;
      if (count === 0 && (c === 35 || (c === 47 && bytes[i + 1] === 47))) {
        onText?.(ascii(bytes, c === 35 ? i + 1 : i + 2, to).trim(), line, true);
        return;
      }
      // A plain decimal number of at most 15 digits is exact as integer / power of ten (both exact doubles).
      const start = i;
      let negative = false;
      if (c === 45 || c === 43) {
        negative = c === 45;
        i++;
      }
      let mantissa = 0;
      let digits = 0;
      let seen = 0;
      let decimals = -1;
      let plain = true;
      for (; i < to; i++) {
        const d = bytes[i]!;
        if (d >= 48 && d <= 57) {
          seen++;
          mantissa = mantissa * 10 + (d - 48);
          if (mantissa > 0) digits++;
          if (decimals >= 0) decimals++;
        } else if (d === 46 && decimals < 0) decimals = 0;
        else if (d === 32 || d === 9 || d === 44 || d === 59 || d === 13) break;
        else plain = false;
      }
      let value: number;
      if (plain && digits <= 15 && decimals <= 22 && seen > 0) {
        value = decimals > 0 ? mantissa / POWERS[decimals]! : mantissa;
        if (negative) value = -value;
      } else {
        const word = ascii(bytes, start, i);
        if (/^[+-]?(nan|inf|infinity)(\(.*\))?$/i.test(word)) value = Number.NaN;
        else if (/^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(word)) value = Number(word);
        else {
          if (
            onText?.(
              ascii(bytes, line === 1 && bytes[from] === 0xef ? from + 3 : from, to).trim(),
              line,
              false,
            )
          )
            return;
          if (word.includes('\0')) {
            throw cloudError(
              file,
              { line },
              'bytes that are no text',
              'points as text in UTF-8 (a LAS, PLY or E57 file keeps its own ending; text in UTF-16 is to be saved again)',
            );
          }
          throw cloudError(file, { line }, `"${word.slice(0, 40)}"`, 'a number');
        }
      }
      if (count < MAX_COLUMNS) values[count] = value;
      count++;
    }
    if (betweenDigits && otherSeparator) {
      throw cloudError(
        file,
        { line },
        `commas inside numbers ("${ascii(bytes, from, Math.min(to, from + 40)).trim()}")`,
        'decimal points, or commas only between columns; export the cloud again with decimal points',
      );
    }
    sink(values, Math.min(count, MAX_COLUMNS), line, betweenDigits);
  }

  return {
    push(chunk: Uint8Array): void {
      let at = 0;
      while (at < chunk.length) {
        const newline = chunk.indexOf(10, at);
        if (newline < 0) {
          const rest = chunk.length - at;
          if (carried + rest > LINE_LIMIT) tooLong();
          carry.set(chunk.subarray(at), carried);
          carried += rest;
          return;
        }
        if (carried > 0) {
          if (carried + newline - at > LINE_LIMIT) tooLong();
          carry.set(chunk.subarray(at, newline), carried);
          parseLine(carry, 0, carried + newline - at);
          carried = 0;
        } else parseLine(chunk, at, newline);
        at = newline + 1;
      }
    },
    end(): void {
      if (carried > 0) parseLine(carry, 0, carried);
      carried = 0;
      carry = new Uint8Array(0);
    },
    /** Lines read so far. */
    line: () => line,
  };
}

const isDigit = (byte: number): boolean => byte >= 48 && byte <= 57;
const startsNumber = (byte: number): boolean => isDigit(byte) || byte === 45 || byte === 43 || byte === 46;

function ascii(bytes: Uint8Array, from: number, to: number): string {
  let text = '';
  for (let i = from; i < to; i++) text += String.fromCharCode(bytes[i]!);
  return text;
}
