/** Scores of campaigns with dead days, slow starts and resumed work, and what could be known of the same readings beside them. */
import type { Verdict } from '../../src/analysis.ts';
import { forecastCover } from './forecast-cover.ts';
import { shareOf, targetWord } from './target.ts';
import { type Days, USEFUL_GAIN } from './verdict-days-cases.ts';
import { type ExactOdds, exactStall, STRICTNESS } from './verdict-exact.ts';

const INCH = 0.0254;

export interface DaysStep {
  readonly cycle: number;
  readonly word: Verdict;
  /** Interval of the rate quoted, m per cycle, negative = closing, and whether it is that of cycles that move. */
  readonly low: number;
  readonly high: number;
  readonly onMoving: boolean;
  /** Cycles left, where there is a forecast. */
  readonly left: { readonly low: number; readonly high: number | null; readonly probability: number } | null;
}

/** By group and by what was counted: how many of how many, one part a campaign. */
export type Tallies = Map<string, Map<string, [count: number, of: number][]>>;

/**
 * @param days what was truly so; `level` as it came out
 * @param trueLeft cycles until the steel comes inside from a cycle on
 * @param exact by cycle from 1 (`exactOdds`), or empty
 * @returns whether a stall was called falsely
 */
export function scoreDays(
  tallies: Tallies,
  days: Pick<Days, 'kind' | 'sd' | 'pace' | 'still' | 'level' | 'stall'>,
  trueLeft: (cycle: number) => number,
  steps: readonly DaysStep[],
  exact: readonly ExactOdds[],
): boolean {
  const groups = ['all', `sd 1/${Math.round(INCH / days.sd)} in`, days.kind];
  const own = new Map<string, [number, number]>();
  const share = (name: string, part: number) => {
    const before = own.get(name);
    if (before !== undefined) {
      before[0] += part;
      before[1]++;
      return;
    }
    const one: [number, number] = [part, 1];
    own.set(name, one);
    for (const group of groups) {
      const tally: Map<string, [number, number][]> = tallies.get(group) ?? new Map();
      tallies.set(group, tally.set(name, [...(tally.get(name) ?? []), one]));
    }
  };
  const count = (name: string, hit: boolean) => share(name, hit ? 1 : 0);
  const moved = (k: number) => (k < 1 ? 0 : days.level[k - 1]! - days.level[k]!);
  const movedWell = (cycle: number) => [0, 1, 2].some((k) => moved(cycle - k) >= 2 * USEFUL_GAIN);
  for (const step of steps) {
    const { cycle, word, left } = step;
    const two = Math.min(moved(cycle), moved(cycle - 1));
    if (two >= 8 * USEFUL_GAIN) {
      count('after two cycles ≥ 8g: undecided (≤ 2 %)', word === 'undecided');
      count('  upper end of the interval below 0.7 of the smaller (≤ 0.5 %)', -step.low < 0.7 * two);
    }
    const spell = days.still[cycle]! && days.still[cycle - 1]!;
    if (!spell && step.onMoving) {
      const truth = days.pace[cycle]!;
      count(
        '80 % interval covers the rate on moving days (75–85 %)',
        -step.low >= truth && -step.high <= truth,
      );
      count('  true rate above it', -step.low < truth);
      count('  true rate below it', -step.high > truth);
    }
    if (word === 'stalled')
      count('stalled though one of the last three moved ≥ 2g, of verdicts', movedWell(cycle));
    count('undecided', word === 'undecided');
    if (cycle > 5) count('undecided after the 5th cycle', word === 'undecided');
    if (movedWell(cycle)) count('regressing although it closed', word === 'regressing');
    if (word === 'progressing')
      count(
        'progressing though none of the last three moved ≥ g',
        [0, 1, 2].every((k) => moved(cycle - k) < USEFUL_GAIN),
      );
    if (left !== null) {
      const { covered, early, late } = forecastCover(left, trueLeft(cycle));
      share('80 % forecast interval covers (75–85 %)', covered);
      count('  early', early);
      share('  late', late);
      count('  upper end open: may never', left.high === null);
    }
  }
  const called = steps.flatMap(({ cycle, word }) => (word === 'stalled' ? [cycle] : []));
  const falseStall = called.some(movedWell);
  count('campaigns with a false stall (≤ 1 %)', falseStall);
  const { stall } = days;
  const stallRead = stall !== null && steps.length > 0 && steps.at(-1)!.cycle >= stall.from + 4;
  const inTime = (cycle: number) => stall !== null && cycle > stall.from && cycle <= stall.from + 4;
  if (stallRead) count('true stalls called within 4 cycles (≥ 90 % at 1/16 in)', called.some(inTime));
  for (const strict of exact.length === 0 ? [] : STRICTNESS) {
    const could = steps.flatMap(({ cycle }) => (exactStall(exact[cycle - 1]!, strict) ? [cycle] : []));
    const by = `by exact Bayes, ${100 * strict} % left`;
    count(`campaigns with a false stall ${by}`, could.some(movedWell));
    if (stallRead) count(`  called within 4 cycles ${by}`, could.some(inTime));
  }
  return falseStall;
}

export function printTallies(tallies: Tallies): void {
  for (const [group, tally] of tallies) {
    console.log(`\n${group}`);
    for (const [name, parts] of tally) {
      const score = shareOf(parts);
      const whole = Number.isInteger(score.count) ? `${score.count}` : score.count.toFixed(1);
      console.log(
        `  ${name.padEnd(64)} ${(100 * score.share).toFixed(1).padStart(6)} ± ${(100 * score.error).toFixed(1).padStart(4)} %  ${`${whole}/${score.of}`.padEnd(12)} ${targetWord(name, score)}`,
      );
    }
  }
}
