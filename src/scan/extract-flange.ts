import { InputError } from '../input-error.ts';
import { Qr } from '../maths/qr.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import { alignmentU } from './align.ts';
import { atStation, SHARPEST } from './at-station.ts';
import { continuousChain, scatterExcess } from './continuous.ts';
import type { ExtractSettings, ScanProfile } from './extract-line.ts';
import { stationList } from './extract-line.ts';
import {
  type Known,
  type KnownEdge,
  type MeasuredFlange,
  type MeasuredSection,
  measureFlange,
} from './flange-slices.ts';
import { type FlangeTrack, type NoTrack, trackFlange } from './flange-track.ts';
import { type LineFrame, lineFrame, type ScanLine } from './line-frame.ts';
import { findRegistration, type Registration, registrationU } from './registration.ts';
import { COARSEST, roundingSampler, roundingU, stepAlong } from './rounding.ts';
import type { Section } from './section-fit.ts';
import { collectSlices, type Slice, sliceThickness, whyEmpty } from './slices.ts';
import { add, dot, length, scale, subtract, type Vec3 } from './vector.ts';

export interface FlangeSettings extends ExtractSettings {
  /** Width of the flange, m. */
  readonly flangeWidth: number;
  /** Standard deviation between scans from different places, m; null: found in the cloud. */
  readonly registration?: number | null;
}

/** Lines picked farther apart than this many flange widths are not of one flange. */
const SAME_FLANGE = 1.25;
/** Kept a slice: the flange is only part of what is near it. */
const MOST = 2600;
/** A flange as near as this to the limit of what is searched may go beyond it, m. */
const AT_LIMIT = 0.02;
/** The width measured may differ from the job's by this, m, and by this share, before it is said, and before it is refused. */
const WIDTH_NOTE = 0.003;
const WIDTH_REFUSED = 0.04;
const WIDTH_SHARE = 0.08;
/** Spacing of points at which slices need not be longer than usual: what is asked for where they were. */
const GOOD_SPACING = 0.012;
/** A slice that knows no better than this is not used, m. */
const WORST = 0.008;

/** Where an edge is hidden the other one and the width tell it if they are known as well as this, m. */
const ACROSS = 0.0012;

/** Groups lines that are on one flange, so that it is followed once. */
export function flangeGroups(lines: readonly ScanLine[], metres: number, width: number): ScanLine[][] {
  const groups: { frame: LineFrame; lines: ScanLine[] }[] = [];
  for (const line of lines) {
    const frame = bodyFrame(line, lineFrame(line, metres));
    const home = groups.find((group) => sameFlange(group.frame, frame, SAME_FLANGE * width));
    if (home === undefined) groups.push({ frame, lines: [line] });
    else home.lines.push(line);
  }
  return groups.map((group) => group.lines);
}

function sameFlange(a: LineFrame, b: LineFrame, apart: number): boolean {
  if (Math.abs(dot(a.along, b.along)) < 0.998 || Math.abs(dot(a.toward, b.toward)) < 0.985) return false;
  const between = scale(subtract(b.origin, a.origin), a.metres);
  return length(subtract(between, scale(a.along, dot(between, a.along)))) < apart;
}

/** Axes of the flange: `toward` sideways, `across` up or down. */
function bodyFrame(line: ScanLine, frame: LineFrame): LineFrame {
  return line.kind === 'sweep' ? frame : { ...frame, toward: frame.across, across: frame.toward };
}

/** The flange as measured, for showing it. */
export interface FlangeView {
  readonly frame: LineFrame;
  readonly section: Section;
  readonly slices: readonly Slice[];
  readonly track: FlangeTrack;
  readonly measured: MeasuredFlange;
  readonly registration: Registration;
}

/**
 * Takes the lines of one flange from a cloud: give `sink` every point (bounded memory), then ask for `profiles`.
 * Throws InputError when the set-up cannot be meant, or the flange cannot be followed from pick to pick.
 */
