import { createRequire } from 'node:module';
import { cloudError } from '../../scan/cloud.ts';
import { wantedLayers } from '../../scan/laz-chunks.ts';
import type { LasHeader, lasDecoder } from '../../scan/read-las.ts';

/** Points unpacked at a time. */
const RUN = 4096;
/** Noughts behind a chunk, bytes: what damaged points beyond its end are made of, the same in every thread. */
const BEHIND = 65_536;

/** What threads share of the unpacker (the package laz-perf): where its script is, and its compiled code. */
export interface UnpackerParts {
  readonly script: string;
  readonly code: WebAssembly.Module;
}

/** What is the same for every chunk of a file. */
export interface LazFile {
  readonly file: string;
  readonly header: LasHeader;
  /** Layers of a chunk; 0 where points are packed whole. */
  readonly layers: number;
  readonly staleBounds: boolean;
}

/** A chunk: points and bytes of the file before it, and points in it. */
export interface ChunkAt {
  readonly first: number;
  readonly at: number;
  readonly points: number;
}

/** What is used of the unpacker's module. */
interface Wasm {
  readonly HEAPU8: Uint8Array;
  _malloc(bytes: number): number;
  _free(pointer: number): void;
  readonly ChunkDecoder: new () => {
    open(format: number, recordLength: number, pointer: number): void;
    delete(): void;
    /** Where it lies in the module's memory. */
    readonly $$: { readonly ptr: number };
  };
}
/** A method as the module registers it: its class, name, its place in the table of functions, and what it is bound to. */
type Registered = [
  owner: number,
  name: number,
  _: number,
  _: number,
  _: number,
  place: number,
  bound: number,
];

export type Unpacker = Awaited<ReturnType<typeof startUnpacker>>;
let started: Promise<Unpacker> | null = null;

/** The unpacker of this thread, of which there is one: each hangs listeners of its own on the process and keeps its memory. */
export function unpackerOf(parts: UnpackerParts): Promise<Unpacker> {
  started ??= startUnpacker(parts);
  return started;
}

async function startUnpacker({ script, code }: UnpackerParts) {
  const { createLazPerf } = createRequire(script)(script) as {
    createLazPerf: (how: object) => Promise<Wasm>;
  };
  const methods: Registered[] = [];
  let table: WebAssembly.Table | null = null;
  const wasm = await createLazPerf({
    instantiateWasm(imports: WebAssembly.Imports, onDone: (instance: WebAssembly.Instance) => void) {
      const env = imports.env as Record<string, (...given: Registered) => void>;
      const register = env._embind_register_class_function!;
      env._embind_register_class_function = (...given) => {
        methods.push(given);
        register(...given);
      };
      const instance = new WebAssembly.Instance(code, imports);
      table = instance.exports.__indirect_function_table as WebAssembly.Table;
      onDone(instance);
      return instance.exports;
    },
  });

  // The function behind `getPoint` of chunks, of which the class is registered last. Called by that name, it would have its
  // arguments checked at every point, which is a quarter of all the time.
  const named = (at: number) => String.fromCharCode(...wasm.HEAPU8.subarray(at, at + 9)) === 'getPoint\0';
  const [, , , , , place, bound] = methods.filter(([, name]) => named(name)).at(-1)!;
  const step = table!.get(place) as (bound: number, self: number, to: number) => void;
  let [data, room, run, runRoom] = [0, 0, 0, 0];
  const memory = (at: number, had: number, bytes: number) => {
    if (bytes <= had) return at;
    wasm._free(at);
    return wasm._malloc(bytes);
  };

  /**
   * Unpacks a chunk and decodes its points, all of them looked at. The unpacker does not notice damaged data: it hands out
   * garbage first and stops later, if at all.
   * @throws InputError
   */
  function unpack(
    chunk: Uint8Array,
    { first, at, points }: ChunkAt,
    { file, header, layers }: LazFile,
    decoder: ReturnType<typeof lasDecoder>,
    onRun: (done: number) => void = () => {},
  ): void {
    const { recordLength } = header;
    const wanted = layers === 0 ? null : wantedLayers(chunk, header, layers, file, at);
    const bytes = wanted === null ? chunk.length : wanted.bytes;
    decoder.startAt(first);
    let unpacked: InstanceType<Wasm['ChunkDecoder']> | null = null;
    try {
      data = memory(data, room, bytes + BEHIND);
      room = Math.max(room, bytes + BEHIND);
      run = memory(run, runRoom, RUN * recordLength);
      runRoom = Math.max(runRoom, RUN * recordLength);
      if (data === 0 || run === 0) throw new RangeError();
      const heap = wasm.HEAPU8;
      heap.set(chunk.subarray(0, bytes), data);
      if (wanted !== null) heap.fill(0, data + wanted.zeros[0], data + wanted.zeros[1]);
      heap.fill(0, data + bytes, data + bytes + BEHIND);
      unpacked = new wasm.ChunkDecoder();
      unpacked.open(header.format, recordLength, data);
      const self = unpacked.$$.ptr;
      for (let done = 0; done < points; ) {
        const count = Math.min(RUN, points - done);
        for (let i = 0, to = run; i < count; i++, to += recordLength) step(bound, self, to);
        // Taken anew each time: a memory that grows leaves old views empty.
        decoder.decode(new DataView(wasm.HEAPU8.buffer), run, count);
        done += count;
        onRun(first + done);
      }
      // Done before the points count: an unpacker that cannot clear up after itself has spoilt its own memory.
      unpacked.delete();
    } catch (error) {
      if (error instanceof Error && error.name === 'InputError') {
        unpacked?.delete();
        throw error;
      }
      // The unpacker throws numbers and strings. Its memory is spoilt: nobody uses it again.
      started = null;
      throw cloudError(
        file,
        {},
        `damaged compressed points (after ${decoder.decoded()} good ones)`,
        `${header.points} points`,
      );
    }
  }
  return { unpack };
}
