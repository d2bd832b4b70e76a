/** What takes most of a bench's time and knows nothing of the verdicts: made once, and read back the next time. */
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { deserialize, serialize } from 'node:v8';

/** @param folder where it is kept; '': nowhere. Make the folder anew when the fit or the simulation has changed. */
export function keep<T>(folder: string, name: string, make: () => T): T {
  const file = `${folder}/${name}.bin`;
  if (folder !== '' && existsSync(file)) return deserialize(readFileSync(file)) as T;
  const made = make();
  if (folder !== '') {
    mkdirSync(folder, { recursive: true });
    writeFileSync(file, serialize(made));
  }
  return made;
}
