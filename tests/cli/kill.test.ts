import {
  existsSync,
  mkdirSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hashFile } from '../../src/cli/store/hash-file.ts';
import { readLedger } from '../../src/cli/store/ledger.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { type BundledCli, bundleCli, finished } from './run-cli.ts';

/**
 * Real processes, really killed (SIGKILL), at two kinds of moments: at each single change they make to the file
 * system (before it, and after it or halfway through a write), and at random times. After every kill the job must be
 * readable, pass `verify`, hold every earlier import whole, and hold the killed one whole or not at all.
 */
const ROWS = 60;
/** Kills at random moments: 300 with `npm run fuzz`, a slice with the tests. */
const KILLS = process.env.FUZZ_CASES === undefined ? 70 : 300;
const PRELOAD = new URL('./kill-at.cjs', import.meta.url).pathname;

let cli: BundledCli;
let top: string;
beforeAll(async () => {
  cli = await bundleCli();
  top = mkdtempSync(join(tmpdir(), 'sweepbook-kill-'));
});
afterAll(() => {
  cli.remove();
  rmSync(top, { recursive: true, force: true });
});

interface Bench {
  readonly job: string;
  /**
   * A file of its own content and cycle. The pattern repeats after 997 cycles only: with 29 a run in which 29 imports
   * survived their kills had the readings of cycle 0 a second time, which `add` rightly answers with status 1.
   */
  readonly csv: (number: number) => string;
}

async function newBench(name: string): Promise<Bench> {
  const folder = join(top, name);
  mkdirSync(folder);
  const job = join(folder, 'job');
  const size = ['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'];
  expect((await cli.run(['new', job, ...size])).status).toBe(0);
  return {
    job,
    csv: (number) => {
      const path = join(folder, `cycle-${number}.csv`);
      const rows = Array.from(
        { length: ROWS },
        (_, i) =>
          `${number},${((i * 62) / ROWS).toFixed(3)},${((i * 13 + number * ((i % 17) + 5)) % 997) / 64}`,
      );
      writeFileSync(path, `cycle,station_ft,offset_in\n${rows.join('\n')}\n`);
      return path;
    },
  };
}

/** Runs a command that kills itself at one of its changes; returns whether it was killed. */
async function killedAt(args: readonly string[], at: number, how: 'before' | 'half'): Promise<boolean> {
  const env = {
    NODE_OPTIONS: `--require ${PRELOAD}`,
    SWEEPBOOK_KILL_AT: String(at),
    SWEEPBOOK_KILL_HOW: how,
  };
  return (await cli.run(args, { env })).signal === 'SIGKILL';
}

async function countChanges(args: readonly string[]): Promise<number> {
  const path = join(top, `count-${args[0]}`);
  const env = { NODE_OPTIONS: `--require ${PRELOAD}`, SWEEPBOOK_KILL_AT: '0', SWEEPBOOK_KILL_COUNT: path };
  const ran = await cli.run(args, { env });
  expect(ran, ran.err).toMatchObject({ status: 0 });
  return Number(readFileSync(path, 'utf8'));
}

async function killedAfter(args: readonly string[], ms: number): Promise<boolean> {
  const child = cli.start(args);
  const timer = setTimeout(() => child.kill('SIGKILL'), ms);
  const ran = await finished(child);
  clearTimeout(timer);
  return ran.signal === 'SIGKILL';
}

/** The state after a kill; `imported` are the cycles that must be there. Returns whether `trying` is in too. */
async function checkJob(job: string, imported: ReadonlySet<number>, trying: number): Promise<boolean> {
  const opened = await openJob(job);
  expect(opened.findings).toEqual([]);
  expect(await verifyJob(job, null)).toMatchObject({ ok: true, findings: [] });
  const counts = new Map<number, number>();
  for (const reading of opened.readings) counts.set(reading.cycle, (counts.get(reading.cycle) ?? 0) + 1);
  for (const cycle of imported) expect(counts.get(cycle), `cycle ${cycle}`).toBe(ROWS);
  const here = counts.get(trying);
  if (here !== undefined) expect(here).toBe(ROWS);
  expect(counts.size).toBe(imported.size + (here === undefined || imported.has(trying) ? 0 : 1));
  return here !== undefined;
}

function leftovers(job: string): string[] {
  return [...readdirSync(job), ...readdirSync(join(job, 'readings'))].filter(
    (name) => name.startsWith('.') && name !== '.ledger-head' && name !== '.job.schema.json',
  );
}

