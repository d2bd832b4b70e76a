/**
 * What the best test could do on the same readings: likelihood-ratio tests (Neyman–Pearson) for one who knows the shape
 * of the bend, the reading error, the scatter of heats, how the work has gone and when it last changed, and is told
 * everything but the present rate. Nothing of the tool enters, so a bound stays where it is when the tool improves.
 */
import { normalCdf, normalQuantile } from '../../src/maths/distributions.ts';
import { solveLeastSquares } from '../../src/maths/least-squares.ts';
import { nominalRate } from '../mechanics/campaign.ts';
import { rateAt, USEFUL_GAIN, type VerdictCase } from './verdict-cases.ts';

/** Confidence of a call on one side, as in the tool. */
export const SURE = 0.9;
/** Scatter of one cycle's movement in the simulation. */
const SCATTER = 0.25;

type Plan = Pick<VerdictCase, 'process'>;

/**
 * Standard uncertainty of the largest deviation from one survey for one who knows the shape and not how far it has
 * shrunk: least squares on the shape with the string's offset and tilt free. Rounding counts as a uniform error.
 */
export function bestReadingU(
  stations: readonly number[],
  shape: readonly number[],
  sd: number,
  rounding: number,
): number {
  const crest = Math.max(...shape.map(Math.abs));
  const fit = solveLeastSquares([stations.map(() => 1), stations, shape.map((y) => y / crest)], shape);
  return Math.sqrt(fit.unscaledCovariance[2]![2]! * (sd ** 2 + rounding ** 2 / 12));
}

/** Power against a stall from `m` readings after it began, at the tool's own error rate. */
export function bestPower(one: Plan, from: number, m: number, u: number): number {
  return normalCdf(USEFUL_GAIN * Math.sqrt(rateInformation(one, from, m, u)) - normalQuantile(SURE));
}

/**
 * Chance that even who knows the regime cannot place its rate on either side of the useful gain. A stall is a matter
 * of at least three movements: before the third it must not be called, and nothing else would be true.
 */
export function bestUndecided(one: Plan, cycle: number, u: number): number {
  const { rate, sinceChange } = rateAt(one, cycle);
  if (rate === 0 && sinceChange < 3) return 1;
  const m = one.process.kind === 'decaying' ? cycle : Math.min(sinceChange, 25);
  const distance = Math.abs(rate - USEFUL_GAIN) * Math.sqrt(rateInformation(one, cycle - m, m, u));
  const z = normalQuantile(SURE);
  return normalCdf(z - distance) - normalCdf(-z - distance);
}

/**
 * Chance that who knows the level of a stall from all its readings, and takes a share `alarms` of the cycles of a
 * standstill for movement, does not see the first movement after it.
 */
export function blindTo(rate: number, stallLength: number, u: number, alarms: number): number {
  const spread = Math.hypot(u, u / Math.sqrt(stallLength), SCATTER * rate);
  const still = Math.hypot(u, u / Math.sqrt(stallLength));
  return normalCdf((normalQuantile(1 - alarms) * still - rate) / spread);
}

/**
 * Information on the present rate from `m` readings after cycle `from`, all else known: readings are level + rate ×
 * (cycles, each weighed by its known share of the present rate) + a random walk of the heats' scatter + error.
 * Generalized least squares, the level with what the readings before it say.
 */
function rateInformation(one: Plan, from: number, m: number, u: number): number {
  let level = u * u;
  for (let k = 1; k <= from; k++) {
    const before = level + (SCATTER * nominalRate(one.process, k)) ** 2;
    level = (before * u * u) / (before + u * u);
  }
  const present = nominalRate(one.process, from + m);
  const step = Array.from({ length: m }, (_, i) => nominalRate(one.process, from + 1 + i));
  const reach: number[] = [];
  const walk: number[] = [];
  step.forEach((s, i) => {
    reach.push((reach[i - 1] ?? 0) + (present === 0 ? 1 : s / present));
    walk.push((walk[i - 1] ?? 0) + (SCATTER * s) ** 2);
  });
  const v = reach.map((_, i) => reach.map((__, j) => level + walk[Math.min(i, j)]! + (i === j ? u * u : 0)));
  const solved = solveSymmetric(v, reach);
  return solved.reduce((sum, value, i) => sum + value * reach[i]!, 0);
}

function solveSymmetric(matrix: number[][], right: number[]): number[] {
  const a = matrix.map((row, i) => [...row, right[i]!]);
  const n = right.length;
  for (let i = 0; i < n; i++) {
    for (let j = i + 1; j < n; j++) {
      const f = a[j]![i]! / a[i]![i]!;
      for (let k = i; k <= n; k++) a[j]![k]! -= f * a[i]![k]!;
    }
  }
  const x = new Array<number>(n).fill(0);
  for (let i = n - 1; i >= 0; i--) {
    let sum = a[i]![n]!;
    for (let k = i + 1; k < n; k++) sum -= a[i]![k]! * x[k]!;
    x[i] = sum / a[i]![i]!;
  }
  return x;
}
