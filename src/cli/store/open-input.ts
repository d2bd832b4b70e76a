import {
  closeSync,
  constants,
  createReadStream,
  fstatSync,
  openSync,
  readSync,
  type Stats,
  statSync,
} from 'node:fs';
import type { InputKind } from '../../folder/job-files.ts';
import { InputError } from '../../input-error.ts';

const MB = 1_000_000;

/** The most that is read of each kind of input, bytes: far above any honest one, far below what a machine chokes on. */
export const LARGEST = {
  /** job.json, profiles, presets, scan.json. */
  job: 5 * MB,
  /** ledger.jsonl and its seal. */
  ledger: 64 * MB,
  /** heats.csv and costs.csv. */
  log: 16 * MB,
  /** Answers of earlier runs. */
  kept: 256 * MB,
  /** A whole-job file of the readings page, which carries at most 40 MB of readings beside its logs. */
  whole: 128 * MB,
  /** A map of a panel: 100,000 cells are about 12 MB. */
  panel: 20 * MB,
  /** A photograph: no camera's picture is larger. */
  photo: 40 * MB,
  /** Finished jobs: ten thousand records of a few kilobytes. */
  past: 60 * MB,
  /** A CSV of readings; it is streamed. */
  readings: 2000 * MB,
  /** A point cloud; it is streamed, or has a limit of its own. */
  cloud: 100_000 * MB,
} as const satisfies Record<InputKind, number>;

/** Megabytes that raise every limit above, for whoever has a larger file that is right. */
export const RAISE = 'SWEEPBOOK_LARGEST_MB';

/** The limit in force for a kind, bytes. */
export function largest(kind: InputKind): number {
  const raised = Number(process.env[RAISE] ?? '');
  return Math.max(LARGEST[kind], Number.isFinite(raised) ? raised * MB : 0);
}

/**
 * Opens a file to be read. The one way in for everything people or other programs give us: a regular file of at most
 * the size of its kind. A pipe does not make it wait, a device is not touched.
 *
 * @returns an open handle (the caller closes it) and the size at this moment, bytes
 * @throws InputError when it is anything else, saying what; the file system's error when it cannot be opened
 */
export function openInput(path: string, kind: InputKind): { readonly handle: number; readonly size: number } {
  // Looked at before it is opened: opening a device may already do something.
  requireRegular(path, statSync(path));
  // Windows has no such flag, and no pipes among its files.
  const handle = openSync(path, constants.O_RDONLY | (constants.O_NONBLOCK ?? 0));
  try {
    // It may have been exchanged in between: what counts is what is open.
    const facts = fstatSync(handle);
    requireRegular(path, facts);
    if (facts.size > largest(kind)) throw tooLarge(path, kind, facts.size);
    return { handle, size: facts.size };
  } catch (error) {
    closeSync(handle);
    throw error;
  }
}

/** The whole of a small input; see {@link openInput}. */
export function readInput(path: string, kind: InputKind): Buffer {
  const { handle, size } = openInput(path, kind);
  try {
    const most = largest(kind);
    const parts: Buffer[] = [];
    let bytes = 0;
    // A byte more than its size tells the end; files that claim no size (/proc) and files that grow are read on, to the limit.
    for (let want = size + 1; ; want = 1 << 16) {
      const block = Buffer.allocUnsafe(want);
      const count = readSync(handle, block, 0, want, null);
      if (count === 0) return parts.length === 1 ? parts[0]! : Buffer.concat(parts);
      bytes += count;
      if (bytes > most) throw tooLarge(path, kind, bytes);
      parts.push(block.subarray(0, count));
    }
  } finally {
    closeSync(handle);
  }
}

/** The whole of a small input as UTF-8 text. */
export function readInputText(path: string, kind: InputKind): string {
  return readInput(path, kind).toString('utf8');
}

/** An input in pieces of `block` bytes, never more than the limit of its kind even if it grows meanwhile. */
export function streamInput(
  path: string,
  kind: InputKind,
  block: number,
): { readonly size: number; readonly blocks: AsyncIterable<Buffer> } {
  const { handle, size } = openInput(path, kind);
  const most = largest(kind);
  const stream = createReadStream(path, { fd: handle, highWaterMark: block, autoClose: true });
  async function* blocks(): AsyncGenerator<Buffer> {
    let bytes = 0;
    for await (const each of stream) {
      bytes += (each as Buffer).length;
      if (bytes > most) throw tooLarge(path, kind, bytes);
      yield each as Buffer;
    }
  }
  return { size, blocks: blocks() };
}

function requireRegular(path: string, facts: Stats): void {
  if (facts.isFile()) return;
  const what = facts.isDirectory()
    ? 'a folder'
    : facts.isFIFO()
      ? 'a pipe (FIFO)'
      : facts.isSocket()
        ? 'a socket'
        : 'a device';
  throw new InputError(`${path} is ${what}, not a regular file.`);
}

function tooLarge(path: string, kind: InputKind, bytes: number): InputError {
  const say = (value: number) => `${Math.round(value / MB)} MB`;
  return new InputError(
    `${path} is ${say(bytes)} or more; at most ${say(largest(kind))} are read of such a file (${NAMES[kind]}). If it is right, set ${RAISE} in the environment to the megabytes to allow.`,
  );
}

const NAMES: Record<InputKind, string> = {
  job: 'a file of the job’s settings',
  ledger: 'the ledger',
  log: 'a log kept by hand',
  kept: 'kept answers',
  panel: 'a map of a panel',
  photo: 'a photograph',
  past: 'finished jobs',
  whole: 'a whole job in one file',
  readings: 'readings',
  cloud: 'a point cloud',
};
