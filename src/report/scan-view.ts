import type { Job } from '../job/job.ts';
import type { FlangeView } from '../scan/extract-flange.ts';
import type { ScanProfile } from '../scan/extract-line.ts';
import { type LineFrame, lineFrame, type ScanLine, toCloud } from '../scan/line-frame.ts';
import { outlineDistance, type Pose, type Section } from '../scan/section-fit.ts';
import type { Slice } from '../scan/slices.ts';
import { dot, scale, subtract, type Vec3 } from '../scan/vector.ts';
import { figure } from './figure.ts';
import { type Html, html } from './html.ts';
import type { Quantities } from './quantities.ts';
import {
  alongFrame,
  type Frame,
  linear,
  markerPath,
  narrow,
  offsetAxis,
  polyline,
  px,
  stationAxis,
  svg,
} from './svg.ts';
import type { WebView } from './web-view.ts';

/** One flange of a scan, followed or not, as it was taken. */
export interface PreviewFlange {
  readonly lines: readonly ScanLine[];
  readonly around: Pick<FlangeView, 'frame' | 'section' | 'slices'>;
  /** Null where it could not be followed; then `refusal` says why. */
  readonly view: FlangeView | null;
  readonly refusal: string | null;
  readonly profiles: readonly ScanProfile[];
}

/** A flange of a scan as it is drawn, and kept beside the survey for the reports: lengths in m, in the flange's own axes. */
export interface ScanView {
  readonly lines: readonly { readonly name: string; readonly kind: string }[];
  /** What up in the plan is, in words. */
  readonly side: string;
  readonly refusal: string | null;
  readonly section: Section;
  /** Station of the first pick, and stations per m along. */
  readonly station: readonly [number, number];
  /** First centre of the slices, and their length. */
  readonly first: number;
  readonly step: number;
  readonly count: number;
  readonly track: {
    readonly poses: readonly (readonly [y: number, z: number, tilt: number] | null)[];
    readonly quality: readonly number[];
    readonly disputed: readonly number[];
    readonly typical: number;
  } | null;
  readonly picks: readonly { readonly at: number; readonly y: number; readonly z: number }[];
  readonly y: readonly [number, number];
  readonly z: readonly [number, number];
  readonly readings: readonly Reading[];
  /** Points near the flange, along, sideways and up by turns; and those of chosen slices, sideways and up. */
  readonly points: readonly number[];
  readonly slices: readonly {
    readonly index: number;
    readonly poorest: boolean;
    readonly points: readonly number[];
  }[];
}

interface Reading {
  readonly kind: string;
  readonly station: number;
  readonly y: number;
  readonly z: number;
}

/** A slice whose outline explains less than this share of what is usual along the flange fits poorly. */
const POOR = 0.6;
/** Points this near to the outline lie on it, m: noise, rust, and a track known to some millimetres. */
const ON = 0.012;
const SLICES = 12;
const POOREST = 4;
const MOST_POINTS = 3600;
const MOST_NARROW = 1800;
const MOST_IN_SLICE = 450;
/** Shown to both sides of the flange, m. */
const MARGIN = 0.16;

/** What of a flange is drawn: thinned points, the track, the readings. */
export function scanView({ lines, around, view, refusal, profiles }: PreviewFlange, job: Job): ScanView {
  const { frame, section, slices } = view ?? around;
  const first = lines.find((line) => line.kind === 'sweep') ?? lines[0]!;
  const own = lineFrame(first, frame.metres);
  const pick = (point: Vec3) => {
    const d = scale(subtract(point, frame.origin), frame.metres);
    return { at: dot(d, frame.along), y: dot(d, frame.toward), z: dot(d, frame.across) };
  };
  const picks = [pick(first.from), pick(first.to)];
  const half = section.width / 2;
  const poses = view?.track.poses ?? slices.map((): Pose | null => null);
  const known = poses.flatMap((pose) => pose ?? []);
  const range = (values: readonly number[], margin: number): [number, number] => [
    Math.min(...values) - margin,
    Math.max(...values) + margin,
  ];
  const room = view === null ? 0.35 : MARGIN;
  const y = range([...known.map((p) => p.y), ...picks.map((p) => p.y)], half + room);
  const z = range([...known.map((p) => p.z), ...picks.map((p) => p.z)], Math.max(0.2, room));
  const seen = view === null ? null : view.track;
  return {
    lines: lines.map(({ name, kind }) => ({ name, kind })),
    side:
      first.kind === 'sweep'
        ? (job.lines.find((line) => line.name === first.name)?.positive ?? 'positive side')
        : 'sideways',
    refusal,
    section,
    station: [own.stationAtOrigin, own.stationScale],
    first: slices[0]!.centre,
    step: slices.length > 1 ? slices[1]!.centre - slices[0]!.centre : 0,
    count: slices.length,
    track:
      seen === null
        ? null
        : {
            poses: poses.map((p) => (p === null ? null : [p.y, p.z, p.tilt])),
            quality: seen.quality,
            disputed: seen.disputed.flatMap((each, i) => (each ? [i] : [])),
            typical: seen.typical,
          },
    picks,
    y,
    z,
    readings: profiles.flatMap((profile) => readingsOf(profile, frame)),
    points: pointsNear(slices, y, z),
    slices: chosenSlices(slices, view).map(({ index, poorest }) => ({
      index,
      poorest,
      points: pointsInSlice(slices, index, poses[index] ?? middleOf(picks, slices[index]!.centre), section),
    })),
  };
}

