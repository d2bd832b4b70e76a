const MOST = 10_000;

/** `12`, `12,14-16` to row numbers, increasing and distinct; null when it is anything else or more than 10,000 rows. */
export function parseRows(text: string): readonly number[] | null {
  const rows = new Set<number>();
  for (const part of text.split(',')) {
    const match = /^\s*(\d{1,9})(?:\s*-\s*(\d{1,9}))?\s*$/.exec(part);
    if (match === null) return null;
    const from = Number.parseInt(match[1]!, 10);
    const to = match[2] === undefined ? from : Number.parseInt(match[2], 10);
    if (from < 1 || to < from || to - from >= MOST) return null;
    for (let row = from; row <= to; row++) rows.add(row);
    if (rows.size > MOST) return null;
  }
  return [...rows].sort((a, b) => a - b);
}
