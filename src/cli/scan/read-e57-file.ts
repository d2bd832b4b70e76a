import { createHash } from 'node:crypto';
import { readSync } from 'node:fs';
import type { PointSink } from '../../scan/cloud.ts';
import { openE57, readE57 } from '../../scan/read-e57.ts';
import type { CloudRead } from './cloud-read.ts';

const BLOCK = 1 << 20;

/** Reads an E57 file piece by piece: its description stands at its end, so the bytes are hashed in a pass of their own. */
export function readE57File(
  handle: number,
  size: number,
  file: string,
  sink: PointSink,
  onProgress: (what: string, done: number, total: number) => void,
): CloudRead {
  const read = (at: number, length: number): Uint8Array => {
    const bytes = Buffer.allocUnsafe(Math.min(length, Math.max(0, size - at)));
    let got = 0;
    while (got < bytes.length) {
      const count = readSync(handle, bytes, got, bytes.length - got, at + got);
      if (count === 0) break;
      got += count;
    }
    return bytes.subarray(0, got);
  };
  const opened = openE57(file, size, read, (bytes) => new TextDecoder().decode(bytes));
  const tally = readE57(file, size, opened, read, sink, (done, total) =>
    onProgress(`Reading ${file}`, done, total),
  );
  const hash = createHash('sha256');
  for (let at = 0; at < size; at += BLOCK) hash.update(read(at, BLOCK));
  return { ...tally, sha256: hash.digest('hex'), bytes: size };
}
