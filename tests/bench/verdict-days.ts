/**
 * Verdicts over days on which nothing moves: `npm run bench:days -- --count 3000 --seed days`. The crest is read with a normal error
 * as one who shares the shape knows it, so that hundreds of campaigns take a minute. Beside it what could be known from the same
 * readings (`verdict-exact.ts`; `--particles 0` leaves that out), by the tool's rule and more or less strictly.
 */
import type { Verdict } from '../../src/analysis.ts';
import { type Crossing, forecastCrossing } from '../../src/progress/forecast.ts';
import { judgeRate, type RateJudgement } from '../../src/progress/judge-rate.ts';
import { createRandom } from '../mechanics/random.ts';
import { forecastCover } from './forecast-cover.ts';
import { CREST, cyclesToGo, type Days, drawDays, TOLERANCE, USEFUL_GAIN } from './verdict-days-cases.ts';
import { type ExactOdds, exactOdds, exactStall, STRICTNESS } from './verdict-exact.ts';

const INCH = 0.0254;
const count = Number.parseInt(option('count', '600'), 10);
const seed = option('seed', 'days');
const particles = Number.parseInt(option('particles', '1000'), 10);

interface Step {
  readonly cycle: number;
  readonly word: Verdict;
  readonly judged: RateJudgement;
  readonly left: Crossing;
}

type Tally = Record<string, { n: number; of: number }>;
const tallies = new Map<string, Tally>();
function count1(groups: readonly string[], name: string, hit: boolean): void {
  share1(groups, name, hit ? 1 : 0);
}

function share1(groups: readonly string[], name: string, share: number): void {
  for (const group of groups) {
    const tally = tallies.get(group) ?? {};
    tallies.set(group, tally);
    tally[name] ??= { n: 0, of: 0 };
    const cell = tally[name];
    cell.of++;
    cell.n += share;
  }
}

const began = performance.now();
for (let index = 0; index < count; index++) {
  const random = createRandom(`${seed}/${index}`);
  const days = drawDays(index, random.fork('days'));
  const readings = random.fork('readings');
  const u = CREST * days.sd;
  const read = days.level
    .slice(0, days.cycles + 1)
    .map((level, at) => ({ at, value: level + u * readings.normal(), u }));
  const steps: Step[] = [];
  for (let cycle = 2; cycle <= days.cycles; cycle++) {
    if (days.level[cycle]! <= TOLERANCE + 2 * u) break;
    const judged = judgeRate(read.slice(0, cycle + 1), USEFUL_GAIN, false);
    steps.push({ cycle, word: judged.word, judged, left: forecastCrossing(judged.belief, TOLERANCE) });
  }
  const levelOf = (left: readonly number[], crest: number) =>
    crest * left.reduce((sum, l, z) => sum + l * days.weights[z]!, 0);
  const exact =
    particles === 0
      ? []
      : exactOdds(read, days.cycles, days.weights.length, levelOf, `${seed}/${index}`, particles);
  score(days, steps, index, exact);
}
console.log(`${count} campaigns, seed "${seed}", ${((performance.now() - began) / 1000).toFixed(0)} s`);
for (const [group, tally] of tallies) {
  console.log(`\n${group}`);
  for (const [name, { n, of }] of Object.entries(tally)) {
    console.log(
      `  ${name.padEnd(64)} ${((100 * n) / Math.max(1, of)).toFixed(1).padStart(6)} %  ${n.toFixed(n % 1 === 0 ? 0 : 1)}/${of}`,
    );
  }
}

function score(days: Days, steps: readonly Step[], index: number, exact: readonly ExactOdds[]): void {
  const sd = `sd 1/${Math.round(INCH / days.sd)} in`;
  const groups = ['all', sd, days.kind];
  const moved = (k: number) => (k < 1 ? 0 : days.level[k - 1]! - days.level[k]!);
  const wells = new Map<number, boolean>();
  let falseStall = false;
  for (const { cycle, word, judged, left } of steps) {
    const two = Math.min(moved(cycle), moved(cycle - 1));
    if (two >= 8 * USEFUL_GAIN) {
      count1(groups, 'after two cycles ≥ 8g: undecided (≤ 2 %)', word === 'undecided');
      count1(
        groups,
        '  upper end of the interval below 0.7 of the smaller (≤ 0.5 %)',
        -judged.low < 0.7 * two,
      );
    }
    const spell = days.still[cycle]! && days.still[cycle - 1]!;
    if (!spell && !judged.spell && judged.opening <= 0.5) {
      const truth = days.pace[cycle]!;
      count1(
        groups,
        '80 % interval covers the rate on moving days (75–85 %)',
        -judged.low >= truth && -judged.high <= truth,
      );
      count1(groups, '  true rate above it', -judged.low < truth);
      count1(groups, '  true rate below it', -judged.high > truth);
    }
    const well = [0, 1, 2].some((k) => moved(cycle - k) >= 2 * USEFUL_GAIN);
    if (word === 'stalled')
      count1(groups, 'stalled though one of the last three moved ≥ 2g, of verdicts', well);
    if (word === 'stalled' && well) falseStall = true;
    wells.set(cycle, well);
    count1(groups, 'undecided', word === 'undecided');
    if (cycle > 5) count1(groups, 'undecided after the 5th cycle', word === 'undecided');
    if (well) count1(groups, 'regressing although it closed', word === 'regressing');
    if (word === 'progressing')
      count1(
        groups,
        'progressing though none of the last three moved ≥ g',
        [0, 1, 2].every((k) => moved(cycle - k) < USEFUL_GAIN),
      );
    const trueLeft = cyclesToGo(days, cycle);
    if (left.low !== null && left.expected !== null) {
      const { covered, early, late } = forecastCover(left, trueLeft);
      share1(groups, '80 % forecast interval covers (75–85 %)', covered);
      count1(groups, '  early', early);
      share1(groups, '  late', late);
      count1(groups, '  upper end open: may never', left.high === null);
    }
  }
  count1(groups, 'campaigns with a false stall (≤ 1 %)', falseStall);
  if (falseStall && process.argv.includes('--verbose')) console.log('false stall', index, days.kind, sd);
  const exactly = (strict: number) =>
    steps.flatMap(({ cycle }) => (exact.length > 0 && exactStall(exact[cycle - 1]!, strict) ? [cycle] : []));
  const { stall } = days;
  const stallRead = stall !== null && steps.length > 0 && steps.at(-1)!.cycle >= stall.from + 4;
  const inTime = (cycle: number) => stall !== null && cycle > stall.from && cycle <= stall.from + 4;
  if (stallRead) {
    count1(
      groups,
      'true stalls called within 4 cycles (≥ 90 % at 1/16 in)',
      steps.some((s) => inTime(s.cycle) && s.word === 'stalled'),
    );
  }
  if (exact.length === 0) return;
  for (const strict of STRICTNESS) {
    const by = `by exact Bayes, ${100 * strict} % left`;
    const called = exactly(strict);
    count1(
      groups,
      `campaigns with a false stall ${by}`,
      called.some((cycle) => wells.get(cycle)!),
    );
    if (stallRead) count1(groups, `  called within 4 cycles ${by}`, called.some(inTime));
  }
}

function option(name: string, fallback: string): string {
  const i = process.argv.indexOf(`--${name}`);
  return i >= 0 ? (process.argv[i + 1] ?? fallback) : fallback;
}
