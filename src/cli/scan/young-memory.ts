import { setFlagsFromString } from 'node:v8';
import { coreDigest } from '../core-digest.ts';

/**
 * Keeps the memory of what was made last as small as it is. The engine doubles it up to 32 MB where much outlives a round of
 * clearing, and reading clouds makes numbers by the hundred thousand that do not: cleared more often, in memory that
 * stays in the processor's cache, they take no more time. Later engines grow it by other rules and keep their own; so does
 * what runs from source, which is a test with other things to do.
 */
export function keepYoungSmall(): void {
  if (coreDigest() !== null && process.versions.v8.startsWith('11.'))
    setFlagsFromString('--semi-space-growth-factor=1');
}
