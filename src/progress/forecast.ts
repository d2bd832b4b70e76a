import { seededNormal, seededUniform } from '../maths/seeded.ts';
import { drawCells } from './history.ts';
import { type Belief, isStill, MOVES, movementIn, newPace, STATES } from './movement.ts';

export interface Crossing {
  /** Cycles until the limit is reached: 10 %, 50 % and 90 % points; null: that share never gets there within the horizon. */
  readonly low: number | null;
  readonly expected: number | null;
  readonly high: number | null;
  /** Share of the futures that get there at all. */
  readonly probability: number;
  /** Level by cycles from now (1, 2, …): 10 %, 50 % and 90 % points. */
  readonly fan: readonly { readonly low: number; readonly expected: number; readonly high: number }[];
}

/** Futures followed, and how many cycles each. */
const PATHS = 400;
const HORIZON = 60;
const FAN = 20;
const SEED = 20_011;

/**
 * Follows many futures of the same model the readings were judged by, and counts when each first passes inside the limit:
 * cycles that stand still are in it as often as this job has had them.
 *
 * Each future starts from one cell of the belief drawn by its weight. The numbers are drawn from a fixed seed: the same
 * readings give the same forecast.
 *
 * @param limit same unit as the level
 */
export function forecastCrossing(belief: Belief, limit: number): Crossing {
  const uniform = seededUniform(SEED);
  const normal = seededNormal(uniform);
  const { grid } = belief;
  const count = grid.pace.length;
  const cumulative = grid.prior.map((_, i) => grid.prior.slice(0, i + 1).reduce((a, b) => a + b, 0));
  const anyPace = () => {
    const mark = uniform();
    const i = cumulative.findIndex((c) => c >= mark);
    return i < 0 ? count - 1 : i;
  };
  const times: number[] = [];
  const levels: number[][] = Array.from({ length: FAN }, () => []);
  for (const { cells, cell } of drawCells(belief, PATHS)) {
    const { habit } = cells;
    const chance = habit.chance;
    const { steps, first } = habit.run;
    let state = Math.floor(cell / count);
    let pace = cell % count;
    let level = cells.mean[cell]! + Math.sqrt(cells.variance[cell]!) * normal();
    let crossed = level <= limit ? 0 : Number.POSITIVE_INFINITY;
    for (let step = 1; step <= HORIZON && (crossed === Number.POSITIVE_INFINITY || step <= FAN); step++) {
      const from = state;
      state = pick(chance.subarray(from * STATES, (from + 1) * STATES), uniform());
      if (uniform() < newPace(from, state, false)) pace = anyPace();
      else if (!isStill(state))
        pace = Math.min(count - 1, Math.max(0, pace - first - pick(steps, uniform())));
      const moved = movementIn(state, grid.pace[pace]!, habit, 1, grid.usefulGain);
      const before = level;
      level += moved.mean + Math.sqrt(moved.variance) * normal();
      if (crossed === Number.POSITIVE_INFINITY && level <= limit) {
        crossed = step - 1 + (before - limit) / (before - level);
      }
      // Deviations are magnitudes: a future that passes the baseline has been stopped there.
      level = Math.max(level, 0);
      if (step <= FAN) levels[step - 1]!.push(level);
    }
    times.push(crossed);
  }
  times.sort((x, y) => x - y);
  return {
    low: finite(quantile(times, 0.1)),
    expected: finite(quantile(times, 0.5)),
    high: finite(quantile(times, 0.9)),
    probability: times.filter((time) => time !== Number.POSITIVE_INFINITY).length / times.length,
    fan: levels.map((level) => {
      level.sort((x, y) => x - y);
      return { low: quantile(level, 0.1), expected: quantile(level, 0.5), high: quantile(level, 0.9) };
    }),
  };
}

/** Index drawn by weights that sum to 1. */
function pick(weights: ArrayLike<number>, mark: number): number {
  let reached = 0;
  for (let i = 0; i < weights.length; i++) {
    reached += weights[i]!;
    if (mark < reached) return i;
  }
  return MOVES;
}
function quantile(sorted: readonly number[], p: number): number {
  const at = p * (sorted.length - 1);
  const low = Math.floor(at);
  const high = Math.ceil(at);
  const [a, b] = [sorted[low]!, sorted[high]!];
  return a === b ? a : a + (at - low) * (b - a);
}

function finite(value: number): number | null {
  return Number.isFinite(value) ? value : null;
}
