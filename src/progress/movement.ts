/**
 * One model of how steel moves from cycle to cycle, and what the readings make of it. The word, the rate quoted, the forecast
 * and the chance of ever getting inside are all read from the belief found here, so they cannot disagree.
 *
 * In a cycle the steel
 *   moves        by the pace of this job, heats scattering about it by a share of it,
 *   stands still (one dead day; a second and a third in a row make a spell), or
 *   opens        by a pace of its own.
 * The pace is the closing of |deviation| on a cycle that moves. It stays, slows or fades; now and then it is a new one.
 *
 * A hidden Markov model on a grid: five states × pace × what is learnt of the job (how often it stands still, how the pace
 * runs, how much heats scatter, how good the readings are). In each cell the level is a normal distribution, carried by a
 * Kalman filter; cells that come together are matched in mean and variance.
 * Sources: Rabiner 1989 (hidden Markov models); Blom & Bar-Shalom 1988 (switching Kalman filters with matched moments).
 */
import { normalCdf } from '../maths/distributions.ts';
import { exp, log } from '../maths/portable.ts';

/** One value in time order with the standard uncertainty of its own reading. */
export interface TimedValue {
  readonly at: number;
  readonly value: number;
  readonly u: number;
}

/** What a cycle did: moved, stood still for the first, second, third (or later) cycle in a row, opened. */
export const MOVES = 0;
export const STILL_1 = 1;
export const STILL_2 = 2;
export const STILL_3 = 3;
export const OPENS = 4;
export const STATES = 5;

/** A kind of job as regards standing still. */
interface Standing {
  /** Chance that a cycle after one that moved stands still. */
  readonly still: number;
  /** Chance that a standstill of one, two, three or more cycles goes on. */
  readonly again: readonly [number, number, number];
  readonly weight: number;
}

/**
 * Priors, one sentence each. They were set on seeds of `npm run bench:days` and `npm run bench:verdicts` that are not reported on.
 *
 * Standing still: half of the jobs hardly ever do, a quarter do in one cycle of twelve, a quarter in one of five; where it
 * is rare it is a spell that may last when it happens, where it is common it is a dead day. Everywhere a second and a third still
 * cycle in a row make another likelier.
 */
const STANDINGS: readonly Standing[] = [
  { still: 0.02, again: [0.85, 0.95, 0.998], weight: 0.5 },
  { still: 0.08, again: [0.5, 0.8, 0.9], weight: 0.27 },
  { still: 0.2, again: [0.3, 0.6, 0.85], weight: 0.23 },
];

/** The first cycle moves in three jobs of four, stands still in one of five, and opens in one of twenty. */
const FIRST = { moves: 0.75, still: 0.2, opens: 0.05 } as const;

/** Steel opens in one cycle of seven hundred; once it does it goes on in four of five. */
const OPENING = { chance: 0.0015, again: 0.8, still: 0.05 } as const;

/** A pace that moves is a new one in one cycle of 150; work that goes on after a standstill has a new pace in one case of twenty. */
const NEW_PACE = { moving: 0.007, afterStill: 0.05 } as const;

/**
 * The pace stays in three jobs of four (a fifth up in one cycle of sixteen, down in one of thirty: first heats show little, a crew learns), falls by
 * a tenth a cycle in one of five and by a fifth in the others. Steps down the grid by chance.
 */
const RUNS: readonly {
  readonly steps: readonly number[];
  readonly first: number;
  readonly weight: number;
}[] = [
  { first: -1, steps: [0.06, 0.91, 0.03], weight: 0.74 },
  { first: 0, steps: [0.5, 0.45, 0.05], weight: 0.2 },
  { first: 0, steps: [0.15, 0.55, 0.3], weight: 0.06 },
];

/** A cycle's heats scatter by an eighth, a quarter, or nearly half of their movement ("individual heats may vary considerably", FHWA guide, chapter 5.1). */
const SCATTERS = [
  { share: 0.12, weight: 0.4 },
  { share: 0.24, weight: 0.4 },
  { share: 0.45, weight: 0.2 },
] as const;

/** One job in eight is read half as well again as its uncertainties say. */
const NOISES = [
  { factor: 1, weight: 0.88 },
  { factor: 1.5, weight: 0.12 },
] as const;

/** The pace is a few useful gains, give or take a factor of five (log-normal), in units of g; no slower than the first of the grid. */
const PACE = { median: 7, spread: 1.6, slowest: 0.2, fastest: 40 } as const;
/** Ratio of neighbouring paces, as a logarithm. */
const GRID = 0.2;

/** A cycle that stands still moves by about a tenth of the useful gain, either way, or, one or two in a row, by a thirtieth of the pace. */
const QUIET = { gains: 0.1, share: 0.03 } as const;

