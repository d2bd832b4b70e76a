/**
 * Locked-in elastic bending. Between point supports the bending moment of the struck and released member
 * is linear, so M/EI is a broken line with a node at each diaphragm and 0 at both bearings. It is written
 * as Σ m_k·tent_k(x), where m_k is the elastic curvature (1/m) at node k; the deflection is the double
 * integral, taken about the chord through the bearings so that it vanishes there.
 * (The same space as one cubic (x−d)₊³ per diaphragm, in a basis whose coefficients are curvatures that the
 * yield moment bounds one by one.)
 */
export interface ElasticNodes {
  /** Bearing, inner nodes, bearing: increasing, m. */
  readonly stations: readonly number[];
}

/** Deflection (m per 1/m of curvature) at `x` of the tent at inner node `k` (1 … stations.length − 2). */
export function tentDeflection(nodes: ElasticNodes, k: number, x: number): number {
  const first = nodes.stations[0]!;
  const last = nodes.stations[nodes.stations.length - 1]!;
  const end = tentRaw(nodes, k, last);
  return tentRaw(nodes, k, x) - (end * (x - first)) / (last - first);
}

function tentRaw(nodes: ElasticNodes, k: number, x: number): number {
  const a = nodes.stations[k - 1]!;
  const b = nodes.stations[k]!;
  const c = nodes.stations[k + 1]!;
  return (
    cube(x - a) / (6 * (b - a)) -
    (cube(x - b) * (c - a)) / (6 * (b - a) * (c - b)) +
    cube(x - c) / (6 * (c - b))
  );
}

function cube(s: number): number {
  return s > 0 ? s * s * s : 0;
}

/** Value of the tent at inner node `k`. */
export function tent(nodes: ElasticNodes, k: number, x: number): number {
  const a = nodes.stations[k - 1]!;
  const b = nodes.stations[k]!;
  const c = nodes.stations[k + 1]!;
  if (x <= a || x >= c) return 0;
  return x <= b ? (x - a) / (b - a) : (c - x) / (c - b);
}

/** ∫ tent_k from `from` to `to`, m: the rotation that 1/m at the node gives across that stretch. */
export function tentRotation(nodes: ElasticNodes, k: number, from: number, to: number): number {
  const slope = (x: number) => {
    const a = nodes.stations[k - 1]!;
    const b = nodes.stations[k]!;
    const c = nodes.stations[k + 1]!;
    const square = (s: number) => (s > 0 ? s * s : 0);
    return (
      square(x - a) / (2 * (b - a)) -
      (square(x - b) * (c - a)) / (2 * (b - a) * (c - b)) +
      square(x - c) / (2 * (c - b))
    );
  };
  return slope(to) - slope(from);
}
