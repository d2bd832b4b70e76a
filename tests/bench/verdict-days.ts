/**
 * Verdicts over days on which nothing moves: `npm run bench:days -- --count 3000 --seed days`. The crest is read with a normal error
 * as one who shares the shape knows it, so that hundreds of campaigns take a minute; `bench:verdicts` has the same campaigns on
 * simulated girders. Beside it what could be known from the same readings (`verdict-exact.ts`; `--particles 0` leaves that
 * out), by the tool's rule and more or less strictly. `--from FILE` judges campaigns that `verdict-grid.py` drew and wrote, beside what
 * it says could be known of the very same readings.
 */
import { readFileSync } from 'node:fs';
import { forecastCrossing } from '../../src/progress/forecast.ts';
import { judgeRate } from '../../src/progress/judge-rate.ts';
import { createRandom } from '../mechanics/random.ts';
import { CREST, cyclesToGo, drawDays, TOLERANCE, USEFUL_GAIN } from './verdict-days-cases.ts';
import { type DaysStep, printTallies, scoreDays, type Tallies } from './verdict-days-scores.ts';
import { exactOdds } from './verdict-exact.ts';

const count = Number.parseInt(option('count', '600'), 10);
const seed = option('seed', 'days');
const particles = Number.parseInt(option('particles', '1000'), 10);

/** Standard uncertainty of the readings `verdict-grid.py` draws, in useful gains. */
const DRAWN_U = 1.2;
const from = option('from', '');
if (from !== '') {
  console.log(`campaigns of ${from}`);
  printTallies(judgeDrawn(from));
  process.exit(0);
}

const tallies: Tallies = new Map();
const began = performance.now();
for (let index = 0; index < count; index++) {
  const random = createRandom(`${seed}/${index}`);
  const days = drawDays(index, random.fork('days'));
  const readings = random.fork('readings');
  const u = CREST * days.sd;
  const read = days.level
    .slice(0, days.cycles + 1)
    .map((level, at) => ({ at, value: level + u * readings.normal(), u }));
  const steps: DaysStep[] = [];
  for (let cycle = 2; cycle <= days.cycles; cycle++) {
    if (days.level[cycle]! <= TOLERANCE + 2 * u) break;
    const judged = judgeRate(read.slice(0, cycle + 1), USEFUL_GAIN, false);
    const { low, expected, high, probability } = forecastCrossing(judged.belief, TOLERANCE);
    const { word } = judged;
    steps.push({
      cycle,
      word,
      low: judged.low,
      high: judged.high,
      onMoving: !judged.spell && judged.opening <= 0.5,
      left: low === null || expected === null || judged.neverMoved ? null : { low, high, probability },
    });
  }
  const levelOf = (left: readonly number[], crest: number) =>
    crest * left.reduce((sum, l, z) => sum + l * days.weights[z]!, 0);
  const exact =
    particles === 0
      ? []
      : exactOdds(read, days.cycles, days.weights.length, levelOf, `${seed}/${index}`, particles);
  const wrong = scoreDays(tallies, days, (cycle) => cyclesToGo(days, cycle), steps, exact);
  if (wrong && process.argv.includes('--verbose')) console.log('false stall', index, days.kind);
}
console.log(`${count} campaigns, seed "${seed}", ${((performance.now() - began) / 1000).toFixed(0)} s`);
printTallies(tallies);

/** A campaign as `verdict-grid.py` writes it: lengths in useful gains. */
interface Drawn {
  readonly kind: string;
  readonly stall: number | null;
  readonly level: readonly number[];
  readonly read: readonly number[];
}

/** The three figures it has, of the tool. */
function judgeDrawn(file: string): Tallies {
  const tallies: Tallies = new Map();
  for (const row of readFileSync(file, 'utf8').trim().split('\n')) {
    const { kind, stall, level, read } = JSON.parse(row) as Drawn;
    const count = (name: string, hit: boolean) => {
      for (const group of ['all', kind]) {
        const tally: Map<string, [number, number][]> = tallies.get(group) ?? new Map();
        tallies.set(group, tally.set(name, [...(tally.get(name) ?? []), [hit ? 1 : 0, 1]]));
      }
    };
    const values = read.map((value, at) => ({
      at,
      value: value * USEFUL_GAIN,
      u: DRAWN_U * USEFUL_GAIN,
    }));
    const called: number[] = [];
    for (let cycle = 2; cycle < level.length; cycle++) {
      const { word } = judgeRate(values.slice(0, cycle + 1), USEFUL_GAIN, false);
      if (word === 'stalled') called.push(cycle);
      if (cycle > 5) count('undecided after the 5th cycle', word === 'undecided');
    }
    const well = (cycle: number) =>
      [0, 1, 2].some((k) => cycle - k >= 1 && level[cycle - k - 1]! - level[cycle - k]! >= 2);
    count('campaigns with a false stall', called.some(well));
    if (stall !== null && level.length - 1 >= stall + 4)
      count(
        'true stalls called within 4 cycles',
        called.some((cycle) => cycle > stall && cycle <= stall + 4),
      );
  }
  return tallies;
}

function option(name: string, fallback: string): string {
  const i = process.argv.indexOf(`--${name}`);
  return i >= 0 ? (process.argv[i + 1] ?? fallback) : fallback;
}
