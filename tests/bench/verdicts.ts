/**
 * The open benchmark of the verdicts: seeded campaigns on simulated girders, from CSV text through reading, fit,
 * progress and acceptance, judged at every cycle against the truth.
 * `npm run bench:verdicts -- --count 2000 --seed verdicts` (a campaign takes about a second). `--save FILE` keeps the
 * outcomes, `--from FILE,FILE` reports on kept ones, so that a long run can be made in parts (`--start`).
 *
 * The fit takes most of the time and knows nothing of the verdicts: `--fits DIR` keeps it, and a second run with the same
 * seed only judges (make the folder anew when the fit or the simulation has changed).
 *
 * Then `--days N` campaigns as crews have them (dead days, a slow start, one or two zones a cycle, heats that scatter, resumed work) on
 * simulated girders, beside what could be known of the same readings (`--particles`, see `verdict-exact.ts`). `--quick` takes a few of
 * each, in less than two minutes: it shows that all of it runs, and errors of several times the targets.
 *
 * The fit is made once with all surveys and the verdict of cycle k sees the surveys up to k; on one campaign in
 * `--refit` (100) the fit is also made anew at some cycles and the words compared.
 */
import { appendFileSync, readFileSync } from 'node:fs';
import type { LineFit, Progress } from '../../src/analysis.ts';
import type { Job } from '../../src/job/job.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import { valueAt } from '../mechanics/beam.ts';
import { keep } from './kept.ts';
import { knownReading } from './verdict-bounds.ts';
import {
  createVerdictCase,
  crossingTime,
  fitTo,
  readBack,
  USEFUL_GAIN,
  upTo,
  type VerdictCase,
} from './verdict-cases.ts';
import { cyclesToGo } from './verdict-days-cases.ts';
import { type DaysFitted, fitDays, judgeDays } from './verdict-days-girders.ts';
import { printTallies, scoreDays, type Tallies } from './verdict-days-scores.ts';
import { type CycleFacts, judgeCampaign, type Outcome, type Plan } from './verdict-outcome.ts';
import { printScores, row } from './verdict-scores.ts';
import { printCampaign, printWorst } from './verdict-worst.ts';

const quick = process.argv.includes('--quick');
const count = Number.parseInt(option('count', quick ? '12' : '2000'), 10);
const daysCount = Number.parseInt(option('days', quick ? '12' : `${count}`), 10);
const particles = Number.parseInt(option('particles', quick ? '300' : '1000'), 10);
const start = Number.parseInt(option('start', '0'), 10);
const refitEvery = Number.parseInt(option('refit', quick ? '0' : '100'), 10);
const seed = option('seed', 'verdicts');
const save = option('save', '');
const from = option('from', '');
const fits = option('fits', '');
const verbose = process.argv.includes('--verbose');

const outcomes: Outcome[] = from === '' ? [] : from.split(',').flatMap(readOutcomes);
const refits = { same: 0, all: 0 };
const began = performance.now();
for (let index = start; from === '' && index < start + count; index++) {
  const outcome = run(index);
  outcomes.push(outcome);
  if (save !== '')
    appendFileSync(
      save,
      `${JSON.stringify(outcome, (_, v) => (v === Number.POSITIVE_INFINITY ? 'never' : v))}\n`,
    );
  if (verbose) printCampaign(outcome);
  if ((index + 1 - start) % 100 === 0) {
    const cpu = process.cpuUsage();
    console.error(
      `${index + 1 - start} of ${count}, ${((performance.now() - began) / 1000).toFixed(0)} s, CPU ${((cpu.user + cpu.system) / 1e6).toFixed(0)} s`,
    );
  }
}
if (outcomes.length > 0) report();
if (from === '' && daysCount > 0) {
  const tallies: Tallies = new Map();
  for (let index = start; index < start + daysCount; index++) {
    const fitted = daysOf(index);
    const wrong = scoreDays(
      tallies,
      fitted.days,
      (cycle) => cyclesToGo(fitted.days, cycle),
      judgeDays(fitted),
      fitted.exact,
    );
    if (wrong && verbose) console.log(`false stall: days ${index}`);
  }
  console.log(`\n${daysCount} campaigns with dead days, seed "${seed}"`);
  printTallies(tallies);
}

function report(): void {
  console.log(`\n${outcomes.length} campaigns, seed "${from === '' ? seed : from}"`);
  printScores(outcomes);
  if (refits.all > 0) row('word unchanged when fitted anew at that cycle', '', refits.same, refits.all);
  printWorst(outcomes);
}

function daysOf(index: number): DaysFitted {
  return keep(fits, `${seed}-days-${index}`, () => fitDays(seed, index, particles));
}

/** What a campaign's verdicts are judged from, kept by `--fits`. */
interface Fitted {
  readonly one: Plan & { readonly job: Job };
  readonly facts: readonly CycleFacts[];
  readonly crossed: number;
  readonly fit: LineFit;
}

function run(index: number): Outcome {
  const fitted = keep(fits, `${seed}-${index}`, () => fitCase(createVerdictCase(`${seed}/${index}`, index)));
  const { one, fit } = fitted;
  const judge = (upToNow: LineFit) =>
    judgeProgress(one.job.lines[0]!, one.job.member, upToNow, USEFUL_GAIN, one.job.acceptance, 'us');
  const outcome = judgeCampaign(one, index, fitted.facts, fitted.crossed, (cycle) => judge(upTo(fit, cycle)));
  if (refitEvery > 0 && index % refitEvery === 0) refit(index, outcome, judge);
  return outcome;
}

function fitCase(one: VerdictCase): Fitted {
  const { seed: own, kind, sd, cycles, process: plan, job } = one;
  // The zones' own words are not scored here, and cost as much as all the rest.
  const fit = { ...fitTo(one, readBack(one), cycles), zones: [] };
  return {
    one: { seed: own, kind, sd, cycles, process: plan, job },
    facts: factsOf(one),
    crossed: crossingTime(one),
    fit,
  };
}

/** Whether a fit of the surveys up to a cycle alone gives the same word there. */
function refit(index: number, outcome: Outcome, judge: (fit: LineFit) => Progress): void {
  const one = createVerdictCase(`${seed}/${index}`, index);
  const readings = readBack(one);
  for (const { cycle, word } of outcome.steps) {
    if (cycle % 6 !== 5) continue;
    refits.all++;
    if (judge({ ...fitTo(one, readings, cycle), zones: [] }).verdict === word) refits.same++;
  }
}

function factsOf(one: VerdictCase): CycleFacts[] {
  const { grid } = one.campaign.model.truth;
  return one.campaign.truth.map(({ cycle, deviation, largest }) => {
    const read = one.campaign.readings.filter((reading) => reading.cycle === cycle);
    const stations = read.map((reading) => reading.station);
    const truth = Math.abs(largest.deviation);
    const shape = stations.map((station) => valueAt(grid, deviation, station));
    const known = knownReading(
      stations,
      read.map((reading) => reading.offset),
      shape,
      truth,
      one.sd,
      one.rounding,
    );
    return { cycle, truth, known };
  });
}

function readOutcomes(file: string): Outcome[] {
  return readFileSync(file, 'utf8')
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line, (_, v) => (v === 'never' ? Number.POSITIVE_INFINITY : v)) as Outcome);
}

function option(name: string, fallback: string): string {
  const i = process.argv.indexOf(`--${name}`);
  return i >= 0 ? (process.argv[i + 1] ?? fallback) : fallback;
}
