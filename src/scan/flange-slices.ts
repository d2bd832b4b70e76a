import { medianOrNaN } from '../maths/median.ts';
import { continuousChain, type SlicePoint, seriesOf, slopeWithin } from './continuous.ts';
import { EDGE_WINDOW, type EdgeTables, fitEdge } from './edge-model.ts';
import { partOf, STRIPS } from './file-parts.ts';
import type { FlangeTrack } from './flange-track.ts';
import { pooledScatter } from './line-slices.ts';
import { type PathPoint, posePath, splinePath } from './pose-path.ts';
import type { Pose, Section } from './section-fit.ts';
import type { Slice } from './slices.ts';

/** A value and its standard uncertainty, m or rad. */
export interface Known {
  readonly value: number;
  readonly u: number;
}

export interface KnownEdge extends Known {
  /** Part of the uncertainty that rows of points at one distance from the edge share from slice to slice, m. */
  readonly rowU: number;
  /** Whether its own face was seen: points pile up at it, and rows along the face beside it do not matter. */
  readonly squareOn: boolean;
}

/** The section measured in one slice, in the axes of the line. */
export interface MeasuredSection {
  readonly at: number;
  /** Length of steel it is measured over, m. */
  readonly length: number;
  /** Middle of the section; `tilt` from the face. */
  readonly pose: Pose;
  /** Edges along the section's own width, from `pose`, m; null where not seen. `left` is the negative side. */
  readonly left: KnownEdge | null;
  readonly right: KnownEdge | null;
  /** Uncertainty of the face at the section's middle, of its slope, and their covariance; which face was seen. */
  readonly face: {
    readonly u: number;
    readonly slopeU: number;
    readonly covariance: number;
    readonly outer: boolean;
    readonly seen: boolean;
  };
  /** Scatter of the points about the face, m. */
  readonly scatter: number;
  /** Points that carried the section, and points near it that did not. */
  readonly used: number;
  readonly off: number;
  /** Means of points in parts of the file: what registration between scans from different places leaves. */
  readonly parts: readonly PartMean[];
}

/** Mean distance from the face (and from an edge, NaN where not seen) of the points of one part of the file in a slice, m. */
export interface PartMean {
  readonly part: number;
  /** Where across the flange it has points: a bit for each twelfth of the width. */
  readonly mask: number;
  readonly face: number;
  readonly faceN: number;
  readonly edge: number;
  readonly edgeN: number;
  /** Mean square of the same distances from the edge, m². */
  readonly edgeSquare: number;
}

export interface MeasuredFlange {
  readonly sections: readonly MeasuredSection[];
  /** Places left out because the plate's other face was followed there, m along the line. */
  readonly crossed: readonly number[];
  /** Length of steel measured at once, m: the middle one of all, and the longest. */
  readonly thickness: number;
  readonly longest: number;
  /** Scatter of the points about the edges, m. */
  readonly scatter: number;
  /** Between points on the face where they are thin (one section in ten has them farther apart), m. */
  readonly spacing: number;
  /** Path used, per slice. */
  readonly path: readonly (PathPoint | null)[];
}

/** Points near the section wanted in one measurement. */
const WANTED = 110;
/** Points near the section that are enough to tell where to look next. */
const ENOUGH = 250;
/** Share of the usual quality of a track that a place must have to guide the path. */
const GUIDING = 0.7;
/** What is usual is looked up as far as this to both sides, m. */
const AROUND = 0.6;
/** At most so long, m. */
const LONGEST = 0.5;
/** Room around the outline that is looked at, m. */
const ROOM = 0.045;
const FACE_GATE = 0.015;
/** Edges are looked for among points within this of the plate's thickness, m. */
const EDGE_GATE = 0.01;
/** Share of the points near an edge that lie at it when its own face is seen. */
const SQUARE_ON = 0.15;
/** Of those, this share lies within the plate's thickness, away from the face that is seen; rows of a face do not. */
const DEEP = 0.25;
/** What an edge seen along the face is doubted for its place in a slice, m. */
const ALONG_U = 0.003;
/** What the middle is doubted sideways where neither edge is seen, m. */
const NO_EDGE_U = 0.02;
/** Slices more than this many times the usual length are long: steel may bend within them. */
export const LONG = 2.5;
const LEAST_POINTS = 12;
const LEAST_GAIN = 4;
const SAMPLED = 500;
/** Uncertainty of a plate's thickness where only the other face is seen, m: mill tolerance. Common practice, no source. */
const PLATE_U = 0.0005;

