import { createScanner, type JSONVisitor, type SyntaxKind, visit } from 'jsonc-parser';
import type { Problem } from '../input-error.ts';

/** No job needs more, and a reader that calls itself for each level must not be led on for ever. */
const DEEPEST = 64;

const OPEN_BRACE: SyntaxKind.OpenBraceToken = 1;
const CLOSE_BRACE: SyntaxKind.CloseBraceToken = 2;
const OPEN_BRACKET: SyntaxKind.OpenBracketToken = 3;
const CLOSE_BRACKET: SyntaxKind.CloseBracketToken = 4;
const END_OF_FILE: SyntaxKind.EOF = 17;

type Wanted = 'value' | 'value or ]' | 'key' | 'key or }' | ':' | ', or close' | 'end';

/**
 * What is wrong with a text as JSON (RFC 8259), in words for someone who wrote it by hand: the first place where it
 * breaks, or every key that an object has twice (JSON.parse keeps the last one and says nothing). Empty where nothing
 * is. The engine's own messages differ from version to version and do not always say where.
 */
export function jsonProblems(text: string, file: string): Problem[] {
  const deep = tooDeep(text);
  if (deep !== null) {
    return [
      {
        file,
        row: rowOf(text, deep),
        found: `brackets nested more than ${DEEPEST} deep`,
        expected: 'a job, which needs no more than a few levels',
      },
    ];
  }
  /** Keys of the open objects; null for an open list. */
  const open: (Set<string> | null)[] = [];
  const twice: Problem[] = [];
  const faults: Problem[] = [];
  let wanted: Wanted = 'value';
  const after = () => {
    wanted = open.length === 0 ? 'end' : ', or close';
  };
  /** The visitor is also told of an end where the bracket is missing, before it is told of the fault. */
  const close = (bracket: string) => (offset: number) => {
    if (text[offset] !== bracket) return;
    open.pop();
    after();
  };
  const visitor: JSONVisitor = {
    onObjectBegin: () => {
      open.push(new Set());
      wanted = 'key or }';
    },
    onArrayBegin: () => {
      open.push(null);
      wanted = 'value or ]';
    },
    onObjectProperty: (key, _offset, _length, line) => {
      const keys = open.at(-1)!;
      if (keys.has(key)) {
        twice.push({
          file,
          row: line + 1,
          column: key,
          found: `the key "${key}" a second time`,
          expected: 'each key once',
        });
      }
      keys.add(key);
      wanted = ':';
    },
    onSeparator: (character) => {
      wanted = character === ',' && open.at(-1) !== null ? 'key' : 'value';
    },
    onLiteralValue: after,
    onObjectEnd: close('}'),
    onArrayEnd: close(']'),
    onError: (_code, offset) => {
      if (faults.length > 0) return;
      faults.push({ file, row: rowOf(text, offset), ...fault(text, offset, wanted, open) });
    },
  };
  visit(text, visitor, { disallowComments: true, allowTrailingComma: false });
  return faults.length > 0 ? faults : twice;
}

/** Where the brackets go deeper than any job needs; null where they do not. */
function tooDeep(text: string): number | null {
  const scanner = createScanner(text, true);
  let depth = 0;
  for (;;) {
    const token: SyntaxKind = scanner.scan();
    if (token === END_OF_FILE) return null;
    if (token === OPEN_BRACE || token === OPEN_BRACKET) depth++;
    if (token === CLOSE_BRACE || token === CLOSE_BRACKET) depth--;
    if (depth > DEEPEST) return scanner.getTokenOffset();
  }
}

function rowOf(text: string, offset: number): number {
  return text.slice(0, offset).split('\n').length;
}

function fault(
  text: string,
  at: number,
  wanted: Wanted,
  open: readonly (Set<string> | null)[],
): Pick<Problem, 'found' | 'expected'> {
  const close = open.at(-1) === null ? ']' : '}';
  if (at >= text.trimEnd().length) {
    return {
      found: 'the end of the file',
      expected: open.length === 0 ? 'a job { … }' : `a closing ${close}`,
    };
  }
  const character = text[at]!;
  const found = shownAt(text, at);
  switch (wanted) {
    case 'end':
      return { found, expected: 'nothing after the closing bracket' };
    case ':':
      return { found, expected: 'a colon between key and value' };
    case ', or close': {
      const inchMark = character === '"' && text[at - 1] === '"';
      return {
        found,
        expected: `a comma or ${close}${inchMark ? ' (an inch mark inside text is written \\")' : ''}`,
      };
    }
    case 'key':
    case 'key or }':
      return { found, expected: keyWords(character) };
    default:
      return { found, expected: valueWords(character) };
  }
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
