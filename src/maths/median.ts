/**
 * Middle value; the mean of the two middle values for an even count (the convention of R and scipy).
 *
 * @param values at least one number
 */
export function median(values: ArrayLike<number>): number {
  if (values.length === 0) throw new RangeError('median requires at least 1 value');
  // A typed array sorts by number without calling back: several times as fast.
  const sorted = new Float64Array(values).sort();
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[half]! : (sorted[half - 1]! + sorted[half]!) / 2;
}

/** The same of any list of numbers; not a number for an empty one. */
export function medianOrNaN(values: ArrayLike<number>): number {
  return values.length === 0 ? Number.NaN : median(values);
}