/** Points in the figure, at a fixed stride in place of chance. */
function pointsNear(
  slices: readonly Slice[],
  y: readonly [number, number],
  z: readonly [number, number],
): number[] {
  const total = slices.reduce((sum, slice) => sum + slice.count, 0);
  const stride = Math.max(1, Math.floor(total / (MOST_POINTS * 3)));
  const inside: [number, number, number][] = [];
  let n = 0;
  for (const slice of slices) {
    for (let p = 0; p < slice.count; p++) {
      if (n++ % stride !== 0) continue;
      const [py, pz] = [slice.toward[p]!, slice.across[p]!];
      if (py < y[0] || py > y[1] || pz < z[0] || pz > z[1]) continue;
      inside.push([slice.centre + slice.along[p]!, py, pz]);
    }
  }
  const skip = Math.max(1, Math.ceil(inside.length / MOST_POINTS));
  return inside.filter((_, k) => k % skip === 0).flat();
}

function pointsInSlice(
  slices: readonly Slice[],
  index: number,
  middle: { y: number; z: number },
  section: Section,
) {
  const slice = slices[index]!;
  const half = section.width / 2 + MARGIN;
  const tall = (half * PANE.height) / PANE.width;
  const members = [slice, ...(slice.count < 250 ? [slices[index - 1], slices[index + 1]] : [])].flatMap(
    (s) => s ?? [],
  );
  const total = members.reduce((sum, s) => sum + s.count, 0);
  const stride = Math.max(1, Math.ceil(total / (MOST_IN_SLICE * 2)));
  const out: number[] = [];
  for (const part of members)
    for (let p = 0; p < part.count; p += stride) {
      const [py, pz] = [part.toward[p]!, part.across[p]!];
      if (Math.abs(py - middle.y) <= half && Math.abs(pz - middle.z) <= tall) out.push(py, pz);
    }
  return out;
}

/** The view as text of JSON, to a tenth of a millimetre. */
export function scanViewsText(views: ScanViews): string {
  const rounded = (_key: string, value: unknown) =>
    typeof value === 'number' && Number.isFinite(value) ? Number(value.toFixed(4)) : value;
  return `${JSON.stringify(views, rounded)}\n`;
}

/** A survey's views stand beside it under its name with this ending. */
export const SCAN_VIEW = '.view.json';

/** All flanges of one survey taken from a scan. */
export interface ScanViews {
  readonly schema: 'sweepbook/scan-view/1';
  readonly cycle: number;
  /** The survey, job-relative, and its SHA-256: figures of another survey are not shown. */
  readonly file: string;
  readonly sha256: string;
  readonly source: { readonly name: string; readonly sha256: string };
  readonly flanges: readonly ScanView[];
  readonly webs: readonly WebView[];
}