export function extractFlange(lines: readonly ScanLine[], metres: number, settings: FlangeSettings) {
  const first = lines.find((line) => line.kind === 'sweep') ?? lines[0]!;
  const frame = bodyFrame(first, lineFrame(first, metres));
  const section: Section = { width: settings.flangeWidth, thickness: settings.flangeThickness };
  const frames = lines.map((line) => lineFrame(line, metres));
  const slice = Math.min(...lines.map((line) => line.slice));
  const windows = lines.map((line, i) => windowOf(line, frames[i]!, frame));
  const range = (k: 0 | 1 | 2) =>
    [Math.min(...windows.map((w) => w[k][0])), Math.max(...windows.map((w) => w[k][1]))] as const;
  const window = {
    along: range(0),
    toward: range(1),
    across: range(2),
    thickness: sliceThickness(slice),
    most: MOST,
  };
  const collector = collectSlices(window, frame);
  const rounding = roundingSampler(frame);
  let offered = 0;

  function view(): FlangeView {
    const refuse = (at: number, found: string, expected: string) =>
      new InputError(
        `the flange of line "${first.name}" cannot be followed in this cloud; nothing was taken from it`,
        [
          {
            file: 'scan',
            column: `${first.name} at ${formatLength(first.stations[0] + at * frame.stationScale, { units: first.units, as: 'station', fraction: 2, digits: 2 })}`,
            found,
            expected,
          },
        ],
      );
    const inOffset = (m: number) => formatLength(m, { units: first.units, as: 'offset', trim: true });
    const steps = rounding.steps();
    const step = Math.max(stepAlong(steps, frame.toward), stepAlong(steps, frame.across));
    if (step > COARSEST) {
      throw refuse(
        0,
        `coordinates rounded to ${formatUncertainty(step, first.units)}`,
        `rounding of at most ${formatUncertainty(COARSEST, first.units)}: export with double precision (or LAS, scale 0.0001), or take a whole number off the coordinates first, so that they start near 0; single precision does not hold state-plane coordinates`,
      );
    }
    let { slices } = collector.result();
    const at = (point: Vec3) => {
      const d = scale(subtract(point, frame.origin), metres);
      return { at: dot(d, frame.along), y: dot(d, frame.toward), z: dot(d, frame.across) };
    };
    const picks = [at(first.from), at(first.to)] as const;
    let track = trackFlange(slices, section, picks);
    if (isNoTrack(track)) throw refuse(track.at, track.found, track.expected);
    let turned = frame;
    if (webBelow(slices, track, section)) {
      // The face away from the web is the outer one: look from the other side.
      slices = slices.map((each) => ({ ...each, across: each.across.map((v) => -v) }));
      track = {
        ...track,
        poses: track.poses.map((p) => (p === null ? null : { y: p.y, z: -p.z, tilt: -p.tilt })),
      };
      turned = { ...frame, across: scale(frame.across, -1) };
    }
    const limit = atLimit(
      track,
      slices,
      section,
      window.toward,
      turned === frame ? window.across : [-window.across[1], -window.across[0]],
    );
    if (limit !== null) {
      throw refuse(
        limit.at,
        `the flange at the limit of what was searched (${limit.side})`,
        'a search that has room around it: a larger "reach" or "band" in the set-up, or none, so that the usual one is used',
      );
    }
    const measured = measureFlange(slices, track, section, offered);
    const width = measuredWidth(measured.sections);
    if (width !== null) {
      const off = Math.abs(width.value - section.width);
      if (off > WIDTH_REFUSED || off > WIDTH_SHARE * section.width + 3 * width.u) {
        throw refuse(
          measured.sections[0]!.at,
          `a flange ${inOffset(width.value)} wide`,
          `${inOffset(section.width)}, member.flangeWidth in job.json (is this the flange, and the right unit?)`,
        );
      }
    }
    const registration = findRegistration(measured.sections, settings.registration ?? null);
    return { frame: turned, section, slices, track, measured, registration };
  }

  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      offered += count;
      rounding.sink(x, y, z, count);
      collector.sink(x, y, z, count);
    },
    view,
    profiles(of: FlangeView = view()): ScanProfile[] {
      const outside = offered - of.slices.reduce((sum, each) => sum + each.seen, 0);
      const steps = rounding.steps();
      return lines.map((line, i) => profileOf(line, frames[i]!, of, settings, outside, steps));
    },
  };
}

