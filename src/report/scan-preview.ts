import type { Job } from '../job/job.ts';
import type { FlangeView } from '../scan/extract-flange.ts';
import type { ScanProfile } from '../scan/extract-line.ts';
import { type LineFrame, lineFrame, type ScanLine, toCloud } from '../scan/line-frame.ts';
import { outlineDistance, type Section } from '../scan/section-fit.ts';
import type { Slice } from '../scan/slices.ts';
import { dot, scale, subtract, type Vec3 } from '../scan/vector.ts';
import { cautionsBlock } from './cautions.ts';
import { figure } from './figure.ts';
import { type Html, html, markup } from './html.ts';
import { type Quantities, quantities } from './quantities.ts';
import { HATCHES, REPORT_CSS } from './report-css.ts';
import { SCAN_PREVIEW_CSS } from './scan-preview-css.ts';
import { page } from './shell.ts';
import { type Frame, linear, markerPath, narrow, offsetAxis, polyline, px, stationAxis, svg } from './svg.ts';

/** One flange of a scan, followed or not, as the preview shows it. */
export interface PreviewFlange {
  readonly lines: readonly ScanLine[];
  readonly around: Pick<FlangeView, 'frame' | 'section' | 'slices'>;
  /** Null where it could not be followed; then `refusal` says why. */
  readonly view: FlangeView | null;
  readonly refusal: string | null;
  readonly profiles: readonly ScanProfile[];
}

export interface PreviewFacts {
  readonly generated: string;
  readonly tool: string;
  readonly cloud: { readonly name: string; readonly sha256: string; readonly points: number };
  readonly cycle: number;
  /** What became of it: imported, or not and what to do. */
  readonly outcome: string;
  /** What was found from the picks, row by row; empty where the set-up said it all. */
  readonly found: readonly (readonly [what: string, found: string])[];
  /** What rests on an assumption, in words. */
  readonly assumed: readonly string[];
  /** The set-up as JSON; null where it is a file already. */
  readonly setUp: string | null;
}

/** A slice whose outline explains less than this share of what is usual along the flange fits poorly. */
const POOR = 0.6;
/** Points this near to the outline lie on it, m: noise, rust, and a track known to some millimetres. */
const ON = 0.012;
const SLICES = 12;
const POOREST = 4;
const MOST_POINTS = 5200;
const MOST_NARROW = 2600;
const MOST_IN_SLICE = 650;
/** Shown to both sides of the flange, m. */
const MARGIN = 0.16;

/** What an eye looks for. */
const LOOK = [
  'In every slice the blue outline must lie on the flange, the whole flange and no other plate.',
  'In plan and elevation the two blue lines must run along its edges from pick to pick, without a jump.',
  'Look at the framed slices first: there the outline explains the points worst.',
];
const REFUSED_LOOK = [
  'The two crosses must lie on one and the same flange, at its bearings.',
  'In plan its points must run from the one to the other. Where they leave the figure the flange stands outside the search, or a pick is on another girder.',
];

/**
 * The preview of a scan: plan, elevation and slices with the section that was fitted drawn on the points, so that an eye
 * tells at once whether it ran along the right steel. One self-contained page without scripts.
 */
export function renderScanPreview(job: Job, flanges: readonly PreviewFlange[], facts: PreviewFacts): string {
  const q = quantities(job.units, 16, job.locale);
  const body = html`${markup(HATCHES)}<header class="page-head">
<div class="title-block"><div class="job"><p class="label">Preview of a scan</p><h1>${job.name}</h1></div>
<div class="sheet"><strong>Cycle ${facts.cycle}</strong><span class="small">${q.date(facts.generated)}</span></div>
<dl><div><dt>Cloud</dt><dd>${facts.cloud.name}</dd></div><div><dt>Points</dt><dd class="num">${facts.cloud.points.toLocaleString('en-US')}</dd></div><div><dt>SHA-256</dt><dd class="hash">${facts.cloud.sha256.slice(0, 16)}…</dd></div><div><dt>Made by</dt><dd>${facts.tool}</dd></div></dl></div>
</header><main>
<div class="look${flanges.some((f) => f.view === null) ? ' refused' : ''}"><p><strong>${facts.outcome}</strong></p>
<ul>${(flanges.some((f) => f.view === null) ? REFUSED_LOOK : LOOK).map((each) => html`<li>${each}</li>`)}</ul></div>
${facts.found.length === 0 ? null : html`<h2>Found from the picks</h2><div class="keep"><table><tbody>${facts.found.map(([what, found]) => html`<tr><th scope="row">${what}</th><td>${found}</td></tr>`)}</tbody></table></div>${facts.assumed.length === 0 ? null : html`<p><strong>Assumed:</strong> ${facts.assumed.join('; ')}.</p>`}`}
${flanges.map((flange) => flangeSection(flange, job, q))}
${facts.setUp === null ? null : html`<h2>Set-up used</h2><p>As scan.json in the job folder it needs no picks next time.</p><pre>${facts.setUp}</pre>`}
<h2>Before this is acted on</h2>${cautionsBlock()}</main>
<footer class="page-foot">Points near the line only, thinned for drawing; what is imported rests on all of them.</footer>`;
  return page({
    title: `Preview of a scan: ${job.name}`,
    description:
      'Plan, elevation and slices of a scanned flange with the fitted section drawn on the points.',
    body,
    css: REPORT_CSS + SCAN_PREVIEW_CSS,
  });
}

