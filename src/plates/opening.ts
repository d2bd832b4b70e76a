import type { CutOut } from '../job/job.ts';
import { tanOfHalfTurn } from '../job/panel-fields.ts';
import { atan } from '../maths/portable.ts';

/** A place on a panel, m. */
export interface PanelPoint {
  readonly station: number;
  readonly height: number;
}

/** Upright rectangle on a panel, m. */
export interface Box {
  readonly from: number;
  readonly to: number;
  readonly low: number;
  readonly high: number;
}

export function boxAround(points: readonly PanelPoint[]): Box {
  const [stations, heights] = [points.map((p) => p.station), points.map((p) => p.height)];
  return {
    from: Math.min(...stations),
    to: Math.max(...stations),
    low: Math.min(...heights),
    high: Math.max(...heights),
  };
}

/** Whether a place lies in the opening, corners taken sharp (ray casting). */
export function inOpening({ corners }: Pick<CutOut, 'corners'>, { station, height }: PanelPoint): boolean {
  let inside = false;
  corners.forEach((a, i) => {
    const b = corners[(i + 1) % corners.length]!;
    if (a.height > height === b.height > height) return;
    const at = a.station + ((height - a.height) / (b.height - a.height)) * (b.station - a.station);
    if (station < at) inside = !inside;
  });
  return inside;
}

/**
 * Area inside the corners, m², rounded corners counted: one that turns by β takes r²·(tan(β/2) − β/2) off where the outline is
 * convex (a quarter circle in a square: r²·(1 − π/4)) and adds it where it turns back in.
 */
export function openingArea({ corners, radius }: Pick<CutOut, 'corners' | 'radius'>): number {
  const n = corners.length;
  let [twice, rounded] = [0, 0];
  corners.forEach((b, i) => {
    const [a, c] = [corners[(i + n - 1) % n]!, corners[(i + 1) % n]!];
    twice += b.station * c.height - c.station * b.height;
    const half = tanOfHalfTurn(a, b, c);
    rounded += radius ** 2 * (half - atan(half));
  });
  return Math.abs(twice) / 2 - Math.sign(twice) * rounded;
}

/** Each side moved outward by its own distance. */
export function grown(box: Box, by: Sides): Box {
  return {
    from: box.from - by.from,
    to: box.to + by.to,
    low: box.low - by.low,
    high: box.high + by.high,
  };
}

/** A distance for each side of a box, m. */
export type Sides = Readonly<Record<keyof Box, number>>;

export const sides = (each: number): Sides => ({ from: each, to: each, low: each, high: each });