function isNoTrack(track: FlangeTrack | NoTrack): track is NoTrack {
  return 'found' in track;
}

/** Ranges searched for one line, in the flange's axes: along, sideways, up and down. */
function windowOf(
  line: ScanLine,
  own: LineFrame,
  body: LineFrame,
): [readonly [number, number], readonly [number, number], readonly [number, number]] {
  const shift = scale(subtract(own.origin, body.origin), body.metres);
  const along = dot(shift, body.along);
  const moved = (axis: Vec3, from: Vec3, range: readonly [number, number]): readonly [number, number] => {
    const s = dot(shift, axis);
    const sign = dot(axis, from) < 0 ? -1 : 1;
    const ends = [s + sign * range[0], s + sign * range[1]] as const;
    return [Math.min(...ends), Math.max(...ends)];
  };
  const reach = [-line.reach, line.reach] as const;
  const [sideways, up] = line.kind === 'sweep' ? [reach, line.band] : [line.band, reach];
  const [sideAxis, upAxis] = line.kind === 'sweep' ? [own.toward, own.across] : [own.across, own.toward];
  return [
    [along - line.slice / 2, along + own.span + line.slice / 2],
    moved(body.toward, sideAxis, sideways),
    moved(body.across, upAxis, up),
  ];
}

/** Whether the web stands on the negative side of the section: by points close to its middle, beyond the plate. */
function webBelow(slices: readonly Slice[], track: FlangeTrack, section: Section): boolean {
  let [above, below] = [0, 0];
  slices.forEach((slice, i) => {
    const pose = track.poses[i];
    if (pose == null || i % 3 !== 0) return;
    const [c, s] = [Math.cos(pose.tilt), Math.sin(pose.tilt)];
    let [up, down] = [0, 0];
    for (let p = 0; p < slice.count; p++) {
      const dy = slice.toward[p]! - pose.y;
      const dz = slice.across[p]! - pose.z;
      const v = c * dz - s * dy;
      if (Math.abs(c * dy + s * dz) > 0.06) continue;
      if (v > section.thickness / 2 + 0.03 && v < 0.25) up++;
      else if (v < -section.thickness / 2 - 0.03 && v > -0.25) down++;
    }
    // A slice has one vote: a pier under the ends has many points.
    if (up > 2 * down + 4) above++;
    else if (down > 2 * up + 4) below++;
  });
  return below > above;
}

function atLimit(
  track: FlangeTrack,
  slices: readonly Slice[],
  section: Section,
  toward: readonly [number, number],
  across: readonly [number, number],
): { at: number; side: string } | null {
  for (let i = 0; i < slices.length; i++) {
    const pose = track.poses[i];
    if (pose == null) continue;
    const halfY = (section.width / 2) * Math.cos(pose.tilt);
    const halfZ = (section.width / 2) * Math.abs(Math.sin(pose.tilt));
    const at = slices[i]!.centre;
    if (pose.y - halfY < toward[0] + AT_LIMIT || pose.y + halfY > toward[1] - AT_LIMIT)
      return { at, side: 'sideways' };
    if (pose.z - halfZ < across[0] + AT_LIMIT || pose.z + halfZ > across[1] - AT_LIMIT)
      return { at, side: 'up and down' };
  }
  return null;
}

