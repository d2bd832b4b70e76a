import { InputError, type Problem } from '../../input-error.ts';
import { csvRecords, type Delimiter } from '../../read/csv-records.ts';

/** The heading line of a log as it stands in the file. */
export interface Heading {
  readonly headings: readonly string[];
  readonly delimiter: Delimiter;
}

/** The first record of a text and how its cells are parted; null where there is none. */
export function headingOf(text: string): Heading | null {
  const seen: string[][] = [];
  const records = csvRecords({
    record: (cells) => seen.push(cells),
    brokenQuote: () => {},
    tooLong: () => {},
  });
  records.push(text);
  records.end();
  const [headings] = seen;
  return headings === undefined ? null : { headings, delimiter: records.delimiter() ?? ',' };
}

/** Every record of a text below its heading, as written. */
export function rowsOf(text: string): string[][] {
  const seen: string[][] = [];
  const records = csvRecords({
    record: (cells) => seen.push(cells),
    brokenQuote: () => {},
    tooLong: () => {},
  });
  records.push(text);
  records.end();
  return seen.slice(1);
}

/**
 * A log with one more row at its end; what stands in it already stays to the byte, so that the ledger still holds it.
 *
 * @param cells texts by heading
 * @param read every fault of a log, as the command line finds them
 * @throws InputError with what is wrong in the new row; a fault the log had before is no reason to refuse
 */
export function withRow(
  text: string,
  cells: Readonly<Record<string, string>>,
  read: (text: string) => readonly Problem[],
): string {
  const heading = headingOf(text);
  if (heading === null) throw new InputError('The log has no heading line.');
  const { headings, delimiter } = heading;
  const row = headings.map((name) => quoted((cells[name] ?? '').trim(), delimiter)).join(delimiter);
  const next = `${text}${text === '' || text.endsWith('\n') ? '' : '\n'}${row}\n`;
  const before = new Set(read(text).map((each) => JSON.stringify(each)));
  const news = read(next).filter((each) => !before.has(JSON.stringify(each)));
  if (news.length > 0) throw new InputError('The row was not kept.', news);
  return next;
}

/**
 * A log without its last row: every line above it and every comment below it stays to the byte.
 *
 * @returns null where it has no row
 */
export function withoutLastRow(text: string): { readonly text: string; readonly row: string } | null {
  const starts: number[] = [];
  const records = csvRecords({
    record: (_cells, row) => starts.push(row),
    brokenQuote: () => {},
    tooLong: () => {},
  });
  records.push(text);
  records.end();
  const at = starts.slice(1).at(-1);
  if (at === undefined) return null;
  const lines = text.split('\n');
  const below = lines.slice(at);
  const comments = below.findLastIndex((line) => line.trim() !== '' && !line.startsWith('#')) + 1;
  return {
    text: [...lines.slice(0, at - 1), ...below.slice(comments)].join('\n'),
    row: lines
      .slice(at - 1, at + comments)
      .join(' ')
      .trim(),
  };
}

/**
 * A log with one more column at its end, blank in every row there is; only its heading line is different.
 *
 * @throws InputError where the log would then read with a fault it does not have now
 */
export function withColumn(text: string, name: string, read: (text: string) => readonly Problem[]): string {
  const heading = headingOf(text);
  if (heading === null) throw new InputError('The log has no heading line.');
  const lines = text.split('\n');
  // Comments may stand above the heading; a byte-order mark before it.
  const at = lines.findIndex(
    (line) => line.replace(/^\ufeff/, '').trim() !== '' && !line.replace(/^\ufeff/, '').startsWith('#'),
  );
  const line = lines[at]!;
  const end = line.endsWith('\r') ? '\r' : '';
  lines[at] =
    `${line.slice(0, line.length - end.length)}${heading.delimiter}${quoted(name, heading.delimiter)}${end}`;
  const next = lines.join('\n');
  const before = new Set(read(text).map((each) => JSON.stringify(each)));
  const news = read(next).filter((each) => !before.has(JSON.stringify(each)));
  if (news.length > 0) throw new InputError('The column was not added.', news);
  return next;
}

function quoted(cell: string, delimiter: Delimiter): string {
  // A cell that begins with # would make the row a comment.
  const plain = !/["\r\n]|^#/.test(cell) && !cell.includes(delimiter);
  return plain ? cell : `"${cell.replaceAll('"', '""').replace(/[\r\n]+/g, ' ')}"`;
}
