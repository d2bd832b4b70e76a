import { closeSync, fstatSync, mkdtempSync, openSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { buildLazWorker } from '../../build-cli.mjs';
import { threadsFor } from '../../src/cli/scan/laz-threads.ts';
import { readLaz } from '../../src/cli/scan/read-laz.ts';
import { describeProblem, InputError } from '../../src/input-error.ts';

/** LAZ written by LASzip, the reference library of the format (fixtures/README.md); held to its points by laszip-files.test.ts. */
const FILES = [
  'laszip-las12-format0.laz',
  'laszip-las13-format3.laz',
  'laszip-las14-format6.laz',
  'laszip-las14-format8.laz',
  'laszip-las12-format1-chunks-of-2.laz',
  'laszip-las14-format7-chunks-of-2.laz',
  'laszip-las12-format1-variable.laz',
];
const fixtures = fileURLToPath(new URL('fixtures', import.meta.url));
const scratch = mkdtempSync(join(tmpdir(), 'sweepbook-laz-threads-'));
let worker = '';
beforeAll(async () => {
  worker = join(scratch, await buildLazWorker(scratch));
});
afterAll(() => rmSync(scratch, { recursive: true, force: true }));

/** Everything that reading hands out: the batches in their order, and what it gives at the end, or the words it refuses with. */
async function read(path: string, thread: string | null, most = 3) {
  const handle = openSync(path, 'r');
  const batches: number[][] = [];
  let last = 0;
  try {
    const cloud = await readLaz(
      handle,
      fstatSync(handle).size,
      'cloud.laz',
      (x, y, z, n) => {
        batches.push([n, ...x.subarray(0, n), ...y.subarray(0, n), ...z.subarray(0, n)]);
      },
      false,
      (_, done) => {
        expect(done).toBeGreaterThan(last);
        last = done;
      },
      () => (thread === null ? null : { worker: thread, most }),
    );
    return { batches, cloud };
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return { batches, refused: [error.message, ...error.problems.map(describeProblem)] };
  } finally {
    closeSync(handle);
  }
}

function damaged(name: string, change: (bytes: Buffer) => Buffer): string {
  const path = join(scratch, `damaged-${name}`);
  writeFileSync(path, change(readFileSync(join(fixtures, name))));
  return path;
}

describe('LAZ unpacked in threads', () => {
  it.each(FILES)('%s: the same batches, counts and digest as in one thread', async (name) => {
    const path = join(fixtures, name);
    const alone = await read(path, null);
    expect(alone.batches.length).toBeGreaterThan(0);
    for (const most of [2, 4]) expect(await read(path, worker, most)).toEqual(alone);
  });

  it('what a thread leaves undone is done here', async () => {
    const path = join(fixtures, 'laszip-las14-format7-chunks-of-2.laz');
    const alone = await read(path, null);
    const ways = {
      'ends-at-once.cjs': 'process.exit(3)',
      'throws.cjs': 'throw new Error("no")',
      'throws-when-asked.cjs':
        'require("node:worker_threads").parentPort.on("message", () => { throw new Error("no"); })',
      // Unpacks three chunks and is gone with the fourth.
      'stops-half-way.cjs': `${readFileSync(worker, 'utf8')};let n=0;require("node:worker_threads").parentPort.on("message",()=>{if(++n===4)process.exit()})`,
    };
    for (const [name, text] of Object.entries(ways)) {
      const file = join(scratch, name);
      writeFileSync(file, text);
      expect(await read(path, file), name).toEqual(alone);
    }
    expect(await read(path, join(scratch, 'nothing-here.cjs'))).toEqual(alone);
  });

  it('a chunk damaged in the middle, or a file cut short, is refused in the same words, after the same points', async () => {
    let refused = 0;
    for (const name of [
      'laszip-las12-format0.laz',
      'laszip-las12-format1-chunks-of-2.laz',
      'laszip-las14-format7-chunks-of-2.laz',
    ]) {
      const { length } = readFileSync(join(fixtures, name));
      for (const share of [0.4, 0.6, 0.7]) {
        const flipped = damaged(name, (bytes) => {
          bytes[Math.floor(share * length)]! ^= 0x55;
          return bytes;
        });
        const alone = await read(flipped, null);
        expect(await read(flipped, worker, 2), `${name} ${share}`).toEqual(alone);
        if ('refused' in alone && alone.batches.length > 0) refused++;
        const cut = damaged(name, (bytes) => bytes.subarray(0, Math.floor(share * length)));
        const short = await read(cut, null);
        expect(short, `${name} ${share}`).toHaveProperty('refused');
        expect(await read(cut, worker, 2), `${name} ${share}`).toEqual(short);
      }
    }
    // Some of it is noticed only once points before it were handed on.
    expect(refused).toBeGreaterThan(3);
  });

  it('are had where they are worth it: on two cores or more, with many points, in chunks as they are usual', () => {
    expect(threadsFor(9e6, 50_000, 'worker.cjs', 2)).toEqual({ worker: 'worker.cjs', most: 2 });
    expect(threadsFor(9e6, 50_000, 'worker.cjs', 1)).toBeNull();
    expect(threadsFor(1e5, 50_000, 'worker.cjs', 2)).toBeNull();
    expect(threadsFor(9e6, 9e6, 'worker.cjs', 2)).toBeNull();
    // Run from source there is no worker.
    expect(threadsFor(9e6, 50_000)).toBeNull();
  });
});
