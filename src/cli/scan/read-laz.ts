import { createHash } from 'node:crypto';
import { readFileSync, readSync } from 'node:fs';
import { createRequire } from 'node:module';
import { dirname, join } from 'node:path';
import { type CloudTally, cloudError, emptyTally, type PointSink } from '../../scan/cloud.ts';
import { planLaz } from '../../scan/laz-chunks.ts';
import { lasDecoder, parseLasHeader } from '../../scan/read-las.ts';
import type { CloudRead } from './cloud-read.ts';
import { type Chunk, type Threads, threadsFor, unpackSideBySide } from './laz-threads.ts';
import { type LazFile, type UnpackerParts, unpackerOf } from './laz-unpacker.ts';

/** The unpacker works in 32-bit memory and needs a whole chunk there. */
const LARGEST = 1.5 * 2 ** 30;
const BLOCK = 1 << 20;

/**
 * Unpacks a LAZ file (LASzip-compressed LAS), chunk by chunk: they are packed each by itself. The count of the header is
 * checked against the chunks, and every point against the bounds of the header (which must therefore be filled in).
 */
export async function readLaz(
  handle: number,
  size: number,
  file: string,
  sink: PointSink,
  staleBounds: boolean,
  onProgress: (what: string, done: number, total: number) => void,
  threadsOf: (points: number, inChunk: number) => Threads | null = threadsFor,
): Promise<CloudRead> {
  const bytesAt = (from: number, count: number) => {
    const bytes = new Uint8Array(Math.max(0, Math.min(count, size - from)));
    fill(handle, bytes, from, file, size);
    return bytes;
  };
  const header = parseLasHeader(bytesAt(0, 65_536), file, size);
  if (header === null)
    throw cloudError(file, { byte: size }, 'the end of the file inside the header', 'a LAZ file');
  if (!header.compressed)
    throw cloudError(file, { byte: 104 }, 'points that are not compressed', 'LAZ; name it .las');
  if (header.bounds === null && !staleBounds) {
    throw cloudError(
      file,
      { byte: 179 },
      'bounds that are all zero',
      'the bounds of the points, without which damage to a LAZ file cannot be noticed (--stale-bounds takes them unchecked)',
    );
  }
  const { chunks: lengths, at: begin, layers } = planLaz(bytesAt, header, file, size);
  let [first, at] = [0, begin];
  const chunks = lengths.map(({ points, bytes }): Chunk => {
    const chunk = { first, at, points, bytes };
    first += points;
    at += bytes;
    return chunk;
  });
  const longest = chunks.reduce((most, each) => Math.max(most, each.bytes), 0);
  if (longest > LARGEST) {
    throw cloudError(
      file,
      {},
      `a chunk of ${(longest / 2 ** 30).toFixed(1)} GB`,
      'chunks of at most 1.5 GB; save it as LAS, which is read in pieces',
    );
  }
  const laz: LazFile = { file, header, layers, staleBounds };
  const hash = createHash('sha256');
  const hashBetween = (from: number, to: number) => {
    for (let block = from; block < to; block += BLOCK)
      hash.update(bytesAt(block, Math.min(BLOCK, to - block)));
  };
  const load = (into: Uint8Array, chunk: Chunk) => {
    fill(handle, into, chunk.at, file, size);
    hash.update(into);
  };
  hashBetween(0, begin);
  const tally = emptyTally();
  const add = (own: CloudTally) => {
    tally.points += own.points;
    tally.notFinite += own.notFinite;
    tally.withheld += own.withheld;
    tally.outside += own.outside;
  };
  const told = (done: number) => onProgress(`Unpacking ${file}`, done, header.points);
  if (chunks.length > 0) {
    const parts = await unpackerParts();
    const threads = threadsOf(header.points, Math.max(...chunks.map((each) => each.points)));
    if (threads === null) {
      const unpacker = await unpackerOf(parts);
      const decoder = lasDecoder(header, file, sink, null, staleBounds);
      const room = new Uint8Array(longest);
      for (const chunk of chunks) {
        const bytes = room.subarray(0, chunk.bytes);
        load(bytes, chunk);
        unpacker.unpack(bytes, chunk, laz, decoder, told);
        add(decoder.tally);
      }
    } else {
      await unpackSideBySide(threads, parts, laz, chunks, load, sink, (own, chunk) => {
        add(own);
        told(chunk.first + chunk.points);
      });
    }
  }
  hashBetween(at, size);
  return { ...tally, sha256: hash.digest('hex'), bytes: size };
}

async function unpackerParts(): Promise<UnpackerParts> {
  const script = createRequire(import.meta.url).resolve('laz-perf');
  const code = await WebAssembly.compile(readFileSync(join(dirname(script), 'laz-perf.wasm')));
  return { script, code };
}

/** @throws InputError where the file ends before `bytes` are full */
function fill(handle: number, bytes: Uint8Array, from: number, file: string, size: number): void {
  for (let done = 0; done < bytes.length; ) {
    const count = readSync(handle, bytes, done, bytes.length - done, from + done);
    if (count === 0) throw cloudError(file, { byte: from + done }, 'the end of the file', `${size} bytes`);
    done += count;
  }
}
