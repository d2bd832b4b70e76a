import { analyseLine } from '../analyse-line.ts';
import { answerText } from '../answer/answer-text.ts';
import { remembering } from '../answer/line-key.ts';
import { conclude, type OpenedReadings, prepare } from '../conclude.ts';
import type { Reading } from '../survey/survey.ts';
import { inFileOrder } from './file-order.ts';

/** To the worker: a job once, then the readings keyed beside its files after every change. */
export type ToWorker =
  | { readonly kind: 'job'; readonly opened: OpenedReadings }
  | { readonly kind: 'analyse'; readonly id: number; readonly keyed: readonly Reading[] };

export type FromWorker =
  | { readonly kind: 'answer'; readonly id: number; readonly text: string; readonly ms: number }
  | { readonly kind: 'failed'; readonly id: number; readonly message: string };

/** Answers messages; the same code serves in a worker and, where workers are refused, on the page's own thread. */
export function answering(): (message: ToWorker) => FromWorker | null {
  let opened: OpenedReadings | null = null;
  const linesOf = remembering(analyseLine);
  return (message) => {
    if (message.kind === 'job') {
      opened = message.opened;
      return null;
    }
    const { id } = message;
    try {
      if (opened === null) throw new Error('no job yet');
      const started = performance.now();
      const readings = inFileOrder([...opened.readings, ...message.keyed]);
      const prepared = prepare({ ...opened, readings });
      const text = answerText(conclude(prepared, linesOf(prepared.lines)));
      return { kind: 'answer', id, text, ms: performance.now() - started };
    } catch (error) {
      return { kind: 'failed', id, message: error instanceof Error ? error.message : String(error) };
    }
  };
}
