import { medianOrNaN } from '../maths/median.ts';
import {
  type Cells,
  cellGatherer,
  outlineDistance,
  type Pose,
  type Section,
  sectionFitter,
} from './section-fit.ts';
import type { Slice } from './slices.ts';

/** Where a flange was picked: place along the line, and in its slice, m. */
export interface Pick {
  readonly at: number;
  readonly y: number;
  readonly z: number;
}

/** The flange followed through the slices. */
export interface FlangeTrack {
  /** For each slice the section's place to some millimetres, or null where it was not seen there. */
  readonly poses: readonly (Pose | null)[];
  /** Slices where the track from one end and the track from the other differ, and nothing says which is right. */
  readonly disputed: readonly boolean[];
  /** How much of the outline each explains (0 for none), and what is usual along the flange. */
  readonly quality: readonly number[];
  readonly typical: number;
}

/** Why there is no track, in words, with the place along the line, m. */
export interface NoTrack {
  readonly at: number;
  readonly found: string;
  readonly expected: string;
}

/** Slices taken together for one step of the track. */
const STEP = 2;
/** Points wanted near the flange for one step; more slices are taken together until there are as many. */
const WANTED = 80;
const WIDENINGS = [0, 1, 3, 6, 9];
/** Least quality of a place that counts as the flange seen, and at a start. */
const SEEN = 0.28;
const START = 0.45;
/** A pick is this near to the flange, m: picking by eye in a cloud, and a lip of paint or rust. */
const PICKED = 0.06;
/** A start is looked for as far inboard of a pick as this, m: a bearing hides the flange at its end. */
const INBOARD = 2;
/** The largest tilt looked for at a start, and ever, rad. */
const START_TILT = 0.3;
const MOST_TILT = 0.75;
/** As far as this to either side a flange is looked for that slid, m. */
const SLIDE = 0.08;
/** A place that explains this share of what the best does is as likely. */
const ALIKE = 0.9;
/** Tracks that differ by less than this, m, agree: what is measured afterwards finds the edges from either. */
const AGREE = 0.025;

/**
 * @param picks the two picked places, in order along the line
 * @param shown writes a length in the units of the job, for what is said
 */
export function trackFlange(
  slices: readonly Slice[],
  section: Section,
  picks: readonly [Pick, Pick],
  shown: (m: number) => string,
): FlangeTrack | NoTrack {
  const from = trackFrom(slices, section, picks[0], 1, shown);
  if ('found' in from) return from;
  const back = trackFrom(slices, section, picks[1], -1, shown);
  if ('found' in back) return back;
  const offAtEnd = pickDistance(slices, section, from, picks[1]);
  const offAtStart = pickDistance(slices, section, back, picks[0]);
  const [fromHolds, backHolds] = [offAtEnd < PICKED, offAtStart < PICKED];
  if (!fromHolds && !backHolds) {
    const part = parting(slices, section, from, back);
    return {
      at: part,
      found: `a track that starts at one picked point ${Number.isFinite(Math.min(offAtEnd, offAtStart)) ? `ends ${shown(Math.round(1000 * Math.min(offAtEnd, offAtStart)) / 1000)} off` : 'does not reach'} the other; the tracks from the two ends part about here`,
      expected:
        'two points on the same flange, and enough of the flange seen between them (a stretch hidden over metres cannot be bridged)',
    };
  }
  const settle = settler(section);
  const poses: (Pose | null)[] = [];
  const disputed: boolean[] = [];
  const quality: number[] = [];
  let seen = 0;
  let parted = 0;
  slices.forEach((_, i) => {
    const [a, b] = [from.poses[i]!, back.poses[i]!];
    const [qa, qb] = [from.quality[i]!, back.quality[i]!];
    let pose = a === null ? (backHolds ? b : null) : b === null ? (fromHolds ? a : null) : qa >= qb ? a : b;
    let worth = pose === null ? 0 : pose === a ? qa : qb;
    let doubt = false;
    if (a !== null && b !== null && apart(section, a, b) > AGREE) {
      // Both are tried again, free of where their tracks came from.
      const again = settle(slices, i, [a, b], qa >= qb ? from.slopes[i]! : back.slopes[i]!);
      pose = again[0]!.pose;
      worth = again[0]!.quality;
      const other = again.find((each) => apart(section, each.pose, again[0]!.pose) > AGREE);
      // A track that does not arrive does not speak against one that does.
      doubt = fromHolds && backHolds && other !== undefined && other.quality > ALIKE * worth;
    }
    poses.push(pose);
    disputed.push(doubt);
    quality.push(worth);
    if (doubt) parted++;
    if (pose !== null) seen++;
  });
  if (parted > 0.25 * seen) {
    return {
      at: parting(slices, section, from, back),
      found: `two tracks that differ over ${Math.round((100 * parted) / seen)} % of the length, each as likely`,
      expected: 'a cloud in which the flange stands out from what is next to it',
    };
  }
  return { poses, disputed, quality, typical: medianOrNaN(quality.filter((q) => q > 0)) || 0 };
}

