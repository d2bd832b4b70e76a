/**
 * Middle value; the mean of the two middle values for an even count (the convention of R and scipy).
 *
 * @param values at least one number
 */
export function median(values: ArrayLike<number>): number {
  if (values.length === 0) throw new RangeError('median requires at least 1 value');
  // A typed array sorts by number without calling back: several times as fast.
  const own = new Float64Array(values);
  const half = own.length >> 1;
  if (own.length < LARGE || !select(own, half)) own.sort();
  if (own.length % 2 === 1) return own[half]!;
  let below = own[0]!;
  for (let i = 1; i < half; i++) if (own[i]! > below) below = own[i]!;
  return (below + own[half]!) / 2;
}

/** From so many numbers on it takes less time to find the middle than to sort. */
const LARGE = 64;

/**
 * Puts the number that sorting would put at `k` there, none larger before it and none smaller behind (Hoare 1961, FIND);
 * false where a number is none, which has no place in an order.
 */
function select(own: Float64Array, k: number): boolean {
  for (let i = 0; i < own.length; i++) if (Number.isNaN(own[i])) return false;
  for (let low = 0, high = own.length - 1; low < high; ) {
    const pivot = own[k]!;
    let [i, j] = [low, high];
    while (i <= j) {
      while (own[i]! < pivot) i++;
      while (own[j]! > pivot) j--;
      if (i <= j) {
        const held = own[i]!;
        own[i++] = own[j]!;
        own[j--] = held;
      }
    }
    if (j < k) low = i;
    if (k < i) high = j;
  }
  return true;
}

/** The same of any list of numbers; not a number for an empty one. */
export function medianOrNaN(values: ArrayLike<number>): number {
  return values.length === 0 ? Number.NaN : median(values);
}
