/** The table of the verdict benchmark: scores against their targets, with the bound of the best test beside them. */
import type { Verdict } from '../../src/analysis.ts';
import { forecastCover } from './forecast-cover.ts';
import { type Part, shareOf as scoreOf, targetWord } from './target.ts';
import { knowingWord } from './verdict-bounds.ts';
import { KINDS, SDS, TOLERANCE, USEFUL_GAIN } from './verdict-cases.ts';
import {
  firstCalled,
  isFalseClaim,
  isFalseStall,
  isFalseWithin,
  type Outcome,
  type Step,
  sinceResumption,
  stallSteps,
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
  bestTradeOff(list);
  words(list);
  kinds(list);
}

/** A score: how many of how many. */
type Score = (list: readonly Outcome[]) => readonly [number, number];

const FALSE_STALLS = falseStalls(() => true);
const CALLED_IN_TIME = calledBy(4);
const UNDECIDED = shareOf((s) => s.cycle > 5, isUndecided);

/** Scores of words about the rate: the judge who knows (see `verdict-bounds.ts`) is given each as well. */
const RATE_SCORES: readonly (readonly [name: string, target: string, score: Score])[] = [
  ['campaigns called stalled while the rate is ≥ 2g', '≤ 1 %', FALSE_STALLS],
  ['  last in the 1st cycle after work resumed', '', falseStalls((o) => lastFalse(o) === 1)],
  ['  last in the 2nd', '', falseStalls((o) => lastFalse(o) === 2)],
  ['  in the 3rd, later, or with no stall before', '', falseStalls((o) => lastFalse(o) > 2)],
  ['  rate ≥ 2g in each of the 3 cycles a stall claims', '', falseStalls((o) => o.steps.some(isFalseClaim))],
  ['true stalls called within 4 cycles', '≥ 90 %', CALLED_IN_TIME],
  ['true stalls called within 5 cycles', '', calledBy(5)],
  ['cycles of a called stall that say another word', '', alarms],
  ['undecided after the 5th cycle, outside tolerance', '≤ 15 %', shareOf((s) => s.cycle > 5, isUndecided)],
  [
    '  where the true rate is at least 3 cycles old',
    '',
    shareOf((s) => s.cycle > 5 && s.sinceChange >= 3, isUndecided),
  ],
  [
    '  where the rate is ≥ 2g',
    '',
    shareOf((s) => s.cycle > 5 && s.settledRate >= 2 * USEFUL_GAIN, isUndecided),
  ],
  [
    'called progressing although the rate is below g',
    '',
    shareOf(
      (s) => s.word === 'progressing',
      (s) => s.rate < USEFUL_GAIN,
    ),
  ],
];

/** Scores of acceptance and of words the judge who knows does not say. */
const OTHER_SCORES: typeof RATE_SCORES = [
  ['within although truly outside', '≤ 2.5 %', shareOf(() => true, isFalseWithin)],
  ['  of verdicts within 4 u of the limit', '', shareOf((s) => s.truth < TOLERANCE + 4 * s.u, isFalseWithin)],
  [
    '  campaigns with any',
    '',
    (list) => [list.filter((o) => o.steps.some(isFalseWithin)).length, list.length],
  ],
  [
    'called regressing although it is not',
    '',
    shareOf(
      () => true,
      (s) => s.word === 'regressing' && s.rate >= 0,
    ),
  ],
];

function table(title: string, list: readonly Outcome[]): void {
  const steps = list.flatMap((o) => o.steps);
  console.log(`\n${title}: ${list.length} campaigns, ${steps.length} verdicts`);
  const known = list.map((o) => spokenByKnowing(o));
  for (const [name, target, score] of RATE_SCORES) {
    const [n, all] = score(known);
    row(
      name,
      target,
      ...score(list),
      `${percent(all === 0 ? 0 : n / all)} by who knows`,
      eachOf(list, score),
    );
  }
  for (const [name, target, score] of OTHER_SCORES)
    row(name, target, ...score(list), '', eachOf(list, score));
  const forecasts = forecastsOf(steps);
  const { early, late, covered } = coverage(forecasts);
  row(
    '80 % forecast interval covers',
    '75–85 %',
    covered,
    forecasts.length,
    `early ${early}, late ${late.toFixed(1)}`,
    list.map((one) => {
      const own = forecastsOf(one.steps);
      return [coverage(own).covered, own.length];
    }),
  );
}

/** The score campaign by campaign. */
function eachOf(list: readonly Outcome[], score: Score): Part[] {
  return list.map((one) => score([one]));
}

/** Chances of twice the useful gain a stall may leave, to show what the one who knows gains and loses by them. */
const STRICTNESS = [1, 0.05, 0.02, 0.01, 0.005, 0.002] as const;

