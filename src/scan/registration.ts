import { Qr } from '../maths/qr.ts';
import type { MeasuredSection, PartMean } from './flange-slices.ts';
import { placesOf } from './places.ts';
import type { Slice } from './slices.ts';

/**
 * Scans from different places, joined into one file, do not fit each other quite: the same steel lies double, some
 * millimetres apart. Scanners write what they see place after place, so that the order of the points tells the places
 * apart; where two of them see the same steel, the difference between them tells how each lies. Each place is then moved
 * (sideways and up, by a shift that may change evenly along the member) so that they fit, the mean of all places being
 * held: that frame is as good as any, because a survey has its own string.
 */
export interface Registration {
  /** Standard deviation of a place's points about where all of them together put the steel, before it was put right, m. */
  readonly sd: number;
  /**
   * `given`; `found` and put right; `one` place only, so that there is nothing to join; `apart` where places do not see the
   * same steel, or `lost` where the order of the points no longer tells places.
   */
  readonly how: 'given' | 'found' | 'one' | 'apart' | 'lost';
  /** What it leaves uncertain sideways and in height at a section, m. */
  readonly u: (at: number) => { readonly sideways: number; readonly up: number };
}

/** Sections in which places must meet before anything is put right. */
const MEETINGS = 6;
/** The means of two places in a section differ by this even where they fit: another angle of view, m. */
const ROUGHNESS = 0.0003;
/** Neighbouring sections share that roughness: as many of them count as one. */
const ALIKE = 8;
/** Places are never taken to fit better than this beforehand, m. */
const LEAST_SHIFT = 0.00025;
/** How far places may lie off before anything is known, m; turned, at the ends of the member. */
const BEFOREHAND = 0.01;
/** Taken for places that do not see the same steel, m: joined over targets. Common practice, no source. */
const APART = 0.002;

/** Points at the edges, of neighbouring sections together, that tell how wide they lie. */
const AT_EDGE = 30;
/** Where scatter is among the widest: this share of the sections has less. */
const WIDEST = 0.95;

/** Roots of the mean square of the points at the edges about them, m, stretch by stretch. */
function edgeSpreads(sections: readonly MeasuredSection[]): number[] {
  const out: number[] = [];
  let [n, squares] = [0, 0];
  for (const { parts } of sections)
    for (const { edgeN, edgeSquare } of parts) {
      if (!(edgeN > 0)) continue;
      n += edgeN;
      squares += edgeN * edgeSquare;
      if (n < AT_EDGE) continue;
      out.push(Math.sqrt(squares / n));
      [n, squares] = [0, 0];
    }
  return out;
}

/** The widest but for one in twenty; null of none. */
function widest(values: readonly number[]): number | null {
  const known = values.filter(Number.isFinite).sort((a, b) => a - b);
  return known[Math.floor(WIDEST * known.length)] ?? null;
}

/** What one place's points say of a section: their mean from the face and from the edges fitted to all, m. */
interface Seen {
  readonly place: number;
  readonly mean: number;
  readonly weight: number;
}

/** A direction in which places meet in a section. */
interface Meeting {
  readonly of: 'face' | 'edge';
  readonly at: number;
  /** The direction, sideways and up. */
  readonly toward: readonly [number, number];
  readonly seen: readonly Seen[];
}

function meetingsOf(sections: readonly MeasuredSection[], place: Int32Array): Meeting[] {
  return sections.flatMap((section) => {
    const [c, s] = [Math.cos(section.pose.tilt), Math.sin(section.pose.tilt)];
    const noise = Number.isFinite(section.scatter) ? section.scatter : 0.002;
    const meeting = (
      of: Meeting['of'],
      toward: readonly [number, number],
      look: (part: PartMean) => readonly [number, number],
    ) => {
      const sums = new Map<number, [sum: number, n: number]>();
      for (const part of section.parts) {
        const [mean, n] = look(part);
        if (!(n > 0) || place[part.part]! < 0) continue;
        const sum = sums.get(place[part.part]!) ?? [0, 0];
        sums.set(place[part.part]!, [sum[0] + n * mean, sum[1] + n]);
      }
      // A few points are enough: there are many sections.
      const seen = [...sums].map(
        ([key, [sum, n]]): Seen => ({
          place: key,
          mean: sum / n,
          weight: 1 / (noise ** 2 / n + ALIKE * ROUGHNESS ** 2),
        }),
      );
      return seen.length < 2 ? [] : [{ of, at: section.at, toward, seen }];
    };
    return [
      ...meeting('face', [-s, c], (p) => [p.face, p.faceN]),
      ...meeting('edge', [c, s], (p) => [p.edge, p.edgeN]),
    ];
  });
}

