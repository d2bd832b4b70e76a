import type { Job } from '../job/job.ts';
import { dot, scale, subtract, type Vec3 } from '../scan/vector.ts';
import { FOOT } from '../units/factors.ts';
import { figure } from './figure.ts';
import { type Html, html } from './html.ts';
import { type Quantities, quantities } from './quantities.ts';
import { REPORT_CSS } from './report-css.ts';
import type { PreviewFacts } from './scan-preview.ts';
import { SCAN_PREVIEW_CSS } from './scan-preview-css.ts';
import { page } from './shell.ts';
import { type Frame, linear, markerPath, narrow, px, svg, valueAxis } from './svg.ts';

/** A flange that was found: its picks in m, in the cloud's axes, and what is said of it. */
export interface ShownMember {
  readonly from: Vec3;
  readonly to: Vec3;
  readonly words: string;
  readonly picks: string;
}

/** Shown around the flanges: sideways and along, and above and below where the job gives no depth, m. */
const AROUND = 1.2;
const DEPTH = 1.5;
/** Points this near to a flange's height are in the plan: no deck and no ground, m. */
const LEVEL = 0.3;
const MOST_POINTS = 6000;
const LOOK = [
  'Seen end on, every number must stand at the flange of a girder: the web rises from its middle. A number on the ground, a pipe or a deck edge is none.',
  'In plan each line must run along the flange from bearing to bearing. Choose the girder of this job by where it stands among the others.',
];

/** The points and flanges as seen along the first of them: along, sideways (to the left) and up, m from its first pick. */
function inView(members: readonly ShownMember[], points: readonly Vec3[]) {
  const { from, to } = members[0]!;
  const run = subtract(to, from);
  const level = Math.hypot(run[0], run[1]);
  const [c, s, grade] = [run[0] / level, run[1] / level, run[2] / level];
  const turned = (p: Vec3): Vec3 => {
    const d = subtract(p, from);
    const along = dot(d, [c, s, 0]);
    return [along, dot(d, [-s, c, 0]), d[2] - grade * along];
  };
  return {
    length: level,
    flanges: members.map((each) => ({ from: turned(each.from), to: turned(each.to) })),
    points: points.map(turned),
  };
}

type View = ReturnType<typeof inView>;

/** Dots of every so many points that are wanted. */
function dots(points: readonly Vec3[], wanted: (p: Vec3) => boolean, at: (p: Vec3) => string, most: number) {
  const shown = points.filter(wanted);
  const skip = Math.max(1, Math.ceil(shown.length / most));
  return shown
    .filter((_, i) => i % skip === 0)
    .map((p) => `M${at(p)}h0`)
    .join('');
}

const range = (values: readonly number[], below: number, above = below): [number, number] => [
  Math.min(...values) - below,
  Math.max(...values) + above,
];

/** The value axis of a range in m, in the job's large unit, as lengths of a girder's size are said. */
function largeAxis(
  frame: Frame,
  y: (m: number) => number,
  [low, high]: readonly [number, number],
  q: Quantities,
  title: string,
): Html {
  const unit = q.units === 'us' ? FOOT : 1;
  return valueAxis(frame, (v) => y(v * unit), low / unit, high / unit, `${q.stationUnit}, ${title}`);
}

function endView({ flanges, points, length }: View, depth: number, q: Quantities, width: number): Html {
  const [left, right] = [narrow({ width }) ? 40 : 52, width - 12];
  const side = range(
    flanges.flatMap(({ from, to }) => [from[1], to[1]]),
    AROUND,
  );
  const up = range(
    flanges.flatMap(({ from, to }) => [from[2], to[2]]),
    0.4 * depth,
    1.3 * depth,
  );
  // To scale: a girder is told by its shape.
  const most = narrow({ width }) ? 420 : 380;
  const shrunk = Math.min((right - left) / (side[1] - side[0]), most / (up[1] - up[0]));
  const [w, tall] = [shrunk * (side[1] - side[0]), shrunk * (up[1] - up[0])];
  const middle = (left + right) / 2;
  const frame: Frame = {
    width,
    height: tall + 40,
    left,
    right: middle + w / 2,
    top: 30,
    bottom: 30 + tall,
  };
  // Left of the girders is left in the figure: seen from the first pick toward the second.
  const x = linear(side[1], side[0], middle - w / 2, middle + w / 2);
  const y = linear(up[0], up[1], frame.bottom, frame.top);
  const cloud = dots(
    points,
    ([at, b, z]) => at > 0 && at < length && b > side[0] && b < side[1] && z > up[0] && z < up[1],
    ([, b, z]) => `${px(x(b))} ${px(y(z))}`,
    MOST_POINTS,
  );
  return svg(
    frame,
    'Cloud seen along the girders, the flanges found numbered',
    html`${largeAxis(frame, y, up, q, 'up from the first pick')}<path class="cloud" d="${cloud}"/>${flanges.map(
      ({ from, to }, i) => {
        const [px0, py0] = [x((from[1] + to[1]) / 2), y((from[2] + to[2]) / 2)];
        return html`<path class="pick-mark" d="${markerPath('cross', px0, py0, 5)}"/><text class="pick-name" x="${px(px0)}" y="${px(py0 + 20)}" text-anchor="middle">${i + 1}</text>`;
      },
    )}`,
  );
}

