import { spawn } from 'node:child_process';
import { mkdtempSync, rmSync, symlinkSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build } from 'esbuild';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { alias } from '../../build-page.mjs';
import type { DoorTally } from './run-door.ts';

/** Cases over all doors: 100,000 with `npm run fuzz`, a slice with the tests. */
const CASES = Number.parseInt(
  process.env.FUZZ_DOORS ?? (process.env.FUZZ_CASES === undefined ? '1000' : '100000'),
  10,
);
const SEED = process.env.FUZZ_SEED ?? '20310504';
const ROOT = new URL('../..', import.meta.url).pathname;
/** Processor time of one case, s, and peak memory of the whole run, MB. */
const MOST_CPU = 5;
const MOST_MEMORY = 400;
/** Cases a process tries: an unpacker that met damage keeps memory, and no command reads more than a few clouds. */
const BATCH = 2500;
/** A share of the cases for each way in. */
const SHARES: Readonly<Record<string, number>> = {
  'files of every kind': 0.1,
  'headers that lie': 0.25,
  'JSON shapes': 0.2,
  'page bundles': 0.2,
  'two tabs': 0.25,
};

/**
 * Every way in, in a process of its own with little memory: nothing hangs, nothing grows, nothing is said that is not a
 * reading or a refusal in words. A case that breaks is had again by its seed and number.
 */
describe(`${CASES} cases over all doors`, () => {
  let folder: string;
  const tallies: DoorTally[] = [];
  beforeAll(async () => {
    folder = mkdtempSync(join(tmpdir(), 'sweepbook-many-doors-'));
    symlinkSync(join(ROOT, 'node_modules'), join(folder, 'node_modules'));
    await build({
      entryPoints: { 'run-door': join(ROOT, 'tests/fuzz/run-door.ts') },
      outdir: folder,
      outExtension: { '.js': '.mjs' },
      ...{
        bundle: true,
        splitting: true,
        format: 'esm',
        platform: 'node',
        target: 'node20',
        logLevel: 'error',
      },
      absWorkingDir: ROOT,
      alias,
      external: ['plotly.js-dist-min', 'laz-perf', 'fast-check'],
      banner: {
        js: "import { createRequire as __createRequire } from 'node:module';\nconst require = __createRequire(import.meta.url);",
      },
    });
  }, 120_000);
  afterAll(() => {
    rmSync(folder, { recursive: true, force: true });
    const sum = (of: (tally: DoorTally) => number) => tallies.reduce((total, each) => total + of(each), 0);
    for (const { door, cases, taken, refused, slowest, memory } of tallies) {
      console.info(
        `${door}: ${cases} cases, ${taken} taken, ${refused} refused in words; slowest ${slowest.toFixed(2)} s, at most ${memory.toFixed(0)} MB`,
      );
    }
    console.info(`all doors: ${sum((each) => each.cases)} cases, seed ${SEED}`);
  });

  it.each(Object.entries(SHARES))(
    '%s',
    async (door, share) => {
      const cases = Math.round(CASES * share);
      let tally = await runDoor(door, 0, Math.min(BATCH, cases));
      for (let first = BATCH; first < cases && tally.broken === null; first += BATCH)
        tally = together(tally, await runDoor(door, first, Math.min(BATCH, cases - first)));
      expect(tally.broken).toBeNull();
      tallies.push(tally);
      expect(tally.taken + tally.refused).toBe(cases);
      // Some of each, or the cases test nothing past the first fault, or nothing at all.
      expect(tally.taken).toBeGreaterThan(cases / 100);
      expect(tally.slowest, `case ${tally.slowestCase}`).toBeLessThan(MOST_CPU);
      expect(tally.memory).toBeLessThan(MOST_MEMORY);
    },
    10_800_000,
  );

  async function runDoor(door: string, first: number, cases: number): Promise<DoorTally> {
    const args = [
      '--max-old-space-size=300',
      join(folder, 'run-door.mjs'),
      door,
      String(cases),
      SEED,
      String(first),
      ROOT,
    ];
    const child = spawn(process.execPath, args, {
      stdio: ['ignore', 'pipe', 'pipe'],
      env: { ...process.env, NO_COLOR: '1' },
    });
    let out = '';
    let err = '';
    child.stdout.on('data', (data: Buffer) => {
      out += data.toString('utf8');
    });
    child.stderr.on('data', (data: Buffer) => {
      err = (err + data.toString('utf8')).slice(-4000);
    });
    const status = await new Promise<number | null>((done) => child.on('close', done));
    expect(out, `${door}: ended with ${status}; ${err}`).not.toBe('');
    return JSON.parse(out) as DoorTally;
  }
});

function together(a: DoorTally, b: DoorTally): DoorTally {
  const slowest = a.slowest >= b.slowest ? a : b;
  return {
    ...{ door: a.door, cases: a.cases + b.cases, taken: a.taken + b.taken, refused: a.refused + b.refused },
    ...{ slowest: slowest.slowest, slowestCase: slowest.slowestCase },
    ...{ memory: Math.max(a.memory, b.memory), broken: b.broken },
  };
}
