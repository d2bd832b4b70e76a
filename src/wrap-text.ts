/** Spaces that stay: between a number and its unit or sign, after ±, inside a mixed fraction. */
const KEPT_SPACE =
  /(?<=\d|±) (?=(?:in|ft|mm|m|mrad|%|°F|°C|psi|MPa|kip|ksi)(?![A-Za-z])|\d+\/\d)|(?<=±) (?=\d)/g;
const STAND_IN = '\u0001';

/** Breaks at spaces to at most `width` columns, never between a number and its unit; continuation lines are indented by `hang` more than the first. */
export function wrapText(text: string, width: number, indent = '', hang = 0): string[] {
  const lines: string[] = [];
  let line = indent;
  let blank = true;
  for (const part of text.replace(KEPT_SPACE, STAND_IN).split(/(?<= )/)) {
    const word = part.replaceAll(STAND_IN, ' ');
    const shown = word.trimEnd().length;
    if (line.length + shown > width && !blank) {
      lines.push(line.trimEnd());
      line = indent + ' '.repeat(hang);
      blank = true;
    }
    line += word;
    blank &&= shown === 0;
  }
  lines.push(line.trimEnd());
  return lines;
}

/** Rows of cells as aligned text columns. `right` columns are set flush right. */
export function alignColumns(
  rows: readonly (readonly string[])[],
  right: ReadonlySet<number> = new Set(),
): string[] {
  const widths = (rows[0] ?? []).map((_, column) => Math.max(...rows.map((row) => row[column]!.length)));
  return rows.map((row) =>
    row
      .map((cell, column) =>
        right.has(column) ? cell.padStart(widths[column]!) : cell.padEnd(widths[column]!),
      )
      .join('  ')
      .trimEnd(),
  );
}

/** Columns of an ordinary terminal: a table is set in them even where it runs over a little. */
export const ORDINARY_COLUMNS = 80;

/**
 * Rows under a heading as indented lines: aligned columns where there is room for them, else (a phone, a narrow window)
 * an item a row, each cell after its heading.
 */
export function tableText(
  rows: readonly (readonly string[])[],
  width: number,
  right: ReadonlySet<number> = new Set(),
  indent = '  ',
): string[] {
  const aligned = alignColumns(rows, right).map((row) => `${indent}${row}`);
  if (width >= ORDINARY_COLUMNS || aligned.every((row) => row.length <= width)) return aligned;
  const [heading, ...body] = rows;
  return body.flatMap((row) => {
    const cells = row.flatMap((cell, i) => (cell.trim() === '' ? [] : [`${heading![i]} ${cell}`.trim()]));
    return wrapText(cells.join('; '), width, indent, 2);
  });
}
