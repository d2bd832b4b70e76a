import { medianOrNaN } from '../maths/median.ts';
import { partOf, STRIPS } from './file-parts.ts';
import type { ScanLine } from './line-frame.ts';
import { keepContinuous, type SliceEstimate, type SliceRejections } from './line-slices.ts';
import { placesOf } from './places.ts';
import type { Slice, SliceSet } from './slices.ts';
import {
  fitWeb,
  hasBothFaces,
  legendre,
  TERMS,
  type WebFoot,
  type WebPoints,
  type WebRange,
  type WebSums,
} from './web-fit.ts';
import { type Bends, bendsAround, type Standing, type WebCurve, webCurve } from './web-shape.ts';

/**
 * How far a web is out of plumb over its depth. A struck web is not flat: it leaves the turned flange square to it and
 * meets the other one upright, as a strip of plate bent at its ends only does, which is a cubic over its height (beam
 * theory: no load between the ends), or it breaks along a line. Each slice's points are summed up (`web-fit.ts`), the shape
 * is told by slices side by side (`web-shape.ts`), and the reading is the difference of the web's ends, at half the
 * extent above and below the picks and at the flange where that was followed. Places a scanner stood at see one face of a
 * web each: each place's points are fitted by themselves, so that two faces never make one slope.
 */

/** Places that see a web differently do so alike within this along the member, m. */
const ALIKE = 0.4;
/** A web stands this far off the middle of its flange from place to place, sd, m: shop welding. Common practice, no source. */
const OFF_CENTRE = 0.0015;
/** However near feet stand to the web's own shape, so much of that is left. */
const LEAST_OFF = 0.6;
/** Unseen ends that no flange tells turn on by this share of the lean: as of a web that breaks along a line just above its flange. Measured on such. */
const TURNS_ON = 0.7;
/** A hinge along the flange reaches about so far along the member, m. */
const HINGED = 0.6;
/** Of the web so much at the flange is weld, m. */
const FILLET = 0.012;
/** A foot is not carried farther than this along the member, m. */
const FOOT_REACH = 0.3;

/** A web as fitted in one slice, for showing it: m toward at `heights`, one curve for each place it was seen from. */
export interface WebShape {
  readonly curves: readonly (readonly number[])[];
  /** Standard uncertainty of the reading from this slice, m; null where it gave none. */
  readonly u: number | null;
}

/** Steps a curve is shown in, over the band. */
const SHOWN = 16;

/** Heights at which the curves of a `WebShape` are given, m across, from the lower end of the band to the upper. */
function shownHeights([low, high]: readonly [number, number]): number[] {
  return Array.from({ length: SHOWN + 1 }, (_, k) => low + (k / SHOWN) * (high - low));
}

/**
 * @param points of the whole file, for telling the places it was scanned from
 * @param feet where the web stands on its flange, in order along the line; none where no flange was followed
 */