/** Plan, elevation, fit and slices of one flange, under its lines' names. */
export function scanFigures(drawn: ScanView, q: Quantities): Html {
  const names = drawn.lines.map((line) => line.name).join(', ');
  const { readings, side } = drawn;
  const plan = (width: number) =>
    track(
      drawn,
      q,
      width,
      'y',
      side,
      readings.filter((r) => r.kind === 'sweep'),
    );
  const elevation = (width: number) =>
    track(
      drawn,
      q,
      width,
      'z',
      'square to that',
      readings.filter((r) => r.kind === 'camber'),
    );
  return html`<h3>${names}</h3>
${drawn.refusal === null ? html`<p>${trackWords(drawn, q)}</p>` : html`<p><strong>Not followed, and nothing taken:</strong> ${drawn.refusal}</p>`}
${figure('Plan', `Sideways, upward in the figure is ${side}; drawn much larger than lengths. Grey: points near the flange; black: points on the fitted section; blue: its edges; circles: readings.`, plan)}
${figure('Elevation', 'The same seen from the side: an edge rises where the flange was lifted or turned.', elevation)}
${drawn.track === null ? null : figure('How well the section explains the points', 'Slice by slice; hatched where it is poor, an open box where the flange was not seen.', (width) => fitStrip(drawn, q, width))}
<h4>Slices</h4><div class="slices">${drawn.slices.map((slice) => sliceFigure(drawn, q, slice))}</div>`;
}

const stationOf = ({ station }: ScanView, at: number): number => station[0] + at * station[1];
const centreOf = ({ first, step }: ScanView, index: number): number => first + index * step;

/** The section's place in a slice, or where it was not seen. */
function poseOf({ track }: ScanView, index: number): Pose | null {
  const pose = track?.poses[index] ?? null;
  return pose === null ? null : { y: pose[0], z: pose[1], tilt: pose[2] };
}

function trackWords(drawn: ScanView, q: Quantities): string {
  const { section, picks, count, step } = drawn;
  const track = drawn.track!;
  const seen = track.poses.filter((pose) => pose !== null).length;
  const poor = track.quality.filter((v, i) => track.poses[i] !== null && v < POOR * track.typical).length;
  const off = picks.map((pick, k) => {
    const away = (i: number) => Math.abs(centreOf(drawn, i) - pick.at);
    const near = Array.from({ length: count }, (_, i) => i)
      .filter((i) => track.poses[i] !== null)
      .sort((a, b) => away(a) - away(b))[0];
    return near === undefined
      ? null
      : { k, d: Math.max(0, outlineDistance(section, poseOf(drawn, near)!, pick.y, pick.z)) };
  });
  const turned = track.poses.flatMap((pose) => (pose === null ? [] : [Math.abs(pose[2])]));
  const most = (turned.length === 0 ? 0 : Math.max(...turned)) * (180 / Math.PI);
  const disputed = track.disputed.length;
  return `Followed over ${seen} of ${count} slices of ${q.length(step)}; ${poor} of them fit poorly${disputed === 0 ? '' : `, ${disputed} could be at either of two places`}. It turns by up to ${most.toFixed(0)}° from square to the picks; ${off
    .flatMap((each) =>
      each === null
        ? []
        : [
            each.d < 0.002
              ? `pick ${each.k + 1} lies on the steel`
              : `pick ${each.k + 1} lies ${q.length(each.d)} off the steel`,
          ],
    )
    .join(', ')}.`;
}

function readingsOf(profile: ScanProfile, body: LineFrame): Reading[] {
  const own = lineFrame(profile.line, body.metres);
  return profile.stations.map(({ station, offset }) => {
    const s = (station - own.stationAtOrigin) / own.stationScale;
    const d = scale(subtract(toCloud(own, s, offset, 0), body.origin), body.metres);
    return { kind: profile.line.kind, station, y: dot(d, body.toward), z: dot(d, body.across) };
  });
}

