/**
 * `npm run bench:scan-laz -- FILE.laz…`: reads LAZ files by our reader, in a process of its own each, beside LASzip itself
 * (laszip-read.c, built here where a C compiler and LASzip are to be had, skipped loudly where not), in processor time, and
 * holds the sums of the raw coordinates of both against each other. A large LAZ is made of a LAS with
 * `-- --pack IN.las OUT.laz`.
 */
import { spawnSync } from 'node:child_process';
import { fstatSync, mkdtempSync, openSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { waitToCompile } from '../../src/cli/compiled.ts';
import { readLaz } from '../../src/cli/scan/read-laz.ts';
import { parseLasHeader } from '../../src/scan/read-las.ts';

interface Read {
  readonly points: number;
  readonly seconds: number;
  readonly sums: readonly number[];
}

const RUNS = 3;
const given = process.argv.slice(2);

if (given[0] === '--child') await child(given[1]!);
else await compare(given);

/** Our reader, in this process: its time, and sums of the coordinates in steps of the file's scale. */
async function child(path: string): Promise<void> {
  waitToCompile();
  const handle = openSync(path, 'r');
  const { size } = fstatSync(handle);
  const sums = [0, 0, 0];
  const begun = process.cpuUsage();
  const { points } = await readLaz(
    handle,
    size,
    path,
    (x, y, z, n) => {
      let [a, b, c] = [0, 0, 0];
      for (let i = 0; i < n; i++) {
        a += x[i]!;
        b += y[i]!;
        c += z[i]!;
      }
      sums[0]! += a;
      sums[1]! += b;
      sums[2]! += c;
    },
    false,
    () => {},
  );
  const { user, system } = process.cpuUsage(begun);
  const { readFileSync } = await import('node:fs');
  const header = parseLasHeader(new Uint8Array(readFileSync(path).subarray(0, 65_536)), path, size)!;
  const steps = sums.map((sum, k) => Math.round((sum - points * header.offset[k]!) / header.scale[k]!));
  process.stdout.write(
    JSON.stringify({ points, seconds: (user + system) / 1e6, sums: steps } satisfies Read),
  );
}

async function compare(files: readonly string[]): Promise<void> {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-laz-'));
  try {
    const floor = join(folder, 'laszip-read');
    const source = fileURLToPath(new URL('laszip-read.c', import.meta.url));
    // CPPFLAGS and LDFLAGS say where LASzip is, if it is not where the compiler looks.
    const flags = (name: string) => (process.env[name] ?? '').split(' ').filter((each) => each !== '');
    const built = spawnSync(
      'cc',
      ['-O2', ...flags('CPPFLAGS'), source, '-o', floor, ...flags('LDFLAGS'), '-llaszip', '-lm'],
      { encoding: 'utf8' },
    );
    const there = built.status === 0;
    if (!there) {
      console.log('NO FLOOR: LASzip or a C compiler is not here; what is printed below is our reader alone.');
      console.log((built.stderr ?? '').split('\n')[0] ?? '');
    }
    if (files[0] === '--pack') {
      if (there) spawnSync(floor, files.slice(1, 3), { stdio: 'inherit' });
      return;
    }
    for (const file of files) {
      const ours = least(process.execPath, [...process.execArgv, process.argv[1]!, '--child', file]);
      const theirs = there ? least(floor, [file]) : null;
      // Doubles of some million points leave the last digits of a sum open.
      const same =
        theirs?.points === ours.points &&
        theirs.sums.every((sum, k) => Math.abs(sum - ours.sums[k]!) <= 1e-9 * Math.abs(sum) + 1);
      console.log(
        `${file}: ${ours.points} points; ours ${ours.seconds.toFixed(2)} s${theirs === null ? '' : `, LASzip ${theirs.seconds.toFixed(2)} s (${(ours.seconds / theirs.seconds).toFixed(2)} x); ${same ? 'the same points' : 'NOT THE SAME POINTS'}`}`,
      );
      if (theirs !== null && !same) process.exitCode = 1;
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function least(program: string, args: readonly string[]): Read {
  let best: Read | null = null;
  for (let run = 0; run < RUNS; run++) {
    const result = spawnSync(program, args, { encoding: 'utf8' });
    if (result.status !== 0) throw new Error(result.stderr);
    const read = JSON.parse(result.stdout) as Read;
    if (best === null || read.seconds < best.seconds) best = read;
  }
  return best!;
}
