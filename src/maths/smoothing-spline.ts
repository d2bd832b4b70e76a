/**
 * The cubic smoothing spline of values with given standard deviations: what is most likely of a curve whose slope wanders as
 * a Wiener process (Reinsch 1967; Wahba 1978). Straight beyond its ends.
 * @param at increasing, two or more
 * @param sd of each value; of none all through, it is the natural cubic spline through them
 * @param wander variance of the slope's change per unit of length
 * @returns its value and slope anywhere
 */
export function smoothingSpline(
  at: readonly number[],
  value: readonly number[],
  sd: readonly number[],
  wander: number,
): (x: number) => readonly [value: number, slope: number] {
  const n = at.length;
  const h = Array.from({ length: n - 1 }, (_, i) => at[i + 1]! - at[i]!);
  const variance = sd.map((each) => (each * each) / wander);
  // (R + Q' V Q / wander) bends = Q' value, for the second derivatives at the inner points: five bands.
  const q = (i: number) => [1 / h[i - 1]!, -1 / h[i - 1]! - 1 / h[i]!, 1 / h[i]!] as const;
  const m = n - 2;
  const [d0, d1, d2, right] = [0, 1, 2, 3].map(() => new Float64Array(m)) as [
    Float64Array,
    Float64Array,
    Float64Array,
    Float64Array,
  ];
  for (let k = 0; k < m; k++) {
    const i = k + 1;
    const a = q(i);
    const v = (j: number) => variance[i - 1 + j]!;
    d0[k] = (h[i - 1]! + h[i]!) / 3 + a[0] * a[0] * v(0) + a[1] * a[1] * v(1) + a[2] * a[2] * v(2);
    if (k + 1 < m) {
      const b = q(i + 1);
      d1[k] = h[i]! / 6 + a[1] * b[0] * v(1) + a[2] * b[1] * v(2);
    }
    if (k + 2 < m) d2[k] = a[2] * q(i + 2)[0] * v(2);
    right[k] = a[0] * value[i - 1]! + a[1] * value[i]! + a[2] * value[i + 1]!;
  }
  const bends = solveFiveBands(d0, d1, d2, right);
  const bend = (i: number) => (i < 1 || i > m ? 0 : bends[i - 1]!);
  const fitted = value.map((each, i) => {
    let pull = 0;
    for (let k = Math.max(1, i - 1); k <= Math.min(m, i + 1); k++) pull += q(k)[i - k + 1]! * bend(k);
    return each - variance[i]! * pull;
  });
  return (x) => {
    let i = 0;
    while (i + 2 < n && at[i + 1]! <= x) i++;
    const [a, b] = [(at[i + 1]! - x) / h[i]!, (x - at[i]!) / h[i]!];
    const chord = (fitted[i + 1]! - fitted[i]!) / h[i]!;
    const [p, r] = [bend(i), bend(i + 1)];
    const slope = (s: number) => chord + (h[i]! / 6) * (r * (3 * s * s - 1) - p * (3 * (1 - s) ** 2 - 1));
    if (b < 0) return [fitted[i]! + slope(0) * (x - at[i]!), slope(0)];
    if (b > 1) return [fitted[i + 1]! + slope(1) * (x - at[i + 1]!), slope(1)];
    const curved = ((a ** 3 - a) * p + (b ** 3 - b) * r) * (h[i]! ** 2 / 6);
    return [a * fitted[i]! + b * fitted[i + 1]! + curved, slope(b)];
  };
}

/** A symmetric matrix of five bands, by its diagonal and the two above it (L D L'); overwrites them. */
function solveFiveBands(
  d0: Float64Array,
  d1: Float64Array,
  d2: Float64Array,
  right: Float64Array,
): Float64Array {
  const n = right.length;
  const x = Float64Array.from(right);
  for (let k = 0; k < n; k++) {
    const [a, b] = [d1[k]! / d0[k]!, d2[k]! / d0[k]!];
    if (k + 1 < n) {
      d0[k + 1]! -= a * d1[k]!;
      d1[k + 1]! -= a * d2[k]!;
      x[k + 1]! -= a * x[k]!;
    }
    if (k + 2 < n) {
      d0[k + 2]! -= b * d2[k]!;
      x[k + 2]! -= b * x[k]!;
    }
    d1[k] = a;
    d2[k] = b;
  }
  for (let k = n - 1; k >= 0; k--)
    x[k] = x[k]! / d0[k]! - d1[k]! * (x[k + 1] ?? 0) - d2[k]! * (x[k + 2] ?? 0);
  return x;
}
