/** Parts a file is divided into, in the order of its points: places a scanner stood at follow each other in it. */
export const PARTS = 160;

/** Strips of a flange across its width, that tell whether a part has been there. */
export const STRIPS = 12;

/** Which part a point is of. @param order how many points came before it, of `points` */
export function partOf(order: number, points: number): number {
  return Math.min(PARTS - 1, Math.floor((order * PARTS) / Math.max(1, points)));
}