/** Plan (`y`) or elevation (`z`): the points by station, both edges of the fitted section, picks and readings. */
function track(
  drawn: ScanView,
  q: Quantities,
  width: number,
  axis: 'y' | 'z',
  title: string,
  readings: readonly Reading[],
): Html {
  const small = narrow({ width });
  const height = axis === 'y' ? 330 : 260;
  const frame = alongFrame(width, height);
  const [from, to] = [0, drawn.count - 1].map((i) => stationOf(drawn, centreOf(drawn, i))) as [
    number,
    number,
  ];
  const [low, high] = drawn[axis];
  const x = linear(from, to, frame.left, frame.right);
  const y = linear(low, high, frame.bottom, frame.top);
  const { cloud, steel } = points(drawn, axis, small ? MOST_NARROW : MOST_POINTS, x, y);
  const { section } = drawn;
  const edge = (sign: 1 | -1) =>
    Array.from({ length: drawn.count }, (_, i): [number, number | null] => {
      const pose = poseOf(drawn, i);
      if (pose === null) return [0, null];
      const half = (sign * section.width) / 2;
      const at = axis === 'y' ? pose.y + half * Math.cos(pose.tilt) : pose.z + half * Math.sin(pose.tilt);
      return [x(stationOf(drawn, centreOf(drawn, i))), y(at)];
    });
  const edges = drawn.track === null ? [] : [polyline(edge(1)), polyline(edge(-1))];
  return svg(
    frame,
    `${axis === 'y' ? 'Plan' : 'Elevation'}: points along the flange and the section followed through them`,
    html`${offsetAxis(frame, y, low, high, q, `${q.offsetUnit}, ${title}`)}${stationAxis(frame, x, from, to, q)}<path class="cloud" d="${cloud}"/><path class="on-steel" d="${steel}"/>${edges.map((d) => html`<path class="outline-back" d="${d}"/><path class="outline" d="${d}"/>`)}<g class="reading-mark">${readings.map((r) => html`<path d="${markerPath('circle', x(r.station), y(r[axis]), small ? 2.4 : 3)}"/>`)}</g>${drawn.picks.map(
      (pick, k) => {
        const [px0, py0] = [x(stationOf(drawn, pick.at)), y(pick[axis])];
        return html`<path class="pick-mark" d="${markerPath('cross', px0, py0, 5)}"/><text class="pick-name" x="${px(px0 + (k === 0 ? 9 : -9))}" y="${px(py0 - 8)}" text-anchor="${k === 0 ? 'start' : 'end'}">pick ${k + 1}</text>`;
      },
    )}`,
  );
}

/** Two paths of dots: points near the flange, and those on the fitted section. */
function points(
  drawn: ScanView,
  axis: 'y' | 'z',
  most: number,
  x: (v: number) => number,
  y: (v: number) => number,
): { cloud: string; steel: string } {
  const all = drawn.points.length / 3;
  const skip = Math.max(1, Math.ceil(all / most));
  let [cloud, steel] = ['', ''];
  for (let k = 0; k < all; k += skip) {
    const [at, py, pz] = drawn.points.slice(3 * k, 3 * k + 3) as [number, number, number];
    const pose = poseOf(drawn, Math.round((at - drawn.first) / (drawn.step || 1)));
    const mark = `M${px(x(stationOf(drawn, at)))} ${px(y(axis === 'y' ? py : pz))}h0`;
    if (pose !== null && Math.abs(outlineDistance(drawn.section, pose, py, pz)) < ON) steel += mark;
    else cloud += mark;
  }
  return { cloud, steel };
}

function fitStrip(drawn: ScanView, q: Quantities, width: number): Html {
  const frame: Frame = {
    width,
    height: 112,
    left: narrow({ width }) ? 54 : 66,
    right: width - 12,
    top: 10,
    bottom: 68,
  };
  const track = drawn.track!;
  const { count } = drawn;
  const place = (i: number) => stationOf(drawn, centreOf(drawn, i));
  const [from, to] = [place(0), place(count - 1)];
  const x = linear(from, to, frame.left, frame.right);
  const most = Math.max(...track.quality, 0.01);
  const bars = 90;
  const step = Math.max(1, Math.ceil(count / bars));
  const parts: Html[] = [];
  for (let i = 0; i < count; i += step) {
    const members = Array.from({ length: Math.min(step, count - i) }, (_, k) => i + k);
    const seen = members.filter((k) => track.poses[k] !== null);
    const left = x(place(i));
    const right = x(place(members.at(-1)!)) + (frame.right - frame.left) / count;
    const wide = Math.max(1, right - left - 1);
    // The poorest of them stands for all: an average would hide it.
    const worth = seen.length === 0 ? 0 : Math.min(...seen.map((k) => track.quality[k]!));
    const tall = seen.length === 0 ? 14 : Math.max(2, (worth / most) * (frame.bottom - frame.top));
    const kind =
      seen.length === 0
        ? ' none'
        : worth < POOR * track.typical || members.some((k) => track.disputed.includes(k))
          ? ' poor'
          : '';
    parts.push(
      html`<rect class="fit-bar${kind}" x="${px(left)}" y="${px(frame.bottom - tall)}" width="${px(wide)}" height="${px(tall)}"/>`,
    );
  }
  return svg(
    frame,
    'Share of the section that the points explain, by station',
    html`${parts}${stationAxis(frame, x, from, to, q)}`,
  );
}

