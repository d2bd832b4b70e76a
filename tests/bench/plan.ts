import { hindsight } from '../../src/plan/hindsight.ts';
import { makeAgency } from './plan-agencies.ts';

/** `npm run bench:plan -- --count 200 --seed name`: how far forecasts of cycles, days and cost can be trusted, and against what a user would do instead. */
const argument = (name: string, otherwise: string) => {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? otherwise : process.argv[at + 1]!;
};
const COUNT = Number.parseInt(argument('count', '200'), 10);
const SEED = argument('seed', 'plan');

interface Row {
  inside: number;
  count: number;
  width: number[];
  error: number[];
}
const rows = new Map<string, Row>();
const add = (key: string, low: number, median: number, high: number, actual: number) => {
  const row = rows.get(key) ?? { inside: 0, count: 0, width: [], error: [] };
  rows.set(key, row);
  row.count++;
  if (actual >= low && actual <= high) row.inside++;
  row.width.push((high - low) / actual);
  row.error.push(Math.abs(median - actual));
};
const mean = (of: readonly number[]) => of.reduce((a, b) => a + b, 0) / of.length;
const middle = (of: readonly number[]) => [...of].sort((a, b) => a - b)[of.length >> 1]!;
const simple = { mean: [] as number[], perInch: [] as number[], tool: [] as number[] };

for (const jobs of [0, 3, 10, 40]) {
  for (let i = 0; i < COUNT; i++) {
    const { past, now } = makeAgency(`${SEED} ${jobs} ${i}`, jobs, false);
    for (const at of [0, 1 / 3]) {
      for (const told of hindsight(now, past, at)) {
        add(
          `${jobs} past, ${at === 0 ? 'before the first heat' : 'at a third'}, ${told.of}`,
          told.low,
          told.median,
          told.high,
          told.actual,
        );
        if (jobs === 10 && at === 0 && told.of === 'days') {
          simple.tool.push(Math.abs(told.median - told.actual));
          simple.mean.push(Math.abs(mean(past.map((record) => record.days.all!)) - told.actual));
          const perMetre = mean(past.map((record) => record.days.all! / record.damage.largest));
          simple.perInch.push(Math.abs(perMetre * now.damage.largest - told.actual));
        }
      }
    }
  }
}
for (let i = 0; i < COUNT; i++) {
  const { past, now } = makeAgency(`${SEED} small ${i}`, 10, true);
  for (const told of hindsight(now, past, 0))
    add(`10 small past, before the first heat, ${told.of}`, told.low, told.median, told.high, told.actual);
}
console.log(`${COUNT} agencies a row, seed ${SEED}`);
console.log(
  'forecast                                       80 % covers   middle width/actual   mean |error|',
);
for (const [key, row] of rows) {
  console.log(
    `${key.padEnd(46)} ${((100 * row.inside) / row.count).toFixed(1).padStart(10)} %  ${middle(row.width).toFixed(2).padStart(18)}  ${mean(row.error).toFixed(1).padStart(12)}`,
  );
}
console.log(
  `days, 10 past jobs: mean |error| ${mean(simple.tool).toFixed(1)}; mean of past days ${mean(simple.mean).toFixed(1)}; days per length of sweep ${mean(simple.perInch).toFixed(1)}`,
);
