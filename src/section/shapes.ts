import type { Rectangle } from './rectangles.ts';

/** Dimensions in metres; `up` is measured from the outer face of the (bottom) flange. */

/** A flange plate lying flat: bent in its own plane about the `vertical` axis. */
export function plateSection(width: number, thickness: number): Rectangle[] {
  return [{ across: 0, up: thickness / 2, width, height: thickness }];
}

/** A flange plate with a stem on it (a tee, or a flange with the part of the web that bends with it). */
export function teeSection(
  flangeWidth: number,
  flangeThickness: number,
  stemHeight: number,
  stemThickness: number,
): Rectangle[] {
  return [
    ...plateSection(flangeWidth, flangeThickness),
    { across: 0, up: flangeThickness + stemHeight / 2, width: stemThickness, height: stemHeight },
  ];
}

/** A doubly symmetric I of three plates; `depth` over both flanges. */
export function iSection(
  depth: number,
  flangeWidth: number,
  flangeThickness: number,
  webThickness: number,
): Rectangle[] {
  return [
    ...teeSection(flangeWidth, flangeThickness, depth - 2 * flangeThickness, webThickness),
    { across: 0, up: depth - flangeThickness / 2, width: flangeWidth, height: flangeThickness },
  ];
}