/** Improves places of the section in a slice and its neighbours, the best first. */
function settler(section: Section) {
  const fitter = sectionFitter(section);
  const gatherer = cellGatherer(section.width / 2 + 0.12, 0.25);
  return (slices: readonly Slice[], i: number, places: readonly [Pose, Pose], slope: Pose) => {
    const [a, b] = places;
    const middle: Pose = { y: (a.y + b.y) / 2, z: (a.z + b.z) / 2, tilt: (a.tilt + b.tilt) / 2 };
    gatherer.clear();
    for (const k of [i - 1, i, i + 1])
      if (slices[k] !== undefined) {
        const d = slices[k].centre - slices[i]!.centre;
        gatherer.add(slices[k], middle.y + slope.y * d, middle.z + slope.z * d, slope.y, slope.z);
      }
    const cells = gatherer.result();
    return [...places, middle]
      .map((place) => {
        const start = { y: place.y - middle.y, z: place.z - middle.z, tilt: place.tilt };
        const pose = fitter.improve(cells, start, start, [0.05, 0.1]);
        const { quality } = fitter.score(cells, pose.y, pose.z, pose.tilt);
        return { pose: { y: pose.y + middle.y, z: pose.z + middle.z, tilt: pose.tilt }, quality };
      })
      .sort((p, q) => q.quality - p.quality);
  };
}

interface OneWay {
  readonly poses: (Pose | null)[];
  readonly quality: Float64Array;
  /** Change of the pose per metre, per slice. */
  readonly slopes: (Pose | null)[];
}

/** Largest distance between the same corners of a section in two places, m. */
function apart(section: Section, a: Pose, b: Pose): number {
  const turn = (Math.abs(a.tilt - b.tilt) * section.width) / 2;
  return Math.hypot(a.y - b.y, a.z - b.z) + turn;
}

function parting(slices: readonly Slice[], section: Section, a: OneWay, b: OneWay): number {
  for (let i = 0; i < slices.length; i++) {
    const [p, q] = [a.poses[i]!, b.poses[i]!];
    if (p !== null && q !== null && apart(section, p, q) > 2 * AGREE) return slices[i]!.centre;
  }
  return slices[slices.length >> 1]!.centre;
}

/** Distance of a picked point from the flange as tracked near it, m; from where the track was last seen, carried on straight. */
function pickDistance(slices: readonly Slice[], section: Section, track: OneWay, pick: Pick): number {
  const seen = slices
    .map((slice, i) => ({ at: slice.centre, pose: track.poses[i]! }))
    .filter((each): each is { at: number; pose: Pose } => each.pose !== null)
    .sort((a, b) => Math.abs(a.at - pick.at) - Math.abs(b.at - pick.at));
  if (seen.length === 0) return Number.POSITIVE_INFINITY;
  const gap = Math.abs(seen[0]!.at - pick.at);
  if (gap > INBOARD + 0.5) return Number.POSITIVE_INFINITY;
  const pose = gap < 0.1 ? seen[0]!.pose : carried(seen.slice(0, 12), pick.at);
  return Math.max(0, outlineDistance(section, pose, pick.y, pick.z) - 0.05 * gap);
}

