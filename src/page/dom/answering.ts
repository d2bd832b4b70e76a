import { type Answer, analysisOf } from '../../answer/answer-text.ts';
import { HEAT_LOG_FILE } from '../../folder/names.ts';
import { allReadings, keyedReadings } from '../all-readings.ts';
import { answerKey } from '../answer-key.ts';
import type { FinishedAnswer } from '../finished-answer.ts';
import type { Session } from '../open-session.ts';
import { readsOf } from '../state.ts';
import type { FromWorker } from '../worker-messages.ts';
import { analyst } from './analyst.ts';
import { byId } from './element.ts';
import { notice } from './notices.ts';
import type { Storage } from './storage.ts';
import type { Store } from './store.ts';

/** How long an answer must have stood before it is kept on the device, ms. */
const SETTLED = 2000;
/** How long keys must have rested before they are answered, ms. */
const RESTED = 700;

/** Asks the worker, takes its answers into the state, keeps them on the device. */
export function answering(store: Store, storage: Storage | { readonly refused: string }) {
  const worker = analyst(receive);
  let asking: ReturnType<typeof setTimeout> | undefined;
  let keeping: ReturnType<typeof setTimeout> | undefined;

  function ask(now: boolean): void {
    clearTimeout(asking);
    const go = () => {
      const { session, version } = store.get();
      if (session !== null) worker.ask({ keyed: keyedReadings(readsOf(session)), version });
    };
    if (now) go();
    else asking = setTimeout(go, RESTED);
  }

  function receive(message: FromWorker, asked: number): void {
    const { session, answer } = store.get();
    if (session === null) return;
    if (message.kind === 'failed') {
      store.set({ answer: null });
      byId('answer-state').textContent = `No answer: ${message.message}`;
      return;
    }
    if (message.kind === 'beside') {
      // A later question may be answered before what stands beside this one is worked out.
      if (answer?.version === asked) store.set({ answer: { ...answer, beside: message.beside } });
      return;
    }
    const { opened } = session;
    const analysis = analysisOf(
      JSON.parse(message.text) as Answer,
      opened.job,
      allReadings(opened, readsOf(session)),
    );
    const { before = null } = answer?.version === asked ? answer : {};
    if (before !== null && JSON.stringify(JSON.parse(before)) !== message.text) {
      notice(
        'caution',
        'The answer this page brought along differed from the one worked out here now; it has been replaced.',
      );
    }
    performance.mark('sweepbook-answer', { detail: { ms: message.ms } });
    // What the heats said beside the answer before stands until it is worked out anew, a moment later.
    store.set({ answer: { analysis, version: asked, before: null, beside: answer?.beside ?? null } });
    keep(message.text);
  }

  /** Keeps the answer on the device once it has stood a while, so that the page opens with it. */
  function keep(text: string): void {
    clearTimeout(keeping);
    const { session, answer, version } = store.get();
    if (!('saveAnswer' in storage) || session === null || answer?.version !== version) return;
    const own = answerKey(session.key, readsOf(session));
    keeping = setTimeout(() => void storage.saveAnswer(session.id, { key: own, text }), SETTLED);
  }

  return {
    ask,
    papers: worker.papers,
    /** A job was opened, or is another from now on. */
    job: ({ bundle, opened }: Session): void => {
      const log = bundle.others.find(({ file }) => file === HEAT_LOG_FILE);
      worker.job({ opened, heatLog: log?.text ?? null });
    },
    /** What is shown is from here on the answer to something older. */
    changed: (): void => {
      clearTimeout(keeping);
      store.set({ version: store.get().version + 1 });
    },
    /**
     * Shows an answer that was worked out before, if it is to exactly what is open now: the digest covers every file,
     * mark and keyed sheet, and the core. The worker's own answer takes its place as soon as it is there.
     */
    takeFinished: (candidates: readonly (FinishedAnswer | null)[]): void => {
      const { session, version } = store.get();
      if (session === null || candidates.every((each) => each === null)) return;
      const sheets = readsOf(session);
      const wanted = answerKey(session.key, sheets);
      const fitting = candidates.find((each) => each?.key === wanted);
      if (!fitting) return;
      try {
        const analysis = analysisOf(
          JSON.parse(fitting.text) as Answer,
          session.opened.job,
          allReadings(session.opened, sheets),
        );
        store.set({ answer: { analysis, version, before: fitting.text, beside: null } });
      } catch {
        // Not an answer after all; the worker's is on its way.
      }
    },
  };
}
