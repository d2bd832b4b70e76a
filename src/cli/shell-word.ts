import { inertText } from '../inert-text.ts';

/** A name as one word of a command to copy: quoted where a shell would read more into it. */
export function shellWord(name: string): string {
  const word = inertText(name.startsWith('-') ? `./${name}` : name);
  return /^[\w./~+@%:=-]+$/.test(word) ? word : `'${word.replaceAll("'", `'\\''`)}'`;
}
