import { InputError, type Problem } from '../../input-error.ts';
import type { CloudTally, PointSink } from '../../scan/cloud.ts';
import { lasDecoder } from '../../scan/read-las.ts';
import type { ChunkAt, LazFile, Unpacker, UnpackerParts } from './laz-unpacker.ts';

/** Memory threads share, for one chunk at a time: its bytes as read, and x, y and z of its points, one behind the other. */
export interface Slot {
  readonly bytes: Uint8Array;
  readonly places: Float64Array;
}

/** What a thread is started with. */
export interface LazShare {
  readonly parts: UnpackerParts;
  readonly laz: LazFile;
  readonly slots: readonly Slot[];
}

/** To a thread: unpack what lies in this slot. */
export interface ToUnpack {
  readonly slot: number;
  /** Bytes of the chunk. */
  readonly bytes: number;
  readonly chunk: ChunkAt;
}

/** What became of a chunk: how many points each batch of it has, and what was left out; or why it could not be used. */
export type Unpacked =
  | { readonly batches: readonly number[]; readonly tally: CloudTally }
  | { readonly message: string; readonly problems: readonly Problem[] };

/** From a thread. */
export interface FromThread {
  readonly slot: number;
  readonly unpacked: Unpacked;
}

/** Slots for chunks of at most so many bytes and points. */
export function makeSlot(bytes: number, points: number): Slot {
  return {
    bytes: new Uint8Array(new SharedArrayBuffer(bytes)),
    places: new Float64Array(new SharedArrayBuffer(3 * 8 * points)),
  };
}

type Columns = [x: Float64Array, y: Float64Array, z: Float64Array];

const columnsOf = (places: Float64Array): Columns => {
  const n = places.length / 3;
  return [places.subarray(0, n), places.subarray(n, 2 * n), places.subarray(2 * n)];
};

/** Unpacks what lies in slots, in this thread. */
export function slotUnpacker(laz: LazFile, unpacker: Unpacker) {
  let [x, y, z] = columnsOf(new Float64Array(0));
  let [batches, kept]: [number[], number] = [[], 0];
  const decoder = lasDecoder(
    laz.header,
    laz.file,
    (px, py, pz, count) => {
      x.set(px.subarray(0, count), kept);
      y.set(py.subarray(0, count), kept);
      z.set(pz.subarray(0, count), kept);
      kept += count;
      batches.push(count);
    },
    null,
    laz.staleBounds,
  );
  return (slot: Slot, bytes: number, chunk: ChunkAt): Unpacked => {
    [x, y, z] = columnsOf(slot.places);
    [batches, kept] = [[], 0];
    try {
      unpacker.unpack(slot.bytes.subarray(0, bytes), chunk, laz, decoder);
    } catch (error) {
      if (!(error instanceof InputError)) throw error;
      return { message: error.message, problems: error.problems };
    }
    return { batches, tally: { ...decoder.tally } };
  };
}

/**
 * Hands on what was unpacked into a slot, batch by batch as one thread would.
 * @throws InputError where the chunk could not be used
 */
export function handOn(slot: Slot, unpacked: Unpacked, sink: PointSink): CloudTally {
  if ('problems' in unpacked) throw new InputError(unpacked.message, unpacked.problems);
  const [x, y, z] = columnsOf(slot.places);
  let at = 0;
  for (const count of unpacked.batches) {
    const to = at + count;
    sink(x.subarray(at, to), y.subarray(at, to), z.subarray(at, to), count);
    at = to;
  }
  return unpacked.tally;
}