/** Slices spread along the flange and the poorest ones, in order. */
function chosenSlices(
  slices: readonly Slice[],
  view: FlangeView | null,
): { index: number; poorest: boolean }[] {
  const wanted = view === null ? SLICES : SLICES - POOREST;
  const chosen = new Map<number, boolean>();
  for (let k = 0; k < wanted; k++)
    chosen.set(Math.round((k * (slices.length - 1)) / Math.max(1, wanted - 1)), false);
  if (view !== null) {
    const { poses, quality, disputed } = view.track;
    const byWorth = slices
      .map((_, index) => index)
      .filter((index) => poses[index] !== null)
      .sort((a, b) => (disputed[a] ? -1 : quality[a]!) - (disputed[b] ? -1 : quality[b]!));
    const apart = Math.max(2, Math.floor(slices.length / 30));
    const poorest: number[] = [];
    for (const index of byWorth) {
      if (poorest.length === POOREST) break;
      if (poorest.every((other) => Math.abs(other - index) >= apart)) poorest.push(index);
    }
    for (const index of poorest) chosen.set(index, true);
  }
  return [...chosen].map(([index, poorest]) => ({ index, poorest })).sort((a, b) => a.index - b.index);
}

const PANE = { width: 232, height: 168 };

function sliceFigure(
  drawn: ScanView,
  q: Quantities,
  { index, poorest, points }: ScanView['slices'][number],
): Html {
  const { section, track } = drawn;
  const pose = poseOf(drawn, index);
  const half = section.width / 2 + MARGIN;
  const tall = (half * PANE.height) / PANE.width;
  const middle = pose ?? middleOf(drawn.picks, centreOf(drawn, index));
  const x = linear(middle.y - half, middle.y + half, 0, PANE.width);
  const y = linear(middle.z - tall, middle.z + tall, PANE.height, 0);
  let [cloud, steel] = ['', ''];
  for (let k = 0; k + 1 < points.length; k += 2) {
    const [py, pz] = [points[k]!, points[k + 1]!];
    const mark = `M${px(x(py))} ${px(y(pz))}h0`;
    if (pose !== null && Math.abs(outlineDistance(section, pose, py, pz)) < ON) steel += mark;
    else cloud += mark;
  }
  const outline = pose === null ? '' : outlinePath(section, pose, x, y);
  const place = q.place(stationOf(drawn, centreOf(drawn, index)));
  const fit =
    track === null
      ? ''
      : pose === null
        ? 'not seen'
        : `fit ${Math.round(100 * (track.quality[index]! / Math.max(0.01, track.typical)))} % of usual`;
  return html`<figure class="${poorest ? 'poorest' : ''}"><figcaption><strong>${place}</strong><span>${fit}${poorest ? '; least' : ''}</span></figcaption><svg class="plot" viewBox="0 0 ${PANE.width} ${PANE.height}" role="img" aria-label="Slice at ${place}">${pose === null ? null : html`<path class="outline" d="${outline}"/>`}<path class="cloud" d="${cloud}"/><path class="on-steel" d="${steel}"/></svg></figure>`;
}

/** Where to look in a slice without a section: between the picks. */
function middleOf(picks: ScanView['picks'], at: number): { y: number; z: number } {
  const [a, b] = picks as [ScanView['picks'][number], ScanView['picks'][number]];
  const share = (at - a.at) / (b.at - a.at || 1);
  const t = Math.min(1, Math.max(0, share));
  return { y: a.y + t * (b.y - a.y), z: a.z + t * (b.z - a.z) };
}

function outlinePath(
  section: Section,
  pose: { y: number; z: number; tilt: number },
  x: (v: number) => number,
  y: (v: number) => number,
): string {
  const [c, s] = [Math.cos(pose.tilt), Math.sin(pose.tilt)];
  const corners = [
    [-1, -1],
    [1, -1],
    [1, 1],
    [-1, 1],
  ].map(([a, b]) => {
    const [u, v] = [(a! * section.width) / 2, (b! * section.thickness) / 2];
    return `${px(x(pose.y + u * c - v * s))} ${px(y(pose.z + u * s + v * c))}`;
  });
  return `M${corners.join('L')}Z`;
}