export function plumbEstimates(line: ScanLine, set: SliceSet, points: number, feet: readonly WebFoot[] = []) {
  const rejected: SliceRejections = { offLevel: 0, offSteel: 0, noSteel: 0, jumps: 0 };
  const [low, high] = line.band;
  const [lowest, highest] = [Math.min(low, -line.extent / 2), Math.max(high, line.extent / 2)];
  const range: WebRange = {
    band: line.band,
    middle: (highest + lowest) / 2,
    half: (highest - lowest) / 2,
  };
  const place = placesOf(looksOf(set.slices, points, low, high), set.slices);
  const groups = place === null ? 1 : Math.max(1, Math.max(...place) + 1);
  const stood = set.slices.map((slice) => footAt(feet, slice.centre));
  const webs = Array.from({ length: groups }, (_, g) => {
    const sums = set.slices.map((slice, i) =>
      fitWeb(
        pick(slice, points, (part) => place === null || place[part] === g, stood[i]!),
        slice.centre,
        range,
        stood[i]!,
      ),
    );
    return { sums, curves: curvesOn(sums, stood, range, set.thickness) };
  });
  // The slices of a station share the bend and where the web stands: their mean knows them no better.
  const slices = Math.max(1, line.slice / set.thickness);
  const looks = set.slices.map((_, i) => {
    // A flange that was lifted took its end of the web with it.
    const foot = stood[i]!;
    const ends = [-line.extent / 2, line.extent / 2] as [number, number];
    if (foot !== null && foot.across < 0) ends[0] = Math.max(ends[0], foot.across);
    if (foot !== null && foot.across > 0) ends[1] = Math.min(ends[1], foot.across);
    return webs.flatMap(({ sums, curves }) => {
      const [sum, curve] = [sums[i]!, curves[i]!];
      if (sum === null || curve === null) return [];
      const reading = curve.read(ends[0], ends[1]);
      // With no flange to tell, what is not seen may turn on by a share of what is seen leans.
      const hidden = Math.max(0, sum.seen[0] - ends[0]) + Math.max(0, ends[1] - sum.seen[1]);
      const lean = foot === null ? TURNS_ON * Math.abs(reading.value / (ends[1] - ends[0])) : 0;
      const stands = Math.hypot(reading.stands, lean * hidden);
      return [{ ...reading, stands, weight: 1 / (reading.own ** 2 + slices * reading.shared ** 2), sum }];
    });
  });
  // How much more places differ than they say, over slices side by side.
  const differ = looks.map((all) => {
    const value = mean(all, (each) => each.value);
    return all.reduce((sum, each) => sum + (each.value - value) ** 2 / (each.own ** 2 + each.shared ** 2), 0);
  });
  const near = Math.round(ALIKE / set.thickness);
  const estimates: SliceEstimate[] = [];
  const outliers: number[] = [];
  const scatters: number[] = [];
  const us = set.slices.map((slice, i): number | null => {
    const here = looks[i]!;
    if (here.length === 0) {
      rejected.noSteel += slice.count;
      return null;
    }
    let [misfit, free] = [0, 0];
    for (let k = Math.max(0, i - near); k <= Math.min(looks.length - 1, i + near); k++) {
      if (looks[k]!.length < 2) continue;
      misfit += differ[k]!;
      free += looks[k]!.length - 1;
    }
    const value = mean(here, (each) => each.value);
    // Where the web stands is not known better for two places that see it.
    const of = Math.sqrt(1 / here.reduce((sum, each) => sum + each.weight, 0));
    const stands = Math.sqrt(slices) * mean(here, (each) => each.stands);
    const u = Math.hypot(of * Math.sqrt(here.length < 2 ? 1 : Math.max(1, misfit / free)), stands);
    const used = here.reduce((sum, each) => sum + each.sum.used, 0);
    for (const { sum } of here) scatters.push(sum.scatter);
    outliers.push(slice.count - used);
    estimates.push({
      at: slice.centre,
      value,
      u,
      slope: value / line.extent,
      slopeU: u / line.extent,
      used,
    });
    return u;
  });
  const shapes = us.map(
    (u, i): WebShape => ({
      curves: webs.flatMap(({ curves }) => {
        const curve = curves[i]!;
        return curve === null ? [] : [shownHeights(line.band).map((height) => curve.at(height))];
      }),
      u,
    }),
  );
  return {
    ...keepContinuous(estimates, outliers, rejected, set.thickness),
    scatter: medianOrNaN(scatters),
    shapes,
  };
}

function mean<T extends { readonly weight: number }>(all: readonly T[], of: (each: T) => number): number {
  const weight = all.reduce((sum, each) => sum + each.weight, 0);
  return all.reduce((sum, each) => sum + each.weight * of(each), 0) / weight;
}

/** The web of each slice as one place sees it, held at its foot where a flange tells it. */
function curvesOn(
  sums: readonly (WebSums | null)[],
  stood: readonly (WebFoot | null)[],
  range: WebRange,
  thickness: number,
): (WebCurve | null)[] {
  const nothing = sums.map(() => null);
  const curves = (standings: readonly (Standing | null)[], bends: readonly (Bends | null)[]) =>
    sums.map((sum, i) => {
      const bend = bends[i]!;
      return sum === null || bend === null ? null : webCurve(sum, standings[i]!, bend, range);
    });
  const cubic = sums.map((sum, i) => stood[i] === null || (sum !== null && hasBothFaces(sum)));
  // By itself a web is a cubic: what more there may be would be anything where nothing is seen.
  const all = sums.map(() => true);
  const alone = curves(nothing, bendsAround(sums, nothing, all, thickness));
  // The face this place sees stands off the middle of the flange alike all along: half the web, and a web off centre; evenly
  // more or less where the place is turned against the others, to whose mean the flange was joined. Told where the web leans
  // least over what is seen of it: there it is bent least, and its own shape tells its foot best.
  const offs = alone
    .flatMap((curve, i) => {
      const foot = stood[i]!;
      if (curve === null || foot === null) return [];
      const { value, own, shared } = curve.read(null, foot.across);
      const [low, high] = sums[i]!.seen;
      const leans = Math.abs(curve.at(high) - curve.at(low));
      return [{ at: foot.at, off: value - foot.toward, u: Math.hypot(own, shared), leans }];
    })
    .sort((p, q) => p.leans - q.leans);
  if (offs.length === 0) return alone;
  const best = offs.slice(0, (offs.length + 1) >> 1);
  const { off, u: offU } = steadyLine(best);
  // Feet stand off the web's own shape by welding, or because a hinge is hidden at the flange: by no more than welding does,
  // it may be either, in equal parts.
  const standings = stood.map((foot, i): Standing | null => {
    const sum = sums[i]!;
    if (foot === null || sum === null || hasBothFaces(sum)) return null;
    const near = offs.filter(({ at }) => Math.abs(at - foot.at) <= HINGED);
    const squares = near.reduce((total, each) => total + (each.off - off(each.at)) ** 2 - each.u ** 2 / 2, 0);
    const apart = Math.max(0, squares / Math.max(1, near.length));
    const welded = Math.max((LEAST_OFF * OFF_CENTRE) ** 2, Math.min(apart, OFF_CENTRE ** 2) / 2);
    return {
      row: legendre((foot.across - range.middle) / range.half, TERMS),
      toward: foot.toward + off(foot.at),
      sd: Math.sqrt(foot.u ** 2 + offU ** 2 + welded),
      hinge: Math.sqrt(Math.max(0, apart - welded)),
    };
  });
  return curves(standings, bendsAround(sums, standings, cubic, thickness));
}

