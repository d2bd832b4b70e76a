import { log } from '../maths/portable.ts';
import type { Slice } from './slices.ts';

/** A place where the density of points drops, seen in one slice. */
interface Candidate {
  readonly slice: number;
  /** Position in the direction in which the steel ends, m. */
  readonly edge: number;
  /** Evidence: log-likelihood of a drop here over no drop. */
  readonly evidence: number;
}

const BIN = 0.001;
/** Steel expected behind an edge, and empty space beyond it after a gap for scatter, m. */
const INSIDE = 0.03;
const GAP = 0.004;
const OUTSIDE = 0.02;
const CANDIDATES = 6;
/** A step of this size costs as much as one missing slice, m, per slice. */
const STEP = 0.012;
/** Picked end points are expected this near to the steel, m. */
const PICKED = 0.03;
const SKIP = 1;

/**
 * Follows the edge through the slices roughly (to a few millimetres): candidates are drops of density, and
 * the track is the cheapest path through them that starts and ends near the picked points (dynamic
 * programming). Fences, decks and webs make drops of their own; they do not start and end at the picked points.
 * @param sign +1 where the steel ends toward the positive side, -1 where toward the negative
 * @returns the edge per slice (in the direction in which the steel ends, m), NaN where no slice has one
 */
export function trackEdge(slices: readonly Slice[], sign: 1 | -1, reach: number): Float64Array {
  const found = slices.map((slice, i) => candidates(slice, i, sign, reach));
  const nodes = found.flat();
  const cost = new Float64Array(nodes.length);
  const previous = new Int32Array(nodes.length).fill(-1);
  const firstOf: number[] = [];
  let next = 0;
  for (const list of found) {
    firstOf.push(next);
    next += list.length;
  }
  firstOf.push(next);
  const last = slices.length - 1;
  const anchor = (edge: number, missing: number) =>
    Math.min(8, Math.abs(edge) / (PICKED + STEP * missing)) + SKIP * missing;

  nodes.forEach((node, k) => {
    const worth = Math.min(3, Math.log1p(node.evidence) / 2);
    let best = anchor(node.edge, node.slice);
    for (let i = node.slice - 1; i >= 0 && node.slice - i <= 60; i--) {
      const missing = SKIP * (node.slice - i - 1);
      if (missing >= best + 20) break;
      for (let m = firstOf[i]!; m < firstOf[i + 1]!; m++) {
        const step = Math.abs(node.edge - nodes[m]!.edge) / (STEP * Math.sqrt(node.slice - i));
        const total = cost[m]! + missing + Math.min(6, step);
        if (total < best) {
          best = total;
          previous[k] = m;
        }
      }
    }
    cost[k] = best - worth;
  });

  let end = -1;
  let least = Infinity;
  nodes.forEach((node, k) => {
    const total = cost[k]! + anchor(node.edge, last - node.slice);
    if (total < least) {
      least = total;
      end = k;
    }
  });
  const track = new Float64Array(slices.length).fill(Number.NaN);
  for (let k = end; k >= 0; k = previous[k]!) track[nodes[k]!.slice] = nodes[k]!.edge;
  return track;
}

function candidates(slice: Slice, index: number, sign: 1 | -1, reach: number): Candidate[] {
  const bins = Math.ceil((2 * reach) / BIN) + 1;
  const [inside, gap, outside] = [INSIDE / BIN, GAP / BIN, OUTSIDE / BIN];
  // Points below the edge of bin j, at index j + inside; with room on both sides, so that no window runs off.
  const sums = new Float64Array(inside + bins + 1 + gap + outside);
  for (let i = 0; i < slice.count; i++) {
    const bin = Math.floor((sign * slice.toward[i]! + reach) / BIN);
    if (bin >= 0 && bin < bins) sums[inside + bin + 1]!++;
  }
  for (let j = inside + 1; j < sums.length; j++) sums[j]! += sums[j - 1]!;
  const evidence = new Float64Array(bins);
  for (let j = 0; j < bins; j++) {
    const n = sums[inside + j]! - sums[j]!;
    const m = sums[inside + j + gap + outside]! - sums[inside + j + gap]!;
    if (n < 6 || n / inside < (2.5 * m) / outside) continue;
    const mean = (n + m) / (inside + outside);
    evidence[j] = n * log(n / inside / mean) + (m > 0 ? m * log(m / outside / mean) : 0);
  }
  const list: Candidate[] = [];
  for (let j = 0; j < bins; j++) {
    const e = evidence[j]!;
    if (e < 5) continue;
    let top = true;
    for (let i = Math.max(0, j - 10); i <= Math.min(bins - 1, j + 10) && top; i++) {
      if (evidence[i]! > e || (evidence[i] === e && i < j)) top = false;
    }
    if (!top) continue;
    // Where most points sit in the edge face, the evidence stays high up to INSIDE beyond it: go back to the points.
    let edge = j;
    const most = sums[j]! + 0.92 * (sums[inside + j]! - sums[j]!);
    while (edge > j - inside && sums[inside + edge - 1]! >= most) edge--;
    list.push({ slice: index, edge: edge * BIN - reach, evidence: e });
  }
  return list.sort((a, b) => b.evidence - a.evidence).slice(0, CANDIDATES);
}
