import type { LineAnalysis, SurveyFit } from '../../analysis.ts';
import type { Job } from '../../job/job.ts';
import { interpolate } from '../../maths/interpolate.ts';
import { type Html, html } from '../html.ts';
import { drawable } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import { band, legend, linear, narrow, polyline, px, type Scale, stationAxis, svg } from '../svg.ts';
import type { DrawnVee } from './drawn-vees.ts';

/** Exaggerations a reader can multiply in the head. */
const FACTORS = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000];

/**
 * The member drawn to scale along its length, as seen square to the line: from above for sweep, from the side for camber.
 * Offsets are exaggerated by a stated round factor; the flange keeps its true width at the scale of the length.
 */
export function planDrawing(
  line: LineAnalysis,
  job: Job,
  q: Quantities,
  width: number,
  vees: { readonly of: readonly DrawnVee[]; readonly word: string },
): Html {
  const found = drawable(line)[0];
  const now = drawable(line).at(-1);
  const frame0 = { width };
  const small = narrow(frame0);
  const left = small ? 14 : 30;
  const right = width - left;
  const [from, to] = extent(line, job);
  const x = linear(from, to, left, right);
  const scale = (right - left) / (to - from);
  const factor = exaggeration(line, scale, small ? 120 : 170);
  const deviations = [found, now].flatMap((s) => s?.stations.map((p) => p.deviation) ?? [0]);
  const up = Math.max(0, ...deviations) * scale * factor;
  const down = -Math.min(0, ...deviations) * scale * factor;
  const half = Math.min(16, Math.max(4, (job.member.flangeWidth * scale) / 2));

  const entries = legendEntries(line, job, found, now, vees);
  const key = legend(entries, left, 14, right);
  const top = key.height + 62;
  const zero = top + up + half + 14;
  const foot = zero + down + half + 34;
  const frame = { width, height: foot + 44, left, right, top, bottom: foot };
  const y = (deviation: number): number => zero - deviation * scale * factor;

  const edge = (survey: SurveyFit, shift: number): (readonly [number, number])[] =>
    survey.stations.filter((p) => !p.setAside).map((p) => [x(p.station), y(p.deviation) + shift]);
  const body = (survey: SurveyFit): string =>
    band(
      survey.stations
        .filter((p) => !p.setAside)
        .map((p) => [x(p.station), y(p.deviation) - half, y(p.deviation) + half]),
    );

  const zones = line.fit.zones.map(
    (zone) =>
      html`<g class="zone ${zone.class}"><rect x="${px(x(zone.from))}" y="${px(top - 6)}" width="${px(Math.max(3, x(zone.to) - x(zone.from)))}" height="${px(foot - top + 6)}"/><path class="zone-edge" d="M${px(x(zone.from))} ${px(top - 6)}V${px(foot)}M${px(x(zone.to))} ${px(top - 6)}V${px(foot)}"/><text x="${px(x((zone.from + zone.to) / 2))}" y="${px(top - 12)}" text-anchor="middle">${zone.zone}</text></g>`,
  );
  const diaphragms = (job.member.diaphragms ?? [])
    .filter((d) => d >= from && d <= to)
    .map(
      (d) =>
        html`<path class="diaphragm" d="M${px(x(d) - 2.5)} ${px(zone0(top))}V${px(foot - 6)}M${px(x(d) + 2.5)} ${px(zone0(top))}V${px(foot - 6)}"/>`,
    );
  const piers = (job.member.bearings ?? []).filter((b) => b >= from && b <= to);
  const bearings = [...new Set([...line.line.bearings, ...piers])].map((b) => {
    const at = x(b);
    return html`<path class="bearing" d="M${px(at)} ${px(zero + half + 1)}l9 15h-18Z"/>`;
  });
  const label = planLabel(line, job, q, factor);
  const far = line.line.positive;
  return svg(
    frame,
    label,
    html`${key.drawing}
${zones}${diaphragms}
<path class="baseline" d="M${px(left)} ${px(zero)}H${px(right)}"/>
${found === undefined || found === now ? '' : html`<path class="found-edge" d="${polyline(edge(found, -half))}"/><path class="found-edge" d="${polyline(edge(found, half))}"/>`}
${now === undefined ? '' : html`<path class="now-body" d="${body(now)}"/><path class="now-edge" d="${polyline(edge(now, -half))}"/><path class="now-edge" d="${polyline(edge(now, half))}"/>`}
${veesMark(vees.of, job.member.flangeWidth, now, { x, y, half, scale })}${bearings}
${impactMark(line, x, now, y, half, up >= down)}
<g class="direction"><path d="M${px(left + 6)} ${px(key.height + 30)}v-18m-5 7l5 -8l5 8"/><text x="${px(left + 18)}" y="${px(key.height + 25)}">${`+ ${clip(far, small ? 52 : 120)}`}</text></g>
${stationAxis(frame, x, from, to, q)}`,
  );
}

