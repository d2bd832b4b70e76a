/** Where a text stops being JSON, and what should stand there. */
export interface JsonFault {
  /** 1-based line */
  readonly row: number;
  readonly found: string;
  readonly expected: string;
}

type Wanted = 'value' | 'value or ]' | 'key' | 'key or }' | ':' | ', or close' | 'end';

const ESCAPE = /\\(?:["\\/bfnrt]|u[0-9a-fA-F]{4})/y;
const NUMBER = /-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?/y;
const WORD = /true|false|null/y;
const SPACE = /[ \t\n\r]*/y;

/**
 * The first fault of a text as JSON (RFC 8259), in words for someone who wrote it by hand; null where there is none.
 * The engine's own messages differ from version to version and do not always say where.
 */
export function jsonFault(text: string): JsonFault | null {
  const open: ('{' | '[')[] = [];
  let wanted: Wanted = 'value';
  let at = 0;
  const afterValue = (): Wanted => (open.length === 0 ? 'end' : ', or close');
  const fault = (found: string, expected: string): JsonFault => ({
    row: text.slice(0, at).split('\n').length,
    found,
    expected,
  });

  for (;;) {
    at = matchEnd(SPACE, text, at) ?? at;
    if (at >= text.length)
      return wanted === 'end' ? null : fault('the end of the file', endWords(wanted, open));
    const character = text[at]!;
    if (wanted === 'end') return fault(shownAt(text, at), 'nothing after the closing bracket');
    if (wanted === ':') {
      if (character !== ':') return fault(shownAt(text, at), 'a colon between key and value');
      at++;
      wanted = 'value';
    } else if (wanted === ', or close') {
      const close = open.at(-1) === '{' ? '}' : ']';
      if (character === ',') {
        at++;
        wanted = open.at(-1) === '{' ? 'key' : 'value';
      } else if (character === close) {
        at++;
        open.pop();
        wanted = afterValue();
      } else if (character === '"' && text[at - 1] === '"') {
        return fault(shownAt(text, at), `a comma or ${close} (an inch mark inside text is written \\")`);
      } else return fault(shownAt(text, at), `a comma or ${close}`);
    } else if (wanted === 'key' || wanted === 'key or }') {
      if (character === '}' && wanted === 'key or }') {
        at++;
        open.pop();
        wanted = afterValue();
      } else {
        const end = stringEnd(text, at);
        if (end === null) return fault(shownAt(text, at), keyWords(character));
        at = end;
        wanted = ':';
      }
    } else if (character === ']' && wanted === 'value or ]') {
      at++;
      open.pop();
      wanted = afterValue();
    } else if (character === '{' || character === '[') {
      open.push(character);
      at++;
      wanted = character === '{' ? 'key or }' : 'value or ]';
    } else {
      const end = stringEnd(text, at) ?? matchEnd(WORD, text, at) ?? matchEnd(NUMBER, text, at);
      if (end === null) return fault(shownAt(text, at), valueWords(character));
      at = end;
      wanted = afterValue();
    }
  }
}

function matchEnd(pattern: RegExp, text: string, at: number): number | null {
  pattern.lastIndex = at;
  return pattern.test(text) ? pattern.lastIndex : null;
}

/** Just past the closing quote of the string that begins here; null where none does or it is faulty. */
function stringEnd(text: string, at: number): number | null {
  if (text[at] !== '"') return null;
  let i = at + 1;
  while (i < text.length) {
    const code = text.charCodeAt(i);
    if (code === 0x22) return i + 1;
    if (code < 0x20) return null;
    if (code === 0x5c) {
      const end = matchEnd(ESCAPE, text, i);
      if (end === null) return null;
      i = end;
    } else i++;
  }
  return null;
}

function shownAt(text: string, at: number): string {
  const rest = text.slice(at, at + 24).split('\n')[0]!;
  return rest.length === 24 ? `${rest}…` : rest;
}

function keyWords(character: string): string {
  if (character === '}') return 'another key, because of the comma before it (take that comma out)';
  if (character === '"') return 'a key with a closing quote on the same line';
  if (character === '/' || character === '#') return 'a key (JSON has no comments)';
  return 'a key in double quotes';
}

function valueWords(character: string): string {
  if (character === ']') return 'another value, because of the comma before it (take that comma out)';
  if (character === '"')
    return 'text with a closing quote on the same line (an inch mark inside it is written \\")';
  if (character === '/' || character === '#') return 'a value (JSON has no comments)';
  return 'a value: text in double quotes, a number, { … } or [ … ]';
}

function endWords(wanted: Wanted, open: readonly string[]): string {
  if (open.length === 0) return wanted === 'value' ? 'a job { … }' : 'more';
  return `a closing ${open.at(-1) === '{' ? '}' : ']'}`;
}
