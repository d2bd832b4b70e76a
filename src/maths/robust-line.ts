import { solveLeastSquares } from './least-squares.ts';
import { power } from './portable.ts';

export interface RobustPolynomial {
  /** Σ coefficients[k]·(x − about)^k */
  readonly about: number;
  readonly coefficients: readonly number[];
  /** Of the coefficients. */
  readonly covariance: readonly (readonly number[])[];
  /** Points kept. */
  readonly kept: readonly boolean[];
  /** Sd of the kept points about the fit, n − p; 0 where nothing is left over. */
  readonly residualSd: number;
}

/**
 * Polynomial of degree 0–2 by least squares over the points not further than `cut` sd from a robust start
 * (least median of squares over all exact fits of a spread-out subset; Rousseeuw 1984), iterated until the kept
 * set no longer changes. Deterministic. `sd` is that of one point, and the floor of the scale.
 */
export function robustPolynomial(
  x: readonly number[],
  y: readonly number[],
  sd: readonly number[],
  degree: 0 | 1 | 2,
  cut = 4,
): RobustPolynomial {
  const n = x.length;
  const about = n > 0 ? (Math.min(...x) + Math.max(...x)) / 2 : 0;
  const distinct = new Set(x).size;
  const used = Math.max(0, Math.min(degree, distinct - 1)) as 0 | 1 | 2;
  let kept = new Array<boolean>(n).fill(true);
  if (n > used + 2) {
    const start = leastMedian(x, y, sd, used);
    const at = through(start);
    kept = y.map((value, i) => Math.abs(value - at(x[i]!)) <= cut * sd[i]!);
    if (kept.filter(Boolean).length < Math.max(used + 1, n / 2)) {
      const off = y.map((value, i) => Math.abs(value - at(x[i]!)) / sd[i]!);
      const middle = off.slice().sort((a, b) => a - b)[Math.floor(n / 2)]!;
      kept = off.map((value) => value <= middle);
    }
  }
  for (let pass = 0; ; pass++) {
    const fit = solvePolynomial(x, y, sd, used, about, kept);
    if (pass === 20 || n <= used + 2) return { ...fit, about, kept };
    const next = y.map((value, i) => {
      let predicted = 0;
      for (let k = used; k >= 0; k--) predicted = predicted * (x[i]! - about) + fit.coefficients[k]!;
      return Math.abs(value - predicted) <= cut * sd[i]!;
    });
    const same = next.every((value, i) => value === kept[i]);
    if (same || next.filter(Boolean).length < used + 1) return { ...fit, about, kept };
    kept = next;
  }
}

function solvePolynomial(
  x: readonly number[],
  y: readonly number[],
  sd: readonly number[],
  degree: number,
  about: number,
  kept: readonly boolean[],
) {
  const columns = Array.from({ length: degree + 1 }, (_, k) => x.map((value) => power(value - about, k)));
  const weights = sd.map((value, i) => (kept[i] ? 1 / value ** 2 : 0));
  const fit = solveLeastSquares(columns, y, weights);
  let sum = 0;
  let count = 0;
  fit.residuals.forEach((r, i) => {
    if (!kept[i]) return;
    sum += r * r;
    count++;
  });
  return {
    coefficients: fit.coefficients,
    covariance: fit.unscaledCovariance,
    residualSd: count > fit.rank ? Math.sqrt(sum / (count - fit.rank)) : 0,
  };
}

interface Exact {
  readonly x: readonly number[];
  readonly y: readonly number[];
}

/** The polynomial through the points, in Lagrange's form; written out for one point and two, which are asked for most. */
function through({ x, y }: Exact): (at: number) => number {
  if (x.length === 1) return () => y[0]!;
  if (x.length === 2) {
    const [x0, x1] = [x[0]!, x[1]!];
    const [y0, y1] = [y[0]!, y[1]!];
    const gap = x0 - x1;
    const back = x1 - x0;
    return (at) => y0 * ((at - x1) / gap) + y1 * ((at - x0) / back);
  }
  return (at) => {
    let sum = 0;
    for (let i = 0; i < x.length; i++) {
      let term = y[i]!;
      for (let j = 0; j < x.length; j++) if (j !== i) term *= (at - x[j]!) / (x[i]! - x[j]!);
      sum += term;
    }
    return sum;
  };
}

function leastMedian(
  x: readonly number[],
  y: readonly number[],
  sd: readonly number[],
  degree: number,
): Exact {
  const order = x.map((_, i) => i).sort((a, b) => x[a]! - x[b]!);
  const most = degree === 2 ? 24 : 60;
  const step = Math.max(1, order.length / most);
  const subset: number[] = [];
  for (let k = 0; k < order.length; k += step) subset.push(order[Math.floor(k)]!);
  let best: Exact = { x: [x[order[0]!]!], y: [y[order[0]!]!] };
  let least = Number.POSITIVE_INFINITY;
  const n = x.length;
  const half = Math.floor(n / 2);
  const off = new Float64Array(n);
  const tryPoints = (points: readonly number[]) => {
    const exact = { x: points.map((i) => x[i]!), y: points.map((i) => y[i]!) };
    if (new Set(exact.x).size < points.length) return;
    const at = through(exact);
    // The median can only be less than the least so far while no more than the upper half is not.
    let room = n - half;
    for (let i = 0; i < n; i++) {
      off[i] = Math.abs(y[i]! - at(x[i]!)) / sd[i]!;
      if (!(off[i]! < least) && --room === 0) return;
    }
    off.sort();
    if (off[half]! < least) {
      least = off[half]!;
      best = exact;
    }
  };
  for (let a = 0; a < subset.length; a++) {
    if (degree === 0) tryPoints([subset[a]!]);
    else
      for (let b = a + 1; b < subset.length; b++) {
        if (degree === 1) tryPoints([subset[a]!, subset[b]!]);
        else for (let c = b + 1; c < subset.length; c++) tryPoints([subset[a]!, subset[b]!, subset[c]!]);
      }
  }
  return best;
}
