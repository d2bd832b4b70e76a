import type { LineAnalysis, SurveyFit } from '../analysis.ts';
import type { Job } from '../job/job.ts';
import { type Html, html } from '../report/html.ts';
import { bandLimit } from '../report/picks.ts';
import type { Quantities } from '../report/quantities.ts';
import {
  errorBar,
  type LegendEntry,
  legend,
  linear,
  markerPath,
  offsetAxis,
  polyline,
  px,
  stationAxis,
  svg,
} from '../report/svg.ts';

/**
 * The survey being keyed against the baseline (the zero line), the cycle before it and as found; zones and tolerance
 * behind. Drawn for the width it will have, so letters stay readable at arm's length.
 */
export function profileToday(
  line: LineAnalysis,
  now: SurveyFit,
  before: SurveyFit | undefined,
  job: Job,
  q: Quantities,
  width: number,
): Html {
  const surveys = line.fit.surveys.filter((s) => s.state === now.state);
  const found = surveys[0] === now || surveys[0] === before ? undefined : surveys[0];
  const limit = bandLimit(line);
  const small = width < 600;
  const left = small ? 44 : 58;
  const right = width - 10;
  const key = legend(entries(now, before, found, limit), 2, 12, right);
  const top = key.height + 34;
  const bottom = top + (small ? 190 : 250);
  const frame = { width, height: bottom + 42, left, right, top, bottom };

  const drawn = [now, before, found].filter((s) => s !== undefined);
  const points = drawn.flatMap((s) => s.stations.filter((p) => !p.setAside));
  const stations = [...points.map((p) => p.station), ...line.line.bearings];
  const from = Math.min(...stations);
  const to = Math.max(...stations);
  // A survey that is only begun can be uncertain by feet: its bars then run out of the frame, the shape stays readable.
  const most = 2 * Math.max(limit ?? 0, ...points.map((p) => Math.abs(p.deviation)));
  const values = points.flatMap((p) => [
    p.deviation - Math.min(2 * p.u, most),
    p.deviation + Math.min(2 * p.u, most),
  ]);
  const reach = limit === null ? [] : [-limit * 1.15, limit * 1.15];
  const low = Math.min(0, ...values, ...reach);
  const high = Math.max(0, ...values, ...reach);
  const pad = (high - low) * 0.05 || 0.001;
  const x = linear(from, to, left, right);
  const y = linear(low - pad, high + pad, bottom, top);
  const trace = (s: SurveyFit): string =>
    polyline(s.stations.map((p) => [x(p.station), p.setAside ? null : y(p.deviation)]));
  const clean = (s: SurveyFit) => s.stations.filter((p) => !p.setAside);
  const peak = now.largest;

  return svg(
    frame,
    label(line, now, before, q),
    html`${key.drawing}
${limit === null ? '' : html`<rect class="tolerance" x="${px(left)}" y="${px(y(limit))}" width="${px(right - left)}" height="${px(y(-limit) - y(limit))}"/>`}
${line.fit.zones.map((z) => html`<g class="zone ${z.class}"><rect x="${px(x(z.from))}" y="${px(top)}" width="${px(Math.max(2, x(z.to) - x(z.from)))}" height="${px(bottom - top)}"/><text x="${px(x((z.from + z.to) / 2))}" y="${px(top + 13)}" text-anchor="middle">${z.zone}</text></g>`)}
${offsetAxis(frame, y, low - pad, high + pad, q, `deviation, ${q.offsetUnit}`)}
${limit === null ? '' : html`<path class="tolerance-edge" d="M${px(left)} ${px(y(limit))}H${px(right)}M${px(left)} ${px(y(-limit))}H${px(right)}"/>`}
${stationAxis(frame, x, from, to, q)}
${(job.member.diaphragms ?? []).filter((d) => d > from && d < to).map((d) => html`<path class="diaphragm" d="M${px(x(d))} ${px(bottom - 9)}v9"/>`)}
${line.line.bearings.map((b) => html`<path class="bearing" d="M${px(x(b))} ${px(y(0) + 1)}l6 10h-12Z"/>`)}
${found === undefined ? '' : html`<g class="history"><path d="${trace(found)}"/></g>`}
${before === undefined ? '' : html`<path class="found" d="${trace(before)}"/><g class="found-mark">${clean(before).map((p) => html`<path d="${markerPath('circle', x(p.station), y(p.deviation), 2.6)}"/>`)}</g>`}
<path class="now-bar" d="${clean(now)
      .map((p) =>
        errorBar(
          x(p.station),
          Math.min(bottom, y(p.deviation - 2 * p.u)),
          Math.max(top, y(p.deviation + 2 * p.u)),
          2.5,
        ),
      )
      .join('')}"/><path class="now" d="${trace(now)}"/>
<g class="now-mark">${clean(now).map((p) => html`<path d="${markerPath('circle', x(p.station), y(p.deviation), 3.4)}"/>`)}</g>
<g class="aside">${now.stations.filter((p) => p.setAside).map((p) => html`<path d="${markerPath('cross', x(p.station), Math.max(top, Math.min(bottom, y(p.deviation))), 4.5)}"/>`)}</g>
<g class="peak"><path d="${markerPath('circle', x(peak.station), y(peak.deviation), 8)}"/></g>`,
  );
}

function entries(
  now: SurveyFit,
  before: SurveyFit | undefined,
  found: SurveyFit | undefined,
  limit: number | null,
): LegendEntry[] {
  const marked = (name: string) => (x: number, y: number) =>
    html`<path class="${name}" d="M${px(x)} ${px(y)}h26"/><g class="${name}-mark"><path d="${markerPath('circle', x + 13, y, 3.2)}"/></g>`;
  const name = (s: SurveyFit) => (s.cycle === 0 ? 'as found' : `cycle ${s.cycle}`);
  return [
    { sample: marked('now'), text: `${name(now)}, ± 95\u00a0%` },
    ...(before === undefined ? [] : [{ sample: marked('found'), text: name(before) }]),
    ...(found === undefined
      ? []
      : [
          {
            sample: (x: number, y: number) => html`<g class="history"><path d="M${px(x)} ${px(y)}h26"/></g>`,
            text: name(found),
          },
        ]),
    ...(limit === null
      ? []
      : [
          {
            sample: (x: number, y: number) =>
              html`<rect class="tolerance" x="${px(x)}" y="${px(y - 6)}" width="26" height="12"/><path class="tolerance-edge" d="M${px(x)} ${px(y - 6)}h26M${px(x)} ${px(y + 6)}h26"/>`,
            text: 'tolerance',
          },
        ]),
  ];
}

function label(line: LineAnalysis, now: SurveyFit, before: SurveyFit | undefined, q: Quantities): string {
  const largest = (s: SurveyFit) => `${q.length(s.largest.deviation)} at ${q.station(s.largest.station)}`;
  return (
    `Deviation from the baseline along line ${line.line.name}. Cycle ${now.cycle}: largest ${largest(now)}.` +
    (before === undefined ? '' : ` Cycle ${before.cycle}: largest ${largest(before)}.`)
  );
}