/** Points and tracks in the axes of the flange, stations in place of distances from the pick. */
interface Drawn {
  readonly frame: LineFrame;
  readonly section: Section;
  readonly slices: readonly Slice[];
  readonly station: (at: number) => number;
  readonly view: FlangeView | null;
  readonly picks: readonly { readonly at: number; readonly y: number; readonly z: number }[];
  readonly y: readonly [number, number];
  readonly z: readonly [number, number];
}

function flangeSection(flange: PreviewFlange, job: Job, q: Quantities): Html {
  const drawn = drawnOf(flange);
  const names = flange.lines.map((line) => line.name).join(', ');
  const first = flange.lines.find((line) => line.kind === 'sweep') ?? flange.lines[0]!;
  const { view } = flange;
  const readings = flange.profiles.flatMap((profile) => readingsOf(profile, drawn.frame));
  const side = job.lines.find((line) => line.name === first.name)?.positive ?? 'positive side';
  const plan = (width: number) =>
    track(
      drawn,
      q,
      width,
      'y',
      first.kind === 'sweep' ? side : 'sideways',
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
  return html`<h2>${names}</h2>
${flange.refusal === null ? html`<p>${trackWords(drawn, q)}</p>` : html`<p><strong>Not followed, and nothing taken:</strong> ${flange.refusal}</p>`}
${figure('Plan', `Sideways, upward in the figure is ${side}; drawn much larger than lengths. Grey: points near the flange; black: points on the fitted section; blue: its edges; circles: readings.`, plan)}
${figure('Elevation', 'The same seen from the side: an edge rises where the flange was lifted or turned.', elevation)}
${view === null ? null : figure('How well the section explains the points', 'Slice by slice; hatched where it is poor, an open box where the flange was not seen.', (width) => fitStrip(drawn, q, width))}
<h3>Slices</h3><div class="slices">${chosenSlices(drawn).map(({ index, poorest }) => sliceFigure(drawn, q, index, poorest))}</div>`;
}

function drawnOf({ lines, around, view }: PreviewFlange): Drawn {
  const { frame, section, slices } = view ?? around;
  const first = lines.find((line) => line.kind === 'sweep') ?? lines[0]!;
  const own = lineFrame(first, frame.metres);
  const pick = (point: Vec3) => {
    const d = scale(subtract(point, frame.origin), frame.metres);
    return { at: dot(d, frame.along), y: dot(d, frame.toward), z: dot(d, frame.across) };
  };
  const picks = [pick(first.from), pick(first.to)];
  const half = section.width / 2;
  const poses = view?.track.poses.flatMap((pose) => pose ?? []) ?? [];
  const range = (values: readonly number[], margin: number): [number, number] => [
    Math.min(...values) - margin,
    Math.max(...values) + margin,
  ];
  const around0 = view === null ? 0.35 : MARGIN;
  return {
    frame,
    section,
    slices,
    station: (at) => own.stationAtOrigin + at * own.stationScale,
    view,
    picks,
    y: range([...poses.map((p) => p.y), ...picks.map((p) => p.y)], half + around0),
    z: range([...poses.map((p) => p.z), ...picks.map((p) => p.z)], Math.max(0.2, around0)),
  };
}

function trackWords({ view, slices, section, picks }: Drawn, q: Quantities): string {
  const { track } = view!;
  const seen = track.poses.filter((pose) => pose !== null).length;
  const poor = track.quality.filter((v, i) => track.poses[i] !== null && v < POOR * track.typical).length;
  const off = picks.map((pick, k) => {
    const order = slices
      .map((_, i) => i)
      .sort((a, b) => Math.abs(slices[a]!.centre - pick.at) - Math.abs(slices[b]!.centre - pick.at));
    const near = order.find((i) => track.poses[i] !== null);
    return near === undefined
      ? null
      : { k, d: Math.max(0, outlineDistance(section, track.poses[near]!, pick.y, pick.z)) };
  });
  const turned = track.poses.flatMap((pose) => (pose === null ? [] : [Math.abs(pose.tilt)]));
  const most = (turned.length === 0 ? 0 : Math.max(...turned)) * (180 / Math.PI);
  const disputed = track.disputed.filter(Boolean).length;
  return `Followed over ${seen} of ${slices.length} slices of ${q.length(slices.length > 1 ? slices[1]!.centre - slices[0]!.centre : 0)}; ${poor} of them fit poorly${disputed === 0 ? '' : `, ${disputed} could be at either of two places`}. It turns by up to ${most.toFixed(0)}° from square to the picks. ${off
    .flatMap((each) =>
      each === null
        ? []
        : [
            each.d < 0.002
              ? `Pick ${each.k + 1} lies on the steel`
              : `Pick ${each.k + 1} lies ${q.length(each.d)} off the steel`,
          ],
    )
    .join(', ')}.`;
}

interface Reading {
  readonly kind: string;
  readonly station: number;
  readonly y: number;
  readonly z: number;
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
  drawn: Drawn,
  q: Quantities,
  width: number,
  axis: 'y' | 'z',
  title: string,
  readings: readonly Reading[],
): Html {
  const small = narrow({ width });
  const height = axis === 'y' ? 330 : 260;
  const frame: Frame = {
    width,
    height,
    left: small ? 54 : 66,
    right: width - 12,
    top: 30,
    bottom: height - 44,
  };
  const [first, last] = [drawn.slices[0]!, drawn.slices.at(-1)!];
  const [from, to] = [drawn.station(first.centre), drawn.station(last.centre)];
  const [low, high] = drawn[axis];
  const x = linear(from, to, frame.left, frame.right);
  const y = linear(low, high, frame.bottom, frame.top);
  const { cloud, steel } = points(drawn, axis, small ? MOST_NARROW : MOST_POINTS, x, y);
  const { view, section } = drawn;
  const edge = (sign: 1 | -1) =>
    drawn.slices.map((slice, i): [number, number | null] => {
      const pose = view?.track.poses[i] ?? null;
      if (pose === null) return [0, null];
      const half = (sign * section.width) / 2;
      const at = axis === 'y' ? pose.y + half * Math.cos(pose.tilt) : pose.z + half * Math.sin(pose.tilt);
      return [x(drawn.station(slice.centre)), y(at)];
    });
  const edges = view === null ? [] : [polyline(edge(1)), polyline(edge(-1))];
  return svg(
    frame,
    `${axis === 'y' ? 'Plan' : 'Elevation'}: points along the flange and the section followed through them`,
    html`${offsetAxis(frame, y, low, high, q, `${q.offsetUnit}, ${title}`)}${stationAxis(frame, x, from, to, q)}<path class="cloud" d="${cloud}"/><path class="on-steel" d="${steel}"/>${edges.map((d) => html`<path class="outline-back" d="${d}"/><path class="outline" d="${d}"/>`)}<g class="reading-mark">${readings.map((r) => html`<path d="${markerPath('circle', x(r.station), y(r[axis]), small ? 2.4 : 3)}"/>`)}</g>${drawn.picks.map(
      (pick, k) => {
        const [px0, py0] = [x(drawn.station(pick.at)), y(pick[axis])];
        return html`<path class="pick-mark" d="${markerPath('cross', px0, py0, 5)}"/><text class="pick-name" x="${px(px0 + (k === 0 ? 9 : -9))}" y="${px(py0 - 8)}" text-anchor="${k === 0 ? 'start' : 'end'}">pick ${k + 1}</text>`;
      },
    )}`,
  );
}

/** Two paths of dots: points near the flange, and those on the fitted section. */
function points(
  drawn: Drawn,
  axis: 'y' | 'z',
  most: number,
  x: (v: number) => number,
  y: (v: number) => number,
): { cloud: string; steel: string } {
  const inside: { at: number; v: number; on: boolean }[] = [];
  const total = drawn.slices.reduce((sum, slice) => sum + slice.count, 0);
  // A fixed stride in place of chance; prime to the order in which rows of points come.
  const stride = Math.max(1, Math.floor(total / (most * 3)));
  let n = 0;
  drawn.slices.forEach((slice, i) => {
    const pose = drawn.view?.track.poses[i] ?? null;
    for (let p = 0; p < slice.count; p++) {
      if (n++ % stride !== 0) continue;
      const [py, pz] = [slice.toward[p]!, slice.across[p]!];
      if (py < drawn.y[0] || py > drawn.y[1] || pz < drawn.z[0] || pz > drawn.z[1]) continue;
      const on = pose !== null && Math.abs(outlineDistance(drawn.section, pose, py, pz)) < ON;
      inside.push({ at: slice.centre + slice.along[p]!, v: axis === 'y' ? py : pz, on });
    }
  });
  const skip = Math.max(1, Math.ceil(inside.length / most));
  let [cloud, steel] = ['', ''];
  for (let k = 0; k < inside.length; k += skip) {
    const { at, v, on } = inside[k]!;
    const dot0 = `M${px(x(drawn.station(at)))} ${px(y(v))}h0`;
    if (on) steel += dot0;
    else cloud += dot0;
  }
  return { cloud, steel };
}

function fitStrip(drawn: Drawn, q: Quantities, width: number): Html {
  const frame: Frame = {
    width,
    height: 112,
    left: narrow({ width }) ? 54 : 66,
    right: width - 12,
    top: 10,
    bottom: 68,
  };
  const { track } = drawn.view!;
  const [from, to] = [drawn.station(drawn.slices[0]!.centre), drawn.station(drawn.slices.at(-1)!.centre)];
  const x = linear(from, to, frame.left, frame.right);
  const most = Math.max(...track.quality, 0.01);
  const bars = 90;
  const step = Math.max(1, Math.ceil(drawn.slices.length / bars));
  const parts: Html[] = [];
  for (let i = 0; i < drawn.slices.length; i += step) {
    const members = Array.from({ length: Math.min(step, drawn.slices.length - i) }, (_, k) => i + k);
    const seen = members.filter((k) => track.poses[k] !== null);
    const left = x(drawn.station(drawn.slices[i]!.centre));
    const right =
      x(drawn.station(drawn.slices[members.at(-1)!]!.centre)) +
      (frame.right - frame.left) / drawn.slices.length;
    const wide = Math.max(1, right - left - 1);
    // The poorest of them stands for all: an average would hide it.
    const worth = seen.length === 0 ? 0 : Math.min(...seen.map((k) => track.quality[k]!));
    const tall = seen.length === 0 ? 14 : Math.max(2, (worth / most) * (frame.bottom - frame.top));
    const kind =
      seen.length === 0
        ? ' none'
        : worth < POOR * track.typical || members.some((k) => track.disputed[k])
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
function chosenSlices({ slices, view }: Drawn): { index: number; poorest: boolean }[] {
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

function sliceFigure(drawn: Drawn, q: Quantities, index: number, poorest: boolean): Html {
  const { slices, section, view } = drawn;
  const slice = slices[index]!;
  const pose = view?.track.poses[index] ?? null;
  const half = section.width / 2 + MARGIN;
  const tall = (half * PANE.height) / PANE.width;
  const middle = pose ?? middleOf(drawn, index);
  const x = linear(middle.y - half, middle.y + half, 0, PANE.width);
  const y = linear(middle.z - tall, middle.z + tall, PANE.height, 0);
  let [cloud, steel] = ['', ''];
  const members = [slice, ...(slice.count < 250 ? [slices[index - 1], slices[index + 1]] : [])].flatMap(
    (s) => s ?? [],
  );
  const total = members.reduce((sum, s) => sum + s.count, 0);
  const stride = Math.max(1, Math.ceil(total / (MOST_IN_SLICE * 2)));
  for (const part of members)
    for (let p = 0; p < part.count; p += stride) {
      const [py, pz] = [part.toward[p]!, part.across[p]!];
      if (Math.abs(py - middle.y) > half || Math.abs(pz - middle.z) > tall) continue;
      const mark = `M${px(x(py))} ${px(y(pz))}h0`;
      if (pose !== null && Math.abs(outlineDistance(section, pose, py, pz)) < ON) steel += mark;
      else cloud += mark;
    }
  const outline = pose === null ? '' : outlinePath(section, pose, x, y);
  const place = q.place(drawn.station(slice.centre));
  const fit =
    view === null
      ? ''
      : pose === null
        ? 'not seen'
        : `fit ${Math.round(100 * (view.track.quality[index]! / Math.max(0.01, view.track.typical)))} % of usual`;
  return html`<figure class="${poorest ? 'poorest' : ''}"><figcaption><strong>${place}</strong><span>${fit}${poorest ? '; least' : ''}</span></figcaption><svg class="plot" viewBox="0 0 ${PANE.width} ${PANE.height}" role="img" aria-label="Slice at ${place}">${pose === null ? null : html`<path class="outline" d="${outline}"/>`}<path class="cloud" d="${cloud}"/><path class="on-steel" d="${steel}"/></svg></figure>`;
}

/** Where to look in a slice without a section: between the picks. */
function middleOf(drawn: Drawn, index: number): { y: number; z: number } {
  const [a, b] = drawn.picks as [Drawn['picks'][number], Drawn['picks'][number]];
  const share = (drawn.slices[index]!.centre - a.at) / (b.at - a.at || 1);
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
