import { createHash } from 'node:crypto';
import { closeSync, readSync } from 'node:fs';
import { openInput } from './open-input.ts';

const BLOCK = 1 << 20;

/** SHA-256 of a file's bytes in lower-case hex, read a block at a time. */
export function hashFile(path: string): { readonly sha256: string; readonly bytes: number } {
  const hash = createHash('sha256');
  const block = Buffer.allocUnsafe(BLOCK);
  const { handle } = openInput(path, 'cloud');
  let bytes = 0;
  try {
    for (;;) {
      const count = readSync(handle, block, 0, BLOCK, null);
      if (count === 0) break;
      hash.update(block.subarray(0, count));
      bytes += count;
    }
  } finally {
    closeSync(handle);
  }
  return { sha256: hash.digest('hex'), bytes };
}

/** SHA-256 of bytes, or of a text as UTF-8, in lower-case hex. */
export function hashBytes(content: string | Uint8Array): string {
  return createHash('sha256').update(content).digest('hex');
}
