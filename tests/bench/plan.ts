import { hashBytes } from '../../src/cli/store/hash-file.ts';
import { type PastRecord, pastLineText, readPastJobs } from '../../src/past/record.ts';
import { coverOf, type Hindsight, hindsight } from '../../src/plan/hindsight.ts';
import { makeAgency } from './plan-agencies.ts';
import { makeByPriors } from './plan-prior-agencies.ts';

/**
 * `npm run bench:plan -- --count 200 --seed name`: how far forecasts of cycles, days and cost can be trusted, and against what a user
 * would do instead. `--only 3,10`: agencies with so many past jobs and no other, for more draws of a row in doubt (`small`: those
 * whose past is unlike, `parts`: whose jobs are of two flanges and a panel, `priors`: those drawn from the priors, `scale`: ten thousand records).
 */
const argument = (name: string, otherwise: string) => {
  const at = process.argv.indexOf(`--${name}`);
  return at === -1 ? otherwise : process.argv[at + 1]!;
};
const COUNT = Number.parseInt(argument('count', '200'), 10);
const SEED = argument('seed', 'plan');
const ONLY = argument('only', '').split(',').filter(Boolean);
const wanted = (group: string) => ONLY.length === 0 || ONLY.includes(group);

interface Row {
  inside: number;
  /** Sum of the squares of the same, for its standard error. */
  squares: number;
  /** Ends counted whole, as a user counts: of integers an interval then claims more than it says. */
  plain: number;
  /** Outcomes above the middle, in the same way as `inside`: 50 % where forecasts lean to neither side. */
  above: number;
  count: number;
  width: number[];
  error: number[];
}
const rows = new Map<string, Row>();
const add = (key: string, told: Hindsight) => {
  const row = rows.get(key) ?? { inside: 0, squares: 0, plain: 0, above: 0, count: 0, width: [], error: [] };
  rows.set(key, row);
  row.count++;
  const inside = coverOf(told);
  row.inside += inside;
  row.squares += inside ** 2;
  row.plain += Number(told.actual >= told.low && told.actual <= told.high);
  row.above +=
    told.equal === 0
      ? Number(told.below > 0.5)
      : Math.max(0, Math.min(1, (told.below + told.equal - 0.5) / told.equal));
  row.width.push((told.high - told.low) / told.actual);
  row.error.push(Math.abs(told.median - told.actual));
};
const mean = (of: readonly number[]) => of.reduce((a, b) => a + b, 0) / of.length;
const middle = (of: readonly number[]) => [...of].sort((a, b) => a - b)[of.length >> 1]!;
const simple = { mean: [] as number[], perInch: [] as number[], tool: [] as number[] };
const WHEN = [0, 1 / 3] as const;
const when = (at: number) => (at === 0 ? 'before the first heat' : 'at a third');