/** Width between the edges, where both are seen: median and the standard error of it; null where hardly anywhere. */
function measuredWidth(sections: readonly MeasuredSection[]): { value: number; u: number } | null {
  const widths = sections
    .flatMap(({ left, right }) =>
      left === null || right === null || Math.hypot(left.u, right.u) > 0.006
        ? []
        : [right.value - left.value],
    )
    .sort((a, b) => a - b);
  if (widths.length < 5) return null;
  const value = widths[widths.length >> 1]!;
  const off = widths.map((w) => Math.abs(w - value)).sort((a, b) => a - b);
  return { value, u: (1.4826 * 1.2533 * off[off.length >> 1]!) / Math.sqrt(widths.length) };
}

/** Within this of a place along the line its width is taken from, m. */
const WIDTH_REACH = 1.5;
/** Widths before and after a place that differ by this much, m, are two plates. */
const WIDTH_STEP = 0.003;

/**
 * The width at each section from those around it, so that each edge also tells where the other is; null where it changes
 * (another plate), and with 1.5 mm more doubt where only farther sections tell it.
 */
function localWidths(sections: readonly MeasuredSection[], overall: Known | null): (Known | null)[] {
  const all = sections.flatMap(({ at, left, right }) =>
    left === null || right === null || Math.hypot(left.u, right.u) > 0.006
      ? []
      : [{ at, value: right.value - left.value, u: Math.hypot(left.u, right.u, 0.0002) }],
  );
  const middle = (list: readonly Known[]): Known | null => {
    if (list.length < 6) return null;
    const sorted = list.map((w) => w.value).sort((a, b) => a - b);
    const median = sorted[sorted.length >> 1]!;
    const off = list.map((w) => Math.abs(w.value - median)).sort((a, b) => a - b);
    const spread = 1.4826 * off[off.length >> 1]!;
    const kept = list.filter((w) => Math.abs(w.value - median) <= 3 * spread + 1e-4);
    const weight = kept.reduce((sum, w) => sum + 1 / w.u ** 2, 0);
    return {
      value: kept.reduce((sum, w) => sum + w.value / w.u ** 2, 0) / weight,
      u: Math.max(1 / Math.sqrt(weight), spread / Math.sqrt(kept.length)),
    };
  };
  let low = 0;
  return sections.map(({ at }) => {
    while (low < all.length && all[low]!.at < at - WIDTH_REACH) low++;
    const near: (typeof all)[number][] = [];
    for (let i = low; i < all.length && all[i]!.at <= at + WIDTH_REACH; i++) near.push(all[i]!);
    const here = middle(near);
    if (here === null)
      return overall === null ? null : { value: overall.value, u: Math.hypot(overall.u, 0.0015) };
    const [before, after] = [middle(near.filter((w) => w.at < at)), middle(near.filter((w) => w.at > at))];
    if (before !== null && after !== null) {
      const step = Math.abs(before.value - after.value);
      if (step > WIDTH_STEP && step > 4 * Math.hypot(before.u, after.u)) return null;
    }
    return here;
  });
}

/** One or two looks at one thing: the mean by weight, with more doubt where they disagree more than they should. */
function meanOf(looks: readonly KnownEdge[]): KnownEdge | null {
  const weights = looks.map((each) => 1 / (each.u ** 2 + each.rowU ** 2));
  const all = weights.reduce((sum, w) => sum + w, 0);
  if (!(all > 0)) return null;
  const share = weights.map((w) => w / all);
  const mix = (of: (each: KnownEdge) => number) =>
    Math.hypot(...looks.map((each, i) => share[i]! * of(each)));
  const off =
    looks.length < 2
      ? 0
      : Math.abs(looks[0]!.value - looks[1]!.value) / Math.sqrt(1 / weights[0]! + 1 / weights[1]!);
  const doubt = Math.max(1, off / 2);
  return {
    value: looks.reduce((sum, each, i) => sum + share[i]! * each.value, 0),
    u: doubt * mix((each) => each.u),
    rowU: doubt * mix((each) => each.rowU),
    squareOn: looks[0]!.squareOn,
  };
}

