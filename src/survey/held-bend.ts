import { smoothingSpline } from '../maths/smoothing-spline.ts';

/** Stations that stay on the string, m, increasing: first and last bearing and the piers between them. */
export type HeldAt = readonly number[];

/**
 * The shape a member takes when its steel bends as `free` says and it is held at its bearings: `free` less the elastic line
 * through what it would be at them. An elastic beam that forces push at single places only is a natural cubic spline
 * (moment linear between the places, none at the ends), so that line is one; with two bearings it is their chord.
 *
 * @param free any shape whose bends are those of the steel, m
 * @returns metres at a station between the bearings
 */
export function heldShape(free: (x: number) => number, held: HeldAt): (x: number) => number {
  // Values known exactly: the smoothing spline goes through them.
  const line = smoothingSpline(
    held,
    held.map(free),
    held.map(() => 0),
    1,
  );
  return (x) => free(x) - line(x)[0];
}
