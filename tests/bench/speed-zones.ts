/**
 * Speed of the line fit: median of a 60-station survey and of a 40-cycle × 60-station job, beside a floor measured in
 * the same run (one QR of the same size: 60 × 12, and 40 of them). `npm run bench:fit`
 */
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