/** Measurements of the width taken together to see what neighbours share. */
const RUN = 3;

/**
 * Sections whose edges have, beside their own scatter, the error neighbours share: the width between the edges wanders
 * along the member more than its scatter explains, because rows of points near an edge drift past it slowly. It is put
 * down mostly to the edge that is known worse (one is mostly seen square on, the other along the face). Where both edges are
 * hardly ever seen together what the gaps between points leave open stands instead.
 */
function withSharedErrors(
  sections: readonly MeasuredSection[],
  widths: readonly (Known | null)[],
): MeasuredSection[] {
  const both = sections.flatMap(({ left, right }, i) => {
    const width = widths[i];
    if (left === null || right === null || width == null) return [];
    return [{ off: right.value - left.value - width.value, left, right }];
  });
  if (both.length < 10 * RUN) return [...sections];
  let [between, own, n] = [0, 0, 0];
  for (let i = 0; i + RUN <= both.length; i += RUN) {
    const run = both.slice(i, i + RUN);
    const mean = run.reduce((sum, e) => sum + e.off, 0) / RUN;
    const spread = run.reduce((sum, e) => sum + e.left.u ** 2 + e.right.u ** 2, 0) / RUN ** 2;
    // A run that is far out is another fault.
    if (mean * mean > 25 * (spread + 1e-6)) continue;
    between += mean * mean;
    own += spread;
    n++;
  }
  const shared = Math.max(0, between - own) / Math.max(1, n);
  const [left, right] = edgeShares(sections).map((share) => Math.sqrt(shared * share)) as [number, number];
  const withRow = (edge: KnownEdge | null, rowU: number) => (edge === null ? null : { ...edge, rowU });
  return sections.map((section) => ({
    ...section,
    left: withRow(section.left, left),
    right: withRow(section.right, right),
  }));
}

/** An edge mostly seen square on has this much of the fault of one seen along the face. */
const SQUARE_ON_FAULT = 0.05;
/** Share of its slices in which an edge seen square on is seen so; rows of points feign it here and there. */
const MOSTLY = 0.75;

/** How an error of the width is shared between the left and the right edge: as what is known of them, and how they are seen. */
function edgeShares(sections: readonly MeasuredSection[]): [number, number] {
  const fault = (of: (each: MeasuredSection) => KnownEdge | null) => {
    const all = sections.map(of).filter((each) => each !== null);
    const us = all.map((each) => each.u).sort((a, b) => a - b);
    const square = all.filter((each) => each.squareOn).length > MOSTLY * all.length;
    return (us[us.length >> 1] ?? 0.005) ** 2 * (square ? SQUARE_ON_FAULT : 1);
  };
  const [left, right] = [fault((each) => each.left), fault((each) => each.right)];
  return [left / (left + right), right / (left + right)];
}

/**
 * A width that is not the job's is a plate rolled wide, or edges seen too far out or in: m, for the edge of a line. Shared
 * between the two edges as their uncertainties are.
 */
function edgeBias(
  sections: readonly MeasuredSection[],
  line: ScanLine,
  own: LineFrame,
  { frame, section }: FlangeView,
  width: Known,
): number {
  const [left, right] = edgeShares(sections);
  const positive = (line.edge === 'positive') === dot(own.toward, frame.toward) > 0;
  return Math.abs(width.value - section.width) * (positive ? right : left);
}

interface Estimate {
  readonly at: number;
  readonly value: number;
  readonly u: number;
  /** Part neighbours share, m. */
  readonly rowU: number;
  readonly section: MeasuredSection;
}