/** No reading is better than this share of the useful gain: exact values would make every doubt vanish. */
const FINEST = 0.001;
/** Weights below this share of the whole are dropped: together they cannot change any printed figure. */
const NEGLIGIBLE = 1e-6;

export function isStill(state: number): boolean {
  return state >= STILL_1 && state <= STILL_3;
}

/** What is the same all through a job. */
export interface Habit {
  /** Chance of a state after another, row by row (`transitions`). */
  readonly chance: Float64Array;
  readonly run: (typeof RUNS)[number];
  readonly scatter: number;
  readonly noise: number;
}

/** Cells of one habit: state × pace, row by row. */
export interface Cells {
  readonly habit: Habit;
  readonly weight: Float64Array;
  readonly mean: Float64Array;
  readonly variance: Float64Array;
  /** Log of the constant taken out of the weights. */
  scale: number;
}

/** What is believed after a reading. Weights over all habits and cells sum to 1. */
export interface Belief {
  readonly at: number;
  /** Movements heard of so far. */
  readonly movements: number;
  readonly cells: readonly Cells[];
  readonly grid: Grid;
}

/** The paces, in the unit of the values, with what is believed of them before any reading. */
export interface Grid {
  readonly pace: Float64Array;
  readonly prior: Float64Array;
  readonly usefulGain: number;
}

export function gridFor(values: readonly TimedValue[], usefulGain: number): Grid {
  let largest = 0;
  for (let k = 1; k < values.length; k++) {
    const cycles = Math.max(1, values[k]!.at - values[k - 1]!.at);
    largest = Math.max(largest, Math.abs(values[k]!.value - values[k - 1]!.value) / cycles);
  }
  const fastest = Math.max(PACE.fastest, (2 * largest) / usefulGain);
  const count = Math.ceil(log(fastest / PACE.slowest) / GRID) + 1;
  const pace = Float64Array.from({ length: count }, (_, i) => usefulGain * PACE.slowest * exp(GRID * i));
  const prior = pace.map((p) => {
    const z = log(p / (PACE.median * usefulGain)) / PACE.spread;
    return exp(-0.5 * z * z);
  });
  const sum = prior.reduce((a, b) => a + b, 0);
  return { pace, prior: prior.map((p) => p / sum), usefulGain };
}

/** Before the first movement: the level is the first reading, nothing is known of the job. */
export function firstBelief(value: TimedValue, grid: Grid): Belief {
  const cells: Cells[] = [];
  const count = grid.pace.length;
  for (const standing of STANDINGS) {
    const chance = transitions(standing);
    for (const run of RUNS) {
      for (const scatter of SCATTERS) {
        for (const noise of NOISES) {
          const weight = new Float64Array(STATES * count);
          const share = standing.weight * run.weight * scatter.weight * noise.weight;
          for (let i = 0; i < count; i++) weight[i] = share * grid.prior[i]!;
          cells.push({
            habit: { chance, run, scatter: scatter.share, noise: noise.factor },
            weight,
            mean: new Float64Array(STATES * count).fill(value.value),
            variance: new Float64Array(STATES * count).fill(
              readingVariance(value, noise.factor, grid.usefulGain),
            ),
            scale: 0,
          });
        }
      }
    }
  }
  return { at: value.at, movements: 0, cells, grid };
}

function readingVariance(value: TimedValue, noise: number, usefulGain: number): number {
  return (noise * Math.max(value.u, FINEST * usefulGain)) ** 2;
}

/** Chance of `to` after `from`, row by row of the states. */
function transitions({ still, again }: Standing): Float64Array {
  const opens = OPENING.chance;
  return Float64Array.from([
    ...[1 - still - opens, still, 0, 0, opens],
    ...[1 - again[0] - opens, 0, again[0], 0, opens],
    ...[1 - again[1] - opens, 0, 0, again[1], opens],
    ...[1 - again[2] - opens, 0, 0, again[2], opens],
    ...[1 - OPENING.again - OPENING.still, OPENING.still, 0, 0, OPENING.again],
  ]);
}

/** The same for the first movement, from the state all cells start in. */
const FIRST_CHANCE = Float64Array.from({ length: STATES * STATES }, (_, i) =>
  i === MOVES ? FIRST.moves : i === STILL_1 ? FIRST.still : i === OPENS ? FIRST.opens : 0,
);

/** Chance that the pace is a new one in a step from one state to another: an opening has a pace of its own. */
export function newPace(from: number, to: number, first: boolean): number {
  if (first) return 0;
  if (to === OPENS) return from === OPENS ? NEW_PACE.moving : 1;
  if (from === OPENS) return 1;
  if (to !== MOVES) return 0;
  return from === MOVES ? NEW_PACE.moving : NEW_PACE.afterStill;
}

