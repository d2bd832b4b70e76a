/**
 * The open benchmark of the verdicts: seeded campaigns on simulated girders, from CSV text through reading, fit,
 * progress and acceptance, judged at every cycle against the truth.
 * `npm run bench:verdicts -- --count 2000 --seed verdicts` (a campaign takes about a second). `--save FILE` keeps the
 * outcomes, `--from FILE,FILE` reports on kept ones, so that a long run can be made in parts (`--start`).
 *
 * The fit is made once with all surveys and the verdict of cycle k sees the surveys up to k; on one campaign in
 * `--refit` (25) the fit is also made anew at some cycles and the words compared.
 */
import { appendFileSync, readFileSync } from 'node:fs';
import type { Progress, Verdict } from '../../src/analysis.ts';
import { normalCdf, normalQuantile } from '../../src/maths/distributions.ts';
import { judgeProgress } from '../../src/progress/progress.ts';
import {
  createVerdictCase,
  crossingTime,
  fitTo,
  KINDS,
  rateAt,
  readBack,
  SDS,
  TOLERANCE,
  USEFUL_GAIN,
  upTo,
  type VerdictCase,
} from './verdict-cases.ts';

const INCH = 0.0254;
/** Confidence of a call on one side, as in the tool. */
const SURE = 0.9;

interface Step {
  readonly cycle: number;
  readonly word: Verdict;
  readonly within: boolean;
  readonly truth: number;
  readonly rate: number;
  readonly settledRate: number;
  readonly sinceChange: number;
  readonly u: number;
  readonly left: Progress['cyclesLeft'];
  readonly trueLeft: number;
  readonly bestUndecided: number;
}

type Plan = Pick<VerdictCase, 'seed' | 'kind' | 'sd' | 'cycles' | 'process'>;

interface Outcome {
  readonly one: Plan;
  readonly index: number;
  readonly steps: readonly Step[];
  readonly stall: { readonly from: number; readonly called: number | null; readonly best: number } | null;
  /** Chance that the best test would still miss the first cycle after a stall; 0 where there was none. */
  readonly blindAfterStall: number;
}

const count = Number.parseInt(option('count', '2000'), 10);
const start = Number.parseInt(option('start', '0'), 10);
const refitEvery = Number.parseInt(option('refit', '25'), 10);
const seed = option('seed', 'verdicts');
const save = option('save', '');
const from = option('from', '');
const verbose = process.argv.includes('--verbose');

const outcomes: Outcome[] = from === '' ? [] : from.split(',').flatMap(readOutcomes);
const refits = { same: 0, all: 0 };
const began = performance.now();
for (let index = start; from === '' && index < start + count; index++) {
  const one = createVerdictCase(`${seed}/${index}`, index);
  const outcome = judgeCampaign(one, index);
  outcomes.push(outcome);
  if (save !== '')
    appendFileSync(
      save,
      `${JSON.stringify(outcome, (_, v) => (v === Number.POSITIVE_INFINITY ? 'never' : v))}\n`,
    );
  if (verbose) explain(outcome);
  if ((index + 1) % 200 === 0) {
    console.error(`${index + 1 - start} of ${count}, ${((performance.now() - began) / 1000).toFixed(0)} s`);
  }
}
report();

function judgeCampaign(one: VerdictCase, index: number): Outcome {
  const line = one.job.lines[0]!;
  const { member, acceptance: rules } = one.job;
  const readings = readBack(one);
  const fit = { ...fitTo(one, readings, one.cycles), zones: [] };
  const crossed = crossingTime(one);
  const steps: Step[] = [];
  for (let cycle = 2; cycle <= one.cycles; cycle++) {
    const progress = judgeProgress(line, member, upTo(fit, cycle), USEFUL_GAIN, rules, 'us');
    const truth = Math.abs(one.campaign.truth[cycle]!.largest.deviation);
    const { rate, settledRate, sinceChange } = rateAt(one, cycle);
    steps.push({
      cycle,
      word: progress.verdict,
      within: progress.verdict === 'within-tolerance',
      truth,
      rate,
      settledRate,
      sinceChange,
      u: progress.series.at(-1)!.u,
      left: progress.cyclesLeft,
      trueLeft: crossed - cycle,
      bestUndecided: bestUndecided(one, progress, cycle),
    });
    if (refitEvery > 0 && index % refitEvery === 0 && cycle % 6 === 5) {
      const again = judgeProgress(line, member, fitTo(one, readings, cycle), USEFUL_GAIN, rules, 'us');
      refits.all++;
      if (again.verdict === progress.verdict) refits.same++;
    }
  }
  const { kind, sd, cycles, process: plan } = one;
  return {
    one: { seed: one.seed, kind, sd, cycles, process: plan },
    index,
    steps,
    stall: stallOf(one, steps),
    blindAfterStall: blindAfterStall(one, steps),
  };
}

