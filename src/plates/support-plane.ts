import { Qr } from '../maths/qr.ts';

/** A point of the steel surface under a plate, m. `height` is positive toward the plate. */
export interface SurfacePoint {
  readonly along: number;
  readonly across: number;
  readonly height: number;
}

export interface SupportPlane {
  /** height = level + alongSlope·(along − centre.along) + acrossSlope·(across − centre.across); m, rad, rad. */
  readonly level: number;
  readonly alongSlope: number;
  readonly acrossSlope: number;
  /** Indices of the points the plate rests on. */
  readonly contacts: readonly number[];
  /** Heights at `contacts` times these weights, summed, give the plane's height at a place. */
  readonly weightsAt: (along: number, across: number) => number[];
}

/**
 * Where a rigid flat plate comes to rest when it is drawn onto points by a force at `centre`: of all
 * planes that stay on or above every point, the one lowest at the centre. That is the face of the
 * points' upper convex hull over the centre: three contacts (two for a single row of points), with
 * the centre inside them.
 *
 * Solved as its linear programme's dual: maximise Σ λᵢ·hᵢ over weights λ ≥ 0 that reproduce the
 * centre (Σ λᵢ = 1, Σ λᵢ·placeᵢ = centre), by exchanging one contact at a time: the point standing
 * highest above the present plane comes in, and the contact goes out whose leaving keeps the centre
 * inside. Points lying within 1 nm of the plane are left alone.
 *
 * Returns null when the points do not surround the centre: a plate cannot rest on one side of it.
 */
export function supportPlane(
  points: readonly SurfacePoint[],
  centre: { readonly along: number; readonly across: number },
): SupportPlane | null {
  const row = points.every((p) => p.across === points[0]?.across);
  const places = points.map((p) =>
    row ? [1, p.along - centre.along] : [1, p.along - centre.along, p.across - centre.across],
  );
  const size = row ? 2 : 3;
  const reach = Math.max(1e-6, ...places.flatMap((p) => p.slice(1).map(Math.abs)));
  // Far corners, far below: a start that always surrounds the centre. Any left at the end means "not surrounded".
  const corners = row
    ? [
        [1, -2 * reach],
        [1, 2 * reach],
      ]
    : [
        [1, -4 * reach, -4 * reach],
        [1, 4 * reach, -4 * reach],
        [1, 0, 4 * reach],
      ];
  const depth = 1e3 * (1 + reach);
  const place = (i: number) => (i < 0 ? corners[-i - 1]! : places[i]!);
  const height = (i: number) => (i < 0 ? -depth : points[i]!.height);

  let basis = corners.map((_, i) => -i - 1);
  for (let step = 0; step < 50 * (points.length + 10); step++) {
    const plane = solve(basis.map(place), basis.map(height));
    if (plane === null) return null;
    let entering = -1;
    let most = 1e-9;
    for (let i = 0; i < points.length; i++) {
      const above = height(i) - dot(plane, place(i));
      if (above > most && !basis.includes(i)) [entering, most] = [i, above];
    }
    if (entering < 0) break;
    const target = Array.from({ length: size }, (_, k) => (k === 0 ? 1 : 0));
    const weights = solve(transpose(basis.map(place)), target);
    const share = solve(transpose(basis.map(place)), place(entering));
    if (weights === null || share === null) return null;
    let leaving = -1;
    let ratio = Number.POSITIVE_INFINITY;
    for (let k = 0; k < size; k++) {
      if (share[k]! > 1e-12 && weights[k]! / share[k]! < ratio)
        [leaving, ratio] = [k, weights[k]! / share[k]!];
    }
    if (leaving < 0) return null;
    basis = basis.map((i, k) => (k === leaving ? entering : i));
  }
  if (basis.some((i) => i < 0)) return null;

  const plane = solve(basis.map(place), basis.map(height));
  if (plane === null) return null;
  return {
    level: plane[0]!,
    alongSlope: plane[1]!,
    acrossSlope: plane[2] ?? 0,
    contacts: basis,
    weightsAt: (along, across) => {
      const target = row ? [1, along - centre.along] : [1, along - centre.along, across - centre.across];
      return solve(transpose(basis.map(place)), target)!;
    },
  };
}

function dot(a: readonly number[], b: readonly number[]): number {
  return a.reduce((total, value, i) => total + value * b[i]!, 0);
}

function transpose(rows: readonly (readonly number[])[]): number[][] {
  return rows[0]!.map((_, k) => rows.map((r) => r[k]!));
}

/** Rows · x = right, two or three unknowns; null where singular. */
function solve(rows: readonly (readonly number[])[], right: readonly number[]): number[] | null {
  const qr = new Qr(rows.length);
  const regular = transpose(rows).every((column) => qr.push(Float64Array.from(column)));
  return regular ? Array.from(qr.solve(qr.apply(Float64Array.from(right)))) : null;
}
