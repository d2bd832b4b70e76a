import { answering, type FromWorker, type PapersFromWorker, type ToWorker } from './worker-messages.ts';

/**
 * The core's script in the page. It runs in a worker that is started before the page's own script is even read; where
 * the browser refuses workers the page runs it itself, and it then leaves its door under this name.
 */
const scope = globalThis as unknown as {
  onmessage: (event: MessageEvent<ToWorker>) => void;
  postMessage: (message: FromWorker | PapersFromWorker) => void;
  sweepbookAnswering?: typeof answering;
};

if (typeof document === 'undefined') {
  const answer = answering((message) => scope.postMessage(message));
  scope.onmessage = (event) => answer(event.data);
} else {
  scope.sweepbookAnswering = answering;
}
