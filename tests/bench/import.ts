/**
 * `npm run bench:import [-- rows]`: imports one large CSV with the built command line and compares it with papaparse
 * alone (createReadStream, step, no heading) on the same file in the same run. Each in its own process, best of three.
 */
import { execFileSync, spawnSync } from 'node:child_process';
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
import { cpus, tmpdir } from 'node:os';
import { join } from 'node:path';

const ROWS = Number(process.argv[2] ?? 1_000_000);
const RUNS = 3;
const ROOT = new URL('../..', import.meta.url).pathname;
const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bench-'));
const peak = join(folder, 'peak');
const peakScript = join(folder, 'peak.cjs');
writeFileSync(
  peakScript,
  `process.on('exit', () => require('node:fs').writeFileSync(process.env.SWEEPBOOK_PEAK, JSON.stringify(process.resourceUsage())));`,
);
const floorScript = join(folder, 'floor.cjs');
writeFileSync(
  floorScript,
  `const Papa = require(${JSON.stringify(join(ROOT, 'node_modules/papaparse'))});
let cells = 0;
Papa.parse(require('node:fs').createReadStream(process.argv[2], { highWaterMark: 1 << 17 }), {
  step: (result) => { cells += result.data.length; },
  error: (error) => { throw error; },
});`,
);

try {
  execFileSync(process.execPath, ['build.mjs'], { cwd: ROOT, stdio: 'inherit' });
  const cli = join(ROOT, 'dist', 'sweepbook.js');
  const csv = join(folder, 'large.csv');
  writeCsv(csv, ROWS);
  const megabytes = statSync(csv).size / 1e6;
  console.log(
    `${ROWS} rows, ${megabytes.toFixed(1)} MB, Node ${process.version}, ${cpus()[0]?.model ?? '?'}`,
  );

  const floor = best(() => [floorScript, csv]);
  report('papaparse alone', floor, megabytes);
  let run = 0;
  const add = best(() => {
    const job = join(folder, `job-${run++}`);
    const size = ['--span', '62 ft', '--flange-width', '12 in', '--flange-thickness', '15/16 in'];
    execFileSync(process.execPath, [cli, 'new', job, ...size], { stdio: 'ignore' });
    return [cli, 'add', '--any-size', job, csv];
  });
  report('sweepbook add', add, megabytes);
  console.log(
    `add takes ${(add.cpu / floor.cpu).toFixed(2)} times the processor time of papaparse alone ` +
      `(${(add.seconds / floor.seconds).toFixed(2)} by the clock; target: at most 2.5)`,
  );
} finally {
  rmSync(folder, { recursive: true, force: true });
}

interface Measured {
  readonly seconds: number;
  /** Processor time, s: steadier than the clock on a machine that does other work too. */
  readonly cpu: number;
  readonly mebibytes: number;
}

/** Runs each command of `make` in a process of its own and keeps the quickest. */
function best(make: () => readonly string[]): Measured {
  const runs = Array.from({ length: RUNS }, (): Measured => {
    const args = make();
    const started = performance.now();
    const ran = spawnSync(process.execPath, ['--require', peakScript, ...args], {
      env: { ...process.env, SWEEPBOOK_PEAK: peak },
      encoding: 'utf8',
    });
    const seconds = (performance.now() - started) / 1000;
    if (ran.status !== 0) throw new Error(`${args.join(' ')}: ${ran.stderr.slice(0, 2000)}`);
    const used = JSON.parse(readFileSync(peak, 'utf8')) as NodeJS.ResourceUsage;
    return { seconds, cpu: (used.userCPUTime + used.systemCPUTime) / 1e6, mebibytes: used.maxRSS / 1024 };
  });
  return runs.reduce((a, b) => (b.cpu < a.cpu ? b : a));
}

function report(name: string, { seconds, cpu, mebibytes }: Measured, megabytes: number): void {
  const speed = (megabytes / seconds).toFixed(1);
  console.log(
    `${name.padEnd(16)} ${seconds.toFixed(2)} s (processor ${cpu.toFixed(2)} s)  ${speed} MB/s  largest resident set ${mebibytes.toFixed(0)} MiB`,
  );
}

/** A long string line read over many cycles: plausible text in every cell, no fault. */
function writeCsv(path: string, rows: number): void {
  const handle = openSync(path, 'w');
  writeSync(handle, 'cycle,line,station,offset,state,date,note\n');
  const stations = 1001;
  for (let from = 0; from < rows; from += 10_000) {
    let text = '';
    for (let i = from; i < Math.min(rows, from + 10_000); i++) {
      const cycle = Math.floor(i / stations);
      const station = ((i % stations) * 0.062).toFixed(3);
      const offset = (Math.sin(i / 300) * 6 * Math.exp(-cycle / 400)).toFixed(4);
      text += `${cycle},bottom-flange,${station},${offset},released,2031-05-04,\n`;
    }
    writeSync(handle, text);
  }
  closeSync(handle);
}
