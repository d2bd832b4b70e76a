import { normalCdf } from './distributions.ts';
import { exp, log, power } from './portable.ts';

/** One value in time order with the standard uncertainty of its own reading. */
export interface TimedValue {
  readonly at: number;
  readonly value: number;
  readonly u: number;
}

export interface RegimeSettings {
  /** Probability that a new regime begins after any one reading. */
  readonly hazard: number;
  /** Ways the first regime and every later one may run. */
  readonly first: readonly Run[];
  readonly later: readonly Run[];
  /** Scatter of one step's movement as a fraction of the movement itself. */
  readonly scatters: readonly Weighted[];
  /** Factors on every `u`, for readings worse than stated. */
  readonly noises: readonly Weighted[];
  /** Scatter of the movement per unit time that does not depend on the rate. */
  readonly floor: number;
}

/** One way a regime may run: what its rate may be, and how it goes on. */
export interface Run {
  /** 1 = constant rate; φ < 1: each step's rate is φ times the one before. */
  readonly decay: number;
  /** Sd of the rate of the first step, about zero. */
  readonly rateSd: number;
  readonly weight: number;
  /** True for a run that is assumed to stand still; see `withoutAssumption`. */
  readonly standstill?: boolean;
}

export interface Weighted {
  readonly factor: number;
  readonly weight: number;
}

/** One possible history: when the present regime began and how it runs, with what that says about level and rate now. */
export interface Regime {
  /** Index of the reading after which this regime runs. */
  readonly start: number;
  readonly decay: number;
  /** True where standing still was assumed, not read. */
  readonly standstill: boolean;
  readonly scatter: number;
  readonly noise: number;
  /** Posterior probability. */
  readonly weight: number;
  readonly level: number;
  /** Rate of the last step. */
  readonly rate: number;
  readonly levelVariance: number;
  readonly covariance: number;
  readonly rateVariance: number;
}

/**
 * Weighs every possible beginning of the present regime by how well it predicts the readings.
 *
 * The true level moves by its rate each step, with scatter proportional to the movement; a reading adds its own
 * error. After any reading a new regime may begin with an unknown rate. For each beginning a Kalman filter
 * carries level and rate; when a new regime begins, the level is carried over from all histories (matched in mean
 * and variance) and the rate starts anew. So nothing is decided about *where* the rate changed before it is said
 * *what* the rate is: the doubt about the first is part of the uncertainty of the second.
 * Sources: Adams & MacKay 2007 (run lengths), Chib 1998 and Fearnhead 2006 (exact filtering of change points),
 * West & Harrison, Bayesian Forecasting and Dynamic Models (mixtures, collapsing, discount of a slope).
 *
 * Departure: scatter depends on the rate, which is not linear; it is evaluated at the rate estimated with the
 * present reading included (one iteration).
 *
 * Cost: O(n²) filter steps per combination of settings, meant for tens of readings.
 *
 * @param values at least one, `at` not decreasing, u > 0
 * @returns regimes with weights summing to 1, most probable first
 */
export function filterRegimes(values: readonly TimedValue[], settings: RegimeSettings): Regime[] {
  if (values.length === 0) throw new RangeError('filterRegimes requires at least 1 value');
  const cells: { log: number; regimes: Working[]; scatter: number; noise: number }[] = [];
  for (const scatter of settings.scatters) {
    for (const noise of settings.noises) {
      const cell = runCell(values, settings, scatter.factor, noise.factor);
      cells.push({
        log: cell.evidence + log(scatter.weight * noise.weight),
        regimes: cell.regimes,
        scatter: scatter.factor,
        noise: noise.factor,
      });
    }
  }
  const top = Math.max(...cells.map((cell) => cell.log));
  const total = cells.reduce((sum, cell) => sum + exp(cell.log - top), 0);
  return cells
    .flatMap((cell) =>
      cell.regimes.map((r) => ({
        start: r.start,
        decay: r.decay,
        standstill: r.standstill,
        scatter: cell.scatter,
        noise: cell.noise,
        weight: (r.weight * exp(cell.log - top)) / total,
        level: r.level,
        rate: r.rate,
        levelVariance: r.v00,
        covariance: r.v01,
        rateVariance: r.v11,
      })),
    )
    .filter((r) => r.weight > TRACE)
    .sort((a, b) => b.weight - a.weight);
}

interface Working {
  start: number;
  decay: number;
  standstill: boolean;
  weight: number;
  /** Log of weight times density of the reading just seen. */
  log: number;
  level: number;
  rate: number;
  v00: number;
  v01: number;
  v11: number;
}

/** Histories whose weight is below this are dropped, on the way and at the end: together they cannot change any printed figure. */
const NEGLIGIBLE = 1e-8;
const TRACE = 1e-6;

function runCell(
  values: readonly TimedValue[],
  settings: RegimeSettings,
  scatter: number,
  noise: number,
): { evidence: number; regimes: Working[] } {
  const first = values[0]!;
  const v0 = (noise * first.u) ** 2;
  let regimes = begin(0, first.value, v0, settings.first, 1);
  let evidence = 0;
  for (let k = 1; k < values.length; k++) {
    const value = values[k]!;
    const step = value.at - values[k - 1]!.at;
    if (k > 1 && step > 0) {
      const born = begin(k - 1, ...levelOf(regimes), settings.later, settings.hazard);
      for (const r of regimes) r.weight *= 1 - settings.hazard;
      regimes.push(...born);
    }
    const readingVariance = (noise * value.u) ** 2;
    let top = Number.NEGATIVE_INFINITY;
    for (const r of regimes) {
      r.log = log(r.weight) + advance(r, step, value.value, readingVariance, scatter, settings.floor);
      if (r.log > top) top = r.log;
    }
    let total = 0;
    for (const r of regimes) {
      r.weight = exp(r.log - top);
      total += r.weight;
    }
    evidence += top + log(total);
    for (const r of regimes) r.weight /= total;
    regimes = regimes.filter((r) => r.weight > NEGLIGIBLE);
  }
  return { evidence, regimes };
}

