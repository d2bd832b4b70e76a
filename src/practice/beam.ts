/**
 * A beam on springs by finite differences: deflections w at equally spaced nodes, curvature by the second
 * difference at interior nodes, both ends free of moment, equilibrium from the energy
 * Σ h ∫M dκ + Σ ½ k w² − Σ f w. The stiffness matrix is symmetric with two bands. SI.
 */
export interface PointSpring {
  readonly station: number;
  /** N/m */
  readonly stiffness: number;
}

export interface Grid {
  readonly spacing: number;
  readonly stations: readonly number[];
}

/** Nodes from 0 to `length`, about `spacing` apart. */
export function createGrid(length: number, spacing: number): Grid {
  const cells = Math.max(4, Math.round(length / spacing));
  return {
    spacing: length / cells,
    stations: Array.from({ length: cells + 1 }, (_, i) => (length * i) / cells),
  };
}

/** Weights by which a value at a station is read from (or a force shared to) its two neighbouring nodes. */
export function share(grid: Grid, station: number): { node: number; left: number; right: number } {
  const last = grid.stations.length - 1;
  const at = Math.min(Math.max(station / grid.spacing, 0), last);
  const node = Math.min(Math.floor(at), last - 1);
  return { node, left: 1 - (at - node), right: at - node };
}

/** Linear interpolation between nodes. */
export function valueAt(grid: Grid, values: ArrayLike<number>, station: number): number {
  const { node, left, right } = share(grid, station);
  return left * values[node]! + right * values[node + 1]!;
}

/** A force of 1 N spread evenly over `patch` metres about a station (a point force where the patch is 0). */
export function unitLoad(grid: Grid, station: number, patch: number): Float64Array {
  const load = new Float64Array(grid.stations.length);
  const parts = Math.max(1, Math.ceil((4 * patch) / grid.spacing));
  for (let p = 0; p < parts; p++) {
    const at = station + patch * ((p + 0.5) / parts - 0.5);
    const { node, left, right } = share(grid, at);
    load[node]! += left / parts;
    load[node + 1]! += right / parts;
  }
  return load;
}

/** Second differences, 1/m: the curvature at each node, 0 at both ends. */
export function curvatureOf(grid: Grid, w: ArrayLike<number>): Float64Array {
  const n = grid.stations.length;
  const curvature = new Float64Array(n);
  const h2 = grid.spacing ** 2;
  for (let i = 1; i < n - 1; i++) curvature[i] = (w[i - 1]! - 2 * w[i]! + w[i + 1]!) / h2;
  return curvature;
}

/** Nodal forces that moments at the nodes call up: h Σ M ∂κ/∂w. */
export function internalForces(grid: Grid, moments: ArrayLike<number>): Float64Array {
  const n = grid.stations.length;
  const forces = new Float64Array(n);
  for (let i = 1; i < n - 1; i++) {
    const m = moments[i]! / grid.spacing;
    forces[i - 1]! += m;
    forces[i]! -= 2 * m;
    forces[i + 1]! += m;
  }
  return forces;
}

/** Symmetric matrix of two bands: diagonal, first and second off-diagonal. */
export interface Banded {
  readonly diagonal: Float64Array;
  readonly first: Float64Array;
  readonly second: Float64Array;
}

/** Stiffness of the beam (bending stiffness EI at each node, N·m²), its point springs and its bedding (N/m²). */
export function assemble(
  grid: Grid,
  bending: ArrayLike<number>,
  springs: readonly PointSpring[],
  bedding: number | ArrayLike<number>,
): Banded {
  const n = grid.stations.length;
  const diagonal = new Float64Array(n);
  const first = new Float64Array(n);
  const second = new Float64Array(n);
  for (let i = 1; i < n - 1; i++) {
    const k = bending[i]! / grid.spacing ** 3;
    diagonal[i - 1]! += k;
    diagonal[i]! += 4 * k;
    diagonal[i + 1]! += k;
    first[i - 1]! -= 2 * k;
    first[i]! -= 2 * k;
    second[i - 1]! += k;
  }
  for (const { station, stiffness } of springs) {
    const { node, left, right } = share(grid, station);
    diagonal[node]! += stiffness * left * left;
    diagonal[node + 1]! += stiffness * right * right;
    first[node]! += stiffness * left * right;
  }
  for (let i = 0; i < n; i++) {
    const held = typeof bedding === 'number' ? bedding : bedding[i]!;
    diagonal[i]! += held * grid.spacing * (i === 0 || i === n - 1 ? 0.5 : 1);
  }
  return { diagonal, first, second };
}

/** Forces of springs and bedding on the beam's nodes at deflection w, as the beam must carry them. */
export function springForces(
  grid: Grid,
  w: ArrayLike<number>,
  springs: readonly PointSpring[],
  bedding: number,
): Float64Array {
  const n = grid.stations.length;
  const forces = new Float64Array(n);
  for (const { station, stiffness } of springs) {
    const { node, left, right } = share(grid, station);
    const force = stiffness * (left * w[node]! + right * w[node + 1]!);
    forces[node]! += force * left;
    forces[node + 1]! += force * right;
  }
  if (bedding > 0)
    for (let i = 0; i < n; i++)
      forces[i]! += bedding * grid.spacing * (i === 0 || i === n - 1 ? 0.5 : 1) * w[i]!;
  return forces;
}

/** L D Lᵀ of a positive definite two-band matrix; solves for as many right-hand sides as wanted. */
export function factorize(matrix: Banded): (right: ArrayLike<number>) => Float64Array {
  const n = matrix.diagonal.length;
  const d = new Float64Array(n);
  const l1 = new Float64Array(n);
  const l2 = new Float64Array(n);
  for (let i = 0; i < n; i++) {
    const a2 = i >= 2 ? matrix.second[i - 2]! : 0;
    const a1 = i >= 1 ? matrix.first[i - 1]! : 0;
    l2[i] = i >= 2 ? a2 / d[i - 2]! : 0;
    l1[i] = i >= 1 ? (a1 - (i >= 2 ? l2[i]! * d[i - 2]! * l1[i - 1]! : 0)) / d[i - 1]! : 0;
    d[i] =
      matrix.diagonal[i]! - (i >= 1 ? l1[i]! ** 2 * d[i - 1]! : 0) - (i >= 2 ? l2[i]! ** 2 * d[i - 2]! : 0);
    if (!(d[i]! > 0)) throw new Error(`beam is not held: pivot ${d[i]} at node ${i}`);
  }
  return (right) => {
    const x = Float64Array.from(right);
    for (let i = 0; i < n; i++) {
      if (i >= 1) x[i]! -= l1[i]! * x[i - 1]!;
      if (i >= 2) x[i]! -= l2[i]! * x[i - 2]!;
    }
    for (let i = 0; i < n; i++) x[i]! /= d[i]!;
    for (let i = n - 1; i >= 0; i--) {
      if (i + 1 < n) x[i]! -= l1[i + 1]! * x[i + 1]!;
      if (i + 2 < n) x[i]! -= l2[i + 2]! * x[i + 2]!;
    }
    return x;
  };
}
