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
  /** What tells it apart, less the same of the job at hand (`Term`); left out: 0. */
  readonly apart?: number;
}

/** A straight-line effect of what tells jobs apart (crews that learn, damage that is larger), learnt along with the rest. */
export interface Term {
  /** Change of the quantity with one unit of it, before any job, and how sure that is. */
  readonly slope: number;
  readonly slopeU: number;
  /** Where the prior's mean holds, less the same of the job at hand; left out: 0. */
  readonly priorApart?: number;
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
  readonly parts: readonly PooledPart[];
  /** Mean of the population of jobs, and the spread between jobs, with their posterior means. */
  readonly population: { readonly mean: number; readonly spread: number };
  /** Posterior mean and sd of the term's slope; null without a term. */
  readonly slope: { readonly mean: number; readonly sd: number } | null;
}

/** One normal distribution of the mixture, where the term is that of the job at hand, and how it goes with the term's slope. */
export interface PooledPart {
  readonly weight: number;
  readonly mean: number;
  readonly sd: number;
  readonly slope: { readonly mean: number; readonly variance: number; readonly covariance: number };
}

/** Spreads tried, as multiples of the prior's scale: fine where the half-Cauchy has its mass. */
const STEPS = 120;
const FARTHEST = 40;

/**
 * Partial pooling of jobs (the normal-normal hierarchical model): estimate_j ~ N(θ_j, u_j²), θ_j ~ N(μ, τ²), with
 * μ ~ N(mean, meanU²) and τ half-Cauchy. The job at hand is one more draw θ ~ N(μ, τ²), seen through its own
 * estimate where it has one. μ and θ are integrated in closed form, τ on a grid (Gelman et al., Bayesian Data
 * Analysis, 5.4). Few jobs leave it near the prior; many take over; an unlike job counts with the power of its weight.
 * With a term θ_j ~ N(μ + β·apart_j, τ²), β ~ N(slope, slopeU²), integrated along with μ.
 *
 * @param own what the job at hand has shown itself; null before it has shown anything
 */
export function pool(
  prior: Prior,
  others: readonly Estimate[],
  own: { readonly value: number; readonly u: number } | null,
  term: Term | null = null,
): Pooled {
  const counted = others.filter((each) => each.weight > 0);
  const farthest = prior.farthest ?? FARTHEST;
  const points = Array.from({ length: STEPS }, (_, i) => {
    // Even steps of the half-Cauchy's distribution function for small spreads, of the logarithm beyond: τ = s·t.
    const t = farthest * ((i + 0.5) / STEPS) ** 3;
    const width = (3 * farthest * ((i + 0.5) / STEPS) ** 2) / STEPS;
    return atSpread(prior, counted, own, term, prior.spread * t, log(width / (1 + t * t)));
  });
  const top = Math.max(...points.map((point) => point.logWeight));
  const weights = points.map((point) => exp(point.logWeight - top));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  const parts = points.map((point, i) => ({
    weight: weights[i]! / total,
    mean: point.mean,
    sd: point.sd,
    slope: { mean: point.slope, variance: point.slopeVariance, covariance: point.covariance },
  }));
  const average = (of: (point: (typeof points)[number]) => number) =>
    points.reduce((sum, point, i) => sum + (weights[i]! / total) * of(point), 0);
  const mean = average((point) => point.mean);
  const slope = average((point) => point.slope);
  const slopeSd = Math.sqrt(average((point) => point.slopeVariance + (point.slope - slope) ** 2));
  return {
    mean,
    sd: Math.sqrt(average((point) => point.sd ** 2 + (point.mean - mean) ** 2)),
    parts: parts.filter((part) => part.weight > 1e-6),
    population: { mean: average((point) => point.mu), spread: average((point) => point.spread) },
    slope: term === null ? null : { mean: slope, sd: slopeSd },
  };
}

/**
 * The posterior at one spread between jobs. Jobs are taken in one by one (the update of a linear Gaussian state, here
 * μ and β: numerically as good as a QR of all of them at once, and no system to solve).
 */
function atSpread(
  prior: Prior,
  others: readonly Estimate[],
  own: { readonly value: number; readonly u: number } | null,
  term: Term | null,
  spread: number,
  logPrior: number,
) {
  let slope = term?.slope ?? 0;
  let bb = (term?.slopeU ?? 0) ** 2;
  // The prior speaks of μ + β·from; here stands what that says of μ, with the covariance of μ and β.
  const from = term?.priorApart ?? 0;
  let mu = prior.mean - slope * from;
  let [mm, mb] = [prior.meanU ** 2 + from ** 2 * bb, -from * bb];
  let logLikelihood = 0;
  for (const { value, u, weight, apart: x = 0 } of others) {
    const variance = spread ** 2 + u ** 2;
    // A job of weight w counts as its likelihood to the power w: its precision is w times as large.
    const noise = variance / weight;
    const [gainM, gainB] = [mm + x * mb, mb + x * bb];
    const total = gainM + x * gainB + noise;
    const off = value - mu - x * slope;
    logLikelihood -= 0.5 * (log(total / noise) + weight * log(variance) + off ** 2 / total);
    mu += (gainM / total) * off;
    slope += (gainB / total) * off;
    [mm, mb, bb] = [mm - gainM ** 2 / total, mb - (gainM * gainB) / total, bb - gainB ** 2 / total];
  }
  if (own !== null) {
    // Density of the job's own estimate, seen from what the others say.
    const total = mm + spread ** 2 + own.u ** 2;
    logLikelihood -= 0.5 * (log(total) + (own.value - mu) ** 2 / total);
  }
  const before = { mean: mu, variance: mm + spread ** 2 };
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
    slope,
    slopeVariance: bb,
    // What the job has shown itself stands where it is: the slope then says how others differ from it.
    covariance: own === null ? mb : 0,
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

/**
 * One draw of the quantity.
 *
 * @param apart what the term is of, less the same of the job at hand as it was pooled for: where a future turns out otherwise
 */
export function drawPooled(
  pooled: Pooled,
  uniform: () => number,
  normal: () => number,
  apart: number = 0,
): number {
  let left = uniform();
  const part =
    pooled.parts.find((each) => {
      left -= each.weight;
      return left <= 0;
    }) ?? pooled.parts.at(-1)!;
  const { mean, variance, covariance } = part.slope;
  const spread = Math.sqrt(Math.max(0, part.sd ** 2 + 2 * apart * covariance + apart ** 2 * variance));
  return part.mean + apart * mean + spread * normal();
}