/** Measures the section in the slices of a track. */
export function measureFlange(
  slices: readonly Slice[],
  track: FlangeTrack,
  section: Section,
  points: number,
): MeasuredFlange {
  const thickness = slices.length > 1 ? slices[1]!.centre - slices[0]!.centre : 0.05;
  const centres = slices.map((slice) => slice.centre);
  const seen = slices.map((_, i) => track.poses[i] !== null && !track.disputed[i]);
  // A place that explains plainly less than is usual stands beside a clamp or a board: it guides nothing.
  const rough = slices.flatMap((slice, i) =>
    seen[i] && track.quality[i]! > GUIDING * track.typical
      ? [{ at: slice.centre, pose: track.poses[i]! }]
      : [],
  );
  let path = posePath(
    rough,
    centres,
    centres.map(() => 0.3),
    null,
  );
  const work = workspace(slices);
  const numbers = slices.map((slice, i) =>
    seen[i] && path[i] != null ? near(work, slice, path[i]!, section) : -1,
  );
  const groups = groupSlices(seen, numbers, thickness);
  let tables = sampleScatter(groups, slices, path, section, work, 0.001);
  const lengths = lengthAround(groups, slices.length, thickness);
  const usual = medianOrNaN(groups.map((group) => group.length * thickness));
  let sections: MeasuredSection[] = [];
  for (let pass = 0; pass < 4; pass++) {
    const fine = pass >= 2;
    const last = pass === 3;
    sections = [];
    for (const group of groups) {
      // Where to look next is told by a share of the points of a dense slice; what is reported, by all of them.
      const near = group.reduce((sum, i) => sum + Math.max(0, numbers[i]!), 0);
      const every = last ? 1 : Math.max(1, Math.floor(near / ENOUGH));
      const found = measure(
        group,
        slices,
        path,
        section,
        tables,
        work,
        fine,
        last ? points : 0,
        thickness,
        every,
      );
      if (found !== null) sections.push(found);
    }
    if (last) break;
    const known = steady(sections, usual);
    const local = posePath(
      known,
      centres,
      // Over long slices hardly more than the next ones: a wider look would round a bend.
      lengths.map((length) =>
        Math.max(pass === 0 ? 0.2 : 0.07, (length > 2.5 * thickness ? 1.25 : 2) * length),
      ),
      pass > 0 && usual < 1.5 * thickness ? thickness : null,
    );
    const smooth = known.length < 4 ? local : splinePath(known.map(weighed), centres);
    path = local.map((each, i) => (lengths[i]! > LONG * thickness ? smooth[i]! : each));
    // Few points tell an edge's scatter badly; it is hardly less than the face's.
    if (pass === 0) {
      const scatters = sections.map((each) => each.scatter).filter(Number.isFinite);
      tables = sampleScatter(groups, slices, path, section, work, 0.6 * (medianOrNaN(scatters) || 0.001));
    }
  }
  return {
    ...onOneFace(sections, section.thickness),
    thickness: groups.length === 0 ? 0 : usual,
    longest: Math.max(thickness, ...lengths),
    scatter: tables.scatter,
    spacing: farApart(
      groups.map((group) => {
        const points = group.reduce((sum, i) => sum + Math.max(0, numbers[i]!), 0);
        return Math.sqrt((group.length * thickness * section.width) / Math.max(1, points));
      }),
    ),
    path,
  };
}

/** The ninth tenth. */
function farApart(values: readonly number[]): number {
  return [...values].sort((a, b) => a - b)[Math.floor(0.9 * values.length)] ?? Number.NaN;
}

/**
 * Slices taken together until there are points enough: by what is usual around each, so that a dense cloud keeps its
 * short slices where it is dense, and a post in front of one slice changes nothing.
 * @param numbers points near the section in each slice; negative where it is not seen
 */
