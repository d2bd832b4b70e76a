import type { JobBundle, Sheet } from '../job-bundle.ts';
import { answering, type FromWorker, type ToWorker } from '../worker-messages.ts';

export interface Analyst {
  /** A new job: answers to earlier questions no longer count. */
  readonly job: (bundle: JobBundle) => void;
  /** Asks for an answer; while one is being worked out only the newest question waits. */
  readonly ask: (sheets: readonly Sheet[]) => void;
}

/**
 * Runs the analysis beside the page, in a worker made from the page's own script, so that keys never wait for it; on
 * the page's own thread where the browser refuses workers.
 */
export function analyst(script: string, onAnswer: (answer: FromWorker) => void): Analyst {
  let id = 0;
  /** Asked, not sent yet. */
  let waiting: readonly Sheet[] | null = null;
  /** Sent, not answered yet. */
  let current: readonly Sheet[] | null = null;
  let bundle: JobBundle | null = null;
  let send = inWorker() ?? onThisThread();

  function inWorker(): ((message: ToWorker) => void) | null {
    try {
      const worker = new Worker(URL.createObjectURL(new Blob([script], { type: 'text/javascript' })));
      worker.onmessage = (event: MessageEvent<FromWorker>) => receive(event.data);
      worker.onerror = (event) => {
        event.preventDefault();
        worker.terminate();
        send = onThisThread();
        if (bundle !== null) send({ kind: 'job', bundle });
        waiting ??= current;
        current = null;
        go();
      };
      return (message) => worker.postMessage(message);
    } catch {
      return null;
    }
  }

  function onThisThread(): (message: ToWorker) => void {
    const answer = answering();
    return (message) => {
      if (message.kind === 'job') answer(message);
      else setTimeout(() => receive(answer(message)), 0);
    };
  }

  function go(): void {
    if (current !== null || waiting === null || bundle === null) return;
    current = waiting;
    waiting = null;
    id++;
    send({ kind: 'analyse', id, sheets: current });
  }

  function receive(answer: FromWorker): void {
    // Answers about a job that was closed meanwhile carry an old number.
    if (answer.kind === 'ready' || answer.id !== id) return;
    current = null;
    onAnswer(answer);
    go();
  }

  return {
    job: (given) => {
      bundle = given;
      id++;
      current = null;
      waiting = null;
      send({ kind: 'job', bundle: given });
    },
    ask: (sheets) => {
      waiting = sheets;
      go();
    },
  };
}
