/** An answer for one line with what it is tied to. */
export interface KeptLine {
  /** Digest of `lineKeyText` */
  readonly key: string;
  /** `lineText` */
  readonly text: string;
}

const HEAD = 'sweepbook kept answers 1';

/**
 * Kept answers as the text of one file. They count only under the seal of whoever kept them: without it anybody who can
 * write into a job folder could put an answer there that its readings do not give.
 *
 * @param seal a keyed digest of a text
 */
export function keptText(lines: readonly KeptLine[], seal: (text: string) => string): string {
  const body = lines.map(({ key, text }) => `${key} ${text}\n`).join('');
  return `${HEAD} ${seal(body)}\n${body}`;
}

/** The answers in such a text, by key; none where it is anything else than was sealed, to the last character. */
export function keptLines(text: string, seal: (text: string) => string): ReadonlyMap<string, string> {
  const end = text.indexOf('\n');
  const body = text.slice(end + 1);
  if (end < 0 || text.slice(0, end) !== `${HEAD} ${seal(body)}`) return new Map();
  return new Map(
    body
      .split('\n')
      .filter((line) => line !== '')
      .map((line) => {
        const at = line.indexOf(' ');
        return [line.slice(0, at), line.slice(at + 1)];
      }),
  );
}
