import { median } from '../maths/median.ts';
import { PARTS, STRIPS } from './file-parts.ts';
import type { Slice } from './slices.ts';

/**
 * Which places a file was scanned from. Scanners write what they see place after place, and within a place column after
 * column: a part of the file that goes over steel an earlier part left, or goes on far away, is from another place.
 */

/** A section of the steel, m along the member, and which parts of the file see it: in which strips, with how many points. */
export interface Look {
  readonly at: number;
  readonly parts: readonly { readonly part: number; readonly mask: number; readonly n: number }[];
}

/** Points of a part in a section that say it has been there. */
const SEEN = 2;
/** A place has at least this share of the file. */
const SCRAP = 0.04;
/** More places than this are no places: the file's order is another. */
const MOST_PLACES = 16;
/** Steel no part before it saw, of so many, was left. */
const LEFT = 3;
/**
 * A part goes on elsewhere than the one before by this, m, or over steel its place saw already: a new place. Steel that was
 * measured nowhere does not count: no part is seen there.
 */
const ELSEWHERE = 2.5;
const SEEN_ALREADY = 0.5;
/** Sections farther apart than this, m, have steel between them that was not measured. */
const UNMEASURED = 0.6;
/** Points that follow each other in the file lie this much nearer than by chance, where its order is a scanner's. */
const IN_ORDER = 0.5;

/** For each part of the file which place it is from; null where its order tells none. */
export function placesOf(looks: readonly Look[], slices: readonly Slice[]): Int32Array | null {
  if (!inScanOrder(slices)) return null;
  const parts = Array.from({ length: PARTS }, (): { section: number; mask: number }[] => []);
  looks.forEach((look, i) => {
    for (const each of look.parts)
      if (each.n >= SEEN) parts[each.part]!.push({ section: i, mask: each.mask });
  });
  const place = new Int32Array(PARTS).fill(-1);
  let current = -1;
  // For every strip of every section the part of this place that saw it last.
  const seen = new Int32Array(looks.length * STRIPS);
  // Along the member less what was not measured, m.
  const along = new Float64Array(looks.length);
  for (let i = 1; i < looks.length; i++)
    along[i] = along[i - 1]! + Math.min(UNMEASURED, looks[i]!.at - looks[i - 1]!.at);
  let last: readonly { section: number }[] = [];
  let count = 0;
  parts.forEach((cells, p) => {
    if (cells.length === 0) return;
    count++;
    let [again, all] = [0, 0];
    for (const at of strips(cells)) {
      if (seen[at]! > 0 && count - seen[at]! > LEFT) again++;
      all++;
    }
    const gap = last.length === 0 ? 0 : distance(along, last, cells);
    if (current < 0 || again > SEEN_ALREADY * all || gap > ELSEWHERE) {
      current++;
      seen.fill(0);
    }
    place[p] = current;
    for (const at of strips(cells)) seen[at] = count;
    last = cells;
  });
  return withoutScraps(place);
}

/** Places of a few parts only belong to the one before: its last look at the far end. Null where there are too many. */
function withoutScraps(place: Int32Array): Int32Array | null {
  const sizes = new Map<number, number>();
  for (const k of place) if (k >= 0) sizes.set(k, (sizes.get(k) ?? 0) + 1);
  const number = new Map<number, number>();
  let next = -1;
  for (const k of [...sizes.keys()].sort((a, b) => a - b)) {
    if (next < 0 || sizes.get(k)! >= SCRAP * PARTS) next++;
    number.set(k, next);
  }
  return next + 1 > MOST_PLACES ? null : place.map((k) => number.get(k) ?? -1);
}

/** Between the stretches of steel two parts see, m along the member as measured; 0 where they overlap. */
function distance(
  along: Float64Array,
  a: readonly { section: number }[],
  b: readonly { section: number }[],
): number {
  const ends = (list: readonly { section: number }[]) => {
    const at = list.map(({ section }) => along[section]!);
    return [Math.min(...at), Math.max(...at)] as const;
  };
  const [p, q] = [ends(a), ends(b)];
  return Math.max(0, q[0] - p[1], p[0] - q[1]);
}

/** Strips of sections a part sees, numbered. */
function strips(cells: readonly { section: number; mask: number }[]): number[] {
  return cells.flatMap(({ section, mask }) => {
    const list: number[] = [];
    for (let k = 0; k < STRIPS; k++) if (mask & (1 << k)) list.push(section * STRIPS + k);
    return list;
  });
}

/** Whether points that follow each other in the file are neighbours in a slice: not so in a file sorted or shuffled. */
function inScanOrder(slices: readonly Slice[]): boolean {
  const full = slices.filter((slice) => slice.count >= 40);
  const step = Math.max(1, Math.floor(full.length / 40));
  const ratios: number[] = [];
  for (let i = 0; i < full.length; i += step) {
    const { toward, across, order, count } = full[i]!;
    const inOrder = Array.from({ length: count }, (_, p) => p).sort((a, b) => order[a]! - order[b]!);
    const apart = (a: number, b: number) => Math.hypot(toward[a]! - toward[b]!, across[a]! - across[b]!);
    const half = count >> 1;
    const next = median(inOrder.slice(1).map((p, k) => apart(p, inOrder[k]!)));
    const chance = median(inOrder.map((p, k) => apart(p, inOrder[(k * 7 + half) % count]!)));
    ratios.push(next / Math.max(1e-6, chance));
  }
  return ratios.length > 0 && median(ratios) < IN_ORDER;
}
