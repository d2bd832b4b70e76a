import { drawBelow } from './draw-below.ts';
import { CLOUD_UNITS, type CloudUnit } from './units.ts';
import type { Vec3 } from './vector.ts';

/** A straight strip of steel in a cloud that may be a flange, and points on it to use as picks. */
export interface FoundMember {
  readonly units: CloudUnit;
  /** Picks as far apart as the line is long, in the cloud's unit, in the middle of what was found. */
  readonly from: Vec3;
  readonly to: Vec3;
  /** Length and width found, m, and the share of the length that lies straight on it. */
  readonly length: number;
  readonly width: number;
  readonly straight: number;
}

/** What is looked for: a flange so wide, on a line so long, m. */
export interface Wanted {
  readonly width: number;
  readonly length: number;
  readonly units: CloudUnit | null;
}

/** Points looked at, drawn evenly from the whole cloud. */
const SAMPLE = 400_000;
const UNITS: readonly CloudUnit[] = ['m', 'ft', 'mm', 'in', 'cm'];
/** A cloud reaches from about one line to this many lines: tells the unit where it is not given. */
const REACH = 40;
/** Cell of the thinned cloud, and of the section in which strips are sought: sideways and up, m. */
const VOXEL = 0.04;
const [SIDE, UP] = [0.03, 0.02];
/** Stations a strip is judged in, m. */
const STATION = 0.5;
/** A strip lies straight over this share of its length: the struck part may be anywhere else. */
const STRAIGHT = 0.25;
/** Steepest grade of a member, rad. */
const GRADE = 0.09;
const MOST_FOUND = 8;

/**
 * Looks for straight members in a cloud whose z axis is up: the direction in which the cloud, seen end on, falls on the
 * fewest cells is that of the girders (their flanges, webs and deck edges then lie on top of each other); in that view a
 * flange is a level run of cells as wide as the job says, with nothing beside it. Give `sink` every point, then ask `found`.
 */
export function memberFinder(wanted: Wanted) {
  const kept = new Float64Array(3 * SAMPLE);
  const below = drawBelow(0x9e3779b9);
  let seen = 0;

  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      for (let i = 0; i < count; i++) {
        let slot = seen++;
        if (slot >= SAMPLE) {
          slot = below(seen);
          if (slot >= SAMPLE) continue;
        }
        kept[3 * slot] = x[i]!;
        kept[3 * slot + 1] = y[i]!;
        kept[3 * slot + 2] = z[i]!;
      }
    },
    /** The points looked at, x y z by turns, in the cloud's unit. */
    sample: (): Float64Array => kept.subarray(0, 3 * Math.min(SAMPLE, seen)),
    /** Likeliest first. */
    found(): FoundMember[] {
      const points = kept.subarray(0, 3 * Math.min(SAMPLE, seen));
      const size = diagonal(points);
      return (wanted.units === null ? UNITS : [wanted.units])
        .flatMap((units) => {
          const reach = size * CLOUD_UNITS[units];
          const fits = reach > 0.9 * wanted.length && reach < REACH * wanted.length;
          return wanted.units !== null || fits ? membersIn(points, units, wanted) : [];
        })
        .sort((a, b) => worthOf(b, wanted) - worthOf(a, wanted))
        .slice(0, MOST_FOUND);
    },
  };
}

function diagonal(points: Float64Array): number {
  const low = [Infinity, Infinity, Infinity];
  const high = [-Infinity, -Infinity, -Infinity];
  for (let i = 0; i < points.length; i++) {
    const k = i % 3;
    if (points[i]! < low[k]!) low[k] = points[i]!;
    if (points[i]! > high[k]!) high[k] = points[i]!;
  }
  return Math.hypot(...high.map((v, k) => v - low[k]!));
}

/** One point a cell, m from the first point: what is near the scanner would outvote the rest. */
function thinned(points: Float64Array, metres: number): Float64Array {
  const cells = new Set<string>();
  const out: number[] = [];
  for (let i = 0; i < points.length; i += 3) {
    const p = [0, 1, 2].map((k) => (points[i + k]! - points[k]!) * metres);
    const key = p.map((v) => Math.round(v / VOXEL)).join();
    if (cells.has(key)) continue;
    cells.add(key);
    out.push(p[0]!, p[1]!, p[2]!);
  }
  return Float64Array.from(out);
}

