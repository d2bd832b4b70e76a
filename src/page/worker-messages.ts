import { analyseLine } from '../analyse-line.ts';
import { answerText } from '../answer/answer-text.ts';
import { remembering } from '../answer/line-key.ts';
import { conclude, type OpenedReadings, prepare } from '../conclude.ts';
import { describeProblems, InputError } from '../input-error.ts';
import type { Reading } from '../survey/survey.ts';
import { inFileOrder } from './file-order.ts';
import { makePapers, type PapersAsked, type PapersMade } from './papers/make-papers.ts';

/** To the worker: a job once, then the readings keyed beside its files after every change. */
export type ToWorker =
  | { readonly kind: 'job'; readonly opened: OpenedReadings }
  | { readonly kind: 'analyse'; readonly id: number; readonly keyed: readonly Reading[] }
  | { readonly kind: 'papers'; readonly id: number; readonly asked: PapersAsked };

export type FromWorker =
  | { readonly kind: 'answer'; readonly id: number; readonly text: string; readonly ms: number }
  | { readonly kind: 'failed'; readonly id: number; readonly message: string };

/** Papers that were asked for, or why they could not be made. */
export interface PapersFromWorker {
  readonly kind: 'papers';
  readonly id: number;
  /** Null where they could not be made: `faults` then says why. */
  readonly made: PapersMade | null;
  readonly faults: readonly string[];
}

/** What answers messages: an analysis at once, papers when they are made. */
export type Answering = ReturnType<typeof answering>;

/** Answers messages; the same code serves in a worker and, where workers are refused, on the page's own thread. */
export function answering(): (message: ToWorker) => FromWorker | null | Promise<PapersFromWorker> {
  let opened: OpenedReadings | null = null;
  const linesOf = remembering(analyseLine);
  return (message) => {
    if (message.kind === 'job') {
      opened = message.opened;
      return null;
    }
    const { id } = message;
    if (message.kind === 'papers') {
      return makePapers(message.asked, linesOf).then(
        (made) => ({ kind: 'papers', id, made, faults: [] }),
        (error: unknown) => ({ kind: 'papers', id, made: null, faults: faultsOf(error) }),
      );
    }
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

function faultsOf(error: unknown): string[] {
  if (error instanceof InputError) return [error.message, ...describeProblems(error.problems)];
  return [error instanceof Error ? error.message : String(error)];
}
