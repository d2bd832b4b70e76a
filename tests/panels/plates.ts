/** ∇⁴ on a square net, times h⁴. */
const STENCIL: readonly (readonly [number, number, number])[] = [
  [0, 0, 20],
  ...(
    [
      [1, 0],
      [-1, 0],
      [0, 1],
      [0, -1],
    ] as const
  ).map(([i, j]) => [i, j, -8] as const),
  ...(
    [
      [1, 1],
      [-1, 1],
      [1, -1],
      [-1, -1],
    ] as const
  ).map(([i, j]) => [i, j, 2] as const),
  ...(
    [
      [2, 0],
      [-2, 0],
      [0, 2],
      [0, -2],
    ] as const
  ).map(([i, j]) => [i, j, 1] as const),
];

/**
 * Deflected plates and bulges to read, from sources that know nothing of the fit. Unit square, greatest deflection 1 where
 * not said otherwise.
 */

/**
 * Clamped square plate under uniform load, by finite differences on a fine net: D·∇⁴w = q, w = 0 and ∂w/∂n = 0 on the
 * edges (13-point stencil, ghost points mirrored). Gives w·D/(q·a⁴), to be held against Timoshenko & Woinowsky-Krieger,
 * table 35 (0.00126 for the square; 0.00220 for 1.5 to 1, from memory).
 *
 * @param aspect length over height
 */
export function clampedPlate(aspect: number, divisions = 24, load: 'uniform' | 'middle' = 'uniform') {
  const ny = divisions;
  const nx = 2 * Math.round((divisions * aspect) / 2);
  const h = 1 / ny;
  const w = new Float64Array((nx + 1) * (ny + 1));
  const id = (i: number, j: number) => j * (nx + 1) + i;
  // Ghost beyond a clamped edge: w(−1) = w(1).
  const at = (i: number, j: number): number => {
    const a = i < 0 ? -i : i > nx ? 2 * nx - i : i;
    const b = j < 0 ? -j : j > ny ? 2 * ny - j : j;
    return w[id(a, b)]!;
  };
  // Unknowns row by row across the shorter way, so that the matrix is banded; elimination without pivoting (it is positive
  // definite).
  const inner = ny - 1;
  const n = (nx - 1) * inner;
  const band = 2 * inner;
  const matrix = Array.from({ length: n }, () => new Float64Array(2 * band + 1));
  const right = new Float64Array(n);
  for (let i = 1; i < nx; i++) {
    for (let j = 1; j < ny; j++) {
      const row = (i - 1) * inner + (j - 1);
      for (const [di, dj, c] of STENCIL) {
        const a = Math.abs(i + di) > nx ? 2 * nx - (i + di) : Math.abs(i + di);
        const b = Math.abs(j + dj) > ny ? 2 * ny - (j + dj) : Math.abs(j + dj);
        if (a === 0 || a === nx || b === 0 || b === ny) continue;
        matrix[row]![(a - 1) * inner + (b - 1) - row + band]! += c;
      }
      right[row] = load === 'uniform' ? h ** 4 : i === nx / 2 && j === ny / 2 ? h * h : 0;
    }
  }
  for (let k = 0; k < n; k++) {
    const pivot = matrix[k]!;
    for (let r = k + 1; r <= Math.min(n - 1, k + band); r++) {
      const own = matrix[r]!;
      const f = own[k - r + band]! / pivot[band]!;
      if (f === 0) continue;
      for (let c = k; c <= Math.min(n - 1, k + band); c++) own[c - r + band]! -= f * pivot[c - k + band]!;
      right[r]! -= f * right[k]!;
    }
  }
  for (let k = n - 1; k >= 0; k--) {
    for (let c = k + 1; c <= Math.min(n - 1, k + band); c++)
      right[k]! -= matrix[k]![c - k + band]! * right[c]!;
    right[k]! /= matrix[k]![band]!;
  }
  right.forEach((each, k) => {
    w[id(Math.floor(k / inner) + 1, (k % inner) + 1)] = each;
  });
  const value = (x: number, y: number): number => {
    const [gx, gy] = [Math.min(nx - 1e-9, Math.max(0, x * nx)), Math.min(ny - 1e-9, Math.max(0, y * ny))];
    const [i, j] = [Math.floor(gx), Math.floor(gy)];
    const [a, b] = [gx - i, gy - j];
    return (
      (1 - a) * (1 - b) * w[id(i, j)]! +
      a * (1 - b) * w[id(i + 1, j)]! +
      (1 - a) * b * w[id(i, j + 1)]! +
      a * b * w[id(i + 1, j + 1)]!
    );
  };
  /** Fourth-order readings of curvature at the middle, 1/m for w in m on a plate of height 1. */
  const curvature = (i: number, j: number) => ({
    along: (at(i + 1, j) - 2 * at(i, j) + at(i - 1, j)) / h ** 2,
    up: (at(i, j + 1) - 2 * at(i, j) + at(i, j - 1)) / h ** 2,
  });
  return { value, curvature, nx, ny, middle: w[id(nx / 2, ny / 2)]! };
}

/** A bulge with plastic creases: a roof of four planes over the middle, its ridges rounded over `round` of the panel. */
export function creased(x: number, y: number, cx = 0.5, cy = 0.5, round = 0.08): number {
  const side = (t: number, c: number) => (t < c ? t / c : (1 - t) / (1 - c));
  const [a, b] = [side(x, cx), side(y, cy)];
  // A smooth minimum of the two slopes, and a smooth top.
  const least = (p: number, q: number) => (p + q - Math.sqrt((p - q) ** 2 + round ** 2)) / 2;
  return Math.max(0, least(Math.max(0, least(a, b)), 1 - round / 2)) / (1 - round);
}

/** Cosine dent of a radius (share of the height) around a place, on a panel of the aspect. */
export function dent(x: number, y: number, cx: number, cy: number, radius: number, aspect: number): number {
  const r = Math.hypot((x - cx) * aspect, y - cy) / radius;
  return r >= 1 ? 0 : 0.5 * (1 + Math.cos(Math.PI * r));
}
