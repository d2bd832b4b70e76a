/** The strength of a direction settles long before the direction: among equal ones it does not matter which. */
const SETTLED = 1e-5;
const PASSES = 60;

/**
 * Leading direction of the rows, unit length: the first right singular vector of the matrix, by power iteration (Golub &
 * Van Loan, Matrix Computations, 7.3.1). Null: there is nothing in them.
 */
export function leadingDirection(rows: readonly Float64Array[]): Float64Array | null {
  const direction = rows.reduce((a, b) => (dot(b, b) > dot(a, a) ? b : a)).slice();
  if (!normalize(direction)) return null;
  let strength = 0;
  for (let pass = 0; pass < PASSES; pass++) {
    const next = new Float64Array(direction.length);
    let sum = 0;
    for (const row of rows) {
      const along = dot(row, direction);
      sum += along * along;
      add(next, along, row);
    }
    if (!normalize(next)) return null;
    direction.set(next);
    if (sum - strength <= SETTLED * sum) break;
    strength = sum;
  }
  return direction;
}

export function dot(a: Float64Array, b: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < a.length; i++) sum += a[i]! * b[i]!;
  return sum;
}

/** to += by·a */
export function add(to: Float64Array, by: number, a: Float64Array): void {
  for (let i = 0; i < a.length; i++) to[i]! += by * a[i]!;
}

function normalize(a: Float64Array): boolean {
  const size = Math.sqrt(dot(a, a));
  if (size < 1e-12) return false;
  for (let i = 0; i < a.length; i++) a[i]! /= size;
  return true;
}
