import { analyse } from '../analyse.ts';
import type { Analysis } from '../analysis.ts';
import { statusDocument } from '../status/status-document.ts';
import { allReadings, readSheet } from './all-readings.ts';
import type { JobBundle, Sheet } from './job-bundle.ts';
import { type OpenedBundle, openBundle } from './open-bundle.ts';

/** To the worker: a job once, then the sheets after every change. */
export type ToWorker =
  | { readonly kind: 'job'; readonly bundle: JobBundle }
  | { readonly kind: 'analyse'; readonly id: number; readonly sheets: readonly Sheet[] };

export type FromWorker =
  | { readonly kind: 'ready' }
  | {
      readonly kind: 'answer';
      readonly id: number;
      readonly analysis: Analysis;
      /** Text of the status document, as `sweepbook status --json` prints it. */
      readonly status: string;
      readonly ms: number;
    }
  | { readonly kind: 'failed'; readonly id: number; readonly message: string };

/** Answers messages; the same code serves in a worker and, where workers are refused, on the page's own thread. */
export function answering(): (message: ToWorker) => FromWorker {
  let opened: OpenedBundle | null = null;
  return (message) => {
    if (message.kind === 'job') {
      opened = openBundle(message.bundle);
      return { kind: 'ready' };
    }
    try {
      if (opened === null) throw new Error('no job yet');
      const started = performance.now();
      const { job, marks, findings } = opened;
      const sheets = message.sheets.map((sheet) => readSheet(sheet, opened!));
      const analysis = analyse(job, allReadings(opened, sheets), marks, findings);
      const status = `${JSON.stringify(statusDocument(analysis), null, 2)}\n`;
      return { kind: 'answer', id: message.id, analysis, status, ms: performance.now() - started };
    } catch (error) {
      return {
        kind: 'failed',
        id: message.id,
        message: error instanceof Error ? error.message : String(error),
      };
    }
  };
}