/** Share of a cloud that falls on well filled cells when seen along a direction and grade: sum of squares over cells. */
function sharpness(points: Float64Array, angle: number, grade: number, side: number, up: number): number {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const cells = new Map<number, number>();
  for (let i = 0; i < points.length; i += 3) {
    const [x, y, z] = [points[i]!, points[i + 1]!, points[i + 2]!];
    const key = Math.round((c * y - s * x) / side) * 65_536 + Math.round((z - grade * (c * x + s * y)) / up);
    cells.set(key, (cells.get(key) ?? 0) + 1);
  }
  let sum = 0;
  for (const n of cells.values()) sum += n * n;
  return sum;
}

/** Best of evenly spaced values. */
function bestOf(from: number, to: number, step: number, worth: (v: number) => number): number {
  let [best, top] = [from, -Infinity];
  for (let v = from; v <= to + 1e-12; v += step) {
    const w = worth(v);
    if (w > top) [best, top] = [v, w];
  }
  return best;
}

function membersIn(all: Float64Array, units: CloudUnit, wanted: Wanted): FoundMember[] {
  const metres = CLOUD_UNITS[units];
  const points = thinned(all, metres);
  // From coarse cells to fine: a direction off by a cell over the length smears everything.
  const few = points.length > 60_000 ? stride(points, Math.ceil(points.length / 60_000)) : points;
  let angle = bestOf(0, Math.PI, Math.PI / 360, (a) => sharpness(few, a, 0, 0.4, 1));
  let grade = 0;
  for (const cell of [0.4, 0.15, 0.06, 0.03]) {
    const turn = cell / wanted.length;
    const at = angle;
    angle = bestOf(at - 3 * turn, at + 3 * turn, turn / 2, (a) => sharpness(few, a, grade, cell, cell));
    const rise = grade;
    const most = cell === 0.4 ? GRADE : 3 * turn;
    grade = bestOf(rise - most, rise + most, turn / 2, (g) => sharpness(few, angle, g, cell, cell));
  }
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  const strips = stripsIn(points, c, s, grade, wanted);
  return strips.map(({ side, up, from, to, width, straight }): FoundMember => {
    const middle = (from + to) / 2;
    const half = wanted.length / 2;
    const point = (at: number): Vec3 => {
      const p = [c * at - s * side, s * at + c * side, up + grade * at];
      return p.map((v, k) => Number((v / metres + all[k]!).toPrecision(10))) as unknown as Vec3;
    };
    // Two picks as far apart as their stations along the slope.
    const run = half / Math.hypot(1, grade);
    return { units, from: point(middle - run), to: point(middle + run), length: to - from, width, straight };
  });
}

function worthOf(member: FoundMember, wanted: Wanted): number {
  return (
    member.straight -
    2 * Math.max(0, 1 - member.length / wanted.length) -
    3 * Math.abs(member.width - wanted.width)
  );
}

function stride(points: Float64Array, step: number): Float64Array {
  const out = new Float64Array(3 * Math.ceil(points.length / 3 / step));
  for (let i = 0, k = 0; i < points.length; i += 3 * step, k += 3) out.set(points.subarray(i, i + 3), k);
  return out;
}

interface Strip {
  /** Middle sideways and in height, m; reach along, m. */
  readonly side: number;
  readonly up: number;
  readonly from: number;
  readonly to: number;
  readonly width: number;
  readonly straight: number;
}