function groupSlices(seen: readonly boolean[], numbers: readonly number[], thickness: number): number[][] {
  const most = Math.max(1, Math.floor(LONGEST / thickness + 1e-9));
  const around = Math.max(2, Math.round(AROUND / thickness));
  const groups: number[][] = [];
  for (let i = 0; i < seen.length; ) {
    const near = numbers.slice(Math.max(0, i - around), i + around + 1).filter((n) => n >= 0);
    const together = Math.max(1, Math.min(most, Math.ceil(WANTED / Math.max(1, medianOrNaN(near) || 0))));
    const group: number[] = [];
    for (let k = i; k < Math.min(seen.length, i + together); k++) if (seen[k]) group.push(k);
    if (group.length > 0) groups.push(group);
    i += together;
  }
  return groups;
}

/** For every slice the length of the group it is in or nearest to, m. */
function lengthAround(groups: readonly (readonly number[])[], count: number, thickness: number): number[] {
  let g = 0;
  return Array.from({ length: count }, (_, i) => {
    const off = (group: readonly number[]) => Math.max(0, group[0]! - i, i - group.at(-1)!);
    while (g + 1 < groups.length && off(groups[g + 1]!) < off(groups[g]!)) g++;
    return thickness * (groups[g]?.length ?? 1);
  });
}

/** A step between neighbours of the plate's thickness, to this share, is from one of its faces to the other. */
const FACE_STEP = 0.25;
/** Neighbours are this near, m. */
const NEXT = 0.6;

/**
 * Sections on the face most of them are on. Steel does not step by its own thickness: where the level does, the plate's other
 * face was taken for the one followed.
 */
function onOneFace(
  sections: readonly MeasuredSection[],
  thickness: number,
): Pick<MeasuredFlange, 'sections' | 'crossed'> {
  const series = seriesOf(sections.map(({ at, pose }) => ({ at, value: pose.z, u: 0.001 })));
  const face = new Int32Array(sections.length);
  const counts = new Map<number, number>();
  for (let i = 0; i < sections.length; i++) {
    if (i > 0) {
      const gap = sections[i]!.at - sections[i - 1]!.at;
      const tilt = (sections[i]!.pose.tilt + sections[i - 1]!.pose.tilt) / 2;
      // Of both sides, each without the step.
      const slope = (slopeWithin(series, i - 9, i - 1) + slopeWithin(series, i, i + 8)) / 2;
      const [dy, dz] = [
        sections[i]!.pose.y - sections[i - 1]!.pose.y,
        sections[i]!.pose.z - sections[i - 1]!.pose.z - slope * gap,
      ];
      const step = dz * Math.cos(tilt) - dy * Math.sin(tilt);
      const faces = Math.abs(step) / thickness;
      const crossed = gap <= NEXT && Math.abs(faces - 1) < FACE_STEP;
      face[i] = face[i - 1]! + (crossed ? Math.sign(step) : 0);
    }
    counts.set(face[i]!, (counts.get(face[i]!) ?? 0) + 1);
  }
  const most = [...counts].sort((a, b) => b[1] - a[1])[0]?.[0];
  return {
    sections: sections.filter((_, i) => face[i] === most),
    crossed: sections.flatMap(({ at }, i) => (face[i] === most ? [] : [at])),
  };
}

/** A section's pose with what it is known to. */
function weighed({ at, pose, left, right, face }: MeasuredSection) {
  const edge = (each: KnownEdge | null) =>
    each === null ? NO_EDGE_U : Math.hypot(each.u, each.squareOn ? 0 : ALONG_U);
  return { at, pose, u: { y: Math.min(edge(left), edge(right)), z: face.u, tilt: face.slopeU } };
}

/** Sections whose middle is continuous from one to the next, sideways and in height. */
function steady(sections: readonly MeasuredSection[], thickness: number) {
  const chain = (of: (each: MeasuredSection) => number) =>
    continuousChain(
      sections.map((each): SlicePoint => ({ at: each.at, value: of(each), u: Math.max(0.001, each.face.u) })),
      thickness,
    );
  const [sideways, level] = [chain((each) => each.pose.y), chain((each) => each.pose.z)];
  const kept = sections.filter((_, i) => sideways[i] && level[i]);
  return kept.length >= 4 ? kept : sections;
}

