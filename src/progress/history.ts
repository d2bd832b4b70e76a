import { exp } from '../maths/portable.ts';
import { seededNormal, seededUniform } from '../maths/seeded.ts';
import { type Belief, type Cells, type Habit, isStill, movementIn, newPace, STATES } from './movement.ts';

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
  const steps = beliefs.length - 1;
  const still = new Array<number>(steps).fill(0);
  const starts = new Map<number, number>();
  const spells = new Map<number, number>();
  const drawn: Int8Array[] = [];
  for (const path of pathsBack(beliefs, draws, steps)) {
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

/** Histories of the last cycles drawn to tell what they moved: enough to tell a chance of 2 in 100 from one of 4. */
const LOOKS_BACK = 400;

/**
 * Chance that any of the last `cycles` cycles closed by `size` or more: what the level did, not the pace it was asked for. A
 * movement over several cycles counts by the cycle.
 */
export function chanceMoved(beliefs: readonly Belief[], size: number, cycles: number): number {
  const last = beliefs.length - 1;
  let from = last - 1;
  while (from > 0 && beliefs[last]!.at - beliefs[from]!.at < cycles) from--;
  let moved = 0;
  for (const { levels } of pathsBack(beliefs, LOOKS_BACK, last - from)) {
    for (let k = from; k < last; k++) {
      if (levels[k]! - levels[k + 1]! >= size * (beliefs[k + 1]!.at - beliefs[k]!.at)) {
        moved++;
        break;
      }
    }
  }
  return moved / LOOKS_BACK;
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

/** One history: what each movement was (by its index), the level at each reading, and the reading the present pace runs from. */
interface Path {
  readonly states: Int8Array;
  readonly levels: Float64Array;
  readonly since: number;
}

/** Histories drawn from the last reading `back` movements backwards; what lies before stays 0. */
function* pathsBack(beliefs: readonly Belief[], draws: number, back: number): Generator<Path> {
  const uniform = seededUniform(SEED);
  const normal = seededNormal(uniform);
  const last = beliefs.length - 1;
  const { grid } = beliefs[0]!;
  const count = grid.pace.length;
  // Pushed, not mapped: see `robustFit`.
  const before: Map<Habit, Cells>[] = [];
  for (const { cells } of beliefs) {
    const byHabit = new Map<Habit, Cells>();
    for (const one of cells) byHabit.set(one.habit, one);
    before.push(byHabit);
  }
  const pools = new Map<Cells, Pool[]>();
  const poolsOnce = (cells: Cells) => {
    const known = pools.get(cells) ?? poolsOf(cells, count);
    pools.set(cells, known);
    return known;
  };
  // At most every state kept at three paces, and every state left for a new one.
  const ways = { from: new Int32Array(4 * STATES), weight: new Float64Array(4 * STATES), size: 0 };
  for (const end of drawCells(beliefs[last]!, draws)) {
    const { habit } = end.cells;
    const states = new Int8Array(last);
    const levels = new Float64Array(last + 1);
    let since = 0;
    let cell = end.cell;
    let level = end.cells.mean[cell]! + Math.sqrt(end.cells.variance[cell]!) * normal();
    levels[last] = level;
    for (let k = last; k > last - back; k--) {
      const state = Math.floor(cell / count);
      states[k - 1] = state;
      const cycles = Math.max(1, beliefs[k]!.at - beliefs[k - 1]!.at);
      const moved = movementIn(state, grid.pace[cell % count]!, habit, cycles, grid.usefulGain);
      const target = level - moved.mean;
      const cells = before[k - 1]!.get(habit)!;
      // The first movement starts from one belief, whatever its pace.
      if (beliefs[k - 1]!.movements > 0) {
        findWays(
          ways,
          cells,
          poolsOnce(cells),
          grid.prior,
          state,
          cell % count,
          cycles,
          target,
          moved.variance,
        );
        const came = pickWay(ways, uniform());
        if (came >= 0) cell = came;
        else {
          if (since === 0) since = k - 1;
          cell = pickInRow(cells, (-1 - came) * count, count, target, moved.variance, uniform());
        }
      }
      const [mean, variance] = [cells.mean[cell]!, cells.variance[cell]!];
      const gain = variance / (variance + moved.variance);
      level = mean + gain * (target - mean) + Math.sqrt(variance * (1 - gain)) * normal();
      levels[k - 1] = level;
    }
    yield { states, levels, since };
  }
}

function density(target: number, mean: number, variance: number, moved: number): number {
  const spread = variance + moved;
  return exp((-0.5 * (target - mean) ** 2) / spread) / Math.sqrt(spread);
}

/**
 * What may lead to a state and pace, by its chance: cells whose pace is kept, and (as −1 − state) states left for a new pace.
 * One list serves all draws: millions of short ones would cost more than the sums.
 */
interface Ways {
  readonly from: Int32Array;
  readonly weight: Float64Array;
  size: number;
}

function addWay(ways: Ways, from: number, weight: number): void {
  ways.from[ways.size] = from;
  ways.weight[ways.size] = weight;
  ways.size++;
}

function findWays(
  ways: Ways,
  before: Cells,
  pools: readonly Pool[],
  prior: Float64Array,
  to: number,
  pace: number,
  cycles: number,
  target: number,
  moved: number,
): void {
  const { habit, weight, mean, variance } = before;
  const { chance } = habit;
  const count = prior.length;
  const { steps, first } = habit.run;
  const down = first + (cycles - 1) * (first + 1);
  ways.size = 0;
  const keep = (cell: number, p: number) => {
    if (weight[cell] === 0 || p === 0) return;
    addWay(ways, cell, weight[cell]! * p * density(target, mean[cell]!, variance[cell]!, moved));
  };
  for (let from = 0; from < STATES; from++) {
    const p = chance[from * STATES + to]!;
    if (p === 0) continue;
    const anew = newPace(from, to, false);
    const pool = pools[from]!;
    if (anew > 0 && pool.weight > 0) {
      const led = density(target, pool.mean, pool.variance, moved);
      addWay(ways, -1 - from, p * anew * prior[pace]! * pool.weight * led);
    }
    if (anew === 1) continue;
    if (isStill(to)) keep(from * count + pace, p * (1 - anew));
    else {
      for (let k = 0; k < steps.length; k++) {
        const i = pace + down + k;
        if (i >= 0 && i < count) keep(from * count + i, p * (1 - anew) * steps[k]!);
      }
    }
  }
}

function pickWay({ from, weight, size }: Ways, uniform: number): number {
  let mark = 0;
  for (let i = 0; i < size; i++) mark += weight[i]!;
  mark *= uniform;
  let i = 0;
  for (; i < size - 1; i++) {
    mark -= weight[i]!;
    if (mark <= 0) break;
  }
  return from[i]!;
}

/** A cell of a state (row) drawn by its weight and how well its level leads to the one after. */
function pickInRow(
  { weight, mean, variance }: Cells,
  row: number,
  count: number,
  target: number,
  moved: number,
  uniform: number,
): number {
  const chances = new Float64Array(count);
  let sum = 0;
  for (let i = 0; i < count; i++) {
    const c = row + i;
    if (weight[c] !== 0) chances[i] = weight[c]! * density(target, mean[c]!, variance[c]!, moved);
    sum += chances[i]!;
  }
  let mark = sum * uniform;
  let last = row;
  for (let i = 0; i < count; i++) {
    if (chances[i] === 0) continue;
    last = row + i;
    mark -= chances[i]!;
    if (mark <= 0) break;
  }
  return last;
}

interface Pool {
  readonly weight: number;
  readonly mean: number;
  readonly variance: number;
}

/** All paces of each state together: weight, mean and variance of the level. */
function poolsOf({ weight, mean, variance }: Cells, count: number): Pool[] {
  return Array.from({ length: STATES }, (_, state) => {
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
  });
}
