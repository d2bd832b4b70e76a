/**
 * Speed of the line fit: median of a 60-station survey and of a 40-cycle × 60-station job, beside a floor measured in
 * the same run (one QR of the same size: 60 × 12, and 40 of them); then `status --json` on such a job as a whole
 * process, stage by stage, beside a process that does nothing. `npm run bench:fit`
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

// ---- a whole process ----

const STAGES = [
  'node and program',
  'modules of the command',
  'reading the job',
  'analysis, cold',
  'document',
];

/** Prints when each stage of the process ended, and its processor time, to stderr's last line. */
const HOOK = `data:text/javascript,${encodeURIComponent(
  "process.on('exit',()=>{const at=(n)=>performance.getEntriesByName(n)[0]?.startTime??0;const u=process.cpuUsage();process.stderr.write('\\n'+JSON.stringify({at:[at('modules')-at('began'),at('modules'),at('read'),at('analysed'),performance.now()],cpu:(u.user+u.system)/1000})+'\\n')});performance.mark('began')",
)}`;

function wholeProcess(lines: number, cycles: number, stations: number, times: number): void {
  const folder = mkdtempSync(join(tmpdir(), 'sweepbook-bench-'));
  const sample = largeSample({ cycles, stations, lines });
  mkdirSync(join(folder, 'job'));
  writeFileSync(join(folder, 'job', 'job.json'), JSON.stringify(sample.job));
  const given = sample.files.map(({ name, text }) => {
    writeFileSync(join(folder, name), text);
    return join(folder, name);
  });
  const program = new URL('../../dist/sweepbook.js', import.meta.url).pathname;
  spawnSync(process.execPath, [program, 'add', join(folder, 'job'), ...given]);
  const status = [program, 'status', join(folder, 'job'), '--json'];
  const wall = (args: readonly string[]) => {
    const start = performance.now();
    spawnSync(process.execPath, args);
    return performance.now() - start;
  };
  const runs = Array.from({ length: times }, () => {
    const nothing = wall(['-e', '0']);
    const whole = wall(status);
    const ran = spawnSync(process.execPath, ['--import', HOOK, ...status], {
      encoding: 'utf8',
      maxBuffer: 1 << 28,
    });
    const { at, cpu } = JSON.parse(ran.stderr.trim().split('\n').at(-1)!) as { at: number[]; cpu: number };
    return { nothing, whole, cpu, at };
  });
  rmSync(folder, { recursive: true, force: true });
  const middle = (of: (run: (typeof runs)[number]) => number) =>
    runs.map(of).sort((a, b) => a - b)[times >> 1]!;
  const nothing = middle((run) => run.nothing);
  const row = (name: string, ms: number) =>
    console.log(
      `  ${name.padEnd(44)} ${ms.toFixed(0).padStart(6)} ms ${(ms / nothing).toFixed(1).padStart(6)} ×`,
    );
  console.log(
    `\nstatus --json as a whole process: ${lines} × ${cycles} cycles × ${stations} stations, median of ${times}`,
  );
  row('a process that does nothing (floor)', nothing);
  row(
    'the whole process',
    middle((run) => run.whole),
  );
  row(
    '  its processor time, compiler threads included',
    middle((run) => run.cpu),
  );
  STAGES.forEach((name, k) => {
    const before = (run: (typeof runs)[number]) =>
      k === 0 ? 0 : k === 1 ? run.at[1]! - run.at[0]! : run.at[k - 1]!;
    const end = (run: (typeof runs)[number]) => (k === 0 ? run.at[1]! - run.at[0]! : run.at[k]!);
    row(
      `  ${name}`,
      middle((run) => end(run) - before(run)),
    );
  });
}

wholeProcess(1, 40, 60, 7);
wholeProcess(6, 41, 100, 3);