interface Workspace {
  u: Float64Array;
  v: Float64Array;
  order: Float64Array;
  residual: Float64Array;
  toward: Float64Array;
  count: number;
}

function workspace(slices: readonly Slice[]): Workspace {
  // As many as the fullest run of slices that are ever taken together can hold near the flange.
  let most = 0;
  let total = 0;
  for (const slice of slices) {
    most = Math.max(most, slice.count);
    total += slice.count;
  }
  const size = Math.min(total, Math.max(most, 20 * WANTED) + most) + 1;
  const column = () => new Float64Array(size);
  return { u: column(), v: column(), order: column(), residual: column(), toward: column(), count: 0 };
}

/** Points of a slice near the section, into the workspace from where it stands; in the section's own axes. */
function add(work: Workspace, slice: Slice, path: PathPoint, section: Section, every = 1): void {
  const { pose, before, after, turn } = path;
  const [hw, ht] = [section.width / 2 + ROOM, section.thickness / 2 + ROOM];
  const { along, toward, across, order, count } = slice;
  const c0 = Math.cos(pose.tilt);
  const s0 = Math.sin(pose.tilt);
  // The path is the pose at the middle of the slice, and broken at `turn`.
  const held = turn > 0 ? before : after;
  const [y0, z0] = [pose.y + held.y * turn, pose.z + held.z * turn];
  let n = work.count;
  for (let p = 0; p < count && n < work.u.length; p += every) {
    const a = along[p]!;
    const slope = a < turn ? before : after;
    const dy = toward[p]! - y0 - slope.y * (a - turn);
    const dz = across[p]! - z0 - slope.z * (a - turn);
    // The section turns by a milliradian or so within a slice.
    const twist = slope.tilt * a;
    const c = c0 - s0 * twist;
    const s = s0 + c0 * twist;
    const u = c * dy + s * dz;
    const v = c * dz - s * dy;
    if (u < -hw || u > hw || v < -ht || v > ht) continue;
    work.u[n] = u;
    work.v[n] = v;
    work.order[n++] = order[p]!;
  }
  work.count = n;
}

function near(work: Workspace, slice: Slice, point: PathPoint, section: Section): number {
  work.count = 0;
  add(work, slice, point, section);
  const [hw, ht] = [section.width / 2, section.thickness / 2];
  let n = 0;
  for (let i = 0; i < work.count; i++) {
    const off = Math.abs(work.v[i]!) - ht;
    if (off < FACE_GATE && off > -FACE_GATE && Math.abs(work.u[i]!) < hw + 0.01) n++;
  }
  return n;
}

function sampleScatter(
  groups: readonly (readonly number[])[],
  slices: readonly Slice[],
  path: readonly (PathPoint | null)[],
  section: Section,
  work: Workspace,
  least: number,
): EdgeTables {
  const step = Math.max(1, Math.floor(groups.length / 14));
  const windows: Float64Array[] = [];
  for (let g = 0; g < groups.length; g += step) {
    const middle = gather(groups[g]!, slices, path, section, work);
    if (middle === null) continue;
    for (const side of [-1, 1]) {
      const n = edgeWindow(work, section, side, 0, 0);
      if (n >= 20) windows.push(work.toward.slice(0, Math.min(n, SAMPLED)));
    }
  }
  return pooledScatter(windows, least);
}

/** The points of a group of slices in the section's own axes; the path at its middle. */
function gather(
  group: readonly number[],
  slices: readonly Slice[],
  path: readonly (PathPoint | null)[],
  section: Section,
  work: Workspace,
  every = 1,
): PathPoint | null {
  work.count = 0;
  for (const i of group) if (path[i] != null) add(work, slices[i]!, path[i]!, section, every);
  return path[group[group.length >> 1]!] ?? null;
}

/** Distances beyond an edge, into `toward`; the face at `c + k u`. */
function edgeWindow(work: Workspace, section: Section, side: number, c: number, k: number): number {
  const [hw, ht] = [section.width / 2, section.thickness / 2 + EDGE_GATE];
  const { u, v, toward, count } = work;
  let n = 0;
  for (let i = 0; i < count; i++) {
    const q = side * (u[i]! + k * v[i]!) - hw;
    if (q < -EDGE_WINDOW.inside) continue;
    const off = v[i]! - c - k * u[i]!;
    if (off > ht || off < -ht) continue;
    toward[n++] = q;
  }
  return n;
}

