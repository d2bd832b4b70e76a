/**
 * Speed of the line fit: median of a 60-station survey and of a 40-cycle × 60-station job, beside a floor measured in
 * the same run (one QR of the same size: 60 × 12, and 40 of them); then commands as whole processes, with nothing kept,
 * with everything kept and with one survey more, beside a process that does nothing; then how `status` grows with surveys and
 * with stations (`-- --growth`: that alone). `npm run bench:fit`
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { largeSample } from '../../sample-surveys/scenarios/large.ts';
import { Qr } from '../../src/maths/qr.ts';
import { assembleSurveys } from '../../src/survey/assemble.ts';
import type { Reading } from '../../src/survey/survey.ts';
import { fitLine } from '../../src/zones/fit-line.ts';
import { simulateGirder } from '../mechanics/girder.ts';
import { jobOf } from '../mechanics/job.ts';
import { createRandom } from '../mechanics/random.ts';
import { readGirder } from '../mechanics/readings.ts';
import { DEFAULT_SD } from './zones-cases.ts';

const INCH = 0.0254;
const FOOT = 0.3048;
const random = createRandom('speed');
const truth = simulateGirder({
  span: 59 * FOOT,
  flangeWidth: 12 * INCH,
  flangeThickness: INCH,
  yieldStress: 248.2e6,
  diaphragms: [15, 30, 45].map((s) => ({ station: s * FOOT, stiffness: 2e7 })),
  impacts: [{ station: 22 * FOOT, patch: FOOT, set: 3 * INCH }],
});
const survey = (cycle: number, share: number): Reading[] =>
  readGirder(
    { ...truth, profile: truth.profile.map((y) => y * share) },
    {
      stations: Array.from({ length: 60 }, (_, i) => i * FOOT),
      sd: INCH / 16,
      rounding: INCH / 16,
      random: random.fork(`cycle ${cycle}`),
      cycle,
    },
  ).readings;
const job = jobOf(truth);
const line = job.lines[0]!;
const one = assembleSurveys(survey(0, 1), line);
const many = assembleSurveys(Array.from({ length: 40 }, (_, c) => survey(c, 1 - c / 45)).flat(), line);

/** Wall clock and processor time (user and system, collector threads included) of one call, ms. */
function median(work: () => void, times: number): { median: number; first: number; cpu: number } {
  const took: number[] = [];
  const before = process.cpuUsage();
  for (let i = 0; i < times; i++) {
    const start = performance.now();
    work();
    took.push(performance.now() - start);
  }
  const spent = process.cpuUsage(before);
  return {
    first: took[0]!,
    cpu: (spent.user + spent.system) / 1000 / times,
    median: took.sort((a, b) => a - b)[Math.floor(times / 2)]!,
  };
}

function floor(count: number): () => void {
  return () => {
    for (let c = 0; c < count; c++) {
      const qr = new Qr(60);
      for (let p = 0; p < 12; p++)
        qr.push(Float64Array.from({ length: 60 }, (_, i) => Math.cos((i * p) / 19) + i * p));
    }
  };
}

const rows: [string, { median: number; first: number; cpu: number }, { median: number }][] = [
  [
    'one survey of 60 stations',
    median(() => fitLine(line, job.member, one, [], DEFAULT_SD, 'us'), 9),
    median(floor(1), 99),
  ],
  [
    '40 cycles of 60 stations',
    median(() => fitLine(line, job.member, many, [], DEFAULT_SD, 'us'), 5),
    median(floor(40), 99),
  ],
];
console.log(
  '                                median     first  mean cpu      floor (QR 60 × 12 per survey)   ratio',
);
for (const [name, fit, low] of rows)
  console.log(
    `${name.padEnd(30)} ${fit.median.toFixed(1).padStart(6)} ms ${fit.first.toFixed(1).padStart(6)} ms ${fit.cpu.toFixed(1).padStart(6)} ms   ${low.median.toFixed(3).padStart(8)} ms ${(fit.median / low.median).toFixed(0).padStart(27)}`,
  );

// ---- whole processes ----

const PROGRAM = new URL('../../dist/sweepbook.js', import.meta.url).pathname;
const COMMANDS = [['status'], ['report', '--plain'], ['card'], ['heats'], ['plates']];

interface Run {
  /** Wall clock, and processor time of all threads, ms; most memory, MB. */
  readonly wall: number;
  readonly cpu: number;
  readonly memory: number;
}

/** Tells what a process cost in the last line of its stderr. */
const HOOK = `data:text/javascript,${encodeURIComponent(
  "process.on('exit',()=>{const u=process.resourceUsage();process.stderr.write('\\n'+JSON.stringify({cpu:(u.userCPUTime+u.systemCPUTime)/1000,memory:u.maxRSS/1024})+'\\n')})",
)}`;

