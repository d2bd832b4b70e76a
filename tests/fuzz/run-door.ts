import { mkdirSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { isMainThread, parentPort, Worker, workerData } from 'node:worker_threads';
import { diceOf } from './dice.ts';

/** What a run of one door printed: its tally, or the case that broke. */
export interface DoorTally {
  readonly door: string;
  readonly cases: number;
  readonly taken: number;
  readonly refused: number;
  /** Processor time of the slowest case, s. */
  readonly slowest: number;
  readonly slowestCase: number;
  /** Peak resident memory of the whole process, MB. */
  readonly memory: number;
  /** Null, or what went wrong and in which case. */
  readonly broken: string | null;
}

/** A case that goes on for so long hangs, ms of wall time on a busy machine. */
const HANGS = 90_000;

/** Peak resident memory of this process, MB. Linux counts what the parent had before the exec into `maxRSS`, so it is asked itself. */
function peakMemory(): number {
  try {
    const found = /^VmHWM:\s+(\d+) kB$/m.exec(readFileSync('/proc/self/status', 'utf8'));
    if (found !== null) return Number(found[1]) / 1000;
  } catch {
    // Another system.
  }
  return process.resourceUsage().maxRSS / 1000;
}

/** `node run-door.mjs <door> <cases> <seed> <first> <root>`: runs the cases in a thread, watches it, prints the tally as JSON. */
if (isMainThread) {
  const [door = '', cases = '0', seed = '0', first = '0', root = ''] = process.argv.slice(2);
  const shared = new Int32Array(new SharedArrayBuffer(4));
  const worker = new Worker(new URL(import.meta.url), {
    workerData: { door, cases: Number(cases), seed, first: Number(first), root, shared },
  });
  const print = (tally: Partial<DoorTally>) => {
    const memory = peakMemory();
    process.stdout.write(`${JSON.stringify({ door, cases: Number(cases), ...tally, memory })}\n`, () =>
      process.exit(),
    );
  };
  worker.on('message', print);
  worker.on('error', (error) =>
    print({ broken: `case ${first} + ${shared[0]}: ${error.stack ?? String(error)}` }),
  );
  let last = -1;
  let since = Date.now();
  setInterval(() => {
    if (shared[0] !== last) {
      last = shared[0]!;
      since = Date.now();
    } else if (Date.now() - since > HANGS) print({ broken: `case ${first} + ${last} hangs` });
  }, 1000).unref();
} else {
  const { door, cases, seed, first, root, shared } = workerData as {
    door: string;
    cases: number;
    seed: string;
    first: number;
    root: string;
    shared: Int32Array;
  };
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-door-'));
  const tally = { taken: 0, refused: 0, slowest: 0, slowestCase: 0, broken: null as string | null };
  try {
    mkdirSync(folder, { recursive: true });
    const { DOORS } = await import('./door-cases.ts');
    const tryOne = await DOORS[door]!(folder, root);
    for (let n = 0; n < cases && tally.broken === null; n++) {
      Atomics.store(shared, 0, n);
      const start = process.cpuUsage();
      try {
        tally[await tryOne(diceOf(`${seed} ${door} ${first + n}`))]++;
      } catch (error) {
        tally.broken = `case ${first + n}: ${error instanceof Error ? error.stack : String(error)}`;
      }
      const { user, system } = process.cpuUsage(start);
      if ((user + system) / 1e6 > tally.slowest)
        Object.assign(tally, { slowest: (user + system) / 1e6, slowestCase: first + n });
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
  parentPort!.postMessage(tally);
}