/** Of the points at an edge the share that lies halfway down the plate or deeper, seen from the face. */
function edgeFaceShare(
  work: Workspace,
  section: Section,
  which: -1 | 1,
  side: -1 | 1,
  edge: number,
  scatter: number,
  c: number,
  k: number,
): number {
  const [hw, ht] = [section.width / 2, section.thickness / 2];
  const [near, deep] = [3 * scatter + 0.001, Math.min(ht, 4 * scatter)];
  const { u, v, count } = work;
  let [all, within] = [0, 0];
  for (let i = 0; i < count; i++) {
    const off = v[i]! - c - k * u[i]!;
    const q = which * (u[i]! + k * v[i]!) - hw - edge;
    if (q > near || q < -near || off > ht + EDGE_GATE || off < -ht - EDGE_GATE) continue;
    all++;
    if (ht - side * off > deep) within++;
  }
  return all === 0 ? 0 : within / all;
}

function measure(
  group: readonly number[],
  slices: readonly Slice[],
  path: readonly (PathPoint | null)[],
  section: Section,
  tables: EdgeTables,
  work: Workspace,
  fine: boolean,
  points: number,
  thickness: number,
  every: number,
): MeasuredSection | null {
  const middle = gather(group, slices, path, section, work, every);
  if (middle === null || work.count < LEAST_POINTS) return null;
  const centre = slices[group[group.length >> 1]!]!.centre;
  const at = group.reduce((sum, i) => sum + slices[i]!.centre, 0) / group.length;
  const ht = section.thickness / 2;
  const outerCount = faceCount(work, section, -1);
  const innerCount = faceCount(work, section, 1);
  const side = outerCount >= Math.min(40, innerCount) ? -1 : 1;
  const fit = fitFaceLine(work, section, side, fine);
  const [c, k] = fit === null ? [0, 0] : [fit.level, fit.slope];
  const edge = (which: -1 | 1): (KnownEdge & { used: number }) | null => {
    const n = edgeWindow(work, section, which, c, k);
    const found = fitEdge(work.toward, n, tables, fine);
    if (found === null || found.gain < LEAST_GAIN) return null;
    const w = found.weights;
    const solid = (w.face + w.edgeFace) / EDGE_WINDOW.inside;
    const empty = (w.trail + w.background) / (EDGE_WINDOW.inside + EDGE_WINDOW.outside);
    if (solid < 1.5 * empty) return null;
    const squareOn =
      w.edgeFace > SQUARE_ON &&
      edgeFaceShare(work, section, which, side, found.edge, tables.scatter, c, k) > DEEP;
    return {
      value: which * (section.width / 2 + found.edge),
      u: found.u,
      used: Math.round(found.count * (w.face + w.edgeFace)),
      rowU: squareOn ? 0 : rowGap(work.toward, n, found.edge, tables.scatter),
      squareOn,
    };
  };
  const left = edge(-1);
  const right = edge(1);
  if (left === null && right === null && fit === null) return null;
  // The middle, half a width from each edge.
  // By weights, an edge seen only along the face counting less: it stands off by rows of points.
  const looks = [left, right].flatMap((each, i) =>
    each === null
      ? []
      : [
          {
            middle: each.value + (i === 0 ? 0.5 : -0.5) * section.width,
            weight: 1 / (each.u ** 2 + (each.squareOn ? 0 : ALONG_U) ** 2),
          },
        ],
  );
  const weights = looks.reduce((sum, each) => sum + each.weight, 0);
  const u0 = weights > 0 ? looks.reduce((sum, each) => sum + each.weight * each.middle, 0) / weights : 0;
  const d = at - centre;
  const slope = d < 0 ? middle.before : middle.after;
  const tilt = middle.pose.tilt + slope.tilt * d + k;
  const [cs, sn] = [Math.cos(middle.pose.tilt), Math.sin(middle.pose.tilt)];
  const level = c + k * u0;
  const used = (fit?.used ?? 0) + (left?.used ?? 0) + (right?.used ?? 0);
  return {
    at,
    length: thickness * group.length,
    pose: {
      y: middle.pose.y + slope.y * d + cs * u0 - sn * level,
      z: middle.pose.z + slope.z * d + sn * u0 + cs * level,
      tilt,
    },
    left:
      left === null ? null : { value: left.value - u0, u: left.u, rowU: left.rowU, squareOn: left.squareOn },
    right:
      right === null
        ? null
        : { value: right.value - u0, u: right.u, rowU: right.rowU, squareOn: right.squareOn },
    face: {
      u: fit === null ? 0.006 : Math.hypot(fit.levelU, side === 1 ? PLATE_U : 0),
      slopeU: fit?.slopeU ?? 0.04,
      covariance: fit?.covariance ?? 0,
      outer: side === -1,
      seen: fit !== null,
    },
    scatter: fit?.scatter ?? Number.NaN,
    used: Math.min(used, work.count),
    off: Math.max(0, work.count - used),
    parts: points > 0 ? partMeans(work, section, side, c, k, left, right, tables.scatter, points) : [],
  };

  function faceCount(w: Workspace, s: Section, which: -1 | 1): number {
    let n = 0;
    for (let i = 0; i < w.count; i++) {
      if (Math.abs(w.v[i]! - which * ht) < FACE_GATE && Math.abs(w.u[i]!) < s.width / 2 - 0.008) n++;
    }
    return n;
  }
}