/** When a true stall began and when it was called; null where there was none to call. */
function stallOf(one: Plan, steps: readonly Step[]): Outcome['stall'] {
  if (one.process.kind !== 'stalling' && one.process.kind !== 'resuming') return null;
  const from = one.process.stallAt;
  const until = one.process.kind === 'resuming' ? one.process.resumeAt : one.cycles;
  const during = steps.filter((s) => s.cycle > from && s.cycle <= until);
  const at = steps.find((s) => s.cycle === from);
  if (during.length < 4 || at === undefined || at.truth < TOLERANCE + 2 * at.u) return null;
  return {
    from,
    called: during.find((s) => s.word === 'stalled')?.cycle ?? null,
    best: bestPower(one, from, during[0]!.u),
  };
}

/**
 * Power of the best test of "no movement" against the useful gain from four readings after the stall began, for one
 * who knows when it began, the rate before, the scatter of heats and the reading error: likelihood ratio of two normal
 * means, at the tool's own error rate. (Neyman–Pearson.)
 */
function bestPower(one: Plan, from: number, u: number): number {
  return normalCdf(USEFUL_GAIN * Math.sqrt(rateInformation(one, from, 4, u)) - normalQuantile(SURE));
}

/** Information on the rate from `m` readings after a change at cycle `from`, all else known. */
function rateInformation(one: Plan, from: number, m: number, u: number): number {
  let level = u * u;
  for (let k = 1; k <= from; k++) {
    const before = level + (0.25 * rateAt(one, k).rate) ** 2;
    level = (before * u * u) / (before + u * u);
  }
  const scatter = (0.25 * rateAt(one, from + m).rate) ** 2;
  // Readings y = level + k·rate + random walk + error: generalized least squares, level with its prior variance.
  const v = Array.from({ length: m }, (_, i) =>
    Array.from({ length: m }, (_, j) => level + scatter * (Math.min(i, j) + 1) + (i === j ? u * u : 0)),
  );
  const solved = solveSymmetric(
    v,
    Array.from({ length: m }, (_, i) => i + 1),
  );
  return solved.reduce((sum, value, i) => sum + value * (i + 1), 0);
}

/** Chance that even who knows the regime could not place its rate on either side of the useful gain. */
function bestUndecided(one: Plan, progress: Progress, cycle: number): number {
  const { rate, sinceChange } = rateAt(one, cycle);
  // A stall is one of at least three movements: before the third it must not be called.
  if (rate === 0 && sinceChange < 3) return 1;
  const u = progress.series.at(-1)!.u;
  const m = Math.min(sinceChange, 25);
  const distance = Math.abs(rate - USEFUL_GAIN) * Math.sqrt(rateInformation(one, cycle - m, m, u));
  const z = normalQuantile(SURE);
  return normalCdf(z - distance) - normalCdf(-z - distance);
}

/**
 * Chance that who knows the level of a stall from all its readings, and takes one alarm in ten for a false one, does
 * not see the first movement after it. (Neyman–Pearson on one reading.)
 */
function blindAfterStall(one: Plan, steps: readonly Step[]): number {
  if (one.process.kind !== 'resuming') return 0;
  const { stallAt, resumeAt, rate } = one.process;
  const first = steps.find((s) => s.cycle === resumeAt + 1);
  const called = steps.some((s) => s.cycle > stallAt && s.cycle <= resumeAt && s.word === 'stalled');
  if (first === undefined || !called || rate < 2 * USEFUL_GAIN || first.truth <= TOLERANCE) return 0;
  const spread = Math.hypot(first.u, first.u / Math.sqrt(resumeAt - stallAt), 0.25 * rate);
  return normalCdf(normalQuantile(SURE) - rate / spread);
}

function solveSymmetric(matrix: number[][], right: number[]): number[] {
  const a = matrix.map((row, i) => [...row, right[i]!]);
  const n = right.length;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const f = a[j]![i]! / a[i]![i]!;
      for (let k = i; k <= n; k++) a[j]![k]! -= f * a[i]![k]!;
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let i = n - 1; i >= 0; i--) {
    let sum = a[i]![n]!;
    for (let k = i + 1; k < n; k++) sum -= a[i]![k]! * x[k]!;
    x[i] = sum / a[i]![i]!;
  }
  return x;
}

function report(): void {
  const list = outcomes;
  console.log(`\n${list.length} campaigns, seed "${from === '' ? seed : from}"`);
  table('all reading sd', list);
  for (const sd of SDS) {
    table(
      `reading sd 1/${Math.round(INCH / sd)} in`,
      list.filter((o) => o.one.sd === sd),
    );
  }
  if (refits.all > 0) row('word unchanged when fitted anew at that cycle', '', refits.same, refits.all);
  words(list);
  worst(list);
}

