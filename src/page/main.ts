import { startPage } from './dom/app.ts';
import { answering, type FromWorker, type ToWorker } from './worker-messages.ts';

/** The one script of the page. In a page it runs the page; in the worker the page makes of it, the analysis. */
if (typeof document === 'undefined') {
  const scope = globalThis as unknown as {
    onmessage: (event: MessageEvent<ToWorker>) => void;
    postMessage: (message: FromWorker) => void;
  };
  const answer = answering();
  scope.onmessage = (event) => scope.postMessage(answer(event.data));
} else {
  void startPage(document.currentScript?.textContent ?? '');
}