for (const jobs of [0, 3, 10, 40].filter((each) => wanted(`${each}`))) {
  for (let i = 0; i < COUNT; i++) {
    const { past, now, again } = makeAgency(`${SEED} ${jobs} ${i}`, jobs, false);
    if (jobs === 10 && ONLY.length === 0) knownWays(now, again(400));
    for (const at of WHEN) {
      for (const told of hindsight(now, past, at)) {
        add(`${jobs} past, ${when(at)}, ${told.of}`, told);
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
for (let i = 0; i < COUNT && wanted('small'); i++) {
  const { past, now } = makeAgency(`${SEED} small ${i}`, 10, true);
  for (const at of WHEN)
    for (const told of hindsight(now, past, at)) add(`10 small past, ${when(at)}, ${told.of}`, told);
  // The same job without its unlike past: what a past must never make worse.
  for (const told of hindsight(now, [], 0)) add(`those without a past, ${when(0)}, ${told.of}`, told);
}
for (let i = 0; i < COUNT && wanted('parts'); i++) {
  const { past, now } = makeAgency(`${SEED} parts ${i}`, 10, false, true);
  for (const at of WHEN)
    for (const told of hindsight(now, past, at))
      add(`10 past of several parts, ${when(at)}, ${told.of}`, told);
}
for (const jobs of wanted('priors') ? [0, 3, 10] : []) {
  for (let i = 0; i < COUNT; i++) {
    const { past, now } = makeByPriors(`${SEED} priors ${jobs} ${i}`, jobs);
    for (const told of hindsight(now, past, 0)) add(`as the priors say, ${jobs} past, ${told.of}`, told);
  }
}
/** What remains open to who knows the agency's ways and the damage exactly: no past can make an interval narrower. */
function knownWays(now: PastRecord, futures: readonly PastRecord[]): void {
  for (const of of ['cycles', 'days', 'cost'] as const) {
    const value = (record: PastRecord) =>
      of === 'cycles' ? record.cycles! : of === 'days' ? record.days.all! : record.cost!.total;
    const sorted = futures.map(value).sort((a, b) => a - b);
    const [actual, count] = [value(now), sorted.length];
    const at = (p: number) => sorted[Math.floor(p * count)]!;
    const share = (is: (each: number) => boolean) => sorted.filter(is).length / count;
    add(`its ways known, before the first heat, ${of}`, {
      ...{ job: now.job, at: 0, of, low: at(0.1), median: at(0.5), high: at(0.9), actual },
      ...{ below: share((each) => each < actual), equal: share((each) => each === actual) },
    });
  }
}

/** Ten thousand records read and pooled for one plan: every quantity of it. */
function scale(): string {
  const { past, now } = makeAgency(`${SEED} scale`, 200, false);
  const file = Array.from({ length: 10_000 }, (_, i) =>
    pastLineText({ ...past[i % past.length]!, job: `invented job ${i}` }, hashBytes),
  ).join('');
  // Processor time: a busy machine must not make it look slow.
  const spent = () => process.cpuUsage().user / 1e6;
  const began = spent();
  const { lines } = readPastJobs(file, 'past.jsonl', hashBytes);
  const read = spent();
  hindsight(
    now,
    lines.map((line) => line.record),
    0,
  );
  const done = spent();
  return `${lines.length} records: read and checked in ${(read - began).toFixed(2)} s of processor, pooled and a forecast made from them in ${(done - read).toFixed(2)} s; target together below 2 s`;
}

/** Rows the target of coverage is set for: 3 to 40 past jobs, and a past that is unlike. */
const targeted = (key: string) => /^(3|10|40|10 small) past/.test(key);
/** Standard error of a share whose parts lie between 0 and 1. */
const errorOf = ({ inside, squares, count }: Row) =>
  Math.sqrt(Math.max(0, squares / count - (inside / count) ** 2) / Math.max(1, count - 1));
/** How a coverage stands to 75 to 85 %; outside it by no more than two standard errors, chance alone may have put it there. */
function verdictOf(row: Row): 'met' | 'within chance' | 'not met' {
  const share = row.inside / row.count;
  const off = Math.max(0.75 - share, share - 0.85);
  return off <= 0 ? 'met' : off <= 2 * errorOf(row) ? 'within chance' : 'not met';
}
console.log(`${COUNT} agencies a row, seed ${SEED}`);
console.log(
  'fair: the randomized probability integral transform, which counts an end of an interval of whole numbers by the part it claims; ±: its standard error; plain: ends counted whole',
);
console.log('target 75–85 %: met, outside it within chance (at most two standard errors), or not met');
console.log(
  'forecast                                              80 % covers: fair     ±   plain   target          above middle   middle width/actual   mean |error|',
);
for (const [key, row] of rows) {
  const share = (part: number) => `${((100 * part) / row.count).toFixed(1)} %`;
  console.log(
    `${key.padEnd(54)} ${share(row.inside).padStart(15)} ${(100 * errorOf(row)).toFixed(1).padStart(5)} ${share(row.plain).padStart(7)}   ${(targeted(key) ? verdictOf(row) : '–').padEnd(13)} ${share(row.above).padStart(14)}  ${middle(row.width).toFixed(2).padStart(20)}  ${mean(row.error).toFixed(1).padStart(13)}`,
  );
}
const held = [...rows].filter(([key]) => targeted(key)).map(([, row]) => row);
const counted = (verdict: string) => held.filter((row) => verdictOf(row) === verdict).length;
if (held.length > 0)
  console.log(
    `rows with a target: ${held.length}; met ${counted('met')}, within chance ${counted('within chance')}, not met ${counted('not met')}; all of them together ${(100 * mean(held.map((row) => row.inside / row.count))).toFixed(1)} %`,
  );
const less = (than: readonly number[]) => `${Math.round(100 * (1 - mean(simple.tool) / mean(than)))} %`;
if (simple.tool.length > 0)
  console.log(
    `days, 10 past jobs: mean |error| ${mean(simple.tool).toFixed(1)}; mean of past days ${mean(simple.mean).toFixed(1)} (${less(simple.mean)} less), days per length of sweep ${mean(simple.perInch).toFixed(1)} (${less(simple.perInch)} less); target at least 30 % less`,
  );
if (wanted('scale')) console.log(scale());
if (ONLY.length === 0) {
  const width = (jobs: string, of: string) =>
    middle(rows.get(`${jobs}, before the first heat, ${of}`)!.width);
  console.log(
    `width of the days with 10 past jobs over that without: ${(width('10 past', 'days') / width('0 past', 'days')).toFixed(2)}, target at most 0.6; with its ways known, which no past can better: ${(width('its ways known', 'days') / width('0 past', 'days')).toFixed(2)} (by another road: plan-bound.py)`,
  );
  const off = (key: string) => Math.abs(rows.get(key)!.inside / COUNT - 0.8);
  for (const of of ['cycles', 'days'])
    console.log(
      `a past unlike the job, ${of}: off 80 % by ${(100 * off(`10 small past, ${when(0)}, ${of}`)).toFixed(1)}, without it by ${(100 * off(`those without a past, ${when(0)}, ${of}`)).toFixed(1)}; target: not more`,
    );
}
