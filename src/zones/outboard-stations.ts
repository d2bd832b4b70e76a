import { robustPolynomial } from '../maths/robust-line.ts';
import type { PooledStation } from './prepare.ts';

/** Stations at either end a line must begin from. */
const AT_EACH_END = 2;
/** Fewer stations than this show no ends and no middle. */
const FEWEST = 6;
/** A station further than this many reading errors from the line of the ends is not on it. */
const ON_THE_LINE = 3;

/**
 * Which stations of a tilt or plumb survey lie outboard of the damage: from the two ends inward, for as long as the
 * next station lies on the straight line through those already taken. The stations most of the line agrees with may
 * be damaged steel (a long even slope beside the blow), while its ends are held at the bearings.
 *
 * @param stations increasing
 * @returns one flag a station; null where the ends do not lie on one line themselves, or there are too few stations
 */
export function outboardStations(stations: readonly PooledStation[], degree: 0 | 1): boolean[] | null {
  const good = stations.filter((s) => !s.setAside);
  if (good.length < FEWEST) return null;
  let left = AT_EACH_END;
  let right = AT_EACH_END;
  for (;;) {
    const taken = [...good.slice(0, left), ...good.slice(good.length - right)];
    const onLine = lineThrough(taken, degree);
    if (left + right === 2 * AT_EACH_END && !taken.every(onLine)) return null;
    const before = left + right;
    if (left + right < good.length && onLine(good[left]!)) left++;
    if (left + right < good.length && onLine(good[good.length - 1 - right]!)) right++;
    if (left + right === before) {
      const kept = new Set(taken);
      return stations.map((s) => kept.has(s));
    }
  }
}

function lineThrough(taken: readonly PooledStation[], degree: 0 | 1): (s: PooledStation) => boolean {
  const fit = robustPolynomial(
    taken.map((s) => s.station),
    taken.map((s) => s.y),
    taken.map((s) => s.sd),
    degree,
  );
  const [offset = 0, tilt = 0] = fit.coefficients;
  return (s) => Math.abs(s.y - offset - tilt * (s.station - fit.about)) <= ON_THE_LINE * s.sd;
}
