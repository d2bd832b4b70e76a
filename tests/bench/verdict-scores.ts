/** The table of the verdict benchmark: scores against their targets, with the bound of the best test beside them. */
import type { Verdict } from '../../src/analysis.ts';
import { blindTo, SURE } from './verdict-bounds.ts';
import { KINDS, SDS, TOLERANCE, USEFUL_GAIN } from './verdict-cases.ts';
import {
  isFalseClaim,
  isFalseStall,
  isFalseWithin,
  type Outcome,
  type Step,
  sinceResumption,
  stallCycles,
} from './verdict-outcome.ts';

const INCH = 0.0254;

export function printScores(list: readonly Outcome[]): void {
  table('all reading sd', list);
  for (const sd of SDS) {
    table(
      `reading sd 1/${Math.round(INCH / sd)} in`,
      list.filter((o) => o.one.sd === sd),
    );
  }
  words(list);
  kinds(list);
}

function table(title: string, list: readonly Outcome[]): void {
  const steps = list.flatMap((o) => o.steps);
  const outside = steps.filter((s) => s.truth > TOLERANCE);
  const later = outside.filter((s) => s.cycle > 5);
  console.log(`\n${title}: ${list.length} campaigns, ${steps.length} verdicts`);
  falseStalls(list);
  trueStalls(list);
  row('within although truly outside', '≤ 2.5 %', outside.filter(isFalseWithin).length, outside.length);
  const near = outside.filter((s) => s.truth < TOLERANCE + 4 * s.u);
  row('  of verdicts within 4 u of the limit', '', near.filter(isFalseWithin).length, near.length);
  row('  campaigns with any', '', list.filter((o) => o.steps.some(isFalseWithin)).length, list.length);
  const forecasts = forecastsOf(steps);
  const { early, late, covered } = coverage(forecasts);
  row('80 % forecast interval covers', '75–85 %', covered, forecasts.length, `early ${early}, late ${late}`);
  row(
    'undecided after the 5th cycle, outside tolerance',
    '≤ 15 %',
    later.filter((s) => s.word === 'undecided').length,
    later.length,
    `best test ${percent(mean(later.map((s) => s.bestUndecided)))}`,
  );
  const settled = later.filter((s) => s.sinceChange >= 3);
  row(
    '  where the true rate is at least 3 cycles old',
    '',
    settled.filter((s) => s.word === 'undecided').length,
    settled.length,
    `best test ${percent(mean(settled.map((s) => s.bestUndecided)))}`,
  );
  const moving = later.filter((s) => s.settledRate >= 2 * USEFUL_GAIN);
  row('  where the rate is ≥ 2g', '', moving.filter((s) => s.word === 'undecided').length, moving.length);
  const progressing = outside.filter((s) => s.word === 'progressing');
  row(
    'called progressing although the rate is below g',
    '',
    progressing.filter((s) => s.rate < USEFUL_GAIN).length,
    progressing.length,
  );
  const regressing = outside.filter((s) => s.word === 'regressing' && s.rate >= 0);
  row('called regressing although it is not', '', regressing.length, outside.length);
}

function falseStalls(list: readonly Outcome[]): void {
  const alarms = alarmShare(list);
  row(
    'campaigns called stalled while the rate is ≥ 2g',
    '≤ 1 %',
    list.filter((o) => o.steps.some(isFalseStall)).length,
    list.length,
    `best test ${percent(blind(list, 1 - SURE))} at 1 false alarm in 10 cycles of a stall, ${percent(blind(list, alarms.share))} at the tool's ${percent(alarms.share)}`,
  );
  row(
    '  last in the 1st cycle after work resumed',
    '',
    list.filter((o) => lastFalse(o) === 1).length,
    list.length,
    'one reading has seen it',
  );
  row('  last in the 2nd', '', list.filter((o) => lastFalse(o) === 2).length, list.length);
  row(
    '  in the 3rd, later, or with no stall before',
    '',
    list.filter((o) => lastFalse(o) > 2).length,
    list.length,
  );
  row(
    '  rate ≥ 2g in each of the 3 cycles a stall claims',
    '',
    list.filter((o) => o.steps.some(isFalseClaim)).length,
    list.length,
  );
}

/** Cycles after a resumption of the last false stall: 0 none, Infinity where nothing had stalled before. */
function lastFalse(o: Outcome): number {
  const ages = o.steps
    .filter(isFalseStall)
    .map((s) => sinceResumption(o.one, s.cycle) ?? Number.POSITIVE_INFINITY);
  return Math.max(0, ...ages);
}

/** Share of the cycles of true stalls, once called, in which another word is said. */
function alarmShare(list: readonly Outcome[]): { share: number; all: number } {
  let [other, all] = [0, 0];
  for (const o of list) {
    const during = stallSteps(o);
    const first = during.findIndex((s) => s.word === 'stalled');
    if (first < 0) continue;
    all += during.length - first - 1;
    other += during.slice(first + 1).filter((s) => s.word !== 'stalled').length;
  }
  return { share: all === 0 ? 0 : other / all, all };
}

