import { InputError } from '../input-error.ts';
import { formatLength, formatUncertainty } from '../units/format-length.ts';
import type { ScanProfile } from './extract-line.ts';
import { partOf } from './file-parts.ts';
import { type FlangeSettings, type FlangeView, flangeProfile } from './flange-profile.ts';
import { measureFlange } from './flange-slices.ts';
import { type FlangeTrack, type NoTrack, trackFlange } from './flange-track.ts';
import { flangeWidths, measuredWidth } from './flange-width.ts';
import { type LineFrame, lineFrame, type ScanLine } from './line-frame.ts';
import { joinPlaces, type Registration } from './registration.ts';
import { COARSEST, roundingSampler, stepAlong } from './rounding.ts';
import type { Section } from './section-fit.ts';
import { collectSlices, type Slice, sliceThickness } from './slices.ts';
import { dot, length, scale, subtract, type Vec3 } from './vector.ts';

export type { FlangeSettings, FlangeView } from './flange-profile.ts';

/** Lines picked farther apart than this many flange widths are not of one flange. */
const SAME_FLANGE = 1.25;
/** Kept a slice: the flange is only part of what is near it. Twice as many make u no smaller (3 mm between points). */
const MOST = 1300;
/** A flange as near as this to the limit of what is searched may go beyond it, m. */
const AT_LIMIT = 0.02;
/** The width measured may differ from the job's by this, m, and by this share, before it is refused. */
const WIDTH_REFUSED = 0.04;
const WIDTH_SHARE = 0.08;

/** Places that lie off by less than this everywhere, m, are left as they are. */
const WORTH_JOINING = 0.0004;
/** Times they are moved at most. */
const LOOKS = 4;

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
  const windows = lines.map((line, i) => windowOf(line, frames[i]!, frame, section.width));
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
    let track = trackFlange(slices, section, picks, inOffset);
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
    let measured = measureFlange(slices, track, section, offered);
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
    const given = settings.registration ?? null;
    let registration: Registration = {
      sd: given ?? 0,
      how: 'given',
      u: () => ({ sideways: given ?? 0, up: given ?? 0 }),
    };
    if (given === null) {
      let joined = joinPlaces(measured.sections, slices);
      const { sd } = joined.registration;
      // Places far off are seen in part only about an edge: once moved nearer they are looked at again.
      for (let look = 0; look < LOOKS && joined.off !== null && joined.farthest > WORTH_JOINING; look++) {
        putRight(slices, joined.off, offered);
        measured = measureFlange(slices, track, section, offered);
        joined = joinPlaces(measured.sections, slices, joined.beforehand);
      }
      registration = { ...joined.registration, sd };
    }
    return {
      frame: turned,
      section,
      slices,
      sliceLength: window.thickness,
      track,
      measured,
      widths: flangeWidths(measured.sections, section.width),
      registration,
    };
  }

  return {
    sink(x: Float64Array, y: Float64Array, z: Float64Array, count: number): void {
      offered += count;
      rounding.sink(x, y, z, count);
      collector.sink(x, y, z, count);
    },
    view,
    /** What lies around the line, for showing it where the flange cannot be followed. */
    around: (): Pick<FlangeView, 'frame' | 'section' | 'slices'> => ({
      frame,
      section,
      slices: collector.result().slices,
    }),
    profiles(of: FlangeView = view()): ScanProfile[] {
      const outside = offered - of.slices.reduce((sum, each) => sum + each.seen, 0);
      const steps = rounding.steps();
      return lines.map((line, i) => flangeProfile(line, frames[i]!, of, settings, outside, steps));
    },
  };
}

/** Moves every point by how the place it was seen from lies off. */
function putRight(
  slices: readonly Slice[],
  off: (part: number, at: number) => readonly [number, number],
  points: number,
): void {
  for (const { centre, order, toward, across, count } of slices) {
    for (let p = 0; p < count; p++) {
      const [sideways, up] = off(partOf(order[p]!, points), centre);
      toward[p]! -= sideways;
      across[p]! -= up;
    }
  }
}

function isNoTrack(track: FlangeTrack | NoTrack): track is NoTrack {
  return 'found' in track;
}

/**
 * Ranges searched for one line, in the flange's axes: along, sideways, up and down. An edge may go as far as its reach; the
 * rest of the flange lies a width beyond it.
 */
function windowOf(
  line: ScanLine,
  own: LineFrame,
  body: LineFrame,
  width: number,
): [readonly [number, number], readonly [number, number], readonly [number, number]] {
  const shift = scale(subtract(own.origin, body.origin), body.metres);
  const along = dot(shift, body.along);
  const moved = (axis: Vec3, from: Vec3, range: readonly [number, number]): readonly [number, number] => {
    const s = dot(shift, axis);
    const sign = dot(axis, from) < 0 ? -1 : 1;
    const ends = [s + sign * range[0], s + sign * range[1]] as const;
    return [Math.min(...ends), Math.max(...ends)];
  };
  const inward = line.kind !== 'sweep' ? 0 : line.edge === 'positive' ? -width : width;
  const reach = [-line.reach + Math.min(0, inward), line.reach + Math.max(0, inward)] as const;
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