export interface Joined {
  readonly registration: Registration;
  /** How a place lies off, sideways and up, at a place along the member, m; null where nothing is to be put right. */
  readonly off: ((part: number, at: number) => readonly [number, number]) | null;
  /** How far any place is to be moved at most, m. */
  readonly farthest: number;
  /** How far off places were taken to lie at most, sd, m. */
  readonly beforehand: number;
}

/**
 * Finds places and how they lie off. Least squares on the differences between places in each section (its own place is
 * free, so that only differences count), with shifts near nought beforehand, which also holds their mean.
 * @param beforehand how far places may lie off at least, sd, m: what an earlier look took them for
 */
export function joinPlaces(
  sections: readonly MeasuredSection[],
  slices: readonly Slice[],
  beforehand = LEAST_SHIFT,
): Joined {
  const flat = (how: Registration['how'], sd: number): Joined => ({
    registration: { sd, how, u: () => ({ sideways: sd, up: sd }) },
    off: null,
    farthest: 0,
    beforehand,
  });
  const place = placesOf(
    sections.map(({ at, parts }) => ({
      at,
      parts: parts.map(({ part, mask, faceN, edgeN }) => ({ part, mask, n: faceN + edgeN })),
    })),
    slices,
  );
  if (place === null) {
    // No place is told from another: all the scatter about the steel may be places that do not fit. It is widest where two
    // of them see the same steel; elsewhere one of them has most of the points, and nothing shows. What is sideways
    // shows at an edge alone.
    const up = widest(sections.map((each) => each.scatter)) ?? APART;
    const sideways = Math.max(up, widest(edgeSpreads(sections)) ?? APART);
    return {
      ...flat('lost', Math.max(up, sideways)),
      registration: { sd: Math.max(up, sideways), how: 'lost', u: () => ({ sideways, up }) },
    };
  }
  const places = Math.max(...place) + 1;
  if (places < 2) return flat('one', 0);
  const meetings = meetingsOf(sections, place);
  if (meetings.length < MEETINGS || !allMeet(meetings, place, places)) return flat('apart', APART);

  const [first, last] = [sections[0]!.at, sections.at(-1)!.at];
  const along = (at: number) => (2 * (at - first)) / Math.max(1, last - first) - 1;
  const size = meanContrast(meetings, () => 0);
  // Where places hardly meet in a direction they are held by how far they lie off in the other.
  const sizes = ['face', 'edge'].map((of) =>
    meanContrast(
      meetings.filter((each) => each.of === of),
      () => 0,
    ),
  );
  const held = Math.max(beforehand, Math.min(BEFOREHAND, 2 * Math.max(...sizes)));
  const fit = solveShifts(meetings, places, along, held);
  const left = meanContrast(meetings, fit.shift);
  const farthest = Math.max(
    ...Array.from({ length: places }, (_, k) => k).flatMap((k) =>
      [first, last].map((at) => Math.hypot(fit.shift(k, at, [1, 0]), fit.shift(k, at, [0, 1]))),
    ),
  );
  return {
    farthest,
    beforehand: held,
    registration: {
      sd: size,
      how: 'found',
      u: (at) => {
        const shares = sharesAt(sections, place, places, at);
        const of = (toward: readonly [number, number]) =>
          Math.hypot(fit.u(shares, at, toward), left * Math.hypot(...shares));
        return { sideways: of([1, 0]), up: of([0, 1]) };
      },
    },
    off: (part, at) => {
      const k = place[part]!;
      return k < 0 ? [0, 0] : [fit.shift(k, at, [1, 0]), fit.shift(k, at, [0, 1])];
    },
  };
}

type Shift = (place: number, at: number, toward: readonly [number, number]) => number;

