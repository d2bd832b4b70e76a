import type { Problem } from '../input-error.ts';

/**
 * Keys given twice in one object of a JSON text that is known to be valid. JSON.parse keeps the last one and says
 * nothing, so a second line of the same name would make the first vanish.
 */
export function duplicateKeys(text: string, file: string): Problem[] {
  const problems: Problem[] = [];
  /** Keys of the open objects; null for an open list. */
  const open: (Set<string> | null)[] = [];
  let row = 1;
  let keyNext = false;
  for (let i = 0; i < text.length; i++) {
    const character = text[i]!;
    if (character === '\n') row++;
    else if (character === '{' || character === '[') {
      open.push(character === '{' ? new Set() : null);
      keyNext = character === '{';
    } else if (character === '}' || character === ']') {
      open.pop();
      keyNext = false;
    } else if (character === ',') keyNext = open.at(-1) != null;
    else if (character === '"') {
      const end = closingQuote(text, i);
      const keys = open.at(-1);
      if (keyNext && keys != null) {
        const key = JSON.parse(text.slice(i, end + 1)) as string;
        if (keys.has(key)) {
          problems.push({
            file,
            row,
            column: key,
            found: `the key "${key}" a second time`,
            expected: 'each key once',
          });
        }
        keys.add(key);
      }
      keyNext = false;
      i = end;
    }
  }
  return problems;
}

function closingQuote(text: string, start: number): number {
  let i = start + 1;
  while (i < text.length && text[i] !== '"') i += text[i] === '\\' ? 2 : 1;
  return i;
}
