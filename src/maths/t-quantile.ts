import stdlibTQuantile from '@stdlib/stats-base-dists-t-quantile';

/** The t with P(T ≤ t) = p for Student's distribution; p strictly between 0 and 1, degrees of freedom > 0. */
export function tQuantile(p: number, degreesOfFreedom: number): number {
  return stdlibTQuantile(p, degreesOfFreedom);
}
