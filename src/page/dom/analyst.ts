import type { Reading } from '../../survey/survey.ts';
import { CORE_INSIDE } from '../page-file.ts';
import type { PapersAsked } from '../papers/make-papers.ts';
import type { answering, FromWorker, PapersFromWorker, ToWorker, WorkersJob } from '../worker-messages.ts';
import { byId } from './element.ts';

/** What the page's other scripts leave for this one. */
interface Doors {
  /** The worker, started by the page's first script; null or absent where the browser refuses workers. */
  readonly sweepbookWorker?: Worker | null;
  /** Left by the core's script when it is run in the page. */
  readonly sweepbookAnswering?: typeof answering;
}

export interface Analyst {
  /** A new job: answers to earlier questions no longer count. */
  readonly job: (job: WorkersJob) => void;
  /** Asks for an answer; while one is being worked out only the newest question waits. */
  readonly ask: (question: Question) => void;
  /** Has papers made; every one asked for is answered, in the order they were asked for. */
  readonly papers: (asked: PapersAsked) => Promise<PapersFromWorker>;
}

export interface Question {
  /** Readings keyed beside the job's files. */
  readonly keyed: readonly Reading[];
  /** Which state of the book is asked about; comes back with the answer. */
  readonly version: number;
}

/**
 * Runs the analysis beside the page, in the worker that was started with the page, so that keys never wait for it; on
 * the page's own thread where the browser refuses workers.
 */
export function analyst(onMessage: (message: FromWorker, version: number) => void): Analyst {
  let id = 0;
  /** Asked, not sent yet. */
  let waiting: Question | null = null;
  /** Sent, not answered yet. */
  let current: Question | null = null;
  /** Answered last, of this job: what stands beside it may still come. */
  let answered: { readonly id: number; readonly version: number } | null = null;
  let job: WorkersJob | null = null;
  /** Papers asked for and not made yet, by number. */
  const wanted = new Map<
    number,
    { readonly asked: PapersAsked; readonly give: (made: PapersFromWorker) => void }
  >();
  let papers = 0;
  let send = inWorker() ?? onThisThread();

  function inWorker(): ((message: ToWorker) => void) | null {
    const worker = (globalThis as Doors).sweepbookWorker;
    if (worker === undefined || worker === null) return null;
    worker.onmessage = (event: MessageEvent<FromWorker | PapersFromWorker>) => receive(event.data);
    worker.onerror = (event) => {
      event.preventDefault();
      worker.terminate();
      send = onThisThread();
      if (job !== null) send({ kind: 'job', ...plain(job) });
      waiting ??= current;
      current = null;
      go();
      for (const [number, { asked }] of wanted) send({ kind: 'papers', id: number, asked });
    };
    return (message) => worker.postMessage(message);
  }

  function onThisThread(): (message: ToWorker) => void {
    const script = document.createElement('script');
    // The page's policy allows exactly this text.
    script.textContent = byId(CORE_INSIDE).textContent;
    document.head.append(script);
    const begin = (globalThis as Doors).sweepbookAnswering;
    if (begin === undefined) {
      return (message) => {
        if (message.kind === 'job') return;
        const { id } = message;
        const why = 'this browser runs neither a worker nor the core of the page';
        const reply: FromWorker | PapersFromWorker =
          message.kind === 'papers'
            ? { kind: 'papers', id, made: null, faults: [why] }
            : { kind: 'failed', id, message: why };
        setTimeout(() => receive(reply), 0);
      };
    }
    const answer = begin(receive);
    return (message) => {
      if (message.kind === 'job') answer(message);
      else setTimeout(() => answer(message), 0);
    };
  }

  function go(): void {
    if (current !== null || waiting === null || job === null) return;
    current = waiting;
    waiting = null;
    id++;
    send({ kind: 'analyse', id, keyed: current.keyed });
  }

  function receive(message: FromWorker | PapersFromWorker): void {
    if (message.kind === 'papers') {
      wanted.get(message.id)?.give(message);
      wanted.delete(message.id);
      return;
    }
    if (message.kind === 'beside') {
      if (answered?.id === message.id) onMessage(message, answered.version);
      return;
    }
    // A core that fails after its answer says so of that one.
    if (message.kind === 'failed' && answered?.id === message.id) onMessage(message, answered.version);
    // Answers about a job that was closed meanwhile carry an old number.
    if (message.id !== id || current === null) return;
    const { version } = current;
    current = null;
    answered = { id, version };
    onMessage(message, version);
    go();
  }

  return {
    job: (given) => {
      job = given;
      id++;
      current = null;
      waiting = null;
      answered = null;
      send({ kind: 'job', ...plain(given) });
    },
    ask: (question) => {
      waiting = question;
      go();
    },
    papers: (asked) =>
      new Promise((give) => {
        papers++;
        wanted.set(papers, { asked, give });
        send({ kind: 'papers', id: papers, asked });
      }),
  };
}

/** Only what the worker asks for is copied to it. */
function plain({ opened, heatLog }: WorkersJob): WorkersJob {
  const { job, readings, marks, findings, declarations } = opened;
  return { opened: { job, readings, marks, findings, declarations }, heatLog };
}