/** @returns medians over `times` runs; `before` each of them is done first */
function processes(args: readonly string[], times: number, before: () => void = () => {}): Run {
  const runs = Array.from({ length: times }, (): Run => {
    before();
    const start = performance.now();
    const ran = spawnSync(process.execPath, ['--import', HOOK, ...args], {
      encoding: 'utf8',
      maxBuffer: 1 << 28,
    });
    const wall = performance.now() - start;
    if (ran.status !== 0) throw new Error(`${args.join(' ')}: ${ran.stderr}`);
    return { wall, ...(JSON.parse(ran.stderr.trim().split('\n').at(-1)!) as Omit<Run, 'wall'>) };
  });
  const middle = (of: (run: Run) => number) => runs.map(of).sort((a, b) => a - b)[times >> 1]!;
  return { wall: middle((r) => r.wall), cpu: middle((r) => r.cpu), memory: middle((r) => r.memory) };
}

function wholeProcesses(lines: number, cycles: number, stations: number, times: number): void {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bench-'));
  process.env.XDG_STATE_HOME = join(folder, 'state');
  const job = join(folder, 'job');
  const sample = largeSample({ cycles, stations, lines });
  mkdirSync(join(job, 'readings'), { recursive: true });
  writeFileSync(join(job, 'job.json'), JSON.stringify(sample.job));
  for (const { name, text } of sample.files) writeFileSync(join(job, 'readings', name), text);
  const floor = processes(['-e', '0'], 9);
  console.log(
    `\n${lines} × ${cycles} cycles × ${stations} stations, median of ${times}; an empty Node: ${floor.wall.toFixed(0)} ms, ${floor.cpu.toFixed(0)} ms of processor`,
  );
  const row = (name: string, { wall, cpu, memory }: Run) =>
    console.log(
      `  ${name.padEnd(34)} ${wall.toFixed(0).padStart(6)} ms ${(wall / floor.wall).toFixed(1).padStart(6)} ×   processor ${cpu.toFixed(0).padStart(6)} ms ${(cpu / floor.cpu).toFixed(1).padStart(6)} ×   ${memory.toFixed(0).padStart(4)} MB`,
    );
  const forget = () => rmSync(join(job, '.kept'), { recursive: true, force: true });
  row('status, cold', processes([PROGRAM, 'status', job], times, forget));
  for (const [name, ...options] of COMMANDS)
    row(`${name}, kept`, processes([PROGRAM, name!, job, ...options], times));
  if (lines > 1) {
    // One reading of the first line comes and goes: that line is fitted, the others are read.
    const added = join(job, 'readings', 'zz-added.csv');
    const name = Object.keys((sample.job as { readonly lines: object }).lines)[0]!;
    let there = false;
    const change = () => {
      if (there) rmSync(added);
      else
        writeFileSync(
          added,
          `cycle,line,station,offset\n${Array.from({ length: 20 }, (_, i) => `${cycles},${name},${i * 3},1/8\n`).join('')}`,
        );
      there = !there;
    };
    row('status, one survey added or gone', processes([PROGRAM, 'status', job], times, change));
  }
  rmSync(folder, { recursive: true, force: true });
}

/**
 * How a cold status grows: processor time less that of an empty job, beside what growth in proportion to the size would be
 * from the row above (surveys: n; stations: n log n).
 */
function growth(title: string, sizes: readonly (readonly [cycles: number, stations: number])[]): void {
  console.log(`\n${title}`);
  let before: { readonly spent: number; readonly size: number } | null = null;
  for (const [cycles, stations] of sizes) {
    const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bench-'));
    process.env.XDG_STATE_HOME = join(folder, 'state');
    mkdirSync(join(folder, 'job', 'readings'), { recursive: true });
    const sample = largeSample({ cycles, stations, lines: 1 });
    writeFileSync(join(folder, 'job', 'job.json'), JSON.stringify(sample.job));
    const status = () => processes([PROGRAM, 'status', join(folder, 'job')], 1);
    const empty = status();
    for (const { name, text } of sample.files) writeFileSync(join(folder, 'job', 'readings', name), text);
    const { cpu, memory } = status();
    const spent = cpu - empty.cpu;
    const size = cycles * stations * Math.log(stations);
    const expected =
      before === null
        ? ''
        : `, ${(spent / before.spent / (size / before.size)).toFixed(2)} of growth in proportion`;
    console.log(
      `  ${String(cycles).padStart(4)} surveys of ${String(stations).padStart(4)} stations: ${(spent / 1000).toFixed(2).padStart(6)} s of processor, ${memory.toFixed(0)} MB${expected}`,
    );
    before = { spent, size };
    rmSync(folder, { recursive: true, force: true });
  }
}

const only = process.argv[2];
if (only !== '--growth') {
  wholeProcesses(1, 18, 60, 5);
  wholeProcesses(6, 41, 100, 3);
  // A scan every inch for twenty cycles.
  wholeProcesses(1, 20, 2500, 1);
}
growth('Surveys', [
  [10, 100],
  [20, 100],
  [40, 100],
  [80, 100],
]);
growth('Stations', [
  [20, 312],
  [20, 625],
  [20, 1250],
  [20, 2500],
]);