/** The scores the one who knows would have, calling stalls more or less readily: no test lies below this line. */
function bestTradeOff(list: readonly Outcome[]): void {
  console.log(
    '\none who knows, by the chance of 2g left when a stall is called: false stalls / called within 4 / undecided',
  );
  for (const ruledOut of STRICTNESS) {
    const cells = [...SDS.map((sd) => list.filter((o) => o.one.sd === sd)), list].map((own) => {
      const known = own.map((o) => spokenByKnowing(o, ruledOut));
      return [FALSE_STALLS, CALLED_IN_TIME, UNDECIDED]
        .map((score) => score(known))
        .map(([n, all]) => percent(n / Math.max(1, all)))
        .join(' / ');
    });
    console.log(
      `  ${percent(ruledOut).padEnd(8)} ${cells.map((c, i) => `${i < SDS.length ? `sd 1/${Math.round(INCH / SDS[i]!)} in` : 'all'}: ${c}`).join('   ')}`,
    );
  }
}

/** The campaign in the words of the judge who knows; acceptance has been said by the tool and stays. */
function spokenByKnowing(o: Outcome, ruledOut?: number): Outcome {
  const steps = o.steps.map((s) =>
    BEFORE_RATE.includes(s.word) ? s : { ...s, word: knowingWord(s.known, ruledOut) },
  );
  return { ...o, steps, stall: o.stall && { ...o.stall, called: firstCalled(o.one, steps) } };
}

/** Words said before the rate is looked at. */
const BEFORE_RATE: readonly Verdict[] = ['within-tolerance', 'overcorrected', 'not-enough-readings'];

function isUndecided(s: Step): boolean {
  return s.word === 'undecided';
}

/** Verdicts outside tolerance in which `what` holds, of those in which `where` does. */
function shareOf(where: (s: Step) => boolean, what: (s: Step) => boolean): Score {
  return (list) => {
    const steps = list.flatMap((o) => o.steps).filter((s) => s.truth > TOLERANCE && where(s));
    return [steps.filter(what).length, steps.length];
  };
}

function falseStalls(which: (o: Outcome) => boolean): Score {
  return (list) => [list.filter((o) => o.steps.some(isFalseStall) && which(o)).length, list.length];
}

/** Cycles after a resumption of the last false stall: Infinity where nothing had stalled before. */
function lastFalse(o: Outcome): number {
  const ages = o.steps
    .filter(isFalseStall)
    .map((s) => sinceResumption(o.one, s.cycle) ?? Number.POSITIVE_INFINITY);
  return Math.max(...ages);
}

function calledBy(cycles: number): Score {
  return (list) => {
    const stalls = list.flatMap((o) => (o.stall === null ? [] : [o.stall]));
    return [stalls.filter((s) => s.called !== null && s.called - s.from <= cycles).length, stalls.length];
  };
}

/** Cycles of true stalls, once called, in which another word is said. */
function alarms(list: readonly Outcome[]): readonly [number, number] {
  let [other, all] = [0, 0];
  for (const o of list) {
    const during = stallSteps(o.one, o.steps).filter((s) => s.truth > TOLERANCE);
    const first = during.findIndex((s) => s.word === 'stalled');
    if (first < 0) continue;
    all += during.length - first - 1;
    other += during.slice(first + 1).filter((s) => s.word !== 'stalled').length;
  }
  return [other, all];
}

function forecastsOf(steps: readonly Step[]): Step[] {
  return steps.filter((s) => s.truth > TOLERANCE && s.left !== null && s.word !== 'within-tolerance');
}

function coverage(forecasts: readonly Step[]): { early: number; late: number; covered: number } {
  const sum = { early: 0, late: 0, covered: 0 };
  for (const { left, chance, trueLeft } of forecasts) {
    const { early, late, covered } = forecastCover({ ...left!, probability: chance ?? 1 }, trueLeft);
    sum.early += early ? 1 : 0;
    sum.late += late;
    sum.covered += covered;
  }
  return sum;
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

/** @param parts the same campaign by campaign, where the target is to be judged */
export function row(
  name: string,
  target: string,
  good: number,
  all: number,
  note = '',
  parts: readonly Part[] = [],
): void {
  const score = scoreOf(parts);
  const error = parts.length === 0 || target === '' ? '' : `± ${(100 * score.error).toFixed(1)}`;
  const share = all === 0 ? '–' : percent(good / all);
  console.log(
    `  ${name.padEnd(56)}${share.padStart(8)} ${error.padEnd(6)} ${`${Number.isInteger(good) ? good : good.toFixed(1)}/${all}`.padStart(12)}  ${target.padEnd(8)} ${targetWord(target, score).padEnd(13)} ${note}`,
  );
}

function percent(share: number): string {
  return `${(100 * share).toFixed(1)} %`;
}
