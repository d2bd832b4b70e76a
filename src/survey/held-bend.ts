import { Qr } from '../maths/qr.ts';

/** Stations that stay on the string, m, increasing: first and last bearing and the piers between them. */
export type HeldAt = readonly number[];

/**
 * The shape a member takes when its steel bends as `free` says and it is held at its bearings: `free` less the elastic line
 * through what it would be at them. An elastic beam that forces push at single places only is a natural cubic spline
 * (moment linear between the places, none at the ends), so that line is one; with two bearings it is their chord.
 *
 * @param free any shape whose bends are those of the steel, m
 * @returns metres at a station between the bearings
 */
export function heldShape(free: (x: number) => number, held: HeldAt): (x: number) => number {
  const values = held.map(free);
  const curvatures = naturalSpline(held, values);
  const last = held.length - 2;
  return (x) => {
    let i = 0;
    while (i < last && x >= held[i + 1]!) i++;
    const [from, to] = [held[i]!, held[i + 1]!];
    const h = to - from;
    const b = (x - from) / h;
    const a = 1 - b;
    const line =
      a * values[i]! +
      b * values[i + 1]! +
      ((a * a * a - a) * curvatures[i]! + (b * b * b - b) * curvatures[i + 1]!) * ((h * h) / 6);
    return free(x) - line;
  };
}

/** Second derivatives at the knots of the cubic spline that has none at its ends. */
function naturalSpline(knots: readonly number[], values: readonly number[]): readonly number[] {
  const inner = knots.length - 2;
  if (inner <= 0) return knots.map(() => 0);
  const h = (i: number) => knots[i + 1]! - knots[i]!;
  const slope = (i: number) => (values[i + 1]! - values[i]!) / h(i);
  const qr = new Qr(inner);
  for (let k = 1; k <= inner; k++) {
    const column = new Float64Array(inner);
    if (k > 1) column[k - 2] = h(k - 1);
    column[k - 1] = 2 * (h(k - 1) + h(k));
    if (k < inner) column[k] = h(k);
    qr.push(column);
  }
  const right = Float64Array.from({ length: inner }, (_, i) => 6 * (slope(i + 1) - slope(i)));
  return [0, ...qr.solve(qr.apply(right)), 0];
}