function profileOf(
  line: ScanLine,
  own: LineFrame,
  view: FlangeView,
  settings: FlangeSettings,
  outsideWindow: number,
  steps: Vec3,
): ScanProfile {
  const { measured, registration, slices } = view;
  const width = measuredWidth(measured.sections);
  const sloped = line.kind === 'tilt';
  const widths = localWidths(measured.sections, width);
  const all = withSharedErrors(measured.sections, widths)
    .flatMap((section, i): Estimate[] => {
      const found = estimate(line, own, view, section, widths[i]!);
      return found === null || found.u > (sloped ? 2 * WORST : WORST) ? [] : [{ ...found, section }];
    })
    .sort((a, b) => a.at - b.at);
  const chain = continuousChain(all, measured.thickness);
  const series = all.filter((_, i) => chain[i]);
  const jumped = all.filter((_, i) => !chain[i]);
  const excess = scatterExcess(series);
  const long = Math.max(line.slice, measured.thickness);
  const scatter = Number.isFinite(measured.scatter) ? measured.scatter : 0.002;
  const widthU =
    line.kind !== 'sweep' || width === null ? 0 : edgeBias(measured.sections, line, own, view, width);
  const round = roundingU(stepAlong(steps, own.toward), scatter) * (sloped ? 2 : 1);
  const stations: ScanProfile['stations'][number][] = [];
  const unread: { station: number; reason: string }[] = [];
  for (const { s, station } of stationList(line, own)) {
    const near = series.filter((e) => Math.abs(e.at - s) <= long / 2 + 1e-9);
    const wanted = Math.max(1, Math.round(long / measured.thickness));
    if (near.length * 2 <= wanted && near.length < wanted) {
      unread.push({ station, reason: whyUnread(line, own, view, jumped, s, long) });
      continue;
    }
    const pooled =
      measured.together >= 3 ? longSlices(series, s) : atStation(series, s, long, measured.thickness);
    const rows = mean(near.map((e) => e.rowU));
    const lever = sloped ? line.extent / view.section.width : 1;
    const shared = lineAlignmentU(line, own, settings, s, pooled.value);
    stations.push({
      station,
      offset: pooled.value,
      u: Math.hypot(
        pooled.u * excess,
        settings.leastU,
        shared,
        rows,
        widthU,
        round,
        // Registration turns a flange only as much as its two edges differ.
        registrationU(registration) * (sloped ? lever * 0.5 : 1),
      ),
      alignmentU: shared,
      sharpBend: !sloped && Math.abs(pooled.bend) > SHARPEST ? pooled.bend : 0,
      count: near.reduce((sum, e) => sum + e.section.used, 0),
    });
  }
  // Sections that do not tell the line, or tell it elsewhere: something is over the steel there.
  const told = new Set(series.map((e) => e.section.at));
  const covered = measured.sections.filter((each) => !told.has(each.at));
  const kept = slices.reduce((sum, each) => sum + each.count, 0);
  const used = measured.sections.reduce((sum, each) => sum + each.used, 0);
  const off = measured.sections.reduce((sum, each) => sum + each.off, 0);
  const over = covered.reduce((sum, each) => sum + each.off, 0);
  return {
    line,
    stations,
    unread,
    rejected: {
      offLevel: Math.max(0, kept - used - off),
      offSteel: off - over,
      noSteel: 0,
      jumps: over + jumped.reduce((sum, e) => sum + e.section.used, 0),
      outsideWindow,
    },
    thinned: slices.reduce((sum, each) => sum + each.seen - each.count, 0),
    scatter,
    excess,
    notes: notesOf(line, view, width, steps, own),
  };
}