function plan({ flanges, points, length }: View, q: Quantities, width: number): Html {
  const [height, left] = narrow({ width }) ? [300, 40] : [330, 52];
  const frame: Frame = { width, height, left, right: width - 12, top: 30, bottom: height - 14 };
  const side = range(
    flanges.flatMap(({ from, to }) => [from[1], to[1]]),
    AROUND,
  );
  const x = linear(-AROUND, length + AROUND, frame.left, frame.right);
  const y = linear(side[0], side[1], frame.bottom, frame.top);
  const levels = flanges.map(({ from, to }) => (from[2] + to[2]) / 2);
  const cloud = dots(
    points,
    ([at, b, z]) =>
      at > -AROUND &&
      at < length + AROUND &&
      b > side[0] &&
      b < side[1] &&
      levels.some((level) => Math.abs(z - level) < LEVEL),
    ([at, b]) => `${px(x(at))} ${px(y(b))}`,
    MOST_POINTS,
  );
  return svg(
    frame,
    'Plan of the cloud at the height of the flanges, those found numbered',
    html`${largeAxis(frame, y, side, q, 'to the left of the first pick')}<path class="cloud" d="${cloud}"/>${flanges.map(
      ({ from, to }, i) => {
        const [a, b] = [
          [x(from[0]), y(from[1])],
          [x(to[0]), y(to[1])],
        ] as const;
        const line = `M${px(a[0])} ${px(a[1])}L${px(b[0])} ${px(b[1])}`;
        return html`<path class="outline-back" d="${line}"/><path class="outline" d="${line}"/>${[a, b].map(
          (p) => html`<path class="pick-mark" d="${markerPath('cross', p[0], p[1], 5)}"/>`,
        )}<text class="pick-name" x="${px(a[0] + 9)}" y="${px(a[1] - 8)}">${i + 1}</text>`;
      },
    )}`,
  );
}

/**
 * The flanges found in a cloud, drawn: seen end on and in plan, numbered as they are listed, for choosing one and for seeing
 * that it is one. One self-contained page without scripts.
 * @param points of the cloud, m, in its axes: a sample
 */
export function renderMembersPreview(
  job: Job,
  members: readonly ShownMember[],
  points: readonly Vec3[],
  facts: Pick<PreviewFacts, 'generated' | 'tool' | 'cloud' | 'cycle'>,
): string {
  const q = quantities(job.units, 16, job.locale);
  const view = inView(members, points);
  const depth = job.member.depth ?? DEPTH;
  const body = html`<header class="page-head">
<div class="title-block"><div class="job"><p class="label">Flanges found in a scan</p><h1>${job.name}</h1></div>
<div class="sheet"><strong>Cycle ${facts.cycle}</strong><span class="small">${q.date(facts.generated)}</span></div>
<dl><div><dt>Cloud</dt><dd>${facts.cloud.name}</dd></div><div><dt>Points</dt><dd class="num">${facts.cloud.points.toLocaleString('en-US')}</dd></div><div><dt>SHA-256</dt><dd class="hash">${facts.cloud.sha256.slice(0, 16)}…</dd></div><div><dt>Made by</dt><dd>${facts.tool}</dd></div></dl></div>
</header><main>
<div class="look"><p><strong>Nothing was imported yet.</strong></p><ul>${LOOK.map((each) => html`<li>${each}</li>`)}</ul></div>
<h2>Where they are</h2>
${figure('Seen end on', 'From the first pick toward the second, to scale; grey: points of the cloud between the picks. A struck flange is smeared sideways.', (width) => endView(view, depth, q, width))}
${figure('Plan', 'Points at the height of the flanges; sideways drawn larger than lengths. Blue: the straight line between two picks; a struck flange leaves it.', (width) => plan(view, q, width))}
<h2>What they are</h2><ol>${members.map((each) => html`<li>${each.words}<pre>${each.picks}</pre></li>`)}</ol></main>
<footer class="page-foot">A sample of the points, thinned for drawing.</footer>`;
  return page({
    title: `Flanges found in a scan: ${job.name}`,
    description: 'Where the flanges found in a cloud are, end on and in plan.',
    body,
    css: REPORT_CSS + SCAN_PREVIEW_CSS,
  });
}

/** A sample of a cloud, x y z by turns in its unit, as points in m. */
export function samplePoints(sample: Float64Array, metres: number): Vec3[] {
  return Array.from({ length: sample.length / 3 }, (_, i) =>
    scale([sample[3 * i]!, sample[3 * i + 1]!, sample[3 * i + 2]!], metres),
  );
}
