import { interpolate } from '../maths/interpolate.ts';

/** The chord of a given length that the profile departs from most. */
export interface GoverningChord {
  readonly from: number;
  readonly to: number;
  /** Station of the largest departure, inside the chord. */
  readonly station: number;
  /** Profile minus chord there, signed. */
  readonly departure: number;
}

/**
 * Largest departure of a profile from any chord of one length slid along it, exactly.
 *
 * The profile is straight between stations. For a chord starting at a, the largest departure is at a station x
 * inside it: f(a) = p(x) − [(a + c − x)·p(a) + (x − a)·p(a + c)]/c. Between the places where an end of the chord
 * passes a station, p(a) and p(a + c) are linear in a, so f is a quadratic there; its ends and its vertex are
 * tried. Nothing is stepped, so no chord is missed. O(n²) in the number of stations.
 *
 * @param stations increasing, m, at least 2
 * @param values same length, m
 * @param length chord length, m, not longer than the stations reach
 * @returns null if the stations do not reach the chord length
 */
export function governingChord(
  stations: readonly number[],
  values: readonly number[],
  length: number,
): GoverningChord | null {
  const first = stations[0];
  const last = stations.at(-1);
  if (first === undefined || last === undefined || last - first < length * (1 - 1e-9)) return null;
  const lastStart = Math.max(first, last - length);
  const starts = [...new Set([...stations, ...stations.map((s) => s - length), first, lastStart])]
    .filter((a) => a >= first && a <= lastStart)
    .sort((a, b) => a - b);
  const near = starts.map((a) => interpolate(stations, values, a));
  const far = starts.map((a) => interpolate(stations, values, a + length));
  let best: GoverningChord | null = null;
  let most = -1;
  for (let i = 0; i < stations.length; i++) {
    const x = stations[i]!;
    const value = values[i]!;
    for (let k = 0; k < starts.length && starts[k]! <= x; k++) {
      const a = starts[k]!;
      if (a + length < x) continue;
      const [p, q] = [near[k]!, far[k]!];
      const [before, after] = [a + length - x, x - a];
      const here = value - (before * p + after * q) / length;
      if (Math.abs(here) > most) {
        most = Math.abs(here);
        best = { from: a, to: a + length, station: x, departure: here };
      }
      // From here to the next start, share t of the way: here + slope·t + curve·t².
      const next = starts[k + 1];
      if (next === undefined || next > x) continue;
      const width = next - a;
      const [dp, dq] = [near[k + 1]! - p, far[k + 1]! - q];
      const curve = (width * (dq - dp)) / length;
      const slope = (width * (q - p) - before * dp - after * dq) / length;
      const t = curve === 0 ? -1 : -slope / (2 * curve);
      if (!(t > 0 && t < 1)) continue;
      const there = here + (slope / 2) * t;
      if (Math.abs(there) > most) {
        most = Math.abs(there);
        best = { from: a + t * width, to: a + t * width + length, station: x, departure: there };
      }
    }
  }
  return best;
}
