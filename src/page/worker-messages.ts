import { analyseLine } from '../analyse-line.ts';
import { answerText } from '../answer/answer-text.ts';
import { remembering } from '../answer/line-key.ts';
import { conclude, type OpenedReadings, prepare } from '../conclude.ts';
import { HEAT_LOG_FILE } from '../folder/names.ts';
import type { BesideHeats } from '../heats/beside-heats.ts';
import { describeProblems, InputError } from '../input-error.ts';
import { besideHeatLog, readLogs } from '../papers/logs.ts';
import type { Reading } from '../survey/survey.ts';
import { utf8Bytes } from '../utf8.ts';
import { inFileOrder } from './file-order.ts';
import { makePapers, type PapersAsked, type PapersMade } from './papers/make-papers.ts';

/** A job as the worker is told of it. */
export interface WorkersJob {
  readonly opened: OpenedReadings;
  /** Text of its heat log; null where there is none. */
  readonly heatLog: string | null;
}

/** To the worker: a job once, then the readings keyed beside its files after every change. */
export type ToWorker =
  | ({ readonly kind: 'job' } & WorkersJob)
  | { readonly kind: 'analyse'; readonly id: number; readonly keyed: readonly Reading[] }
  | { readonly kind: 'papers'; readonly id: number; readonly asked: PapersAsked };

/** To a question: its answer, and after it what the heats say beside it; or why there is none. */
export type FromWorker =
  | { readonly kind: 'answer'; readonly id: number; readonly text: string; readonly ms: number }
  | { readonly kind: 'beside'; readonly id: number; readonly beside: BesideHeats }
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
export function answering(reply: (message: FromWorker | PapersFromWorker) => void) {
  let job: WorkersJob | null = null;
  const linesOf = remembering(analyseLine);

  function analyse(id: number, keyed: readonly Reading[]): void {
    if (job === null) throw new Error('no job yet');
    const { opened, heatLog } = job;
    const started = performance.now();
    const readings = inFileOrder([...opened.readings, ...keyed]);
    const prepared = prepare({ ...opened, readings });
    const analysis = conclude(prepared, linesOf(prepared.lines));
    reply({ kind: 'answer', id, text: answerText(analysis), ms: performance.now() - started });
    // The answer does not wait for it.
    const bytes = (file: string) => (file === HEAT_LOG_FILE && heatLog !== null ? utf8Bytes(heatLog) : null);
    const { heats } = readLogs({ bytes }, opened.job);
    reply({ kind: 'beside', id, beside: besideHeatLog(analysis, heats) });
  }

  return (message: ToWorker): void => {
    if (message.kind === 'job') {
      job = message;
      return;
    }
    const { id } = message;
    if (message.kind === 'papers') {
      makePapers(message.asked, linesOf).then(
        (made) => reply({ kind: 'papers', id, made, faults: [] }),
        (error: unknown) => reply({ kind: 'papers', id, made: null, faults: faultsOf(error) }),
      );
      return;
    }
    try {
      analyse(id, message.keyed);
    } catch (error) {
      reply({ kind: 'failed', id, message: error instanceof Error ? error.message : String(error) });
    }
  };
}

function faultsOf(error: unknown): string[] {
  if (error instanceof InputError) return [error.message, ...describeProblems(error.problems)];
  return [error instanceof Error ? error.message : String(error)];
}