/** Change of the level in `cycles` cycles of a state at a pace, with its sd. */
export function movementIn(
  state: number,
  pace: number,
  habit: Habit,
  cycles: number,
  usefulGain: number,
): { mean: number; variance: number } {
  if (state === MOVES || state === OPENS) {
    const sign = state === MOVES ? -1 : 1;
    return { mean: sign * pace * cycles, variance: (habit.scatter * pace) ** 2 * cycles };
  }
  const share = state === STILL_3 ? 0 : QUIET.share * pace;
  return { mean: 0, variance: ((QUIET.gains * usefulGain) ** 2 + share ** 2) * cycles };
}

/**
 * One survey on. Cycles not read in between are taken together: within them the steel moved, stood still or opened all
 * through, and the pace is per cycle over the span.
 *
 * @returns a new belief; the one given is left as it is
 */
export function advance(before: Belief, value: TimedValue): Belief {
  const first = before.movements === 0;
  const cycles = Math.max(1, value.at - before.at);
  // One block for all that a cycle needs: thousands of small arrays cost more to collect than to fill.
  const size = STATES * before.grid.pace.length;
  const block = new Float64Array((3 * before.cells.length + 1) * size);
  const part = (i: number) => block.subarray(i * size, (i + 1) * size);
  const off = part(3 * before.cells.length);
  const next: Cells[] = [];
  let top = Number.NEGATIVE_INFINITY;
  for (const from of before.cells) {
    const i = 3 * next.length;
    const to = { habit: from.habit, weight: part(i), mean: part(i + 1), variance: part(i + 2), scale: 0 };
    step(from, to, off, before.grid, value, cycles, first);
    if (to.scale > top) top = to.scale;
    next.push(to);
  }
  let total = 0;
  for (const c of next) {
    const factor = exp(c.scale - top);
    let sum = 0;
    for (let i = 0; i < c.weight.length; i++) {
      c.weight[i]! *= factor;
      sum += c.weight[i]!;
    }
    c.scale = sum;
    total += sum;
  }
  const kept = next.filter((c) => c.scale > 1e-3 * total);
  for (const c of kept) {
    for (let i = 0; i < c.weight.length; i++) {
      const w = c.weight[i]! / total;
      c.weight[i] = w > NEGLIGIBLE ? w : 0;
    }
    c.scale = 0;
  }
  return { at: value.at, movements: before.movements + 1, cells: kept, grid: before.grid };
}

/** @param to empty cells to fill @param off room for as many numbers */
function step(
  before: Cells,
  to: Cells,
  off: Float64Array,
  grid: Grid,
  value: TimedValue,
  cycles: number,
  first: boolean,
): void {
  const count = grid.pace.length;
  const { habit } = before;
  mix(before, to, grid, cycles, first);
  const { weight, mean, variance } = to;
  const reading = readingVariance(value, habit.noise, grid.usefulGain);
  let top = Number.NEGATIVE_INFINITY;
  for (let state = 0, c = 0; state < STATES; state++) {
    for (let i = 0; i < count; i++, c++) {
      if (weight[c] === 0) continue;
      const movement = movementIn(state, grid.pace[i]!, habit, cycles, grid.usefulGain);
      const level = mean[c]! + movement.mean;
      const prior = variance[c]! + movement.variance;
      const spread = prior + reading;
      const away = value.value - level;
      mean[c] = level + (prior / spread) * away;
      variance[c] = (prior * reading) / spread;
      weight[c]! /= Math.sqrt(spread);
      off[c] = (-0.5 * away * away) / spread;
      if (off[c]! > top) top = off[c]!;
    }
  }
  for (let c = 0; c < weight.length; c++) {
    if (weight[c] === 0) continue;
    const d = off[c]! - top;
    weight[c] = d > -30 ? weight[c]! * exp(d) : 0;
  }
  to.scale = top;
}