/** Vees on the flange as it lies now, at the scale of its length; the flange's width on the drawing stands for its own. */
function veesMark(
  vees: readonly DrawnVee[],
  flangeWidth: number,
  now: SurveyFit | undefined,
  at: { readonly x: Scale; readonly y: Scale; readonly half: number; readonly scale: number },
): Html | '' {
  const points = now?.stations.filter((p) => !p.setAside) ?? [];
  if (points.length === 0 || vees.length === 0) return '';
  const stations = points.map((p) => p.station);
  const deviations = points.map((p) => p.deviation);
  const d = vees.map(({ station, width, depth, apex }) => {
    const middle = at.y(interpolate(stations, deviations, station));
    const sign = apex === 'positive' ? -1 : 1;
    const open = middle - sign * at.half;
    const tip = open + sign * 2 * at.half * Math.min(1, depth / flangeWidth);
    const half = Math.max(1.5, (width * at.scale) / 2);
    return `M${px(at.x(station) - half)} ${px(open)}L${px(at.x(station))} ${px(tip)}L${px(at.x(station) + half)} ${px(open)}Z`;
  });
  return html`<path class="vee" d="${d.join('')}"/>`;
}

function zone0(top: number): number {
  return top + 2;
}

function clip(text: string, most: number): string {
  return text.length > most ? `${text.slice(0, most - 1)}…` : text;
}

function extent(line: LineAnalysis, job: Job): [number, number] {
  const stations = line.fit.surveys.flatMap((s) => s.stations.map((p) => p.station));
  const own = job.member.bearings === undefined ? [0, job.member.span] : [];
  const ends = [...own, ...line.line.bearings, ...stations];
  return line.line.kind === 'bulge'
    ? [Math.min(...line.line.bearings, ...stations), Math.max(...line.line.bearings, ...stations)]
    : [Math.min(...ends), Math.max(...ends)];
}

function exaggeration(line: LineAnalysis, scale: number, room: number): number {
  const largest = Math.max(
    0,
    ...[drawable(line)[0], drawable(line).at(-1)].flatMap(
      (s) => s?.stations.map((p) => Math.abs(p.deviation)) ?? [],
    ),
  );
  if (largest === 0) return 1;
  return FACTORS.findLast((f) => largest * scale * f <= room) ?? 1;
}

/** The stated exaggeration, for the caption: the one figure a reader must not miss. */
export function planFactor(line: LineAnalysis, job: Job, width: number): number {
  const [from, to] = extent(line, job);
  const small = narrow({ width });
  return exaggeration(line, (width - (small ? 28 : 60)) / (to - from), small ? 120 : 170);
}