/** Places at least this far apart, m, tell a slope, pair by pair. */
const TURN_TOLD = 4;
/** Of so many pairs at most the slope is taken: the middle one of them (Theil 1950, Sen 1968). */
const MOST_PAIRS = 4000;

/** Neighbouring values are off alike: as many of them count as one. */
const ALIKE_OFFS = 8;
/** A slope this many of its own sd from none is a turn. */
const TURNED = 3;

/**
 * The line through values along the member, by medians; level where they lie too close together to tell a slope, or where
 * the slope is no more than they scatter.
 */
function steadyLine(values: readonly { readonly at: number; readonly off: number }[]): {
  readonly off: (at: number) => number;
  readonly u: number;
} {
  const slopes: number[] = [];
  const step = Math.max(1, Math.floor((values.length * values.length) / 2 / MOST_PAIRS));
  let pair = 0;
  for (let i = 0; i < values.length; i++)
    for (let k = 0; k < i; k++) {
      if (pair++ % step !== 0) continue;
      const run = values[i]!.at - values[k]!.at;
      if (Math.abs(run) >= TURN_TOLD) slopes.push((values[i]!.off - values[k]!.off) / run);
    }
  const told = medianOrNaN(slopes) || 0;
  const about = (slope: number) => medianOrNaN(values.map(({ at, off }) => off - slope * at)) || 0;
  const level = about(told);
  const scatter = 1.4826 * medianOrNaN(values.map(({ at, off }) => Math.abs(off - level - told * at)));
  const count = Math.sqrt(Math.max(1, values.length / ALIKE_OFFS));
  const middle = values.reduce((sum, { at }) => sum + at, 0) / values.length;
  const spread = values.reduce((sum, { at }) => sum + (at - middle) ** 2, 0);
  if (!(Math.abs(told) * Math.sqrt(spread / ALIKE_OFFS) > TURNED * scatter)) {
    const flat = about(0);
    return { off: () => flat, u: scatter / count };
  }
  return { off: (at) => level + told * at, u: scatter / count };
}

/** The foot at a place from those on both sides; null where none is near. */
function footAt(feet: readonly WebFoot[], at: number): WebFoot | null {
  const next = feet.findIndex((each) => each.at >= at);
  const after = next < 0 ? feet.length - 1 : next;
  const [p, q] = [feet[Math.max(0, after - 1)], feet[after]];
  if (p === undefined || q === undefined) return null;
  if (Math.min(Math.abs(p.at - at), Math.abs(q.at - at)) > FOOT_REACH) return null;
  const t = q.at > p.at ? Math.max(0, Math.min(1, (at - p.at) / (q.at - p.at))) : 0;
  const mix = (of: (foot: WebFoot) => number) => (1 - t) * of(p) + t * of(q);
  return { at, toward: mix((f) => f.toward), across: mix((f) => f.across), u: mix((f) => f.u) };
}

/** Which strips of height each part of the file sees in each slice. */
function looksOf(slices: readonly Slice[], points: number, low: number, high: number) {
  return slices.map((slice) => {
    const parts = new Map<number, { mask: number; n: number }>();
    for (let p = 0; p < slice.count; p++) {
      const part = partOf(slice.order[p]!, points);
      const look = parts.get(part) ?? { mask: 0, n: 0 };
      look.mask |= 1 << Math.min(STRIPS - 1, Math.floor(((slice.across[p]! - low) / (high - low)) * STRIPS));
      look.n++;
      parts.set(part, look);
    }
    return { at: slice.centre, parts: [...parts].map(([part, look]) => ({ part, ...look })) };
  });
}

function pick(
  slice: Slice,
  points: number,
  wanted: (part: number) => boolean,
  foot: WebFoot | null,
): WebPoints {
  const column = () => new Float32Array(slice.count);
  const [along, toward, across] = [column(), column(), column()];
  let n = 0;
  for (let p = 0; p < slice.count; p++) {
    if (!wanted(partOf(slice.order[p]!, points))) continue;
    // At the flange and beyond it is no web.
    if (
      foot !== null &&
      Math.abs(slice.across[p]!) > Math.abs(foot.across) - FILLET &&
      slice.across[p]! * foot.across > 0
    )
      continue;
    along[n] = slice.along[p]!;
    toward[n] = slice.toward[p]!;
    across[n++] = slice.across[p]!;
  }
  return { along: along.slice(0, n), toward: toward.slice(0, n), across: across.slice(0, n) };
}
