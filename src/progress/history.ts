import { exp } from '../maths/portable.ts';
import { seededNormal, seededUniform } from '../maths/seeded.ts';
import {
  type Belief,
  type Cells,
  movementIn,
  newPace,
  STATES,
  STILL_1,
  STILL_3,
  transitions,
} from './movement.ts';

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
    const came = cameFrom(before, grid.prior, count, state, pace, cycles);
    const moved = movementIn(state, grid.pace[pace]!, habit, cycles, grid.usefulGain);
    const target = level - moved.mean;
    let total = 0;
    for (const one of came) {
      const spread = before.variance[one.cell]! + moved.variance;
      const off = target - before.mean[one.cell]!;
      one.weight *= exp((-0.5 * off * off) / spread) / Math.sqrt(spread);
      total += one.weight;
    }
    let mark = uniform() * total;
    let chosen = came[0]!;
    for (const one of came) {
      chosen = one;
      mark -= one.weight;
      if (mark <= 0) break;
    }
    if (chosen.fresh && since === 0) since = k - 1;
    cell = chosen.cell;
    const [mean, variance] = [before.mean[cell]!, before.variance[cell]!];
    const gain = variance / (variance + moved.variance);
    level = mean + gain * (target - mean) + Math.sqrt(variance * (1 - gain)) * normal();
  }
  return { states, since };
}

/** Cells of the reading before that may lead to a state and pace, by their chance. */
function cameFrom(
  before: Cells,
  prior: Float64Array,
  count: number,
  to: number,
  pace: number,
  cycles: number,
): { cell: number; weight: number; fresh: boolean }[] {
  const { habit, weight } = before;
  const chance = transitions(habit.standing, false);
  const { steps, first } = habit.run;
  const down = first + (cycles - 1) * (first + 1);
  const list: { cell: number; weight: number; fresh: boolean }[] = [];
  for (let from = 0; from < STATES; from++) {
    const p = chance[from * STATES + to]!;
    if (p === 0) continue;
    const fresh = newPace(from, to, false);
    if (fresh > 0) {
      for (let i = 0; i < count; i++) {
        const w = weight[from * count + i]! * p * fresh * prior[pace]!;
        if (w > 0) list.push({ cell: from * count + i, weight: w, fresh: true });
      }
    }
    if (fresh === 1) continue;
    const kept = p * (1 - fresh);
    if (isStill(to)) {
      const w = weight[from * count + pace]! * kept;
      if (w > 0) list.push({ cell: from * count + pace, weight: w, fresh: false });
      continue;
    }
    for (let k = 0; k < steps.length; k++) {
      const i = pace + down + k;
      if (i < 0 || i >= count) continue;
      const w = weight[from * count + i]! * kept * steps[k]!;
      if (w > 0) list.push({ cell: from * count + i, weight: w, fresh: false });
    }
  }
  return list;
}
