import { parentPort, receiveMessageOnPort, workerData } from 'node:worker_threads';
import { analyseLine, judgeLine } from '../analyse-line.ts';
import { type Done, nextOf, SENT, type Shaped, type Share } from './line-threads.ts';

/** A shape that is this long in coming, ms, is of a line so long that another is worth working out from the first meanwhile. */
const PATIENCE = 1000;

const share = workerData as Share;
const answer = (done: Done) => parentPort!.postMessage(done);

/** Takes the next line and works it out. @returns false when none was left */
function takeLine(): boolean {
  const i = nextOf(share);
  if (i === null) return false;
  answer({ i, line: analyseLine(share.lines[i]!) });
  return true;
}

/** Judges shapes as they come, until no more will. */
function judgeShapes(): void {
  let left = true;
  for (;;) {
    const sent = Atomics.load(share.counts, SENT);
    const got = receiveMessageOnPort(parentPort!) as { readonly message: Shaped } | undefined;
    if (got === undefined) {
      const waited = Atomics.wait(share.counts, SENT, sent, left ? PATIENCE : undefined);
      if (waited === 'timed-out') left = takeLine();
      continue;
    }
    if (got.message === null) return;
    const { i, fit } = got.message;
    answer({ i, judged: judgeLine(share.lines[i]!, fit) });
  }
}

if (share.judges) judgeShapes();
else while (takeLine());
