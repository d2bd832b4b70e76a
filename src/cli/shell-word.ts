import { inertText } from '../inert-text.ts';

/**
 * A name as one word of a command to copy: quoted where a shell would read more into it. Both shells of Windows take double
 * quotes, which no name there can hold.
 *
 * @param platform is given by tests
 */
export function shellWord(name: string, platform: NodeJS.Platform = process.platform): string {
  const word = inertText(name.startsWith('-') ? `./${name}` : name);
  if (platform === 'win32') return /^[\w.\\/~+@:=-]+$/.test(word) ? word : `"${word}"`;
  return /^[\w./~+@%:=-]+$/.test(word) ? word : `'${word.replaceAll("'", `'\\''`)}'`;
}
