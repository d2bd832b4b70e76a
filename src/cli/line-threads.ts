import { realpathSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { Worker } from 'node:worker_threads';
import type { JudgedLine, LineInputs } from '../analyse-line.ts';
import type { LineAnalysis, LineFit } from '../analysis.ts';
import { coreDigest } from './core-digest.ts';

/** What threads share: the lines, and how many were taken so far. */
export interface Share {
  readonly lines: readonly LineInputs[];
  /** Shared numbers: lines taken, and messages to the thread that judges. */
  readonly counts: Int32Array;
  /** Judges the shapes this thread finds; the others take lines from the first. */
  readonly judges: boolean;
}

export const TAKEN = 0;
export const SENT = 1;

/** To the thread that judges; null: no more will come. */
export type Shaped = { readonly i: number; readonly fit: LineFit } | null;

/** From a thread: a line worked out from first to last, or what was made of its shape. */
export type Done =
  | { readonly i: number; readonly line: LineAnalysis }
  | { readonly i: number; readonly judged: JudgedLine };

/** Fewer readings than this are worked out sooner than a thread starts. */
const WORTH_A_THREAD = 1500;
const MOST_THREADS = 8;

/** The next line nobody took; null when all are. */
export function nextOf({ counts, lines }: Share): number | null {
  const i = Atomics.add(counts, TAKEN, 1);
  return i < lines.length ? i : null;
}

/**
 * Lines worked out side by side on the machine's cores, this thread among them: the same answers in the same order as
 * one after the other. One after the other where it is not worth threads, or none can be had.
 *
 * This thread finds the shapes and another judges them, so that neither compiles the other's half of the core, which is most
 * of what a cold line costs. Where there are more cores, further threads take whole lines.
 *
 * @param program what was started, which in a thread works out lines; null where it runs from source
 */
export async function fitLines(
  lines: readonly LineInputs[],
  program: string | null = startedProgram(),
): Promise<readonly LineAnalysis[]> {
  if (lines.length === 0) return [];
  // The longest first, so that no thread is left with it at the end.
  const order = lines.map((_, i) => i).sort((a, b) => lines[b]!.readings.length - lines[a]!.readings.length);
  const sorted = order.map((i) => lines[i]!);
  const fits = new Array<LineFit | undefined>(lines.length);
  const judged = new Array<JudgedLine | undefined>(lines.length);
  const whole = new Array<LineAnalysis | undefined>(lines.length);
  const counts = new Int32Array(new SharedArrayBuffer(8));
  const others = Array.from({ length: program === null ? 0 : threadsFor(lines) }, (_, k) =>
    startThread(program!, { lines: sorted, counts, judges: k === 0 }, (done) => {
      if ('line' in done) whole[done.i] = done.line;
      else judged[done.i] = done.judged;
    }),
  );
  const judge = others[0]?.thread;
  const send = (shaped: Shaped) => {
    judge?.postMessage(shaped);
    Atomics.add(counts, SENT, 1);
    Atomics.notify(counts, SENT);
  };
  const { joinLine, judgeLine, shapeLine } = await import('../analyse-line.ts');
  const own: Share = { lines: sorted, counts, judges: false };
  for (let i = nextOf(own); i !== null; i = nextOf(own)) {
    const fit = shapeLine(sorted[i]!);
    fits[i] = fit;
    if (judge) send({ i, fit });
  }
  send(null);
  await Promise.all(others.map(({ ended }) => ended));
  // Lines a thread took and did not bring back, because it could not start or ran out of memory, are worked out here.
  const found = sorted.map((inputs, i) => {
    if (whole[i]) return whole[i];
    const fit = fits[i] ?? shapeLine(inputs);
    return joinLine(inputs, fit, judged[i] ?? judgeLine(inputs, fit));
  });
  return lines.map((_, i) => found[order.indexOf(i)]!);
}

/** Threads beside this one. */
function threadsFor(lines: readonly LineInputs[]): number {
  const worth = lines.filter((each) => each.readings.length >= WORTH_A_THREAD / 4).length;
  const readings = lines.reduce((sum, each) => sum + each.readings.length, 0);
  if (readings < WORTH_A_THREAD) return 0;
  return Math.max(0, Math.min(worth, availableParallelism(), MOST_THREADS) - 1);
}

/** Starts a worker; one that fails ends with its lines undone. */
function startThread(
  program: string,
  workerData: Share,
  onDone: (done: Done) => void,
): { readonly thread: Worker | null; readonly ended: Promise<void> } {
  try {
    const thread = new Worker(program, { workerData });
    const ended = new Promise<void>((end) => {
      thread.on('message', onDone);
      thread.on('error', () => end());
      thread.on('exit', () => end());
    });
    return { thread, ended };
  } catch {
    return { thread: null, ended: Promise.resolve() };
  }
}

/** The file this process was started with, where it is the built program. */
function startedProgram(): string | null {
  const started = process.argv[1];
  // npm starts it through a link.
  return coreDigest() === null || started === undefined ? null : realpathSync(started);
}
