/**
 * `npm run bench:scan-laz -- FILE.laz…`: reads LAZ files by our reader, in one thread and in those the machine has, in a
 * process of its own each, beside LASzip itself (laszip-read.c, built here where a C compiler and LASzip are to be had,
 * skipped loudly where not), by the clock and in processor time, and holds the sums of the raw coordinates of all against
 * each other. LASzip is timed reading whole points, which is what the ratios are to, and told to leave out what is not
 * read here (it can in formats 6 and up). A large LAZ is made of a LAS with `-- --pack IN.las OUT.laz`.
 */
import { spawnSync } from 'node:child_process';
import { fstatSync, mkdtempSync, openSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { buildLazWorker } from '../../build-cli.mjs';
import { waitToCompile } from '../../src/cli/compiled.ts';
import { mostThreads } from '../../src/cli/scan/laz-threads.ts';
import { readLaz } from '../../src/cli/scan/read-laz.ts';
import { parseLasHeader } from '../../src/scan/read-las.ts';

interface Read {
  readonly points: number;
  /** Of the processor, in all threads, and by the clock. */
  readonly seconds: number;
  readonly clock: number;
  readonly sums: readonly number[];
}

/** Of so many runs the least counts. They take turns, so that a busy spell of the machine does not fall on one alone. */
const RUNS = 5;
/** By the clock, times LASzip. */
const TARGET = 1.3;
const given = process.argv.slice(2);

if (given[0] === '--child') await child(given[1]!, given[2] ?? null);
else await compare(given);

/**
 * Our reader, in this process: its time, and sums of the coordinates in steps of the file's scale.
 * @param worker what other threads run; null: this one alone
 */
async function child(path: string, worker: string | null): Promise<void> {
  waitToCompile();
  const handle = openSync(path, 'r');
  const { size } = fstatSync(handle);
  const sums = [0, 0, 0];
  const begun = process.cpuUsage();
  const from = performance.now();
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
    () => (worker === null ? null : { worker, most: mostThreads() }),
  );
  const clock = (performance.now() - from) / 1000;
  const { user, system } = process.cpuUsage(begun);
  const { readFileSync } = await import('node:fs');
  const header = parseLasHeader(new Uint8Array(readFileSync(path).subarray(0, 65_536)), path, size)!;
  const steps = sums.map((sum, k) => Math.round((sum - points * header.offset[k]!) / header.scale[k]!));
  process.stdout.write(
    JSON.stringify({ points, seconds: (user + system) / 1e6, clock, sums: steps } satisfies Read),
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
    const worker = join(folder, await buildLazWorker(folder));
    const ours = (file: string, ...more: string[]) =>
      [process.execPath, ...process.execArgv, process.argv[1]!, '--child', file, ...more] as const;
    for (const file of files) {
      const [alone, threads, whole, places] = least([
        ours(file),
        ours(file, worker),
        ...(there ? [[floor, file] as const, [floor, '--places', file] as const] : []),
      ]);
      console.log(`${file}: ${alone!.points} points`);
      const beside = (name: string, read: Read) => {
        const times = (of: 'clock' | 'seconds') =>
          `${read[of].toFixed(2)} s${whole === undefined ? '' : ` (${(read[of] / whole[of]).toFixed(2)} x)`}`;
        console.log(`  ${name.padEnd(34)} clock ${times('clock')}, processor ${times('seconds')}`);
      };
      beside('ours, one thread', alone!);
      beside(`ours, up to ${mostThreads()} threads`, threads!);
      if (whole === undefined || places === undefined) continue;
      beside('LASzip', whole);
      beside('LASzip, places and marks alone', places);
      // Doubles of some million points leave the last digits of a sum open.
      const same = [alone!, threads!, places].every(
        (read) =>
          read.points === whole.points &&
          read.sums.every((sum, k) => Math.abs(sum - whole.sums[k]!) <= 1e-9 * Math.abs(sum) + 1),
      );
      const ratio = threads!.clock / whole.clock;
      console.log(
        `  ${same ? 'the same points' : 'NOT THE SAME POINTS'}; target of ${TARGET} x by the clock ${ratio <= TARGET ? 'met' : 'NOT MET'}`,
      );
      if (!same) process.exitCode = 1;
    }
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function least(commands: readonly (readonly string[])[]): Read[] {
  const best: Read[] = [];
  for (let run = 0; run < RUNS; run++) {
    commands.forEach(([program, ...args], i) => {
      const result = spawnSync(program!, args, { encoding: 'utf8' });
      if (result.status !== 0) throw new Error(result.stderr);
      const read = JSON.parse(result.stdout) as Read;
      const had = best[i] ?? read;
      best[i] = {
        ...read,
        seconds: Math.min(read.seconds, had.seconds),
        clock: Math.min(read.clock, had.clock),
      };
    });
  }
  return best;
}
