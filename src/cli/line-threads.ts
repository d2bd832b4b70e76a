import { realpathSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { LineInputs } from '../analyse-line.ts';
import type { LineAnalysis } from '../analysis.ts';
import { coreDigest } from './core-digest.ts';

/** What threads share: the lines, and how many were taken so far. */
export interface Share {
  readonly lines: readonly LineInputs[];
  /** One shared number. */
  readonly taken: Int32Array;
}

/** Fewer readings than this are worked out sooner than a thread starts. */
const WORTH_A_THREAD = 1500;
const MOST_THREADS = 8;

/** The next line nobody took; null when all are. */
export function nextOf(taken: Int32Array, lines: readonly LineInputs[]): number | null {
  const i = Atomics.add(taken, 0, 1);
  return i < lines.length ? i : null;
}

/**
 * Lines worked out side by side on the machine's cores, this thread among them: the same answers in the same order as
 * one after the other. One after the other where it is not worth threads, or none can be had.
 *
 * @param program what was started, which in a thread works out lines; null where it runs from source
 */
export async function fitLines(
  lines: readonly LineInputs[],
  program: string | null = startedProgram(),
): Promise<readonly LineAnalysis[]> {
  if (lines.length === 0) return [];
  const fitted = new Array<LineAnalysis | undefined>(lines.length);
  // The longest first, so that no thread is left with it at the end.
  const order = lines.map((_, i) => i).sort((a, b) => lines[b]!.readings.length - lines[a]!.readings.length);
  const share: Share = {
    lines: order.map((i) => lines[i]!),
    taken: new Int32Array(new SharedArrayBuffer(4)),
  };
  const threads = program === null ? 0 : threadsFor(lines);
  const others = Array.from({ length: threads }, () =>
    worker(program!, share, ({ i, line }) => {
      fitted[order[i]!] = line;
    }),
  );
  const { analyseLine } = await import('../analyse-line.ts');
  for (let i = nextOf(share.taken, lines); i !== null; i = nextOf(share.taken, lines))
    fitted[order[i]!] = analyseLine(share.lines[i]!);
  await Promise.all(others);
  // Lines a thread took and did not bring back, because it could not start or ran out of memory.
  return fitted.map((line, i) => line ?? analyseLine(lines[i]!));
}

/** Threads beside this one. */
function threadsFor(lines: readonly LineInputs[]): number {
  const worth = lines.filter((each) => each.readings.length >= WORTH_A_THREAD / 4).length;
  const readings = lines.reduce((sum, each) => sum + each.readings.length, 0);
  if (readings < WORTH_A_THREAD) return 0;
  return Math.max(0, Math.min(worth, availableParallelism(), MOST_THREADS) - 1);
}

/** Runs a worker to its end; one that fails leaves its lines undone. */
function worker(
  program: string,
  workerData: Share,
  onLine: (message: { readonly i: number; readonly line: LineAnalysis }) => void,
): Promise<void> {
  return new Promise((done) => {
    try {
      const thread = new Worker(program, { workerData });
      thread.on('message', onLine);
      thread.on('error', () => done());
      thread.on('exit', () => done());
    } catch {
      done();
    }
  });
}

/** The file this process was started with, where it is the built program. */
function startedProgram(): string | null {
  const started = process.argv[1];
  // npm starts it through a link.
  return coreDigest() === null || started === undefined ? null : realpathSync(started);
}