/** Value at a place from the five nearest of long slices, by a parabola, because so long a stretch of steel may bend. */
function longSlices(series: readonly Estimate[], s: number): { value: number; u: number; bend: number } {
  const near = [...series].sort((a, b) => Math.abs(a.at - s) - Math.abs(b.at - s)).slice(0, 5);
  const columns = near.length >= 5 ? 3 : near.length >= 3 ? 2 : 1;
  const qr = new Qr(near.length);
  const weight = Float64Array.from(near, (e) => 1 / Math.max(1e-5, e.u));
  for (let k = 0; k < columns; k++) qr.push(weight.map((w, i) => (near[i]!.at - s) ** k * w));
  const coefficients = qr.solve(qr.apply(weight.map((w, i) => near[i]!.value * w)));
  const u = Math.hypot(...qr.inverseUpper()[0]!);
  let misfit = 0;
  near.forEach((e, i) => {
    let off = e.value;
    for (let k = 0; k < columns; k++) off -= coefficients[k]! * (e.at - s) ** k;
    misfit += (off * weight[i]!) ** 2;
  });
  const left = near.length - columns;
  return { value: coefficients[0]!, u: u * Math.max(1, left > 0 ? Math.sqrt(misfit / left) : 1), bend: 0 };
}

const mean = (values: readonly number[]): number =>
  values.length === 0 ? 0 : values.reduce((sum, v) => sum + v, 0) / values.length;

/** What one measured section says about a line. */
function estimate(
  line: ScanLine,
  own: LineFrame,
  { frame, section }: FlangeView,
  measured: MeasuredSection,
  width: Known | null,
): Omit<Estimate, 'section'> | null {
  const { pose, left, right, face } = measured;
  const [c, s] = [Math.cos(pose.tilt), Math.sin(pose.tilt)];
  /** From the section's own axes to the cloud's, relative to the line's origin, m. */
  const point = (u: number, v: number): Vec3 => {
    const from = scale(subtract(frame.origin, own.origin), frame.metres);
    return add(
      add(from, scale(frame.along, measured.at)),
      add(scale(frame.toward, pose.y + c * u - s * v), scale(frame.across, pose.z + s * u + c * v)),
    );
  };
  // How the line's direction lies in the section's own axes.
  const [ty, tz] = [dot(own.toward, frame.toward), dot(own.toward, frame.across)];
  const [du, dv] = [ty * c + tz * s, tz * c - ty * s];
  const faceU = (u: number) =>
    Math.sqrt(Math.max(0, face.u ** 2 + 2 * u * face.covariance + (u * face.slopeU) ** 2));
  if (line.kind === 'tilt') {
    if (!face.seen) return null;
    // The section's width as a direction: how much it leans toward the line's direction along its `across`.
    const [ay, az] = [dot(own.across, frame.toward), dot(own.across, frame.across)];
    const along = ay * c + az * s;
    const slope = du / along;
    const at = dot(point(0, 0), own.along);
    return { at, value: slope * line.extent, u: (face.slopeU / along ** 2) * line.extent, rowU: 0 };
  }
  if (line.kind === 'camber') {
    if (!face.seen) return null;
    const p = point(0, -section.thickness / 2);
    const middleU = Math.min(left?.u ?? 0.01, right?.u ?? 0.01);
    return {
      at: dot(p, own.along),
      value: dot(p, own.toward),
      u: Math.hypot(dv * faceU(0), du * middleU),
      rowU: 0,
    };
  }
  // The edge asked for; where it is hidden, the other one and the width measured where both are seen.
  const positive = (line.edge === 'positive') === du > 0;
  const [wanted, other] = positive ? [right, left] : [left, right];
  const sign = positive ? 1 : -1;
  const across =
    other === null || width === null || (wanted === null && Math.hypot(other.u, other.rowU, width.u) > ACROSS)
      ? null
      : {
          value: other.value + sign * width.value,
          u: other.u,
          rowU: Math.hypot(other.rowU, width.u),
          squareOn: other.squareOn,
        };
  // By weights in which each edge's doubt from rows of points counts, though neighbours share it.
  const known = meanOf([wanted, across].filter((each) => each !== null));
  if (known === null) return null;
  const p = point(known.value, 0);
  return {
    at: dot(p, own.along),
    value: dot(p, own.toward),
    u: Math.hypot(du * known.u, dv * faceU(known.value)),
    rowU: Math.abs(du) * known.rowU,
  };
}

