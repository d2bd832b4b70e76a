/** One slice's answer: where the steel is, m. */
export interface SlicePoint {
  /** Distance along the line, m, increasing. */
  readonly at: number;
  readonly value: number;
  readonly u: number;
}

/** Departure from the local slope that counts as a jump, m, beyond what the uncertainties explain. */
const JUMP = 0.003;
/** Slope change allowed over a gap, rad. */
const BEND = 0.05;
/** Slices on each side that the local slope is taken from, and the longest gap bridged, m. */
const NEIGHBOURS = 8;
const LONGEST_GAP = 2.5;

/**
 * Which slices belong to the steel, by one fact: steel is continuous. A clamp, jack head or board over the
 * edge jumps out and back; a bend, however sharp, does not jump from one slice to the next. The longest chain
 * of slices without a jump is kept.
 * @returns for each point whether it is on the chain
 */
export function continuousChain(points: readonly SlicePoint[]): boolean[] {
  const n = points.length;
  const slopes = points.map((_, i) => localSlope(points, i));
  const length = new Float64Array(n);
  const previous = new Int32Array(n).fill(-1);
  let end = -1;
  for (let i = 0; i < n; i++) {
    length[i] = 1;
    const p = points[i]!;
    for (let j = i - 1; j >= 0; j--) {
      const q = points[j]!;
      const gap = p.at - q.at;
      if (gap > LONGEST_GAP) break;
      if (length[j]! + 1 <= length[i]!) continue;
      // Either end may sit beside clutter that spoils its slope: the better of the two decides.
      const step = p.value - q.value;
      const off = Math.min(Math.abs(step - slopes[i]! * gap), Math.abs(step - slopes[j]! * gap));
      if (off <= JUMP + 4 * Math.hypot(p.u, q.u) + BEND * gap) {
        length[i] = length[j]! + 1;
        previous[i] = j;
      }
    }
    if (end < 0 || length[i]! > length[end]!) end = i;
  }
  const kept = new Array<boolean>(n).fill(false);
  for (let i = end; i >= 0; i = previous[i]!) kept[i] = true;
  return kept;
}

/** Median of the slopes between neighbours at least three slices apart (Theil-Sen); 0 where there are too few. */
export function localSlope(points: readonly SlicePoint[], middle: number): number {
  const from = Math.max(0, middle - NEIGHBOURS);
  const to = Math.min(points.length - 1, middle + NEIGHBOURS);
  const slopes: number[] = [];
  for (let i = from; i <= to; i++) {
    for (let j = i + 3; j <= to; j++) {
      const run = points[j]!.at - points[i]!.at;
      if (run < LONGEST_GAP) slopes.push((points[j]!.value - points[i]!.value) / run);
    }
  }
  if (slopes.length < 3) return 0;
  slopes.sort((a, b) => a - b);
  return slopes[Math.floor(slopes.length / 2)]!;
}
