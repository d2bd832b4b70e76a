/** Straight-line interpolation; held constant outside the stations. */
export function interpolate(stations: readonly number[], values: readonly number[], at: number): number {
  const { left, share } = locate(stations, at);
  const next = Math.min(left + 1, values.length - 1);
  return values[left]! * (1 - share) + values[next]! * share;
}

/** Index of the station left of `at` and how far along to the next, 0 to 1. */
export function locate(stations: readonly number[], at: number): { left: number; share: number } {
  let low = 0;
  let high = stations.length - 1;
  if (at <= stations[0]!) return { left: 0, share: 0 };
  if (at >= stations[high]!) return { left: high, share: 0 };
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if (stations[middle]! <= at) low = middle;
    else high = middle;
  }
  return { left: low, share: (at - stations[low]!) / (stations[high]! - stations[low]!) };
}