function stallSteps(o: Outcome): Step[] {
  const stall = stallCycles(o.one);
  if (stall === null) return [];
  return o.steps.filter((s) => s.cycle > stall.from && s.cycle <= stall.until && s.truth > TOLERANCE);
}

/** Share of campaigns in which the best test would still take the first cycle after a called stall for the stall. */
function blind(list: readonly Outcome[], alarms: number): number {
  return mean(
    list.map((o) => {
      const { process } = o.one;
      if (process.kind !== 'resuming' || process.rate < 2 * USEFUL_GAIN) return 0;
      const first = o.steps.find((s) => s.cycle === process.resumeAt + 1);
      if (first === undefined || first.truth <= TOLERANCE) return 0;
      if (!stallSteps(o).some((s) => s.word === 'stalled')) return 0;
      return blindTo(process.rate, process.resumeAt - process.stallAt, first.bestU, Math.max(alarms, 0.001));
    }),
  );
}

function trueStalls(list: readonly Outcome[]): void {
  const stalls = list.flatMap((o) => (o.stall === null ? [] : [o.stall]));
  const calledBy = (n: number) => stalls.filter((s) => s.called !== null && s.called - s.from <= n).length;
  row(
    'true stalls called within 4 cycles',
    '≥ 90 %',
    calledBy(4),
    stalls.length,
    `best test ${percent(mean(stalls.map((s) => s.best)))}`,
  );
  row('true stalls called within 5 cycles', '', calledBy(5), stalls.length);
  const alarms = alarmShare(list);
  row(
    'cycles of a called stall that say another word',
    '',
    Math.round(alarms.share * alarms.all),
    alarms.all,
  );
}

function forecastsOf(steps: readonly Step[]): Step[] {
  return steps.filter((s) => s.truth > TOLERANCE && s.left !== null && s.word !== 'within-tolerance');
}

function coverage(forecasts: readonly Step[]): { early: number; late: number; covered: number } {
  const early = forecasts.filter((s) => s.trueLeft < s.left!.low).length;
  const late = forecasts.filter((s) => s.left!.high !== null && s.trueLeft > s.left!.high).length;
  return { early, late, covered: forecasts.length - early - late };
}

const BANDS: readonly (readonly [string, number, number])[] = [
  ['0', 0, 0],
  ['0–½g', 0, 0.5],
  ['½g–g', 0.5, 1],
  ['g–2g', 1, 2],
  ['2g–4g', 2, 4],
  ['≥ 4g', 4, Number.POSITIVE_INFINITY],
];
const WORDS: readonly Verdict[] = [
  'progressing',
  'slow',
  'undecided',
  'stalled',
  'regressing',
  'overcorrected',
  'within-tolerance',
];

/** Words by the true rate, in shares of the verdicts outside tolerance. */
function words(list: readonly Outcome[]): void {
  console.log('\nwords by true rate, outside tolerance, % of verdicts');
  console.log(`  ${'rate'.padEnd(8)}${WORDS.map((n) => n.padStart(17)).join('')}    count`);
  const outside = list.flatMap((o) => o.steps).filter((s) => s.truth > TOLERANCE);
  for (const [label, low, high] of BANDS) {
    const steps = outside.filter(({ rate }) =>
      high === 0 ? rate === 0 : rate > 0 && rate >= low * USEFUL_GAIN && rate < high * USEFUL_GAIN,
    );
    const cells = WORDS.map((name) => {
      const share = (100 * steps.filter((s) => s.word === name).length) / Math.max(1, steps.length);
      return share.toFixed(1).padStart(17);
    });
    console.log(`  ${label.padEnd(8)}${cells.join('')}  ${String(steps.length).padStart(7)}`);
  }
}

function kinds(list: readonly Outcome[]): void {
  console.log('\nforecasts by kind');
  for (const kind of KINDS) {
    const own = list.filter((o) => o.one.kind === kind);
    const forecasts = forecastsOf(own.flatMap((o) => o.steps));
    const { early, covered } = coverage(forecasts);
    const share = (n: number) => percent(n / Math.max(1, forecasts.length));
    console.log(
      `  ${kind.padEnd(16)} ${own.length} campaigns, ${forecasts.length} forecasts, covered ${share(covered)}, early ${share(early)}`,
    );
  }
}

export function row(name: string, target: string, good: number, all: number, note = ''): void {
  const share = all === 0 ? '–' : percent(good / all);
  console.log(
    `  ${name.padEnd(56)}${share.padStart(8)} ${`${good}/${all}`.padStart(12)}  ${target.padEnd(8)} ${note}`,
  );
}

function percent(share: number): string {
  return `${(100 * share).toFixed(1)} %`;
}

function mean(values: readonly number[]): number {
  return values.reduce((a, b) => a + b, 0) / Math.max(1, values.length);
}
