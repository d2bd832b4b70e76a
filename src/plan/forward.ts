import { exp } from '../maths/portable.ts';

/** A zone as a plan sees it. */
export interface PlannedZone {
  /** Where its bend is centred, m. */ readonly station: number;
  /** Rotation still to be taken out, rad, and its standard uncertainty; + or − as the bend goes. */
  readonly rotation: number;
  readonly rotationU: number;
  /** What one planned vee is expected to turn, rad. */
  readonly expectedVee: number;
}

/** One future of the heating. */
export interface Future {
  /** Cycles to the aim; infinite where the future never gets there. */
  readonly cycles: number;
  readonly vees: number;
}

/** Heats of one cycle scatter together by about a third of what they turn (common practice, no source; the simulated campaigns draw 15 to 50 %). */
export const SCATTER = 0.35;

/** Cycles a future is followed: a crew would have stopped long before. */
const MOST_CYCLES = 300;

/** A line whose zones are worked off. */
export interface PlannedLine {
  readonly zones: readonly PlannedZone[];
  readonly bearings: readonly [number, number];
  /** Largest deviation at which work stops, m. */
  readonly aim: number;
}

/**
 * Works the zones of all lines off, cycle by cycle, until every line is inside its aim at every zone. One crew: the vees of a
 * cycle go one by one to the zone whose bend is worth most at the crest, in multiples of its line's aim; each turns `ratio`
 * times what is expected of it, the heats of a cycle scattering together (torch, weather, crew); in a dead cycle nothing
 * turns. A zone is never turned past straight.
 *
 * @param draw ratio (observed over expected), share of dead cycles, vees a cycle, scatter of a cycle's heats as the sd of a logarithm
 */
export function workOff(
  lines: readonly PlannedLine[],
  draw: {
    readonly ratio: number;
    readonly deadShare: number;
    readonly veesPerCycle: number;
    readonly scatter: number;
  },
  uniform: () => number,
  normal: () => number,
): Future {
  const zones = lines.flatMap((line) => line.zones.map((zone) => ({ ...zone, line })));
  const left = zones.map((zone) => zone.rotation + zone.rotationU * normal());
  const influence = zones.map((at) =>
    zones.map((zone) => (zone.line === at.line ? hinge(at.station, zone.station, at.line.bearings) : 0)),
  );
  const deviation = (at: number) => left.reduce((sum, rotation, i) => sum + rotation * influence[at]![i]!, 0);
  const insideOf = (one: PlannedLine) =>
    zones.every(({ line }, at) => line !== one || Math.abs(deviation(at)) <= line.aim);
  let vees = 0;
  /** Part of a vee carried from one cycle to the next: 3.4 vees a cycle are three, then four. */
  let carried = 0;
  for (let cycle = 0; cycle < MOST_CYCLES; cycle++) {
    const open = lines.filter((line) => !insideOf(line));
    if (open.length === 0) return { cycles: cycle, vees };
    carried += draw.veesPerCycle;
    const count = Math.max(1, Math.floor(carried));
    carried = Math.max(0, carried - count);
    vees += count;
    if (uniform() < draw.deadShare) continue;
    const turned = draw.ratio * exp(draw.scatter * normal() - draw.scatter ** 2 / 2);
    for (let vee = 0; vee < count; vee++) {
      let most = -1;
      // Lines that were read inside get no vees in this cycle.
      for (let i = 0; i < zones.length; i++)
        if (open.includes(zones[i]!.line) && (most < 0 || worth(i) > worth(most))) most = i;
      const step = Math.min(Math.abs(left[most]!), turned * zones[most]!.expectedVee);
      left[most]! -= Math.sign(left[most]!) * step;
    }
  }
  return { cycles: Number.POSITIVE_INFINITY, vees };

  function worth(i: number): number {
    return (Math.abs(left[i]!) * influence[i]![i]!) / zones[i]!.line.aim;
  }
}

/**
 * Cycles until a bulge is inside its aim: each closes a share of the bulge as found, the heats of a cycle scattering, and in
 * a dead cycle nothing moves.
 *
 * @param crest now and as found, m
 */
export function closeBulge(
  crest: { readonly now: number; readonly found: number },
  aim: number,
  draw: { readonly share: number; readonly deadShare: number; readonly scatter: number },
  uniform: () => number,
  normal: () => number,
): number {
  let left = crest.now;
  for (let cycle = 0; cycle < MOST_CYCLES; cycle++) {
    if (left <= aim) return cycle;
    if (uniform() < draw.deadShare) continue;
    left -= crest.found * draw.share * exp(draw.scatter * normal() - draw.scatter ** 2 / 2);
  }
  return Number.POSITIVE_INFINITY;
}

/** Deviation at x of a unit rotation at s between ends that are held, m/rad: x(L − s)/L before it, s(L − x)/L after it. */
function hinge(x: number, s: number, [from, to]: readonly [number, number]): number {
  const span = to - from;
  const [a, b] = x <= s ? [x - from, to - s] : [s - from, to - x];
  return Math.max(0, (a * b) / span);
}