/** Level runs of cells as wide as the flange, in the view along the members. */
function stripsIn(points: Float64Array, c: number, s: number, grade: number, wanted: Wanted): Strip[] {
  // For each cell of the view, the stations in which it is filled.
  const cells = new Map<number, Set<number>>();
  const keyOf = (i: number, j: number) => i * 65_536 + j;
  for (let p = 0; p < points.length; p += 3) {
    const [x, y, z] = [points[p]!, points[p + 1]!, points[p + 2]!];
    const at = c * x + s * y;
    const key = keyOf(Math.floor((c * y - s * x) / SIDE), Math.floor((z - grade * at) / UP));
    let stations = cells.get(key);
    if (stations === undefined) {
      stations = new Set();
      cells.set(key, stations);
    }
    stations.add(Math.floor(at / STATION));
  }
  const least = (STRAIGHT * wanted.length) / STATION;
  // A face wanders over two rows of cells.
  const filled = (i: number, j: number): Set<number> => {
    const [a, b] = [cells.get(keyOf(i, j)), cells.get(keyOf(i, j + 1))];
    return a === undefined ? (b ?? new Set()) : b === undefined ? a : new Set([...a, ...b]);
  };
  const rows = new Map<number, number[]>();
  for (const [key, stations] of cells) {
    if (stations.size < 0.4 * least) continue;
    const j = (((key % 65_536) + 65_536 + 32_768) % 65_536) - 32_768;
    const i = Math.round((key - j) / 65_536);
    for (const row of [j, j - 1]) {
      const list = rows.get(row);
      if (list === undefined) rows.set(row, [i]);
      else list.push(i);
    }
  }
  const found: Strip[] = [];
  const nominal = Math.round(wanted.width / SIDE);
  for (const [j, list] of rows) {
    const counts = new Map([...new Set(list)].map((i) => [i, filled(i, j)]));
    for (const start of counts.keys())
      for (const wide of [nominal - 1, nominal, nominal + 1]) {
        const strip = stripOf(start, wide, j, counts, wanted);
        if (strip !== null) found.push(strip);
      }
  }
  // One strip in several rows is one: the one seen over most of its length stands.
  const kept: Strip[] = [];
  for (const strip of found.sort((a, b) => b.straight - a.straight)) {
    if (kept.every((other) => Math.hypot(other.side - strip.side, other.up - strip.up) > 0.6 * wanted.width))
      kept.push(strip);
  }
  return kept;
}

/** Cells beside a strip that must be empty, after one that may be half filled. */
const BESIDE = 3;

/**
 * A run of cells as a strip, or null where it is not seen over enough of a member. A station counts where most of the run
 * is filled and hardly anything beside it: a deck or the ground goes on, a web is narrow.
 */
function stripOf(
  start: number,
  wide: number,
  row: number,
  counts: ReadonlyMap<number, Set<number>>,
  wanted: Wanted,
): Strip | null {
  const inside = new Map<number, number>();
  for (let i = start; i < start + wide; i++)
    for (const station of counts.get(i) ?? []) inside.set(station, (inside.get(station) ?? 0) + 1);
  const beside = [-1, 1].map((way) => {
    const filled = new Map<number, number>();
    const end = way < 0 ? start : start + wide - 1;
    for (let k = 2; k < 2 + BESIDE; k++)
      for (const station of counts.get(end + way * k) ?? [])
        filled.set(station, (filled.get(station) ?? 0) + 1);
    return (station: number) => filled.get(station) ?? 0;
  }) as [(station: number) => number, (station: number) => number];
  // Mixed pixels trail off one edge; a deck or slab fills a side or both.
  const alone = (station: number) => {
    const [left, right] = beside.map((of) => of(station)) as [number, number];
    return Math.max(left, right) < BESIDE && Math.min(left, right) <= 1;
  };
  const whole = [...inside]
    .flatMap(([station, n]) => (n > 0.6 * wide && alone(station) ? [station] : []))
    .sort((a, b) => a - b);
  if (whole.length * STATION < STRAIGHT * wanted.length) return null;
  const [from, to] = [whole[0]! * STATION, (whole.at(-1)! + 1) * STATION];
  if (to - from < 0.6 * wanted.length || to - from > 1.3 * wanted.length) return null;
  const filled = whole.reduce((sum, station) => sum + inside.get(station)!, 0) / (whole.length * wide);
  const straight = (filled * whole.length * STATION) / Math.max(to - from, wanted.length);
  if (straight < STRAIGHT) return null;
  return {
    side: (start + wide / 2) * SIDE,
    up: (row + 1) * UP,
    from,
    to,
    width: wide * SIDE,
    straight,
  };
}
