import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { InputError } from '../input-error.ts';
import { writeFiles } from './store/write-files.ts';

/**
 * Copies the installable form of the page into a folder.
 *
 * @returns the paths written
 * @throws InputError when it was not built
 */
export function copyApp(built: string, into: string): readonly string[] {
  if (!existsSync(built)) throw new InputError(`${built} is not there; build it with "npm run build"`);
  return writeFiles(
    into,
    readdirSync(built).map((name) => ({ name, text: readFileSync(join(built, name), 'utf8') })),
  );
}
