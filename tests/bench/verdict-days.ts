/**
 * Verdicts over days on which nothing moves: `npm run bench:days -- --count 3000 --seed days`. The crest is read with a normal error
 * as one who shares the shape knows it, so that thousands of campaigns take a minute.
 */
import type { Verdict } from '../../src/analysis.ts';
import { forecastCrossing } from '../../src/progress/forecast.ts';
import { judgeRate, type RateJudgement, RULED_OUT } from '../../src/progress/judge-rate.ts';
import { createRandom } from '../mechanics/random.ts';
import { CREST, cyclesToGo, type Days, drawDays, TOLERANCE, USEFUL_GAIN } from './verdict-days-cases.ts';

const INCH = 0.0254;
const count = Number.parseInt(option('count', '600'), 10);
const seed = option('seed', 'days');

interface Step {
  readonly cycle: number;
  readonly word: Verdict;
  readonly judged: RateJudgement;
  readonly left: { low: number | null; expected: number | null; high: number | null };
}

type Tally = Record<string, { n: number; of: number }>;
const tallies = new Map<string, Tally>();
function count1(groups: readonly string[], name: string, hit: boolean): void {
  for (const group of groups) {
    const tally = tallies.get(group) ?? {};
    tallies.set(group, tally);
    tally[name] ??= { n: 0, of: 0 };
    const cell = tally[name];
    cell.of++;
    if (hit) cell.n++;
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
    const { low, expected, high } = forecastCrossing(judged.belief, TOLERANCE);
    steps.push({ cycle, word: judged.word, judged, left: { low, expected, high } });
  }
  score(days, steps, index, knowingCalls(days, read, u));
}
console.log(`${count} campaigns, seed "${seed}", ${((performance.now() - began) / 1000).toFixed(0)} s`);
for (const [group, tally] of tallies) {
  console.log(`\n${group}`);
  for (const [name, { n, of }] of Object.entries(tally)) {
    console.log(`  ${name.padEnd(64)} ${((100 * n) / Math.max(1, of)).toFixed(1).padStart(6)} %  ${n}/${of}`);
  }
}

function score(days: Days, steps: readonly Step[], index: number, known: readonly boolean[]): void {
  const sd = `sd 1/${Math.round(INCH / days.sd)} in`;
  const groups = ['all', sd, days.kind];
  const moved = (k: number) => (k < 1 ? 0 : days.level[k - 1]! - days.level[k]!);
  let [falseStall, falseKnown] = [false, false];
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
    if (known[cycle] && well) falseKnown = true;
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
      const late = left.high !== null && trueLeft > left.high;
      count1(groups, '80 % forecast interval covers (75–85 %)', trueLeft >= left.low && !late);
      count1(groups, '  early', trueLeft < left.low);
      count1(groups, '  late', late);
      count1(groups, '  upper end open: may never', left.high === null);
    }
  }
  count1(groups, 'campaigns with a false stall (≤ 1 %)', falseStall);
  count1(groups, '  the same by one who knows the pace', falseKnown);
  if (falseStall && process.argv.includes('--verbose')) console.log('false stall', index, days.kind, sd);
  if (days.stall !== null && steps.at(-1)!.cycle >= days.stall.from + 4) {
    const { from } = days.stall;
    const inTime = (cycle: number) => cycle > from && cycle <= from + 4;
    count1(
      groups,
      'true stalls called within 4 cycles (≥ 90 % at 1/16 in)',
      steps.some((s) => inTime(s.cycle) && s.word === 'stalled'),
    );
    count1(
      groups,
      '  by one who knows the pace',
      known.some((calls, cycle) => calls && inTime(cycle)),
    );
  }
}

/**
 * Whether one would call a stall who is told the pace asked of every cycle that moves, the scatter of heats and how readings err, and not
 * which cycles stood still: Bayes' rule over moved, still for one, two, three or more cycles, by the tool's own rule.
 */
function knowingCalls(days: Days, read: readonly { readonly value: number }[], u: number): boolean[] {
  const chance = [
    [0.86, 0.14, 0, 0],
    [0.5, 0, 0.5, 0],
    [0.2, 0, 0, 0.8],
    [0.06, 0, 0, 0.94],
  ] as const;
  let cells = [1, 0, 0, 0].map((weight) => ({ weight, mean: read[0]!.value, variance: u ** 2 }));
  return read.map(({ value }, cycle) => {
    if (cycle === 0) return false;
    const pace = days.pace[cycle]!;
    const next = cells.map((_, to) => {
      const from = cells.map((c, i) => ({ ...c, weight: c.weight * chance[i]![to]! }));
      const weight = from.reduce((sum, c) => sum + c.weight, 0) || 1e-300;
      const mean = from.reduce((sum, c) => sum + c.weight * c.mean, 0) / weight;
      const spread =
        from.reduce((sum, c) => sum + c.weight * (c.variance + (c.mean - mean) ** 2), 0) / weight;
      const before = spread + (to === 0 ? (days.scatter * pace) ** 2 : 0);
      const level = mean - (to === 0 ? pace : 0);
      const all = before + u ** 2;
      const off = value - level;
      return {
        weight: (weight * Math.exp((-0.5 * off ** 2) / all)) / Math.sqrt(all),
        mean: level + (before / all) * off,
        variance: (before * u ** 2) / all,
      };
    });
    const total = next.reduce((sum, c) => sum + c.weight, 0) || 1e-300;
    cells = next.map((c) => ({ ...c, weight: c.weight / total }));
    return pace < 2 * USEFUL_GAIN || 1 - cells[3]!.weight <= RULED_OUT;
  });
}

function option(name: string, fallback: string): string {
  const i = process.argv.indexOf(`--${name}`);
  return i >= 0 ? (process.argv[i + 1] ?? fallback) : fallback;
}
