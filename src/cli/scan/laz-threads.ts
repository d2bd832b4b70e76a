import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import { InputError } from '../../input-error.ts';
import type { CloudTally, PointSink } from '../../scan/cloud.ts';
import {
  type FromThread,
  handOn,
  type LazShare,
  makeSlot,
  type Slot,
  slotUnpacker,
  type ToUnpack,
  type Unpacked,
} from './laz-slots.ts';
import { type ChunkAt, type LazFile, type UnpackerParts, unpackerOf } from './laz-unpacker.ts';

/** Name of the built worker beside the program. */
declare const SWEEPBOOK_LAZ_WORKER: string | undefined;

/** Points that are unpacked sooner than a thread starts. */
const WORTH_A_THREAD = 500_000;
/** Threads, this one among them: each takes memory, and this one, which takes the points of all, would be the slowest of many. */
const MOST_THREADS = 4;
/** Points of a chunk that threads pass on: usual are 50,000. With larger ones memory would grow. */
const MOST_POINTS = 150_000;
/** Chunks a thread has before it: the next lies ready when one is done; this one can unpack on while one it has done waits for its turn (a sixth by the clock). */
const AHEAD = 2;

/** What a thread makes lies in the memory it shares and in the unpacker's: it needs next to none of its own, MB. */
const LITTLE = { maxYoungGenerationSizeMb: 1 };

/** A chunk, and how many bytes it has. */
export interface Chunk extends ChunkAt {
  readonly bytes: number;
}

/** How threads are had: the file they are started with, and how many there may be, this one among them. */
export interface Threads {
  readonly worker: string;
  readonly most: number;
}

/** Threads on this machine, the one that asks among them. */
export const mostThreads = (): number => Math.min(MOST_THREADS, availableParallelism());

/**
 * Threads for so many points, in chunks of at most so many; null where this one does it alone.
 * @param worker the file they are started with; null where the program runs from source
 */
export function threadsFor(
  points: number,
  inChunk: number,
  worker: string | null = builtWorker(),
  most: number = mostThreads(),
): Threads | null {
  if (worker === null || most < 2 || points < WORTH_A_THREAD || inChunk > MOST_POINTS) return null;
  return { worker, most };
}

function builtWorker(): string | null {
  if (typeof SWEEPBOOK_LAZ_WORKER !== 'string') return null;
  return fileURLToPath(new URL(SWEEPBOOK_LAZ_WORKER, import.meta.url));
}

interface Desk {
  readonly slot: Slot;
  readonly number: number;
  /** Null: this thread's own, or of one that is no more. */
  thread: Worker | null;
  /** The chunk that lies there. */
  chunk: number | null;
}

/**
 * Unpacks chunks side by side, and hands their points on in the order of the file: the same batches as from one thread, and
 * the fault a single thread would have met first. What a thread leaves undone, because it could not start or ran out of
 * memory, is done here.
 *
 * @param load reads a chunk; called once for each, in their order
 * @param onChunk is told of each chunk handed on, in their order
 */
export async function unpackSideBySide(
  { worker, most }: Threads,
  parts: UnpackerParts,
  laz: LazFile,
  chunks: readonly Chunk[],
  load: (into: Uint8Array, chunk: Chunk) => void,
  sink: PointSink,
  onChunk: (tally: CloudTally, chunk: Chunk) => void,
): Promise<void> {
  const longest = (of: (chunk: Chunk) => number) => Math.max(...chunks.map(of));
  const [bytes, points] = [longest((each) => each.bytes), longest((each) => each.points)];
  const count = Math.min(most, chunks.length);
  const slots = Array.from({ length: AHEAD * count }, () => makeSlot(bytes, points));
  const desks: Desk[] = slots.map((slot, number) => ({ slot, number, thread: null, chunk: null }));
  const here = slotUnpacker(laz, await unpackerOf(parts));
  /** What came back, by chunk; null where its thread is no more. */
  const back = new Map<number, Unpacked | null>();
  let wake = () => {};
  const threads = Array.from({ length: count - 1 }, (_, k) => {
    const own = desks.slice(AHEAD * k, AHEAD * (k + 1));
    const lost = () => {
      for (const desk of own) {
        desk.thread = null;
        if (desk.chunk !== null && !back.has(desk.chunk)) back.set(desk.chunk, null);
      }
      wake();
    };
    const thread = startThread(worker, { parts, laz, slots });
    for (const desk of own) desk.thread = thread;
    thread?.on('message', ({ slot, unpacked }: FromThread) => {
      back.set(desks[slot]!.chunk!, unpacked);
      wake();
    });
    thread?.on('error', lost);
    thread?.on('exit', lost);
    return thread;
  });
  try {
    let next = 0;
    for (let done = 0; done < chunks.length; ) {
      const unpacked = back.get(done);
      if (unpacked !== undefined) {
        const desk = desks.find((each) => each.chunk === done)!;
        const chunk = chunks[done]!;
        onChunk(handOn(desk.slot, unpacked ?? here(desk.slot, chunk.bytes, chunk), sink), chunk);
        back.delete(done);
        desk.chunk = null;
        done++;
        continue;
      }
      // Those of threads come first: what is left over is for this one.
      const desk = next < chunks.length ? desks.find((each) => each.chunk === null) : undefined;
      if (desk === undefined) {
        await new Promise<void>((resolve) => {
          wake = resolve;
        });
        continue;
      }
      const chunk = chunks[next]!;
      desk.chunk = next;
      const fault = loadOrFault(() => load(desk.slot.bytes.subarray(0, chunk.bytes), chunk));
      if (fault !== null) back.set(next, fault);
      else if (desk.thread === null) {
        back.set(next, here(desk.slot, chunk.bytes, chunk));
        // What came from threads meanwhile is heard.
        await new Promise((resolve) => setImmediate(resolve));
      } else {
        const { first, at, points } = chunk;
        const ask: ToUnpack = { slot: desk.number, bytes: chunk.bytes, chunk: { first, at, points } };
        desk.thread.postMessage(ask);
      }
      next++;
    }
  } finally {
    await Promise.all(threads.map((thread) => thread?.terminate()));
  }
}

/** A chunk that cannot be read is told when its turn comes: one before it may be at fault too. */
function loadOrFault(load: () => void): Unpacked | null {
  try {
    load();
    return null;
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { message: error.message, problems: error.problems };
  }
}

function startThread(worker: string, workerData: LazShare): Worker | null {
  try {
    return new Worker(worker, { workerData, execArgv: [], resourceLimits: LITTLE });
  } catch {
    return null;
  }
}
