import type { Zone } from '../analysis.ts';

/** Of the largest plastic curvature: steel bent less than this share is no part of the core (common practice, no source). */
const SHARPLY = 1 / 3;

/**
 * Where a zone's bend is: centroid and rms spread of its plastic curvature, and the stretch where that is at least a
 * third of its largest. A blow bends steel sharply under it and hardly at the zone's edges, where it just yielded; an
 * evenly bent zone is its own core.
 *
 * The curvature comes slice by slice in order along the line, even within each: of one sign (or 0), in any unit.
 */
export function bendCore(
  from: number,
  to: number,
  middle: ArrayLike<number>,
  width: ArrayLike<number>,
  curvature: ArrayLike<number>,
): Zone['core'] {
  const n = middle.length;
  let whole = 0;
  let moment = 0;
  let most = 0;
  for (let i = 0; i < n; i++) {
    const part = width[i]! * curvature[i]!;
    whole += part;
    moment += part * (middle[i]! - from);
    most = Math.max(most, Math.abs(curvature[i]!));
  }
  const centre = from + moment / whole;
  let second = 0;
  for (let i = 0; i < n; i++)
    second += width[i]! * curvature[i]! * ((middle[i]! - centre) ** 2 + width[i]! ** 2 / 12);
  const sharp = SHARPLY * most;
  let first = 0;
  let last = n - 1;
  while (Math.abs(curvature[first]!) < sharp) first++;
  while (Math.abs(curvature[last]!) < sharp) last--;
  /** Between the middles of the last slice that is sharply bent and its neighbour that is not; the zone's edge where it has none. */
  const crossing = (at: number, side: -1 | 1): number => {
    const next = at + side;
    if (next < 0 || next >= n) return side < 0 ? from : to;
    const [inside, outside] = [Math.abs(curvature[at]!), Math.abs(curvature[next]!)];
    return middle[at]! + ((middle[next]! - middle[at]!) * (inside - sharp)) / (inside - outside);
  };
  return {
    centre,
    spread: Math.sqrt(Math.max(0, second / whole)),
    from: Math.max(from, crossing(first, -1)),
    to: Math.min(to, crossing(last, 1)),
  };
}
