import stdlibNormalCdf from '@stdlib/stats-base-dists-normal-cdf';
import stdlibNormalQuantile from '@stdlib/stats-base-dists-normal-quantile';

/** P(Z ≤ z) of the standard normal distribution. */
export function normalCdf(z: number): number {
  return stdlibNormalCdf(z, 0, 1);
}

/** The z with P(Z ≤ z) = p, standard normal; p strictly between 0 and 1. */
export function normalQuantile(p: number): number {
  return stdlibNormalQuantile(p, 0, 1);
}