/** The cells after states and paces have changed, before the level has: moments of all that come together. */
function mix(before: Cells, into: Cells, grid: Grid, cycles: number, first: boolean): void {
  const count = grid.pace.length;
  const { habit } = before;
  const chance = first ? FIRST_CHANCE : habit.chance;
  const about = centre(before);
  // Weight, first and second moment about `about` of what arrives at each cell.
  const { weight, mean, variance } = into;
  const { steps } = habit.run;
  const down = habit.run.first + (cycles - 1) * (habit.run.first + 1);
  for (let from = 0; from < STATES; from++) {
    const { from: low, until } = occupied(before.weight, from * count, count);
    if (low === until) continue;
    let [w0, w1, w2] = [0, 0, 0];
    for (let i = low; i < until; i++) {
      const w = before.weight[from * count + i]!;
      if (w === 0) continue;
      const d = before.mean[from * count + i]! - about;
      w0 += w;
      w1 += w * d;
      w2 += w * (before.variance[from * count + i]! + d * d);
    }
    for (let to = 0; to < STATES; to++) {
      const p = chance[from * STATES + to]!;
      if (p === 0) continue;
      const row = to * count;
      const fresh = p * newPace(from, to, first);
      const kept = p - fresh;
      const keepsPace = first || isStill(to);
      for (let i = low; i < until && kept !== 0; i++) {
        const w = before.weight[from * count + i]!;
        if (w === 0) continue;
        const d = before.mean[from * count + i]! - about;
        const square = before.variance[from * count + i]! + d * d;
        if (keepsPace) {
          weight[row + i]! += kept * w;
          mean[row + i]! += kept * w * d;
          variance[row + i]! += kept * w * square;
          continue;
        }
        for (let k = 0; k < steps.length; k++) {
          const c = row + Math.min(count - 1, Math.max(0, i - down - k));
          const moved = kept * w * steps[k]!;
          weight[c]! += moved;
          mean[c]! += moved * d;
          variance[c]! += moved * square;
        }
      }
      if (fresh === 0) continue;
      for (let i = 0; i < count; i++) {
        const anew = fresh * grid.prior[i]!;
        weight[row + i]! += anew * w0;
        mean[row + i]! += anew * w1;
        variance[row + i]! += anew * w2;
      }
    }
  }
  for (let c = 0; c < weight.length; c++) {
    const w = weight[c]!;
    if (w < 1e-14) {
      weight[c] = 0;
      continue;
    }
    const d = mean[c]! / w;
    mean[c] = about + d;
    variance[c] = Math.max(0, variance[c]! / w - d * d);
  }
}

/** Paces of a state (row) that have any weight lie in [from, until); equal where none has. */
function occupied(weight: Float64Array, row: number, count: number): { from: number; until: number } {
  let [from, until] = [0, count];
  while (from < until && weight[row + from] === 0) from++;
  while (until > from && weight[row + until - 1] === 0) until--;
  return { from, until };
}

function centre({ weight, mean }: Cells): number {
  let best = 0;
  for (let c = 1; c < weight.length; c++) if (weight[c]! > weight[best]!) best = c;
  return mean[best]!;
}

/** Every belief from the first reading to the last. @param values at least one, in cycle order */
export function follow(values: readonly TimedValue[], usefulGain: number): Belief[] {
  const grid = gridFor(values, usefulGain);
  const beliefs = [firstBelief(values[0]!, grid)];
  for (let k = 1; k < values.length; k++) {
    beliefs.push(advance(beliefs[k - 1]!, values[k]!));
  }
  return beliefs;
}

/** Chance of each state in the last cycle. */
export function stateChances({ cells, grid }: Belief): Float64Array {
  const count = grid.pace.length;
  const chances = new Float64Array(STATES);
  for (const { weight } of cells) {
    for (let c = 0; c < weight.length; c++) chances[Math.floor(c / count)]! += weight[c]!;
  }
  return chances;
}

/** Weight by pace over the states asked for. */
export function paceWeights({ cells, grid }: Belief, states: readonly number[]): Float64Array {
  const count = grid.pace.length;
  const weights = new Float64Array(count);
  for (const { weight } of cells) {
    for (const s of states) for (let i = 0; i < count; i++) weights[i]! += weight[s * count + i]!;
  }
  return weights;
}

/** The level: mean, standard uncertainty, and the chance that it is above a value. */
export function levelOf({ cells }: Belief): { level: number; u: number } {
  let [total, sum] = [0, 0];
  for (const { weight, mean } of cells) {
    for (let c = 0; c < weight.length; c++) {
      total += weight[c]!;
      sum += weight[c]! * mean[c]!;
    }
  }
  const level = sum / total;
  let square = 0;
  for (const { weight, mean, variance } of cells) {
    for (let c = 0; c < weight.length; c++) square += weight[c]! * (variance[c]! + (mean[c]! - level) ** 2);
  }
  return { level, u: Math.sqrt(square / total) };
}

export function chanceAbove({ cells }: Belief, value: number): number {
  let [total, above] = [0, 0];
  for (const { weight, mean, variance } of cells) {
    for (let c = 0; c < weight.length; c++) {
      if (weight[c]! === 0) continue;
      total += weight[c]!;
      above += weight[c]! * normalCdf((mean[c]! - value) / Math.sqrt(variance[c]!));
    }
  }
  return above / total;
}
