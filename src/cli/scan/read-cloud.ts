import { createHash } from 'node:crypto';
import { closeSync, readSync } from 'node:fs';
import { basename } from 'node:path';
import { InputError } from '../../input-error.ts';
import { type CloudReader, cloudFormat, type PointSink, type ReadHow } from '../../scan/cloud.ts';
import { lasReader } from '../../scan/read-las.ts';
import { plyReader } from '../../scan/read-ply.ts';
import { ptsReader, xyzReader } from '../../scan/read-text.ts';
import type { Io } from '../io.ts';
import { progressBar } from '../progress-bar.ts';
import { openInput } from '../store/open-input.ts';
import type { CloudRead } from './cloud-read.ts';

const BLOCK = 1 << 20;

/**
 * Streams a point cloud file through its reader, a megabyte at a time, hashing the same bytes on the way.
 * @throws InputError naming byte or line when the file is not what it says
 */
export async function readCloud(
  path: string,
  how: ReadHow,
  sink: PointSink,
  onProgress: (what: string, done: number, total: number) => void,
): Promise<CloudRead> {
  const file = basename(path);
  const { handle, size } = openInput(path, 'cloud');
  try {
    const format = cloudFormat(file);
    if (format === 'laz') {
      const { readLaz } = await import('./read-laz.ts');
      return await readLaz(handle, size, file, sink, how.staleBounds, onProgress);
    }
    if (format === 'e57') {
      const { readE57File } = await import('./read-e57-file.ts');
      return readE57File(handle, size, file, sink, onProgress);
    }
    const reader = readerOf(format, file, size, how, sink);
    const hash = createHash('sha256');
    const block = Buffer.allocUnsafeSlow(BLOCK);
    let bytes = 0;
    for (;;) {
      const count = readSync(handle, block, 0, BLOCK, null);
      if (count === 0) break;
      const chunk = block.subarray(0, count);
      hash.update(chunk);
      reader.push(chunk);
      bytes += count;
      onProgress(`Reading ${file}`, bytes, size);
    }
    return { ...reader.end(), sha256: hash.digest('hex'), bytes };
  } finally {
    closeSync(handle);
  }
}

function readerOf(
  format: 'ply' | 'las' | 'xyz' | 'pts',
  file: string,
  size: number,
  how: ReadHow,
  sink: PointSink,
): CloudReader {
  switch (format) {
    case 'ply':
      return plyReader(file, sink);
    case 'las':
      return lasReader(file, size, sink, how.staleBounds);
    case 'xyz':
      return xyzReader(file, how.columns, sink);
    case 'pts':
      return ptsReader(file, sink);
  }
}

/**
 * Reads a cloud with a progress bar on a terminal.
 * @throws InputError also where the file has no point to look at
 */
export async function readWithBar(io: Io, path: string, how: ReadHow, sink: PointSink): Promise<CloudRead> {
  const bar = progressBar(io);
  let cloud: CloudRead;
  try {
    cloud = await readCloud(path, how, sink, bar.show);
  } finally {
    bar.clear();
  }
  if (cloud.points > 0) return cloud;
  const { notFinite, withheld } = cloud;
  const all = notFinite + withheld;
  throw new InputError('there is no point in this cloud to read', [
    {
      file: basename(path),
      found:
        all === 0
          ? 'a file without points'
          : notFinite === all
            ? `${all} points, none of them with a position that is a number`
            : withheld === all
              ? `${all} points, all of them marked as withheld or noise`
              : `${all} points without a position or marked as withheld or noise`,
      expected: 'points of the girder; export the cloud again',
    },
  ]);
}
