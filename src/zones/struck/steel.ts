import { type FlangeLaw, flangeLaw, load, loaded } from '../flange-law.ts';

/**
 * The steel of every cell: the moment (over M_y) and curvature (over κ_y) it is at, and the turning points it remembers.
 * The law is that of a rectangle of hardening fibres (`flange-law.ts`) with Masing's rule for unloading (Masing 1926, from
 * memory); arrays rather than objects, since a fit asks it a hundred thousand times.
 */
export interface Steel extends FlangeLaw {
  readonly m: Float64Array;
  readonly k: Float64Array;
  readonly reached: Float64Array;
  /** Turning points not yet passed again, oldest first. */
  readonly depth: Uint8Array;
  readonly turnM: Float64Array;
  readonly turnK: Float64Array;
  /** Way of the branch it is on: +1 toward larger moments, −1 toward smaller; on the virgin curve the sign of m. */
  readonly way: Int8Array;
  /** Moments between which the cell answers elastically from where it is, and its curvature less moment there. */
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly bent: Float64Array;
}

const MEMORY = 6;

export function createSteel(n: number, hardening: number): Steel {
  const arrays = {
    m: new Float64Array(n),
    k: new Float64Array(n),
    reached: new Float64Array(n),
    depth: new Uint8Array(n),
    turnM: new Float64Array(n * MEMORY),
    turnK: new Float64Array(n * MEMORY),
    way: new Int8Array(n),
    low: new Float64Array(n).fill(-1),
    high: new Float64Array(n).fill(1),
    bent: new Float64Array(n),
  };
  return steelOf(arrays, hardening);
}

/** Written out in one place, so that the engine sees one kind of object: it compiled the loops over cells once for each kind. */
function steelOf(arrays: Omit<Steel, keyof FlangeLaw>, hardening: number): Steel {
  const { m, k, reached, depth, turnM, turnK, way, low, high, bent } = arrays;
  const { root } = flangeLaw(hardening);
  return { hardening, root, m, k, reached, depth, turnM, turnK, way, low, high, bent };
}

/** The same arrays for steel that has carried nothing yet. */
export function unstrained(used: Steel, hardening: number): Steel {
  for (const values of [used.m, used.k, used.reached, used.bent]) values.fill(0);
  used.depth.fill(0);
  used.way.fill(0);
  used.low.fill(-1);
  used.high.fill(1);
  return steelOf(used, hardening);
}

/** The state of the cells, from one steel to another of as many. */
export function copySteel(from: Steel, to: Steel): void {
  to.m.set(from.m);
  to.k.set(from.k);
  to.reached.set(from.reached);
  to.depth.set(from.depth);
  to.turnM.set(from.turnM);
  to.turnK.set(from.turnK);
  to.way.set(from.way);
  to.low.set(from.low);
  to.high.set(from.high);
  to.bent.set(from.bent);
}

/** Which branch `branch` found the cell on; curvature and slope stand in `loaded`. */
export const seen = { depth: 0, way: 0 };

/**
 * Curvature at moment m and its slope, by Masing's rule: from a turning point the curve is the virgin one twice as
 * large, and a branch that meets the turning point before last goes on as if the loop between had not been.
 */
export function branch(steel: Steel, i: number, m: number): void {
  const base = i * MEMORY;
  let depth = steel.depth[i]!;
  let way = steel.way[i]!;
  const here = steel.m[i]!;
  if (way !== 0 && (m - here) * way < 0) {
    // Back the way it came. Within the elastic part of the branch that is the branch itself, down to its start.
    const start = depth > 0 ? steel.turnM[base + depth - 1]! : 0;
    if (yieldsAt(steel, i) && depth < MEMORY) {
      steel.turnM[base + depth] = here;
      steel.turnK[base + depth] = steel.k[i]!;
      depth++;
      way = -way as 1 | -1;
    } else if (depth > 0 && (m - start) * way < 0) {
      depth--;
      way = -way as 1 | -1;
    }
  }
  for (;;) {
    if (depth >= 2 && (m - steel.turnM[base + depth - 2]!) * way > 0) depth -= 2;
    else if (depth === 1 && (m + steel.turnM[base]!) * way > 0) depth = 0;
    else break;
  }
  seen.depth = depth;
  seen.way = depth === 0 ? Math.sign(m) : way;
  if (depth === 0) {
    load(m, steel);
  } else {
    const from = steel.turnM[base + depth - 1]!;
    load((m - from) / 2, steel);
    loaded.k = steel.turnK[base + depth - 1]! + 2 * loaded.k;
  }
}

/** True where the cell stands on the plastic part of its branch: a move back starts a new one. */
function yieldsAt(steel: Steel, i: number): boolean {
  const depth = steel.depth[i]!;
  return depth === 0
    ? Math.abs(steel.m[i]!) > 1
    : Math.abs(steel.m[i]! - steel.turnM[i * MEMORY + depth - 1]!) > 2;
}

/** Takes a cell to moment m for good, and notes how far it may go from there elastically. */
export function commit(steel: Steel, i: number, m: number): void {
  steel.reached[i] = Math.max(steel.reached[i]!, Math.abs(m));
  if (m >= steel.low[i]! && m <= steel.high[i]! && !yieldsAt(steel, i)) {
    // On the elastic part of its branch, before and after: neither the branch nor what it remembers changes.
    steel.m[i] = m;
    steel.k[i] = m + steel.bent[i]!;
    return;
  }
  branch(steel, i, m);
  commitOn(steel, i, m, loaded.k, seen.depth, seen.way);
}

/** The same where the branch and the curvature on it are known. */
export function commitOn(steel: Steel, i: number, m: number, k: number, depth: number, way: number): void {
  steel.reached[i] = Math.max(steel.reached[i]!, Math.abs(m));
  steel.depth[i] = depth;
  steel.way[i] = way;
  steel.m[i] = m;
  steel.k[i] = k;
  steel.bent[i] = k - m;
  // Back from where it is, by 2 M_y; or, on the elastic part of a branch, between the branch's ends.
  let back = m - 2 * way;
  let on = m;
  if (depth > 0) {
    const base = i * MEMORY;
    const start = steel.turnM[base + depth - 1]!;
    if ((m - start) * way <= 2) {
      back = start;
      on = start + 2 * way;
      const meets = depth > 1 ? steel.turnM[base + depth - 2]! : -start;
      if ((meets - on) * way < 0) on = meets;
    }
  }
  steel.low[i] = Math.min(back, on);
  steel.high[i] = Math.max(back, on);
}
