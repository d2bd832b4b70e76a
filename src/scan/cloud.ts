import { InputError } from '../input-error.ts';

/**
 * Receives points in batches as a reader decodes them, in the cloud's own unit and axes.
 * The arrays are reused from call to call: copy what must outlive the call.
 */
export type PointSink = (x: Float64Array, y: Float64Array, z: Float64Array, count: number) => void;

/** What a reader left out, by reason, and what it handed on. */
export interface CloudTally {
  /** Points handed to the sink. */
  points: number;
  /** Points with a coordinate that is not a finite number (scanners write these for "no return"). */
  notFinite: number;
  /** Points the file itself marks as withheld or as noise (LAS flag, classes 7 and 18). */
  withheld: number;
  /** Points taken though they lie outside the bounds the file states, which were said to be stale. */
  outside: number;
}

/**
 * A point cloud reader fed with chunks of the file in order, so that memory stays bounded whatever the
 * size. `push` may be called with chunks of any length; `end` checks that the file kept its header's promise.
 * Both throw InputError naming the byte or the line.
 */
export interface CloudReader {
  push(chunk: Uint8Array): void;
  end(): CloudTally;
}

/** How a cloud is to be read. */
export interface ReadHow {
  /** Order of the columns of a text cloud without a heading; null where not declared. */
  readonly columns: readonly string[] | null;
  /** Points outside the bounds of the file's header are taken: whoever cut the cloud left them as they were. */
  readonly staleBounds: boolean;
}

/** Points per batch: x, y and z together stay inside a processor's second-level cache. */
export const BATCH = 4096;

/** Formats read, by file name ending. */
export type CloudFormat = 'ply' | 'las' | 'laz' | 'e57' | 'xyz' | 'pts';

const ENDINGS: Record<string, CloudFormat> = {
  ply: 'ply',
  las: 'las',
  laz: 'laz',
  e57: 'e57',
  xyz: 'xyz',
  txt: 'xyz',
  asc: 'xyz',
  csv: 'xyz',
  pts: 'pts',
};

/** Format by the ending of the file name; throws InputError listing what is read. */
export function cloudFormat(file: string): CloudFormat {
  const dot = file.lastIndexOf('.');
  const ending = dot < 0 ? '' : file.slice(dot + 1).toLowerCase();
  const format = ENDINGS[ending];
  if (format === undefined) {
    throw new InputError('this kind of point cloud is not read', [
      {
        file,
        found: dot < 0 ? 'a name without an ending' : `a name ending in ".${ending}"`,
        expected: 'PLY, LAS, LAZ, E57, XYZ (.xyz .txt .asc .csv) or PTS; export the cloud as one of these',
      },
    ]);
  }
  return format;
}

/** An InputError about one place of the file: `byte 4,567` or a line. */
export function cloudError(
  file: string,
  where: { readonly byte?: number; readonly line?: number },
  found: string,
  expected: string,
): InputError {
  return new InputError('the point cloud could not be used', [
    {
      file,
      ...(where.line === undefined ? {} : { row: where.line }),
      ...(where.byte === undefined ? {} : { column: `byte ${where.byte}` }),
      found,
      expected,
    },
  ]);
}

/**
 * Collects decoded points into batches and leaves out points that are not finite.
 * The finite test is one multiply-add a point; only a batch that fails it is looked at again.
 */
export function batcher(sink: PointSink, tally: CloudTally) {
  const x = new Float64Array(BATCH);
  const y = new Float64Array(BATCH);
  const z = new Float64Array(BATCH);

  function handOver(count: number): void {
    if (count === 0) return;
    // Two sums: each addition to one would wait for the last.
    let [even, odd] = [0, 0];
    for (let i = 1; i < count; i += 2) {
      even += 0 * (x[i - 1]! + y[i - 1]! + z[i - 1]!);
      odd += 0 * (x[i]! + y[i]! + z[i]!);
    }
    even += 0 * (x[count - 1]! + y[count - 1]! + z[count - 1]!);
    let kept = count;
    if (even + odd !== 0) {
      kept = 0;
      for (let i = 0; i < count; i++) {
        if (!Number.isFinite(x[i]!) || !Number.isFinite(y[i]!) || !Number.isFinite(z[i]!)) continue;
        x[kept] = x[i]!;
        y[kept] = y[i]!;
        z[kept] = z[i]!;
        kept++;
      }
      tally.notFinite += count - kept;
    }
    tally.points += kept;
    if (kept > 0) sink(x, y, z, kept);
  }

  return { x, y, z, handOver };
}

/** An empty tally. */
export function emptyTally(): CloudTally {
  return { points: 0, notFinite: 0, withheld: 0, outside: 0 };
}