/** Shifts of the places: for each a shift and its change along the member, sideways and up. */
function solveShifts(
  meetings: readonly Meeting[],
  places: number,
  along: (at: number) => number,
  beforehand: number,
): { shift: Shift; u: (shares: readonly number[], at: number, toward: readonly [number, number]) => number } {
  const columns = 4 * places;
  const rows = meetings.reduce((sum, { seen }) => sum + seen.length, 0) + columns;
  const matrix = Array.from({ length: columns }, () => new Float64Array(rows));
  const right = new Float64Array(rows);
  let row = 0;
  for (const { at, toward, seen } of meetings) {
    const t = along(at);
    const factors = [toward[0], toward[0] * t, toward[1], toward[1] * t];
    const all = seen.reduce((sum, each) => sum + each.weight, 0);
    const middle = seen.reduce((sum, each) => sum + each.weight * each.mean, 0) / all;
    for (const each of seen) {
      const root = Math.sqrt(each.weight);
      for (const other of seen) {
        const share = (other === each ? 1 : 0) - other.weight / all;
        factors.forEach((factor, f) => {
          matrix[4 * other.place + f]![row]! += root * share * factor;
        });
      }
      right[row++] = root * (each.mean - middle);
    }
  }
  for (let k = 0; k < columns; k++) matrix[k]![row + k] = 1 / beforehand;
  const qr = new Qr(rows);
  for (const column of matrix) qr.push(column);
  const solved = qr.solve(qr.apply(right));
  const covariance = qr.unscaledCovariance();
  return {
    shift: (k, at, [y, z]) => {
      const t = along(at);
      const s = (f: number) => solved[4 * k + f]!;
      return y * (s(0) + t * s(1)) + z * (s(2) + t * s(3));
    },
    // Of the share each place has in what was measured, less the mean of all places, which is the frame.
    u: (shares, at, [y, z]) => {
      const t = along(at);
      const v = shares.flatMap((share) => [y, y * t, z, z * t].map((f) => f * (share - 1 / places)));
      let sum = 0;
      for (let a = 0; a < columns; a++)
        for (let b = 0; b < columns; b++) sum += v[a]! * covariance[a]![b]! * v[b]!;
      return Math.sqrt(Math.max(0, sum));
    },
  };
}

/** Shares of the places in the points of the section nearest to a place along the member. */
function sharesAt(
  sections: readonly MeasuredSection[],
  place: Int32Array,
  places: number,
  at: number,
): number[] {
  const shares = new Array<number>(places).fill(0);
  let nearest = sections[0]!;
  for (const each of sections) if (Math.abs(each.at - at) < Math.abs(nearest.at - at)) nearest = each;
  let all = 0;
  for (const part of nearest.parts) {
    const k = place[part.part]!;
    if (k < 0) continue;
    shares[k]! += part.faceN + part.edgeN;
    all += part.faceN + part.edgeN;
  }
  return all === 0 ? shares.fill(1 / places) : shares.map((n) => n / all);
}

/** Root of the mean variance between places that meet, once each is moved by what is said, m. */
function meanContrast(meetings: readonly Meeting[], shift: Shift): number {
  if (meetings.length === 0) return 0;
  const sum = meetings.reduce((all, each) => all + contrast(each, shift), 0);
  return Math.sqrt(Math.max(0, sum / meetings.length));
}

/** Variance between places at a meeting beyond their own noise, once each is moved by what is said, m². */
function contrast({ at, toward, seen }: Meeting, shift: Shift): number {
  const moved = seen.map((each) => each.mean - shift(each.place, at, toward));
  const middle = moved.reduce((sum, v) => sum + v, 0) / moved.length;
  const between = moved.reduce((sum, v) => sum + (v - middle) ** 2, 0) / (moved.length - 1);
  const own = seen.reduce((sum, { weight }) => sum + 1 / weight - ALIKE * ROUGHNESS ** 2, 0) / seen.length;
  return between - own;
}

/** Whether every place is joined to every other, over others in between. */
function allMeet(meetings: readonly Meeting[], place: Int32Array, places: number): boolean {
  const root = Array.from({ length: places }, (_, k) => k);
  const find = (k: number): number => (root[k] === k ? k : find(root[k]!));
  for (const { seen } of meetings) for (const each of seen) root[find(each.place)] = find(seen[0]!.place);
  const used = new Set([...place].filter((k) => k >= 0).map(find));
  return used.size === 1;
}