function table(title: string, list: readonly Outcome[]): void {
  const steps = list.flatMap((o) => o.steps);
  const outside = steps.filter((s) => s.truth > TOLERANCE);
  const later = outside.filter((s) => s.cycle > 5);
  const stalls = list.flatMap((o) => (o.stall === null ? [] : [o.stall]));
  const forecasts = outside.filter((s) => s.left !== null && s.word !== 'within-tolerance');
  const covered = forecasts.filter(isCovered).length;
  const mean = (values: readonly number[]) => values.reduce((a, b) => a + b, 0) / Math.max(1, values.length);
  console.log(`\n${title}: ${list.length} campaigns, ${steps.length} verdicts`);
  row(
    'campaigns called stalled while the rate is ≥ 2g',
    '≤ 1 %',
    list.filter((o) => o.steps.some(isFalseStall)).length,
    list.length,
    `best test ${(100 * mean(list.map((o) => o.blindAfterStall))).toFixed(1)} %, all after a resumption`,
  );
  row(
    '  the same, rate ≥ 2g for the 3 cycles a stall claims',
    '',
    list.filter((o) => o.steps.some(isFalseClaim)).length,
    list.length,
  );
  row(
    'true stalls called within 4 cycles',
    '≥ 90 %',
    stalls.filter((s) => s.called !== null && s.called - s.from <= 4).length,
    stalls.length,
    `best test ${(100 * mean(stalls.map((s) => s.best))).toFixed(1)} %`,
  );
  row(
    'true stalls called within 5 cycles',
    '',
    stalls.filter((s) => s.called !== null && s.called - s.from <= 5).length,
    stalls.length,
  );
  row(
    'within although truly outside, of verdicts outside',
    '≤ 2.5 %',
    outside.filter((s) => s.within).length,
    outside.length,
  );
  row(
    '  of those within 4 u of the limit',
    '',
    outside.filter((s) => s.within && s.truth < TOLERANCE + 4 * s.u).length,
    outside.filter((s) => s.truth < TOLERANCE + 4 * s.u).length,
  );
  row(
    '  campaigns with any',
    '',
    list.filter((o) => o.steps.some((s) => s.within && s.truth > TOLERANCE)).length,
    list.length,
  );
  row(
    '80 % forecast interval covers',
    '75–85 %',
    covered,
    forecasts.length,
    `early ${forecasts.filter((s) => s.trueLeft < s.left!.low).length} late ${forecasts.filter((s) => s.left!.high !== null && s.trueLeft > s.left!.high).length}`,
  );
  row(
    'undecided after the 5th cycle, outside tolerance',
    '≤ 15 %',
    later.filter((s) => s.word === 'undecided').length,
    later.length,
    `best test ${(100 * mean(later.map((s) => s.bestUndecided))).toFixed(1)} %`,
  );
  const moving = later.filter((s) => s.settledRate >= 2 * USEFUL_GAIN);
  row('  where the rate is ≥ 2g', '', moving.filter((s) => s.word === 'undecided').length, moving.length);
  row(
    'called progressing although the rate is below g',
    '',
    outside.filter((s) => s.word === 'progressing' && s.rate < USEFUL_GAIN).length,
    outside.filter((s) => s.word === 'progressing').length,
  );
  row(
    'called regressing although it is not',
    '',
    outside.filter((s) => s.word === 'regressing' && s.rate >= 0).length,
    outside.length,
  );
}

function isCovered(s: Step): boolean {
  return s.trueLeft >= s.left!.low && (s.left!.high === null || s.trueLeft <= s.left!.high);
}

function isFalseStall(s: Step): boolean {
  return s.word === 'stalled' && s.rate >= 2 * USEFUL_GAIN && s.truth > TOLERANCE;
}

function isFalseClaim(s: Step): boolean {
  return isFalseStall(s) && s.settledRate >= 2 * USEFUL_GAIN;
}