function begin(
  start: number,
  level: number,
  levelVariance: number,
  runs: readonly Run[],
  weight: number,
): Working[] {
  return runs.map((run) => ({
    start,
    decay: run.decay,
    standstill: run.standstill ?? false,
    weight: weight * run.weight,
    log: 0,
    level,
    rate: 0,
    v00: levelVariance,
    v01: 0,
    // The first step multiplies the rate by the decay; undo it, so that the first movement has sd rateSd.
    v11: (run.rateSd / run.decay) ** 2,
  }));
}

/** Mean and variance of the level over all histories. */
function levelOf(regimes: readonly Working[]): [number, number] {
  const mean = regimes.reduce((sum, r) => sum + r.weight * r.level, 0);
  const variance = regimes.reduce((sum, r) => sum + r.weight * (r.v00 + (r.level - mean) ** 2), 0);
  return [mean, variance];
}

/** One step and one reading, in place; returns the log density of the reading. */
function advance(
  r: Working,
  step: number,
  value: number,
  readingVariance: number,
  scatter: number,
  floor: number,
): number {
  const carry = step === 1 ? r.decay : power(r.decay, step);
  const reach = step === 1 ? r.decay : reachOf(r.decay, step);
  const level = r.level + reach * r.rate;
  const rate = carry * r.rate;
  const p00 = r.v00 + 2 * reach * r.v01 + reach * reach * r.v11;
  const p01 = carry * (r.v01 + reach * r.v11);
  const p11 = carry * carry * r.v11;
  const innovation = value - level;
  const base = floor * floor * step;
  const quiet = p00 + base + readingVariance;
  const rateSeen = rate + (p01 / quiet) * innovation;
  const process = base + (scatter * rateSeen) ** 2 * step;
  const total = p00 + process + readingVariance;
  const gain0 = (p00 + process) / total;
  const gain1 = p01 / total;
  r.level = level + gain0 * innovation;
  r.rate = rate + gain1 * innovation;
  r.v00 = (1 - gain0) * (p00 + process);
  r.v01 = (1 - gain0) * p01;
  r.v11 = p11 - gain1 * p01;
  return -0.5 * (log(2 * Math.PI * total) + (innovation * innovation) / total);
}

/**
 * The same regimes with nothing assumed about the rate: histories that assume a standstill help to find *when* the
 * rate changed, but must not say *what* it is, or a standstill would be read out of noise. Their weight goes to the
 * other histories with the same beginning.
 */
export function withoutAssumption(regimes: readonly Regime[]): Regime[] {
  const all = new Map<number, number>();
  const read = new Map<number, number>();
  for (const r of regimes) {
    all.set(r.start, (all.get(r.start) ?? 0) + r.weight);
    if (!r.standstill) read.set(r.start, (read.get(r.start) ?? 0) + r.weight);
  }
  return regimes
    .filter((r) => !r.standstill)
    .map((r) => ({ ...r, weight: (r.weight * all.get(r.start)!) / read.get(r.start)! }));
}

/** Level change over `step` for a rate of 1 at the start: φ + φ² + … + φ^step. */
export function reachOf(decay: number, step: number): number {
  return decay === 1 ? step : (decay * (1 - power(decay, step))) / (1 - decay);
}

/** P(rate ≤ x) over a weighted set of regimes (weights need not sum to 1). */
export function rateCdf(regimes: readonly Regime[], x: number): number {
  let sum = 0;
  let total = 0;
  for (const r of regimes) {
    sum += r.weight * normalCdf((x - r.rate) / Math.sqrt(r.rateVariance));
    total += r.weight;
  }
  return sum / total;
}

/** P(level ≤ x) likewise. */
export function levelCdf(regimes: readonly Regime[], x: number): number {
  let sum = 0;
  let total = 0;
  for (const r of regimes) {
    sum += r.weight * normalCdf((x - r.level) / Math.sqrt(r.levelVariance));
    total += r.weight;
  }
  return sum / total;
}

/** The rate with P(rate ≤ x) = p, by bisection. */
export function rateQuantile(regimes: readonly Regime[], p: number): number {
  let low = Math.min(...regimes.map((r) => r.rate - 9 * Math.sqrt(r.rateVariance)));
  let high = Math.max(...regimes.map((r) => r.rate + 9 * Math.sqrt(r.rateVariance)));
  for (let i = 0; i < 32; i++) {
    const middle = (low + high) / 2;
    if (rateCdf(regimes, middle) < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** Weighted means of level and rate, with the standard deviation of the level. */
export function meanOf(regimes: readonly Regime[]): { level: number; levelU: number; rate: number } {
  const total = regimes.reduce((sum, r) => sum + r.weight, 0);
  const level = regimes.reduce((sum, r) => sum + r.weight * r.level, 0) / total;
  const rate = regimes.reduce((sum, r) => sum + r.weight * r.rate, 0) / total;
  const variance =
    regimes.reduce((sum, r) => sum + r.weight * (r.levelVariance + (r.level - level) ** 2), 0) / total;
  return { level, levelU: Math.sqrt(variance), rate };
}