function planLabel(line: LineAnalysis, job: Job, q: Quantities, factor: number): string {
  const now = drawable(line).at(-1);
  const found = drawable(line)[0];
  if (now === undefined || found === undefined) return `Drawing of line ${line.line.name}: no readings yet.`;
  const supports = (job.member.diaphragms ?? []).map(q.station);
  return (
    `Drawing of line ${line.line.name} to scale along the member, offsets exaggerated ${factor} times. ` +
    `As found: largest deviation ${q.length(found.largest.deviation)} at ${q.station(found.largest.station)}. ` +
    `After cycle ${now.cycle}: ${q.length(now.largest.deviation)} at ${q.station(now.largest.station)}. ` +
    `Bearings at ${line.line.bearings.map(q.station).join(' and ')}. ` +
    (supports.length > 0 ? `Diaphragms at ${supports.join(', ')}. ` : '') +
    line.fit.zones.map((z) => `Zone ${z.zone} from ${q.station(z.from)} to ${q.station(z.to)}.`).join(' ')
  );
}

function legendEntries(
  line: LineAnalysis,
  job: Job,
  found: SurveyFit | undefined,
  now: SurveyFit | undefined,
  vees: { readonly of: readonly DrawnVee[]; readonly word: string },
) {
  const stroke = (name: string) => (x: number, y: number) =>
    html`<path class="${name}" d="M${px(x)} ${px(y)}h26"/>`;
  return [
    ...(now === undefined
      ? []
      : [
          {
            sample: (x: number, y: number) =>
              html`<rect class="now-body" x="${px(x)}" y="${px(y - 5)}" width="26" height="10"/><path class="now-edge" d="M${px(x)} ${px(y - 5)}h26M${px(x)} ${px(y + 5)}h26"/>`,
            text: now.cycle === found?.cycle ? 'as found' : `after cycle ${now.cycle}`,
          },
        ]),
    ...(found === undefined || found === now ? [] : [{ sample: stroke('found-edge'), text: 'as found' }]),
    { sample: stroke('baseline'), text: 'undamaged' },
    ...(line.fit.zones.length > 0
      ? [
          {
            sample: (x: number, y: number) =>
              html`<g class="zone plastic"><rect x="${px(x + 6)}" y="${px(y - 6)}" width="14" height="12"/></g>`,
            text: 'zone',
          },
        ]
      : []),
    {
      sample: (x: number, y: number) =>
        html`<path class="bearing" d="M${px(x + 13)} ${px(y - 6)}l7 12h-14Z"/>`,
      text: 'bearing',
    },
    ...((job.member.diaphragms ?? []).length === 0
      ? []
      : [
          {
            sample: (x: number, y: number) =>
              html`<path class="diaphragm" d="M${px(x + 11)} ${px(y - 7)}v14M${px(x + 16)} ${px(y - 7)}v14"/>`,
            text: 'diaphragm',
          },
        ]),
    ...(vees.of.length === 0
      ? []
      : [
          {
            sample: (x: number, y: number) =>
              html`<path class="vee" d="M${px(x + 4)} ${px(y + 6)}l9 -12l9 12Z"/>`,
            text: `vee ${vees.word}`,
          },
        ]),
    ...(line.line.impact === null
      ? []
      : [
          {
            sample: (x: number, y: number) => html`<path class="impact" d="${star(x + 13, y)}"/>`,
            text: 'impact',
          },
        ]),
  ];
}

function star(x: number, y: number): string {
  let d = '';
  for (let k = 0; k < 16; k++) {
    const r = k % 2 === 0 ? 8 : 3.6;
    const a = (k * Math.PI) / 8;
    d += `${k === 0 ? 'M' : 'L'}${px(x + r * Math.sin(a))} ${px(y - r * Math.cos(a))}`;
  }
  return `${d}Z`;
}

/** The blow, drawn on the side it came from: opposite to the bow it left. */
function impactMark(
  line: LineAnalysis,
  x: (s: number) => number,
  now: SurveyFit | undefined,
  y: (d: number) => number,
  half: number,
  bowsUp: boolean,
): Html | '' {
  const at = line.line.impact;
  if (at === null) return '';
  const near = now?.stations.reduce((a, b) => (Math.abs(b.station - at) < Math.abs(a.station - at) ? b : a));
  const steel = y(near?.deviation ?? 0);
  const place = bowsUp ? steel + half + 13 : steel - half - 13;
  return html`<path class="impact" d="${star(x(at), place)}"/>`;
}
