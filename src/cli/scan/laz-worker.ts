import { parentPort, workerData } from 'node:worker_threads';
import { type FromThread, type LazShare, slotUnpacker, type ToUnpack } from './laz-slots.ts';
import { unpackerOf } from './laz-unpacker.ts';
import { keepYoungSmall } from './young-memory.ts';

// The engine let go of it when this thread began.
keepYoungSmall();

// A thread that unpacks chunks of a LAZ file, one after the other as they are asked for (laz-threads.ts).
const { parts, laz, slots } = workerData as LazShare;
const unpack = unpackerOf(parts).then((unpacker) => slotUnpacker(laz, unpacker));

parentPort!.on('message', async ({ slot, bytes, chunk }: ToUnpack) => {
  const unpacked = (await unpack)(slots[slot]!, bytes, chunk);
  parentPort!.postMessage({ slot, unpacked } satisfies FromThread);
});