/** A straight line through poses, at a place. */
function carried(seen: readonly { readonly at: number; readonly pose: Pose }[], at: number): Pose {
  const middle = seen.reduce((sum, each) => sum + each.at, 0) / seen.length;
  // Held level until the poses reach over a fair part of a metre.
  const spread = seen.reduce((sum, each) => sum + (each.at - middle) ** 2, 0) + 0.02;
  const line = (of: (pose: Pose) => number) => {
    const mean = seen.reduce((sum, each) => sum + of(each.pose), 0) / seen.length;
    const slope = seen.reduce((sum, each) => sum + (each.at - middle) * (of(each.pose) - mean), 0) / spread;
    return mean + slope * (at - middle);
  };
  return { y: line((p) => p.y), z: line((p) => p.z), tilt: line((p) => p.tilt) };
}

/** Follows the flange from one pick to the ends of the slices; `way` is where most of the line lies. */
function trackFrom(
  slices: readonly Slice[],
  section: Section,
  pick: Pick,
  way: 1 | -1,
  shown: (m: number) => string,
): OneWay | NoTrack {
  const fitter = sectionFitter(section);
  const start = findStart(slices, section, fitter, pick, way, shown);
  if ('found' in start) return start;
  const poses = slices.map((): Pose | null => null);
  const quality = new Float64Array(slices.length);
  const slopes = slices.map((): Pose | null => null);
  const gatherer = cellGatherer(section.width / 2 + 0.18, 0.26);
  const begin: State[] = [{ at: slices[start.slice]!.centre, pose: start.pose }];
  follow(start.slice - STEP * way, -way as 1 | -1, [...begin]);
  follow(start.slice, way, begin);
  return { poses, quality, slopes };

  function follow(first: number, direction: 1 | -1, states: State[]): void {
    let typical = START;
    for (let i = first; i >= 0 && i < slices.length; i += STEP * direction) {
      const members = direction === 1 ? [i, i + 1] : [i - 1, i];
      const [low, high] = [Math.max(0, members[0]!), Math.min(slices.length - 1, members[1]!)];
      const at = (slices[low]!.centre + slices[high]!.centre) / 2;
      const recent = states.slice(-7);
      const expected = predict(recent, at);
      const gap = Math.abs(at - states.at(-1)!.at);
      const cells = gather(low, high, at, expected);
      const found = cells.points < 12 ? null : locate(cells, expected.pose, gap, typical);
      if (found === null) continue;
      const pose: Pose = {
        y: expected.pose.y + found.pose.y,
        z: expected.pose.z + found.pose.z,
        tilt: found.pose.tilt,
      };
      // Rises soon and falls slowly, so that a poor stretch is looked at closely all along.
      typical += (found.quality > typical ? 0.2 : 0.02) * (found.quality - typical);
      states.push({ at, pose });
      for (let k = low; k <= high; k++) {
        const d = slices[k]!.centre - at;
        poses[k] = {
          y: pose.y + expected.slope.y * d,
          z: pose.z + expected.slope.z * d,
          tilt: pose.tilt + expected.slope.tilt * d,
        };
        quality[k] = found.quality;
        slopes[k] = expected.slope;
      }
    }
  }

  function gather(low: number, high: number, at: number, expected: Expected): Cells {
    const { pose, slope } = expected;
    for (const wider of WIDENINGS) {
      gatherer.clear();
      for (let k = Math.max(0, low - wider); k <= Math.min(slices.length - 1, high + wider); k++) {
        const d = slices[k]!.centre - at;
        gatherer.add(slices[k]!, pose.y + slope.y * d, pose.z + slope.z * d, slope.y, slope.z);
      }
      const cells = gatherer.result();
      if (cells.points >= WANTED) return cells;
    }
    return gatherer.result();
  }

  /** The best place near the expected one (relative to it but for the tilt), or null where the flange is not seen. */
  function locate(cells: Cells, expected: Pose, gap: number, typical: number) {
    const here: Pose = { y: 0, z: 0, tilt: expected.tilt };
    const [wide, turn] = [0.03 + 0.08 * gap, 0.06 + 0.1 * gap];
    const spread = [wide, turn] as const;
    let best = tried(here);
    const steps = Math.min(3, Math.ceil(gap / 0.3));
    if (best.worth < 0.85 * typical || best.quality < SEEN) {
      // A flange whose edges hardly show slides sideways first: every place across is looked at.
      const { pose } = best;
      let [top, across] = [-Infinity, 0];
      for (let y = -SLIDE; y <= SLIDE; y += SLIDE / 12) {
        const { quality } = fitter.score(cells, y, pose.z, pose.tilt);
        if (quality > top) [top, across] = [quality, y];
      }
      const aside = tried({ y: across, z: pose.z, tilt: pose.tilt });
      if (aside.worth > best.worth) best = aside;
      for (let n = 1; n <= steps; n++) {
        for (const [dy, dz, dt] of AROUND) {
          const next = tried({
            y: dy * (0.02 + 0.03 * n),
            z: dz * (0.015 + 0.02 * n),
            tilt: expected.tilt + dt * (0.06 + 0.03 * n),
          });
          if (next.worth > best.worth) best = next;
        }
      }
    }
    if (best.quality < 0.95 * typical) {
      // The face seen may be the plate's other one.
      for (const layer of [section.thickness, -section.thickness]) {
        const next = tried({ y: best.pose.y, z: best.pose.z + layer, tilt: best.pose.tilt });
        if (next.quality > best.quality + 0.03) best = next;
      }
    }
    const off = Math.hypot(best.pose.y, best.pose.z);
    if (best.quality < SEEN || Math.abs(best.pose.tilt) > MOST_TILT) return null;
    if (off > 0.08 + 0.15 * gap || Math.abs(best.pose.tilt - expected.tilt) > 0.15 + 0.2 * gap) return null;
    return best;

    function tried(from: Pose) {
      const pose = fitter.improve(cells, from, here, spread);
      const { quality } = fitter.score(cells, pose.y, pose.z, pose.tilt);
      const away =
        (pose.y ** 2 + pose.z ** 2) / (3 * wide) ** 2 + ((pose.tilt - here.tilt) / (3 * turn)) ** 2;
      return { pose, quality, worth: quality - 0.1 * Math.min(4, away) };
    }
  }
}

