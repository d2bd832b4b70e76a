/**
 * Second divided difference of three points: the second derivative (1/m) of the parabola through them.
 * Exact on parabolas and zero on every straight line, at any spacing. At equal spacing h it is the
 * published (y₁ − 2y₂ + y₃)/h².
 */
export function secondDifference(
  x: readonly [number, number, number],
  y: readonly [number, number, number],
): number {
  const [a, b, c] = secondDifferenceWeights(x);
  return a * y[0] + b * y[1] + c * y[2];
}

/** Weights of the three offsets in the second divided difference, 1/m². */
export function secondDifferenceWeights(x: readonly [number, number, number]): [number, number, number] {
  const before = x[1] - x[0];
  const after = x[2] - x[1];
  const both = x[2] - x[0];
  return [2 / (before * both), -2 / (before * after), 2 / (after * both)];
}
