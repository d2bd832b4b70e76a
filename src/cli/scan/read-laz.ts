import { createHash } from 'node:crypto';
import { readSync } from 'node:fs';
import type { createLazPerf } from 'laz-perf';
import { cloudError, type PointSink } from '../../scan/cloud.ts';
import { checkLazChunks } from '../../scan/laz-chunks.ts';
import { lasDecoder, parseLasHeader } from '../../scan/read-las.ts';
import type { CloudRead } from './cloud-read.ts';

/** The decoder works in 32-bit memory and needs the whole file there. */
const LARGEST = 1.5 * 2 ** 30;
/** Points unpacked at a time. */
const RUN = 4096;

let loaded: ReturnType<typeof createLazPerf> | null = null;

/** One unpacker a process: each would hang listeners of its own on the process and keep its memory. */
async function unpacker() {
  const laz = await import('laz-perf');
  loaded ??= laz.createLazPerf();
  return loaded;
}

/**
 * Unpacks a LAZ file (LASzip-compressed LAS). The unpacker does not notice damaged data: it hands out garbage
 * first and stops later, if at all. So the header is checked against the unpacker's own view of it, and every
 * point against the bounds of the header (which must therefore be filled in).
 */
export async function readLaz(
  handle: number,
  size: number,
  file: string,
  sink: PointSink,
  staleBounds: boolean,
  onProgress: (what: string, done: number, total: number) => void,
): Promise<CloudRead> {
  if (size > LARGEST) {
    throw cloudError(
      file,
      {},
      `${(size / 2 ** 30).toFixed(1)} GB of compressed points`,
      'at most 1.5 GB; save it as LAS, which is read in pieces',
    );
  }
  const wasm = await unpacker();
  const data = wasm._malloc(size);
  if (data === 0)
    throw cloudError(
      file,
      {},
      `${size} bytes of compressed points`,
      'a file that fits the unpacker; save it as LAS',
    );
  let zip: InstanceType<typeof wasm.LASZip> | null = null;
  let run = 0;
  let points: number | null = null;
  let decoded = 0;
  try {
    const hash = createHash('sha256');
    // The block is taken from the heap anew each time: a growing heap leaves old views empty.
    for (let at = 0; at < size; ) {
      const count = readSync(handle, wasm.HEAPU8, data + at, Math.min(1 << 20, size - at), at);
      if (count === 0) throw cloudError(file, { byte: at }, 'the end of the file', `${size} bytes`);
      hash.update(wasm.HEAPU8.subarray(data + at, data + at + count));
      at += count;
    }
    const header = parseLasHeader(wasm.HEAPU8.slice(data, data + Math.min(size, 65536)), file, size);
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
    checkLazChunks(wasm.HEAPU8.subarray(data, data + size), header, file);
    points = header.points;
    const decoder = lasDecoder(header, file, sink, null, staleBounds);
    zip = new wasm.LASZip();
    run = wasm._malloc(RUN * header.recordLength);
    zip.open(data, size);
    if (zip.getCount() !== header.points || zip.getPointLength() !== header.recordLength) {
      throw cloudError(
        file,
        { byte: 107 },
        `${header.points} points of ${header.recordLength} bytes`,
        `what the compression record says: ${zip.getCount()} of ${zip.getPointLength()}`,
      );
    }
    for (let done = 0; done < header.points; ) {
      const count = Math.min(RUN, header.points - done);
      for (let i = 0; i < count; i++) zip.getPoint(run + i * header.recordLength);
      decoder.decode(new DataView(wasm.HEAPU8.buffer), run, count);
      decoded = decoder.decoded();
      done += count;
      onProgress(`Unpacking ${file}`, done, header.points);
    }
    // Done before the points count: an unpacker that cannot clear up after itself has spoilt its own memory.
    zip.delete();
    zip = null;
    return { ...decoder.tally, sha256: hash.digest('hex'), bytes: size };
  } catch (error) {
    if (error instanceof WebAssembly.RuntimeError) loaded = null;
    if (points === null || (error instanceof Error && error.name === 'InputError')) throw error;
    // The unpacker throws numbers and strings.
    throw cloudError(file, {}, `damaged compressed points (after ${decoded} good ones)`, `${points} points`);
  } finally {
    try {
      zip?.delete();
      wasm._free(run);
      wasm._free(data);
    } catch {
      // Its memory is spoilt: nobody uses it again.
      loaded = null;
    }
  }
}
