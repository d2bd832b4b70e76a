import { parentPort, workerData } from 'node:worker_threads';
import { analyseLine } from '../analyse-line.ts';
import { nextOf, type Share } from './line-threads.ts';

/** Works out lines of its share until none is left; each answer goes back with its place. */
const { lines, taken } = workerData as Share;
for (let i = nextOf(taken, lines); i !== null; i = nextOf(taken, lines))
  parentPort!.postMessage({ i, line: analyseLine(lines[i]!) });