function lineAlignmentU(
  line: ScanLine,
  own: LineFrame,
  settings: FlangeSettings,
  s: number,
  value: number,
): number {
  if (settings.alignment == null) return 0;
  const sloped = line.kind === 'tilt';
  const k = own.metres;
  const at = add(add(scale(own.origin, k), scale(own.along, s)), scale(own.toward, sloped ? 0 : value));
  const other = sloped ? add(at, scale(own.across, line.extent)) : at;
  const u = alignmentU(settings.alignment, other, own.toward, sloped ? at : null);
  if (Number.isFinite(u)) return u;
  throw new InputError(`line "${line.name}" cannot be taken from the aligned scan`, [
    {
      file: 'scan set-up',
      column: 'patches',
      found: `patches that leave free: ${settings.alignment.free.join('; ')}`,
      expected: `a patch that holds the ${sloped ? 'turn' : 'place'} of the steel in the direction of this line`,
    },
  ]);
}

function whyUnread(
  line: ScanLine,
  own: LineFrame,
  { frame, slices, track, measured }: FlangeView,
  jumped: readonly Estimate[],
  s: number,
  long: number,
): string {
  const shift = dot(scale(subtract(own.origin, frame.origin), frame.metres), frame.along);
  const here = slices
    .map((_, i) => i)
    .filter((i) => Math.abs(slices[i]!.centre - shift - s) <= long / 2 + 1e-9);
  const points = here.reduce((sum, i) => sum + slices[i]!.seen, 0);
  if (points === 0)
    return whyEmpty(
      here.map((i) => slices[i]!),
      line,
    );
  if (here.some((i) => track.disputed[i]))
    return 'two places of the flange explain the points as well, and they differ';
  if (jumped.some((e) => Math.abs(e.at - s) <= long / 2))
    return 'what was seen here jumps away from the steel on both sides (clamp, jack, board)';
  if (measured.sections.some((e) => Math.abs(e.at - shift - s) <= long / 2)) {
    return line.kind === 'sweep'
      ? 'the edge itself is not seen here (hidden, or too few points on it)'
      : 'the face of the flange is not seen here (hidden, or too few points on it)';
  }
  return `too few points on the flange (${points} in the window)`;
}

function notesOf(
  line: ScanLine,
  view: FlangeView,
  width: { value: number; u: number } | null,
  steps: Vec3,
  own: LineFrame,
): string[] {
  const { measured, registration, section } = view;
  const { units } = line;
  const size = (m: number) => formatLength(m, { units, as: 'offset', trim: true });
  const notes: string[] = [];
  if (width !== null && Math.abs(width.value - section.width) > WIDTH_NOTE + 3 * width.u)
    notes.push(
      `the flange measures ${size(width.value)} across, the job says ${size(section.width)}; the difference is in u of its edges (a width measured by hand, in job.json, would take it out)`,
    );
  if (measured.together > 1) {
    const spacing = measured.density > 0 ? 1 / Math.sqrt(measured.density) : Number.NaN;
    notes.push(
      `points are about ${formatUncertainty(spacing, units)} apart on the flange, so slices are ${size(measured.thickness)} long and a short bend is averaged; points ${formatUncertainty(GOOD_SPACING, units)} apart would do`,
    );
  }
  if (registration.how === 'found' && registration.sd > 0)
    notes.push(
      `scans from different places differ by ${formatUncertainty(registration.sd, units)} (standard deviation) on the same steel: their registration, which is in u`,
    );
  if (registration.how === 'unknown')
    notes.push(
      'no two parts of the file see the same steel, so that the registration of scans from different places could not be checked; where there was more than one place, give "registration" in the set-up',
    );
  const step = stepAlong(steps, own.toward);
  if (step > 0.0011) notes.push(`coordinates are rounded to ${formatUncertainty(step, units)}`);
  return notes;
}
