import type { Line, Member } from '../job/job.ts';
import { supportsOfLine } from '../job/supports.ts';
import { type HeldAt, heldShape } from './held-bend.ts';

/** Places looked at for the largest movement. */
const GRID = 240;
/** Share of a line within which a pier at its end is that end. */
const AT_END = 0.01;

/** Where the line's steel stays on the string: its bearings, and the piers of the member between them. */
export function heldAt({ bearings: [from, to], part }: Line, member: Member): HeldAt {
  const { piers } = supportsOfLine({ bearings: [from, to], ...(part === undefined ? {} : { part }) }, member);
  const near = AT_END * (to - from);
  return [from, ...piers.filter((pier) => pier > from + near && pier < to - near), to];
}

/**
 * How far a bend alone sets the steel off the string, the bearings held. Between two bearings Δ = φ·a·b/(a + b) at the bend,
 * a and b the distances to them (plane geometry of a single bend); near a bearing or outside, the quarter point's value.
 * Over piers, which bend the rest of the member elastically, the largest anywhere on it (at a pier the bend itself does
 * not move).
 *
 * @param station m
 * @returns metres per radian
 */
export function crestPerRadian(line: Line, station: number, member: Member): number {
  const held = heldAt(line, member);
  const [from, to] = line.bearings;
  const span = to - from;
  if (held.length === 2) {
    const a = Math.min(Math.max(station - from, span / 4), (3 * span) / 4);
    return (a * (span - a)) / span;
  }
  const first = held[1]! - from;
  const lastSpan = to - held.at(-2)!;
  // As with two bearings: a bend beside an end moves next to nothing, and is taken at the quarter point of its span.
  const bend = Math.min(Math.max(station, from + first / 4), to - lastSpan / 4);
  const shape = heldShape((x) => Math.max(0, x - bend), held);
  const places = [bend, ...Array.from({ length: GRID + 1 }, (_, i) => from + (span * i) / GRID)];
  return Math.max(...places.map((x) => Math.abs(shape(x))));
}