/** Words by the true rate, in shares of the verdicts outside tolerance. */
function words(list: readonly Outcome[]): void {
  const bands: [string, (rate: number) => boolean][] = [
    ['0', (r) => r === 0],
    ['0–½g', (r) => r > 0 && r < 0.5 * USEFUL_GAIN],
    ['½g–g', (r) => r >= 0.5 * USEFUL_GAIN && r < USEFUL_GAIN],
    ['g–2g', (r) => r >= USEFUL_GAIN && r < 2 * USEFUL_GAIN],
    ['2g–4g', (r) => r >= 2 * USEFUL_GAIN && r < 4 * USEFUL_GAIN],
    ['≥ 4g', (r) => r >= 4 * USEFUL_GAIN],
  ];
  const names: Verdict[] = [
    'progressing',
    'slow',
    'undecided',
    'stalled',
    'regressing',
    'overcorrected',
    'within-tolerance',
  ];
  console.log('\nwords by true rate, outside tolerance, % of verdicts');
  console.log(`  ${'rate'.padEnd(8)}${names.map((n) => n.padStart(17)).join('')}    count`);
  for (const [label, is] of bands) {
    const steps = list.flatMap((o) => o.steps).filter((s) => s.truth > TOLERANCE && is(s.rate));
    const cells = names.map((name) =>
      ((100 * steps.filter((s) => s.word === name).length) / Math.max(1, steps.length))
        .toFixed(1)
        .padStart(17),
    );
    console.log(`  ${label.padEnd(8)}${cells.join('')}  ${String(steps.length).padStart(7)}`);
  }
  console.log('  by kind:');
  for (const kind of KINDS) {
    const own = list.filter((o) => o.one.kind === kind);
    const forecasts = own
      .flatMap((o) => o.steps)
      .filter((s) => s.left !== null && s.truth > TOLERANCE && !s.within);
    const n = Math.max(1, forecasts.length);
    console.log(
      `  ${kind.padEnd(16)} ${own.length} campaigns, ${forecasts.length} forecasts, covered ${((100 * forecasts.filter(isCovered).length) / n).toFixed(1)} %, early ${((100 * forecasts.filter((s) => s.trueLeft < s.left!.low).length) / n).toFixed(1)} %`,
    );
  }
}

function worst(list: readonly Outcome[]): void {
  console.log('\nworst cases (run one again with --start INDEX --count 1 --verbose)');
  const show = (title: string, found: readonly (readonly [Outcome, Step])[]) => {
    console.log(`  ${title}: ${found.length === 0 ? 'none' : ''}`);
    for (const [o, s] of found.slice(0, 5)) {
      console.log(
        `    ${o.index} ${o.one.kind}, sd 1/${Math.round(INCH / o.one.sd)} in, cycle ${s.cycle} of ${o.one.cycles}: true ${(s.truth / INCH).toFixed(3)} in, rate ${(s.rate / USEFUL_GAIN).toFixed(1)} g, u ${(s.u / INCH).toFixed(3)} in, ${s.word}`,
      );
    }
  };
  const pairs = list.flatMap((o) => o.steps.map((s) => [o, s] as const));
  show(
    'stalled at the highest true rate',
    pairs
      .filter(([, s]) => isFalseStall(s))
      .sort((a, b) => b[1].settledRate - a[1].settledRate || b[1].rate - a[1].rate),
  );
  show(
    'within tolerance furthest outside',
    pairs.filter(([, s]) => s.within && s.truth > TOLERANCE).sort((a, b) => b[1].truth - a[1].truth),
  );
  show(
    'progressing the longest after a stall',
    pairs
      .filter(([, s]) => s.word === 'progressing' && s.rate === 0 && s.truth > TOLERANCE)
      .sort((a, b) => b[1].sinceChange - a[1].sinceChange),
  );
  const missed = list.filter(
    (o) => o.stall !== null && (o.stall.called === null || o.stall.called - o.stall.from > 4),
  );
  console.log(`  stalls not called within 4 cycles: ${missed.length}`);
  for (const o of [...missed].sort((a, b) => b.stall!.best - a.stall!.best).slice(0, 5)) {
    console.log(
      `    ${o.index} ${o.one.kind}, sd 1/${Math.round(INCH / o.one.sd)} in, stall from cycle ${o.stall!.from}, rate before ${(rateAt(o.one, o.stall!.from).rate / USEFUL_GAIN).toFixed(1)} g, called ${o.stall!.called ?? 'never'}, best test ${(100 * o.stall!.best).toFixed(0)} %`,
    );
  }
}

function explain(o: Outcome): void {
  console.log(
    `\n${o.index} ${o.one.kind} sd ${(o.one.sd / INCH).toFixed(3)} in, ${JSON.stringify(o.one.process)}`,
  );
  for (const s of o.steps) {
    const left =
      s.left === null
        ? '–'
        : `${s.left.low.toFixed(1)} ${s.left.expected.toFixed(1)} ${s.left.high?.toFixed(1) ?? 'never'}`;
    console.log(
      `  ${String(s.cycle).padStart(3)} true ${(s.truth / INCH).toFixed(3)} rate ${(s.rate / USEFUL_GAIN).toFixed(2)} g u ${(s.u / INCH).toFixed(3)} ${s.word.padEnd(17)} left ${left} (true ${s.trueLeft.toFixed(1)})`,
    );
  }
}

function row(name: string, target: string, good: number, all: number, note = ''): void {
  const share = all === 0 ? '–' : `${((100 * good) / all).toFixed(1)} %`;
  console.log(
    `  ${name.padEnd(56)}${share.padStart(8)} ${`${good}/${all}`.padStart(12)}  ${target.padEnd(8)} ${note}`,
  );
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
