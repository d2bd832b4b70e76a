import { exp } from '../maths/portable.ts';
import { seededNormal, seededUniform } from '../maths/seeded.ts';
import { type Belief, type Cells, movementIn, newPace, STATES, STILL_1, STILL_3 } from './movement.ts';

/** What the readings make of each movement, the later readings heard as well. */
export interface History {
  /** Chance that a movement stood still, by movement. */
  readonly still: readonly number[];
  /** Likeliest reading (index) that the present pace runs from, every movement since it by one pace. */
  readonly since: number;
  /** Likeliest reading (index) the present standstill runs from; −1 where there is none. */
  readonly stillSince: number;
  /** Of the last `RECENT` cycles, or all there are: how many stood still, 10 %, 50 % and 90 % points, and the first movement counted. */
  readonly recent: {
    readonly low: number;
    readonly count: number;
    readonly high: number;
    readonly of: number;
    readonly from: number;
  };
}

const RECENT = 10;

/** Histories drawn, from a fixed seed: the same readings give the same answer. */
const DRAWS = 64;
const SEED = 40_087;

/**
 * Draws whole histories that fit the readings, backwards from what is believed after the last one: state, pace and level of each cycle
 * given those of the cycle after it (forward filtering, backward sampling: Carter & Kohn 1994, Frühwirth-Schnatter 1994).
 *
 * @param beliefs one for each reading, at least two
 */
export function drawHistory(beliefs: readonly Belief[], draws: number = DRAWS): History {
  const uniform = seededUniform(SEED);
  const normal = seededNormal(uniform);
  const steps = beliefs.length - 1;
  const still = new Array<number>(steps).fill(0);
  const starts = new Map<number, number>();
  const spells = new Map<number, number>();
  const drawn: Int8Array[] = [];
  const byHabit = beliefs.map((b) => new Map(b.cells.map((cells) => [cells.habit, cells])));
  for (const end of drawCells(beliefs.at(-1)!, draws)) {
    const path = backwards(beliefs, byHabit, end, uniform, normal);
    path.states.forEach((s, k) => {
      if (isStill(s)) still[k]! += 1 / draws;
    });
    starts.set(path.since, (starts.get(path.since) ?? 0) + 1);
    let from = steps;
    while (from > 0 && isStill(path.states[from - 1]!)) from--;
    if (from < steps) spells.set(from, (spells.get(from) ?? 0) + 1);
    drawn.push(path.states);
  }
  return { still, since: mode(starts), stillSince: mode(spells), recent: recentOf(beliefs, drawn) };
}

function recentOf(beliefs: readonly Belief[], drawn: readonly Int8Array[]): History['recent'] {
  const last = beliefs.length - 1;
  const lasted = (k: number) => beliefs[k + 1]!.at - beliefs[k]!.at;
  let from = last - 1;
  while (from > 0 && beliefs[last]!.at - beliefs[from - 1]!.at <= RECENT) from--;
  const counts = drawn
    .map((states) => states.slice(from).reduce((sum, s, k) => sum + (isStill(s) ? lasted(from + k) : 0), 0))
    .sort((a, b) => a - b);
  const point = (p: number) => counts[Math.min(counts.length - 1, Math.floor(p * counts.length))]!;
  const of = beliefs[last]!.at - beliefs[from]!.at;
  return { low: point(0.1), count: point(0.5), high: point(0.9), of, from };
}

export function isStill(state: number): boolean {
  return state >= STILL_1 && state <= STILL_3;
}

function mode(counts: ReadonlyMap<number, number>): number {
  let best = -1;
  for (const [value, count] of counts) if (best < 0 || count > counts.get(best)!) best = value;
  return best;
}

export interface Drawn {
  readonly cells: Cells;
  readonly cell: number;
}

/** `count` cells, each as often as its weight says (systematic resampling: no luck in the counts). */
export function drawCells({ cells }: Belief, count: number): Drawn[] {
  const drawn: Drawn[] = [];
  let reached = 0;
  let next = 0.5 / count;
  let last: Drawn | null = null;
  for (const one of cells) {
    for (let cell = 0; cell < one.weight.length; cell++) {
      if (one.weight[cell] === 0) continue;
      last = { cells: one, cell };
      reached += one.weight[cell]!;
      while (next < reached && drawn.length < count) {
        drawn.push(last);
        next += 1 / count;
      }
    }
  }
  while (drawn.length < count && last !== null) drawn.push(last);
  return drawn;
}