interface FaceLine {
  /** At u = 0 from where the face is expected, m; rad. */
  readonly level: number;
  readonly slope: number;
  readonly levelU: number;
  readonly slopeU: number;
  readonly covariance: number;
  readonly scatter: number;
  readonly used: number;
}

/** Used, and the weighted sums of 1, u, u², r, ur and r². */
const FACE_SUMS = new Float64Array(7);

/** The sums of one pass over the points of a face; a loop of its own, which the engine compiles in a moment. */
function weighFace(
  residual: Float64Array,
  toward: Float64Array,
  n: number,
  level: number,
  slope: number,
  width: number,
  sums: Float64Array,
): void {
  sums.fill(0);
  for (let i = 0; i < n; i++) {
    const u = toward[i]!;
    const r = residual[i]! - level - slope * u;
    const z = r / width;
    if (z <= -1 || z >= 1) continue;
    const w = (1 - z * z) ** 2;
    sums[0]!++;
    sums[1]! += w;
    sums[2]! += w * u;
    sums[3]! += w * u * u;
    sums[4]! += w * r;
    sums[5]! += w * r * u;
    sums[6]! += w * r * r;
  }
}

/**
 * The face as a line across the section, by Tukey's biweight (4.685; Beaton and Tukey 1974) from a median; null where
 * fewer than 12 points agree or they lie together at one place across.
 */
function fitFaceLine(work: Workspace, section: Section, side: -1 | 1, fine: boolean): FaceLine | null {
  const { u, v, residual, toward, count } = work;
  const [hw, ht] = [section.width / 2 - 0.008, section.thickness / 2];
  let n = 0;
  for (let i = 0; i < count; i++) {
    const r = v[i]! - side * ht;
    // Halfway through a thin plate the points belong to its other face.
    if (r < -FACE_GATE || r > FACE_GATE || v[i]! * side < 0 || u[i]! < -hw || u[i]! > hw) continue;
    residual[n] = r;
    toward[n++] = u[i]!;
  }
  if (n < LEAST_POINTS) return null;
  let level = medianOrNaN(residual.subarray(0, n));
  let slope = 0;
  let scatter = 0.004;
  let used = 0;
  let [m, su, suu, spread] = [0, 0, 0, 0];
  for (let pass = 0; pass < 15; pass++) {
    weighFace(residual, toward, n, level, slope, 4.685 * scatter, FACE_SUMS);
    const [sr, sur, srr] = [FACE_SUMS[4]!, FACE_SUMS[5]!, FACE_SUMS[6]!];
    used = FACE_SUMS[0]!;
    m = FACE_SUMS[1]!;
    su = FACE_SUMS[2]!;
    suu = FACE_SUMS[3]!;
    if (used < LEAST_POINTS) return null;
    spread = suu - (su * su) / m;
    // Points within a few centimetres of each other across the flange do not tell its slope.
    if (!(spread / m > 0.015 ** 2)) return null;
    const stepSlope = (sur - (su * sr) / m) / spread;
    const stepLevel = (sr - stepSlope * su) / m;
    level += stepLevel;
    slope += stepSlope;
    const next = Math.max(1e-5, 1.15 * Math.sqrt(srr / m));
    const settled =
      Math.abs(stepLevel) < (fine ? 1e-7 : 1e-5) && Math.abs(next - scatter) < (fine ? 1e-3 : 2e-2) * scatter;
    scatter = Math.min(next, 0.006);
    if (settled) break;
  }
  const mean = su / m;
  const variance = scatter * scatter;
  return {
    level,
    slope,
    levelU: Math.sqrt(variance / m + (mean * mean * variance) / spread),
    slopeU: Math.sqrt(variance / spread),
    covariance: (-mean * variance) / spread,
    scatter,
    used,
  };
}

