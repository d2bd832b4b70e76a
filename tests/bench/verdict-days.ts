/**
 * Verdicts over days on which nothing moves: `npm run bench:days -- --count 3000 --seed days`. The crest is read with a normal error
 * as one who shares the shape knows it, so that hundreds of campaigns take a minute; `bench:verdicts` has the same campaigns on
 * simulated girders. Beside it what could be known from the same readings (`verdict-exact.ts`; `--particles 0` leaves that
 * out), by the tool's rule and more or less strictly.
 */
import { forecastCrossing } from '../../src/progress/forecast.ts';
import { judgeRate } from '../../src/progress/judge-rate.ts';
import { createRandom } from '../mechanics/random.ts';
import { CREST, cyclesToGo, drawDays, TOLERANCE, USEFUL_GAIN } from './verdict-days-cases.ts';
import { type DaysStep, printTallies, scoreDays, type Tallies } from './verdict-days-scores.ts';
import { exactOdds } from './verdict-exact.ts';

const count = Number.parseInt(option('count', '600'), 10);
const seed = option('seed', 'days');
const particles = Number.parseInt(option('particles', '1000'), 10);

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

function option(name: string, fallback: string): string {
  const i = process.argv.indexOf(`--${name}`);
  return i >= 0 ? (process.argv[i + 1] ?? fallback) : fallback;
}