function backwards(
  beliefs: readonly Belief[],
  byHabit: readonly ReadonlyMap<Cells['habit'], Cells>[],
  end: Drawn,
  uniform: () => number,
  normal: () => number,
): { states: Int8Array; since: number } {
  const { grid } = beliefs[0]!;
  const count = grid.pace.length;
  const { habit } = end.cells;
  const states = new Int8Array(beliefs.length - 1);
  let since = 0;
  let cell = end.cell;
  let level = end.cells.mean[cell]! + Math.sqrt(end.cells.variance[cell]!) * normal();
  for (let k = beliefs.length - 1; k >= 1; k--) {
    const state = Math.floor(cell / count);
    states[k - 1] = state;
    if (k === 1) break;
    const pace = cell % count;
    const cycles = Math.max(1, beliefs[k]!.at - beliefs[k - 1]!.at);
    const before = byHabit[k - 1]!.get(habit)!;
    const moved = movementIn(state, grid.pace[pace]!, habit, cycles, grid.usefulGain);
    const target = level - moved.mean;
    const density = (mean: number, variance: number) => {
      const spread = variance + moved.variance;
      return exp((-0.5 * (target - mean) ** 2) / spread) / Math.sqrt(spread);
    };
    const came = cameFrom(before, grid.prior, count, state, pace, cycles);
    const freshFrom = came.fresh.map((one) => {
      const pool = poolOf(before, one.from, count);
      return one.weight * pool.weight * density(pool.mean, pool.variance);
    });
    const keptFrom = came.kept.map(
      (one) => one.weight * density(before.mean[one.cell]!, before.variance[one.cell]!),
    );
    const chosen = pick([...keptFrom, ...freshFrom], uniform());
    if (chosen < came.kept.length) cell = came.kept[chosen]!.cell;
    else {
      if (since === 0) since = k - 1;
      const row = came.fresh[chosen - came.kept.length]!.from * count;
      const inRow = Array.from({ length: count }, (_, i) => {
        const w = before.weight[row + i]!;
        return w === 0 ? 0 : w * density(before.mean[row + i]!, before.variance[row + i]!);
      });
      cell = row + pick(inRow, uniform());
    }
    const [mean, variance] = [before.mean[cell]!, before.variance[cell]!];
    const gain = variance / (variance + moved.variance);
    level = mean + gain * (target - mean) + Math.sqrt(variance * (1 - gain)) * normal();
  }
  return { states, since };
}

/** Index drawn by weights, which need not sum to 1. */
function pick(weights: readonly number[], uniform: number): number {
  let mark = uniform * weights.reduce((a, b) => a + b, 0);
  let last = 0;
  for (let i = 0; i < weights.length; i++) {
    if (weights[i] === 0) continue;
    last = i;
    mark -= weights[i]!;
    if (mark <= 0) break;
  }
  return last;
}

/** All paces of a state together: weight, mean and variance of the level. */
function poolOf({ weight, mean, variance }: Cells, state: number, count: number) {
  let [total, sum, square] = [0, 0, 0];
  for (let c = state * count; c < (state + 1) * count; c++) {
    total += weight[c]!;
    sum += weight[c]! * mean[c]!;
  }
  const centre = total > 0 ? sum / total : 0;
  for (let c = state * count; c < (state + 1) * count; c++) {
    square += weight[c]! * (variance[c]! + (mean[c]! - centre) ** 2);
  }
  return { weight: total, mean: centre, variance: total > 0 ? square / total : 0 };
}

/** What may lead to a state and pace, by its chance: cells whose pace is kept, and states left for a new pace. */
function cameFrom(
  before: Cells,
  prior: Float64Array,
  count: number,
  to: number,
  pace: number,
  cycles: number,
): {
  kept: { cell: number; weight: number }[];
  fresh: { from: number; weight: number }[];
} {
  const { habit, weight } = before;
  const chance = habit.chance;
  const { steps, first } = habit.run;
  const down = first + (cycles - 1) * (first + 1);
  const kept: { cell: number; weight: number }[] = [];
  const fresh: { from: number; weight: number }[] = [];
  const keep = (cell: number, p: number) => {
    if (weight[cell]! > 0) kept.push({ cell, weight: weight[cell]! * p });
  };
  for (let from = 0; from < STATES; from++) {
    const p = chance[from * STATES + to]!;
    if (p === 0) continue;
    const anew = newPace(from, to, false);
    if (anew > 0) fresh.push({ from, weight: p * anew * prior[pace]! });
    if (anew === 1) continue;
    if (isStill(to)) keep(from * count + pace, p * (1 - anew));
    else {
      for (let k = 0; k < steps.length; k++) {
        const i = pace + down + k;
        if (i >= 0 && i < count) keep(from * count + i, p * (1 - anew) * steps[k]!);
      }
    }
  }
  return { kept, fresh };
}