/**
 * Rows of a scan may run along the member, all at one distance from an edge: the edge is then known only to lie
 * somewhere in the gap after the last row, slice after slice alike. Uniform over the gap: its length over the square root
 * of 12 (JCGM 100, 4.3.7), where the largest gap behind the edge is longer than points strewn at random would leave.
 */
function rowGap(toward: Float64Array, count: number, edge: number, scatter: number): number {
  const room = EDGE_WINDOW.inside;
  const inside: number[] = [];
  for (let i = 0; i < count; i++) {
    const q = toward[i]! - edge;
    if (q > -room && q < 2 * scatter) inside.push(q);
    if (inside.length > 400) return 0;
  }
  if (inside.length < 2) return room / Math.sqrt(12);
  inside.sort((a, b) => a - b);
  let largest = inside[0]! + room;
  for (let i = 1; i < inside.length; i++) largest = Math.max(largest, inside[i]! - inside[i - 1]!);
  const n = inside.length;
  // Mean of the largest of n + 1 random gaps (Fisher 1929), with half as much again for chance.
  const random = (1.5 * room * (Math.log(n + 1) + 0.577)) / (n + 1);
  return largest <= random ? 0 : Math.sqrt((largest * largest - random * random) / 12);
}

function partMeans(
  work: Workspace,
  section: Section,
  side: -1 | 1,
  c: number,
  k: number,
  left: Known | null,
  right: Known | null,
  scatter: number,
  points: number,
): PartMean[] {
  const sums = new Map<
    number,
    { mask: number; face: number; faceN: number; edge: number; edgeN: number; square: number }
  >();
  const { u, v, order, count } = work;
  const [hw, ht] = [section.width / 2 - 0.008, section.thickness / 2];
  // Of an edge only what lies clear of the face that is seen: where that scatters at the edge it says nothing of the edge.
  const deep = Math.max(0.003, Math.min(ht, 4 * scatter));
  for (let i = 0; i < count; i++) {
    const off = v[i]! - c - k * u[i]!;
    const face = off - side * ht;
    const onFace = Math.abs(face) < FACE_GATE && Math.abs(u[i]!) < hw;
    const edge = u[i]! > 0 ? right : left;
    const beyond = edge === null ? Number.NaN : u[i]! - edge.value;
    const onEdge = Math.abs(off) < ht - 0.003 && ht - side * off > deep && Math.abs(beyond) < 0.01;
    if (!onFace && !onEdge) continue;
    const part = partOf(order[i]!, points);
    const sum = sums.get(part) ?? { mask: 0, face: 0, faceN: 0, edge: 0, edgeN: 0, square: 0 };
    sum.mask |= 1 << Math.max(0, Math.min(STRIPS - 1, Math.floor(((u[i]! + hw) / (2 * hw)) * STRIPS)));
    if (onEdge) {
      sum.edge += beyond;
      sum.square += beyond * beyond;
      sum.edgeN++;
    } else {
      sum.face += face;
      sum.faceN++;
    }
    sums.set(part, sum);
  }
  return [...sums].map(([part, sum]) => ({
    part,
    mask: sum.mask,
    face: sum.face / sum.faceN,
    faceN: sum.faceN,
    edge: sum.edge / sum.edgeN,
    edgeN: sum.edgeN,
    edgeSquare: sum.square / sum.edgeN,
  }));
}