const AROUND = [
  [1, 0, 0],
  [-1, 0, 0],
  [0, 1, 0],
  [0, -1, 0],
  [0, 0, 1],
  [0, 0, -1],
  [1, 0, 1],
  [-1, 0, 1],
  [1, 0, -1],
  [-1, 0, -1],
] as const;

interface State {
  readonly at: number;
  readonly pose: Pose;
}

interface Expected {
  readonly pose: Pose;
  readonly slope: Pose;
}

/** The pose expected at a place, and how it changes along the line, from the last few. */
function predict(states: readonly State[], at: number): Expected {
  let [n, sx, sxx] = [0, 0, 0];
  const sums = [0, 0, 0];
  const products = [0, 0, 0];
  const last = states.at(-1)!.at;
  for (const { at: x, pose } of states) {
    const w = Math.exp(-Math.abs(x - last) / 0.35);
    const d = x - last;
    n += w;
    sx += w * d;
    sxx += w * d * d;
    [pose.y, pose.z, pose.tilt].forEach((v, k) => {
      sums[k]! += w * v;
      products[k]! += w * v * d;
    });
  }
  // Level until shown otherwise: as if one more look some 0.2 m away agreed with no slope.
  const spread = sxx - (sx * sx) / n + 0.01;
  const slope = sums.map((sum, k) => (products[k]! - (sx * sum) / n) / spread);
  const value = sums.map((sum, k) => sum / n - (slope[k]! * sx) / n);
  // A slope is not carried on for ever.
  const d = at - last;
  const reach = Math.sign(d) * Math.min(Math.abs(d), 1);
  const [y, z, tilt] = value.map((v, k) => v + slope[k]! * reach) as [number, number, number];
  return { pose: { y, z, tilt }, slope: { y: slope[0]!, z: slope[1]!, tilt: slope[2]! } };
}

