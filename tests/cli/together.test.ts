import { mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it, vi } from 'vitest';
import { withFolderLock } from '../../src/cli/store/folder-lock.ts';
import { readLedger } from '../../src/cli/store/ledger.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { verifyJob } from '../../src/cli/store/verify-job.ts';
import { type BundledCli, bundleCli } from './run-cli.ts';

// Real processes: minutes on a busy machine, seconds on an idle one.
vi.setConfig({ testTimeout: 600_000, hookTimeout: 600_000 });

/** Several real processes writing in one job at the same time. */
let cli: BundledCli;
let top: string;
beforeAll(async () => {
  cli = await bundleCli();
  top = mkdtempSync(join(tmpdir(), 'sweepbook-together-'));
});
afterAll(() => {
  cli.remove();
  rmSync(top, { recursive: true, force: true });
});

const SIZE = ['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'];

async function newJob(name: string): Promise<string> {
  const job = join(top, name);
  expect((await cli.run(['new', job, ...SIZE])).status).toBe(0);
  return job;
}

/** Readings of their own for every cycle: the same ones again would not count. */
function csv(name: string, cycle: number): string {
  const path = join(top, `${name}-${cycle}.csv`);
  const rows = Array.from(
    { length: 40 },
    (_, i) => `${cycle},${i * 1.5},${(i * 13 + cycle * (i % 17)) % 29}`,
  );
  writeFileSync(path, `cycle,station,offset\n${rows.join('\n')}\n`);
  return path;
}

async function cyclesOf(job: string): Promise<number[]> {
  return [...new Set((await openJob(job)).readings.map((each) => each.cycle))].sort((a, b) => a - b);
}

describe('processes writing at once', () => {
  it('two adds both succeed', async () => {
    const job = await newJob('two');
    const both = await Promise.all([0, 1].map((cycle) => cli.run(['add', job, csv('two', cycle)])));
    for (const ran of both) expect(ran, ran.err).toMatchObject({ status: 0 });
    expect(await cyclesOf(job)).toEqual([0, 1]);
  });

  it('eight adds and a mark all succeed, and the chain holds', async () => {
    const job = await newJob('eight');
    expect((await cli.run(['add', job, csv('eight', 0)])).status).toBe(0);
    const mark = [
      'mark',
      job,
      '--file',
      'eight-0.csv',
      '--row',
      '5',
      '--set-aside',
      '--who',
      'a',
      '--why',
      'b',
    ];
    const all = await Promise.all([
      ...[1, 2, 3, 4, 5, 6, 7, 8].map((cycle) => cli.run(['add', job, csv('eight', cycle), '--wait', '60'])),
      cli.run(mark),
    ]);
    for (const ran of all) expect(ran, ran.err).toMatchObject({ status: 0 });
    expect(await cyclesOf(job)).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8]);
    const ledger = readLedger(job);
    expect(ledger.findings).toEqual([]);
    expect(ledger.count).toBe(11);
    expect(readdirSync(job).filter((name) => name.startsWith('.busy'))).toEqual([]);
  });

  it('the same file added by four processes is imported once', async () => {
    const job = await newJob('same');
    const path = csv('same', 0);
    const all = await Promise.all([1, 2, 3, 4].map(() => cli.run(['add', job, path])));
    for (const ran of all) expect(ran, ran.err).toMatchObject({ status: 0 });
    expect(all.filter((ran) => ran.out.includes('Imported'))).toHaveLength(1);
    expect(all.filter((ran) => ran.out.includes('in the job already'))).toHaveLength(3);
    expect((await openJob(job)).files).toHaveLength(1);
  });

  it('one that cannot wait any longer says busy, with status 1, and changes nothing', async () => {
    const job = await newJob('busy');
    await withFolderLock(job, 1000, async () => {
      const ran = await cli.run(['add', job, csv('busy', 0), '--wait', '0.2']);
      expect(ran).toMatchObject({ status: 1, out: '' });
      expect(ran.err).toMatch(/^sweepbook: busy: process \d+ is writing in this job; nothing was changed\./);
      // Reading needs no lock.
      expect(await cli.run(['verify', job])).toMatchObject({ status: 0 });
    });
    expect(await cyclesOf(job)).toEqual([]);
  });

  it('a killed process does not keep others waiting', async () => {
    const job = await newJob('dead');
    // The first change of the process that leaves its lock behind when it is killed there.
    const busy = () => readdirSync(job).some((name) => name.startsWith('.busy'));
    for (let at = 1; at < 60 && !busy(); at++) {
      const env = {
        NODE_OPTIONS: `--require ${new URL('./kill-at.cjs', import.meta.url).pathname}`,
        SWEEPBOOK_KILL_AT: String(at),
        SWEEPBOOK_KILL_HOW: 'half',
      };
      expect(await cli.run(['add', job, csv('dead', 0)], { env })).toMatchObject({ signal: 'SIGKILL' });
    }
    expect(busy()).toBe(true);
    expect(await cli.run(['add', job, csv('dead', 1), '--wait', '0'])).toMatchObject({ status: 0 });
    expect(busy()).toBe(false);
  });

  it('readers beside a stream of adds always see whole imports', async () => {
    const job = await newJob('beside');
    let adding = true;
    const writer = (async () => {
      for (let cycle = 0; cycle < 12; cycle++) {
        expect((await cli.run(['add', job, csv('beside', cycle)])).status).toBe(0);
      }
    })().finally(() => {
      adding = false;
    });
    let looks = 0;
    while (adding) {
      const opened = await openJob(job);
      expect(opened.findings).toEqual([]);
      for (const file of opened.files) expect(file).toMatchObject({ readings: 40, standing: 'known' });
      looks++;
      expect((await verifyJob(job, null)).findings).toEqual([]);
      await new Promise((done) => setTimeout(done, 1));
    }
    await writer;
    expect(looks).toBeGreaterThan(20);
    expect(await cyclesOf(job)).toHaveLength(12);
  });
});
