import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Folder of this package, from source, bundle or installation alike: the nearest package.json named sweepbook. */
export function packageRoot(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  for (;;) {
    const manifest = join(folder, 'package.json');
    if (existsSync(manifest) && JSON.parse(readFileSync(manifest, 'utf8')).name === 'sweepbook')
      return folder;
    const parent = dirname(folder);
    if (parent === folder) throw new Error('the sweepbook package folder was not found');
    folder = parent;
  }
}
