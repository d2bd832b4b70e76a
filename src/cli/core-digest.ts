import { basename } from 'node:path';

/** SHA-256 of the core's script as the build made it. */
declare const SWEEPBOOK_CORE: string | undefined;

/** Digest of the code that works answers out; null where the program runs from source, whose code may change any moment. */
export function coreDigest(): string | null {
  return typeof SWEEPBOOK_CORE === 'string' ? SWEEPBOOK_CORE : null;
}

/** The program as the build named it, by a digest of all its code; null where it runs from source. */
export function programDigest(): string | null {
  return coreDigest() === null ? null : basename(import.meta.url);
}
