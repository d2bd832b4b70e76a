/**
 * Characters that a terminal obeys, that hide text or turn its direction, or that break a line: control characters
 * (C0, DEL, C1), soft hyphen, zero-width and bidirectional marks, line and paragraph separators, byte order mark,
 * tag characters and lone halves of surrogate pairs.
 */
const ACTIVE =
  // biome-ignore lint/suspicious/noControlCharactersInRegex: control characters are what this looks for
  /[\u0000-\u001f\u007f-\u009f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\ufffb\ud800-\udfff\u{e0000}-\u{e007f}]/gu;

/**
 * Text of unknown origin (a cell, a file name, a note) made safe to show on one line of a terminal: every active
 * character is shown as its escape, `\u001b`, instead of being obeyed. Text without any comes back unchanged.
 */
export function inertText(text: string): string {
  return text.replace(ACTIVE, (character) =>
    Array.from(
      { length: character.length },
      (_, index) => `\\u${character.charCodeAt(index).toString(16).padStart(4, '0')}`,
    ).join(''),
  );
}
