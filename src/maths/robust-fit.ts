export interface RobustFit {
  readonly coefficients: readonly number[];
  readonly residuals: readonly number[];
  /** Robust standard deviation of the residuals (1.4826·MAD), not below `floor`. */
  readonly scale: number;
}

/**
 * Robust linear fit of y on the given columns: least absolute deviations first (weights 1/|r|), because blunders that all lie on one
 * side drag a squared start with them; then Tukey's biweight (tuning 4.685, 95 % efficiency; Huber & Ronchetti,
 * *Robust Statistics*, from memory). Each step by QR. Null where the columns do not determine a fit. Used to compare
 * a survey with the one before, not for reported numbers.
 */
export function robustFit(
  columns: readonly (readonly number[])[],
  y: readonly number[],
  floor: number,
): RobustFit | null {
  const n = y.length;
  const p = columns.length;
  if (n < p + 2) return null;
  // One kind of array through all the steps: told apart at every element, they took a third of the time. What `map` makes is of
  // another kind once the engine has compiled it, and everything that reads it would be compiled twice.
  const given: Float64Array[] = [];
  for (const column of columns) given.push(Float64Array.from(column));
  const wanted = Float64Array.from(y);
  const work = createWork(n, p);
  // Weights enter only by their roots.
  const { roots } = work;
  roots.fill(1);
  let coefficients: Float64Array | null = null;
  let residuals = new Float64Array(n);
  let before = new Float64Array(n);
  const scaleNow = () => Math.max(floor, 1.4826 * middleSize(residuals, work.sorted));
  for (let step = 0; step < 45; step++) {
    const solved = weightedFit(given, wanted, work);
    if (solved === null) {
      if (coefficients === null) return null;
      break;
    }
    coefficients = solved;
    [before, residuals] = [residuals, before];
    let still = step > 0;
    // The first stage is only a start for the second.
    const hardly = (step < 25 ? 1e-2 : 1e-4) * floor;
    for (let i = 0; i < n; i++) {
      let sum = 0;
      for (let j = 0; j < p; j++) sum += given[j]![i]! * coefficients[j]!;
      residuals[i] = wanted[i]! - sum;
      if (!(Math.abs(residuals[i]! - before[i]!) < hardly)) still = false;
    }
    // Standing still: go on to the biweight, or be done.
    if (still) {
      if (step > 25) break;
      if (step < 24) step = 24;
    }
    if (step < 25) {
      for (let i = 0; i < n; i++) roots[i] = Math.sqrt(1 / Math.max(Math.abs(residuals[i]!), 0.1 * floor));
      continue;
    }
    const scale = scaleNow();
    for (let i = 0; i < n; i++) {
      const t = Math.abs(residuals[i]!) / scale;
      roots[i] = t >= 4.685 ? 0 : Math.sqrt(square(1 - square(t / 4.685)));
    }
  }
  return { coefficients: Array.from(coefficients!), residuals: Array.from(residuals), scale: scaleNow() };
}

/** Room for one fit, taken once for all its steps. */
interface Work {
  readonly roots: Float64Array;
  readonly sorted: Float64Array;
  readonly right: Float64Array;
  /** Orthogonal columns. */
  readonly q: readonly Float64Array[];
  /** upper[j][k], k ≤ j */
  readonly upper: readonly Float64Array[];
  readonly norms: Float64Array;
  readonly projected: Float64Array;
}

function createWork(n: number, p: number): Work {
  return {
    roots: new Float64Array(n),
    sorted: new Float64Array(n),
    right: new Float64Array(n),
    q: Array.from({ length: p }, () => new Float64Array(n)),
    upper: Array.from({ length: p }, () => new Float64Array(p)),
    norms: new Float64Array(p),
    projected: new Float64Array(p),
  };
}

/** Median of the sizes, as `median` has it, in the room given. */
function middleSize(values: Float64Array, room: Float64Array): number {
  for (let i = 0; i < values.length; i++) room[i] = Math.abs(values[i]!);
  const half = room.length >> 1;
  const upper = selected(room, half);
  if (room.length % 2 === 1) return upper;
  let lower = 0;
  for (let i = 0; i < half; i++) lower = Math.max(lower, room[i]!);
  return (lower + upper) / 2;
}

/** The value that sorting would put at `k`, those not larger before it (Hoare's selection): sorting all took a third of a long fit. */
function selected(values: Float64Array, k: number): number {
  let from = 0;
  let to = values.length - 1;
  while (from < to) {
    const pivot = values[(from + to) >> 1]!;
    let i = from;
    let j = to;
    while (i <= j) {
      while (values[i]! < pivot) i++;
      while (values[j]! > pivot) j--;
      if (i > j) break;
      const held = values[i]!;
      values[i++] = values[j]!;
      values[j--] = held;
    }
    if (k <= j) to = j;
    else if (k >= i) from = i;
    else break;
  }
  return values[k]!;
}

/**
 * Weighted least squares by modified Gram–Schmidt on columns of length one (Björck, *Numerical Methods for Least Squares
 * Problems*, 2.4, from memory): as safe as Householder for the two or three columns used here, and free of the many
 * small matrices that made this the slowest part of an analysis. Null where a column depends on those before it.
 */
function weightedFit(
  columns: readonly Float64Array[],
  y: Float64Array,
  { roots, right, q, upper, norms, projected }: Work,
): Float64Array | null {
  const n = y.length;
  const p = columns.length;
  for (let i = 0; i < n; i++) right[i] = y[i]! * roots[i]!;
  for (let j = 0; j < p; j++) {
    const v = q[j]!;
    const r = upper[j]!;
    const column = columns[j]!;
    let size = 0;
    for (let i = 0; i < n; i++) {
      const value = column[i]! * roots[i]!;
      v[i] = value;
      size += value * value;
    }
    const norm = Math.sqrt(size);
    norms[j] = norm;
    if (!(norm > 0)) return null;
    for (let i = 0; i < n; i++) v[i]! /= norm;
    for (let k = 0; k < j; k++) {
      r[k] = dot(q[k]!, v);
      subtract(v, q[k]!, r[k]!);
    }
    const left = Math.sqrt(dot(v, v));
    r[j] = left;
    if (left < 1e-8) return null;
    for (let i = 0; i < n; i++) v[i]! /= left;
    projected[j] = dot(v, right);
    subtract(right, v, projected[j]!);
  }
  const solved = new Float64Array(p);
  for (let j = p - 1; j >= 0; j--) {
    let sum = projected[j]!;
    for (let k = j + 1; k < p; k++) sum -= upper[k]![j]! * solved[k]!;
    solved[j] = sum / upper[j]![j]!;
  }
  for (let j = 0; j < p; j++) solved[j]! /= norms[j]!;
  return solved;
}

function square(x: number): number {
  return x * x;
}

function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

function subtract(from: Float64Array, what: Float64Array, times: number): void {
  for (let i = 0; i < from.length; i++) from[i]! -= times * what[i]!;
}