describe.concurrent('kill -9', { timeout: 900_000 }, () => {
  it('at every change an `add` makes: entirely imported or not at all', async () => {
    const { job, csv } = await newBench('every');
    const changes = await countChanges(['add', job, csv(0)]);
    expect(changes).toBeGreaterThan(12);
    const imported = new Set([0]);
    let kills = 0;
    let cycle = 1;
    for (const how of ['before', 'half'] as const) {
      for (let at = 1; at <= changes; at++) {
        const path = csv(cycle);
        if (await killedAt(['add', job, path], at, how)) kills++;
        if (await checkJob(job, imported, cycle)) {
          imported.add(cycle);
          cycle++;
        }
      }
    }
    // Leftovers of the last kill change the number of steps a little; nearly every run must have been killed.
    expect(kills).toBeGreaterThanOrEqual(2 * changes - 2);
    expect((await cli.run(['add', job, csv(cycle)])).status).toBe(0);
    expect(leftovers(job)).toEqual([]);
    console.info(`add: ${changes} changes, ${kills} kills, ${imported.size} imports survived them`);
  });

  it('at every change the first `add` to a job from before there were ids makes: one id, whole', async () => {
    const bench = await newBench('older');
    const older = readFileSync(join(bench.job, 'job.json'), 'utf8').replace(/ *"id": .*\n/, '');
    const begin = () => {
      for (const name of ['ledger.jsonl', '.ledger-head']) rmSync(join(bench.job, name), { force: true });
      rmSync(join(bench.job, 'readings'), { recursive: true, force: true });
      mkdirSync(join(bench.job, 'readings'));
      writeFileSync(join(bench.job, 'job.json'), older);
    };
    begin();
    const changes = await countChanges(['add', bench.job, bench.csv(0)]);
    // The record, its seal, job.json: the last two thirds of the changes; every other one is enough.
    for (let at = Math.floor(changes / 3); at <= changes; at += 2) {
      begin();
      expect(await killedAt(['add', bench.job, bench.csv(0)], at, at % 4 < 2 ? 'before' : 'half')).toBe(true);
      const imported = new Set<number>();
      if (await checkJob(bench.job, imported, 0)) imported.add(0);
      expect((await cli.run(['add', bench.job, bench.csv(1)])).status).toBe(0);
      await checkJob(bench.job, imported.add(1), 1);
      const ids = readLedger(bench.job).records.flatMap((each) => each.id ?? []);
      expect(ids).toHaveLength(1);
      expect(JSON.parse(readFileSync(join(bench.job, 'job.json'), 'utf8')).id).toBe(ids[0]);
      expect(leftovers(bench.job)).toEqual([]);
    }
  });

  it('at random moments of `add`: nothing is lost, and the next one works', async () => {
    const { job, csv } = await newBench('random');
    const imported = new Set<number>();
    let kills = 0;
    let cycle = 0;
    // Time from start to end of an undisturbed run, so that kills fall over all of it.
    const started = performance.now();
    expect((await cli.run(['add', job, csv(cycle)])).status).toBe(0);
    let usual = performance.now() - started;
    imported.add(cycle++);
    for (let round = 0; kills < KILLS && round < 4 * KILLS; round++) {
      const path = csv(cycle);
      // Most of a run is starting up; three quarters of the kills aim at its later half. Golden-ratio steps: even cover.
      const share = (round * 0.6180339887) % 1;
      const killed = await killedAfter(
        // Hundreds of cycles of one line are more than `add` takes unasked.
        ['add', '--any-size', job, path],
        usual * (round % 4 === 0 ? share : 0.5 + share / 2),
      );
      if (killed) kills++;
      // A busy machine slows down and speeds up: the aim follows, or every kill would fall in the starting up.
      usual *= killed ? 1.03 : 0.8;
      if (await checkJob(job, imported, cycle)) imported.add(cycle++);
      else expect(killed, 'an add that was not killed must have imported').toBe(true);
    }
    expect(kills).toBeGreaterThanOrEqual(KILLS);
    expect((await cli.run(['add', '--any-size', job, csv(cycle)])).status).toBe(0);
    imported.add(cycle);
    expect(leftovers(job)).toEqual([]);
    for (const { file, sha256 } of (await openJob(job)).files) {
      expect(hashFile(join(job, file)).sha256).toBe(sha256);
    }
    console.info(`add: ${kills} random kills, ${imported.size} imports, none lost`);
  });

  it('at every change `new` makes: a job, or a folder where `new` works again', async () => {
    const size = ['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'];
    const changes = await countChanges(['new', join(top, 'new-0'), ...size]);
    let jobs = 0;
    // Every other change is enough here: the steps are those of a ledger record, twice, and of two more files.
    for (let at = 1; at <= changes; at += 2) {
      const job = join(top, `new-${at}`);
      expect(await killedAt(['new', job, ...size], at, at % 4 === 1 ? 'before' : 'half')).toBe(true);
      const ready = existsSync(join(job, 'job.json'));
      if (ready) jobs++;
      else expect(await cli.run(['new', job, ...size])).toMatchObject({ status: 0 });
      expect((await openJob(job)).findings).toEqual([]);
      expect((await verifyJob(job, null)).ok).toBe(true);
    }
    console.info(`new: ${changes} changes, every other one a kill, ${jobs} jobs complete all the same`);
  });

  it('at every change a `mark` makes: the mark is in the ledger whole or not at all', async () => {
    const { job, csv } = await newBench('mark');
    expect((await cli.run(['add', job, csv(0)])).status).toBe(0);
    const args = (row: number) => [
      ...['mark', job, '--file', 'readings/cycle-0.csv', '--row', String(row)],
      ...['--set-aside', '--who', 'R. Alder', '--why', 'string touched the hanger'],
    ];
    const changes = await countChanges(args(2));
    let kills = 0;
    let row = 3;
    const rows = new Set([2]);
    for (const how of ['before', 'half'] as const) {
      for (let at = 1; at <= changes; at++) {
        if (await killedAt(args(row), at, how)) kills++;
        const opened = await openJob(job);
        expect(opened.findings).toEqual([]);
        expect(opened.readings).toHaveLength(ROWS);
        const marked = new Set(opened.marks.map((mark) => mark.row));
        for (const each of rows) expect(marked.has(each)).toBe(true);
        if (marked.has(row)) rows.add(row++);
        expect(marked).toEqual(rows);
      }
    }
    expect(kills).toBeGreaterThanOrEqual(2 * changes - 2);
    expect((await cli.run(args(row))).status).toBe(0);
    expect(leftovers(job)).toEqual([]);
    console.info(`mark: ${changes} changes, ${kills} kills`);
  });
});
