import { normalCdf } from '../maths/distributions.ts';
import { exp, log } from '../maths/portable.ts';

/** What one job says about a quantity: an estimate with its own standard error, and how far it counts. */
export interface Estimate {
  readonly job: string;
  readonly value: number;
  /** Standard error from that job alone. */
  readonly u: number;
  /** Likeness to the job at hand, 0 (says nothing) to 1 (counts whole). */
  readonly weight: number;
}

/** What is held true before any job: the mean of all jobs, how sure that is, and how far jobs differ. */
export interface Prior {
  readonly mean: number;
  readonly meanU: number;
  /** Scale of the half-Cauchy prior on the spread between jobs. */
  readonly spread: number;
  /** Spreads beyond this many of that scale are ruled out; left out: 40, far enough that it does not matter. */
  readonly farthest?: number;
  /** Where it comes from, in one sentence. */
  readonly source: string;
}

/** A quantity of the job at hand: a mixture of normal distributions, one a spread between jobs that could be true. */
export interface Pooled {
  readonly mean: number;
  readonly sd: number;
  readonly parts: readonly { readonly weight: number; readonly mean: number; readonly sd: number }[];
  /** Mean of the population of jobs, and the spread between jobs, with their posterior means. */
  readonly population: { readonly mean: number; readonly spread: number };
}

/** Spreads tried, as multiples of the prior's scale: fine where the half-Cauchy has its mass. */
const STEPS = 120;
const FARTHEST = 40;

/**
 * Partial pooling of jobs (the normal-normal hierarchical model): estimate_j ~ N(θ_j, u_j²), θ_j ~ N(μ, τ²), with
 * μ ~ N(mean, meanU²) and τ half-Cauchy. The job at hand is one more draw θ ~ N(μ, τ²), seen through its own
 * estimate where it has one. μ and θ are integrated in closed form, τ on a grid (Gelman et al., Bayesian Data
 * Analysis, 5.4). Few jobs leave it near the prior; many take over; an unlike job counts with the power of its weight.
 *
 * @param own what the job at hand has shown itself; null before it has shown anything
 */
export function pool(
  prior: Prior,
  others: readonly Estimate[],
  own: Omit<Estimate, 'weight' | 'job'> | null,
): Pooled {
  const counted = others.filter((each) => each.weight > 0);
  const farthest = prior.farthest ?? FARTHEST;
  const points = Array.from({ length: STEPS }, (_, i) => {
    // Even steps of the half-Cauchy's distribution function for small spreads, of the logarithm beyond: τ = s·t.
    const t = farthest * ((i + 0.5) / STEPS) ** 3;
    const width = (3 * farthest * ((i + 0.5) / STEPS) ** 2) / STEPS;
    return atSpread(prior, counted, own, prior.spread * t, log(width / (1 + t * t)));
  });
  const top = Math.max(...points.map((point) => point.logWeight));
  const weights = points.map((point) => exp(point.logWeight - top));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const parts = points.map((point, i) => ({ weight: weights[i]! / total, mean: point.mean, sd: point.sd }));
  const average = (of: (point: (typeof points)[number]) => number) =>
    points.reduce((sum, point, i) => sum + (weights[i]! / total) * of(point), 0);
  const mean = average((point) => point.mean);
  return {
    mean,
    sd: Math.sqrt(average((point) => point.sd ** 2 + (point.mean - mean) ** 2)),
    parts: parts.filter((part) => part.weight > 1e-6),
    population: { mean: average((point) => point.mu), spread: average((point) => point.spread) },
  };
}

function atSpread(
  prior: Prior,
  others: readonly Estimate[],
  own: { readonly value: number; readonly u: number } | null,
  spread: number,
  logPrior: number,
) {
  let precision = 1 / prior.meanU ** 2;
  let weighted = prior.mean * precision;
  let logLikelihood = 0;
  let squares = prior.mean ** 2 * precision;
  // A job of weight w counts as its likelihood to the power w: its precision is w times as large.
  for (const { value, u, weight } of others) {
    const variance = spread ** 2 + u ** 2;
    precision += weight / variance;
    weighted += (weight * value) / variance;
    squares += (weight * value ** 2) / variance;
    logLikelihood -= 0.5 * weight * log(variance);
  }
  if (own !== null) {
    const variance = spread ** 2 + own.u ** 2;
    const [mean, before] = [weighted / precision, 1 / precision];
    // Density of the job's own estimate, seen from what the others say.
    logLikelihood -= 0.5 * (log(before + variance) + (own.value - mean) ** 2 / (before + variance));
  }
  logLikelihood -= 0.5 * (log(precision) + squares - weighted ** 2 / precision);
  const mu = weighted / precision;
  const before = { mean: mu, variance: 1 / precision + spread ** 2 };
  const after =
    own === null
      ? before
      : {
          mean: (before.mean * own.u ** 2 + own.value * before.variance) / (own.u ** 2 + before.variance),
          variance: (own.u ** 2 * before.variance) / (own.u ** 2 + before.variance),
        };
  return {
    logWeight: logPrior + logLikelihood,
    mean: after.mean,
    sd: Math.sqrt(after.variance),
    mu,
    spread,
  };
}

/** The value below which the quantity lies with probability p. By bisection: the mixture has no closed form. */
export function pooledQuantile(pooled: Pooled, p: number): number {
  let low = pooled.mean - 12 * pooled.sd;
  let high = pooled.mean + 12 * pooled.sd;
  for (let i = 0; i < 60; i++) {
    const middle = (low + high) / 2;
    const below = pooled.parts.reduce(
      (sum, part) => sum + part.weight * normalCdf((middle - part.mean) / part.sd),
      0,
    );
    if (below < p) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}

/** One draw of the quantity. */
export function drawPooled(pooled: Pooled, uniform: () => number, normal: () => number): number {
  let left = uniform();
  for (const part of pooled.parts) {
    left -= part.weight;
    if (left <= 0) return part.mean + part.sd * normal();
  }
  const last = pooled.parts.at(-1)!;
  return last.mean + last.sd * normal();
}