/** The section at a pick, or inboard of it where a bearing hides it. */
function findStart(
  slices: readonly Slice[],
  section: Section,
  fitter: ReturnType<typeof sectionFitter>,
  pick: Pick,
  way: 1 | -1,
  shown: (m: number) => string,
): { readonly slice: number; readonly pose: Pose } | NoTrack {
  const hw = section.width / 2;
  const gatherer = cellGatherer(section.width + 0.15, 0.3);
  let best: { slice: number; pose: Pose; quality: number; worth: number } | null = null;
  let points = 0;
  for (let inboard = 0; inboard <= INBOARD; inboard += 0.25) {
    const middle = pick.at + way * (inboard + 0.15);
    const members = slices.map((_, i) => i).filter((i) => Math.abs(slices[i]!.centre - middle) <= 0.2);
    if (members.length === 0) break;
    gatherer.clear();
    for (const i of members) gatherer.add(slices[i]!, pick.y, pick.z, 0, 0);
    const cells = gatherer.result();
    points += cells.points;
    if (cells.points < 20) continue;
    const slack = 0.03 + 0.08 * inboard;
    const tops: { pose: Pose; worth: number }[] = [];
    for (let tilt = -START_TILT; tilt <= START_TILT + 1e-9; tilt += 0.05) {
      for (let y = -hw - slack; y <= hw + slack; y += 0.012) {
        for (let z = -0.12 - slack; z <= 0.12 + slack; z += 0.01) {
          const pose = { y, z, tilt };
          const off = outlineDistance(section, pose, 0, 0);
          if (Math.abs(off) > slack + 0.02) continue;
          const worth = fitter.score(cells, y, z, tilt).quality - 2 * Math.max(0, Math.abs(off) - 0.01);
          if (tops.length < 6 || worth > tops.at(-1)!.worth) {
            tops.push({ pose, worth });
            tops.sort((a, b) => b.worth - a.worth);
            tops.length = Math.min(tops.length, 6);
          }
        }
      }
    }
    for (const top of tops) {
      const pose = fitter.improve(cells, top.pose, top.pose, [0.03, 0.1]);
      const { quality } = fitter.score(cells, pose.y, pose.z, pose.tilt);
      const off = Math.abs(outlineDistance(section, pose, 0, 0));
      const worth = quality - 2 * Math.max(0, off - 0.01) - 0.1 * inboard - 0.3 * Math.abs(pose.tilt);
      if (off < PICKED + 0.08 * inboard && (best === null || worth > best.worth)) {
        const slice = members[members.length >> 1]!;
        best = {
          slice,
          quality,
          worth,
          pose: { y: pick.y + pose.y, z: pick.z + pose.z, tilt: pose.tilt },
        };
      }
    }
    if (best !== null && best.quality > 0.8) break;
  }
  if (best !== null && best.quality >= START) return best;
  const size = `${shown(section.width)} x ${shown(section.thickness)}`;
  return {
    at: pick.at,
    found:
      points < 20
        ? 'hardly a point of the cloud near the picked point'
        : `no flange of ${size} at the picked point${best === null ? '' : ` (the likeliest place explains ${Math.max(0, Math.round(100 * best.quality))} % of a face)`}`,
    expected: `a point on a flange of ${size} (member.flangeWidth and flangeThickness in job.json)`,
  };
}
