import { spawnSync } from 'node:child_process';
import {
  closeSync,
  mkdtempSync,
  openSync,
  readFileSync,
  rmSync,
  statSync,
  writeFileSync,
  writeSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { hashFile } from '../../src/cli/store/hash-file.ts';
import { type BundledCli, bundleCli } from './run-cli.ts';

/** Memory does not grow with the file: a heap far smaller than the file must do. (Speed: `npm run bench:import`.) */
const HEAP = 36;
const ROWS = 500_000;

let cli: BundledCli;
let top: string;
beforeAll(async () => {
  cli = await bundleCli();
  top = mkdtempSync(join(tmpdir(), 'sweepbook-large-'));
});
afterAll(() => {
  cli.remove();
  rmSync(top, { recursive: true, force: true });
});

async function newJob(name: string): Promise<string> {
  const job = join(top, name);
  const size = ['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'];
  expect((await cli.run(['new', job, ...size])).status).toBe(0);
  return job;
}

describe('a large file', { timeout: 600_000 }, () => {
  it(`of 500,000 rows is imported in a heap of ${HEAP} MB`, async () => {
    const job = await newJob('large');
    const path = join(top, 'large.csv');
    const handle = openSync(path, 'w');
    writeSync(handle, 'cycle,station,offset,state,date,note\n');
    for (let block = 0; block < ROWS / 10_000; block++) {
      const rows = Array.from({ length: 10_000 }, (_, i) => {
        const n = block * 10_000 + i;
        return `${Math.floor(n / 1001)},${((n % 1001) * 0.06).toFixed(2)},${(n % 97) / 16},released,2031-05-04,cold morning with light wind at the north end and string number ${n % 3} held by hand`;
      });
      writeSync(handle, `${rows.join('\n')}\n`);
    }
    closeSync(handle);
    expect(statSync(path).size).toBeGreaterThan(HEAP * 1.5e6);
    const ran = spawnSync(
      process.execPath,
      [`--max-old-space-size=${HEAP}`, cli.path, 'add', job, path, '--any-size'],
      {
        encoding: 'utf8',
      },
    );
    expect(ran, ran.stderr.slice(0, 500)).toMatchObject({ status: 0 });
    expect(ran.stdout).toContain(`${ROWS} readings from ${ROWS} rows`);
    expect(hashFile(join(job, 'readings/large.csv')).sha256).toBe(hashFile(path).sha256);
  });

  it('with unusable rows without end is refused even with --set-aside, and the ledger stays small', async () => {
    const job = await newJob('bad');
    const path = join(top, 'bad.csv');
    const rows = Array.from(
      { length: 60_000 },
      (_, i) => `0,${(i * 0.001).toFixed(3)},${i % 5 === 0 ? 'x' : 1}`,
    );
    writeFileSync(path, `cycle,station,offset\n${rows.join('\n')}\n`);
    const ran = spawnSync(
      process.execPath,
      [`--max-old-space-size=${HEAP}`, cli.path, 'add', job, path, '--set-aside'],
      {
        encoding: 'utf8',
        maxBuffer: 1 << 26,
      },
    );
    expect(ran.status).toBe(1);
    expect(ran.stderr).toContain('nothing was imported');
    expect(ran.stderr.split('\n').length).toBeLessThan(510);
    expect(readFileSync(join(job, 'ledger.jsonl'), 'utf8').length).toBeLessThan(2000);
  });
});
