import type { LineAnalysis, StationFit, SurveyFit } from '../../analysis.ts';
import type { Job } from '../../job/job.ts';
import { type Html, html } from '../html.ts';
import { asFound, bandLimit, current, judged } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import {
  errorBar,
  type LegendEntry,
  legend,
  linear,
  markerPath,
  narrow,
  offsetAxis,
  polyline,
  px,
  stationAxis,
  svg,
} from '../svg.ts';

/**
 * Deviation along the line, one trace a cycle: the current one strong with its uncertainty, as found dashed, the cycles
 * between faint. The tolerance over the whole line is a band.
 */
export function profilePlot(
  line: LineAnalysis,
  job: Job,
  q: Quantities,
  width: number,
  history: boolean,
): Html {
  const surveys = judged(line);
  const found = asFound(line);
  const now = current(line);
  const limit = bandLimit(line);
  const restrained = line.fit.surveys.findLast((s) => s.state === 'restrained' && s !== now);
  const between = history ? surveys.filter((s) => s !== found && s !== now) : [];

  const small = narrow({ width });
  const left = small ? 46 : 62;
  const right = width - (small ? 8 : 18);
  const key = legend(entries(found, now, between.length, limit, restrained), small ? 2 : 4, 12, right);
  const top = key.height + 46;
  const bottom = top + (small ? 210 : 300);
  const frame = { width, height: bottom + 44, left, right, top, bottom };

  const shown = surveys.flatMap((s) => s.stations.filter((p) => !p.setAside));
  const stations = [...shown.map((p) => p.station), ...line.line.bearings];
  const from = Math.min(...stations);
  const to = Math.max(...stations);
  const values = shown.flatMap((p) => [p.deviation - 2 * p.u, p.deviation + 2 * p.u]);
  const reach = limit === null ? [] : [-limit * 1.15, limit * 1.15];
  const low = Math.min(0, ...values, ...reach);
  const high = Math.max(0, ...values, ...reach);
  const pad = (high - low) * 0.05 || 0.001;
  const x = linear(from, to, left, right);
  const y = linear(low - pad, high + pad, bottom, top);

  const trace = (s: SurveyFit): string =>
    polyline(s.stations.map((p) => [x(p.station), p.setAside ? null : y(p.deviation)]));
  const clean = (s: SurveyFit) => s.stations.filter((p) => !p.setAside);
  const dense = shown.length > 0 && (now?.stations.length ?? 0) > (right - left) / 7;
  const radius = dense ? 2 : 3.4;
  const circles = (points: readonly StationFit[], r: number): string =>
    points.map((p) => markerPath('circle', x(p.station), y(p.deviation), r)).join('');
  const title = `deviation, ${q.offsetUnit}, + ${line.line.positive}`;
  return svg(
    frame,
    profileLabel(line, q, between.length),
    html`${key.drawing}
${limit === null ? '' : html`<rect class="tolerance" x="${px(left)}" y="${px(y(limit))}" width="${px(right - left)}" height="${px(y(-limit) - y(limit))}"/>`}
${line.fit.zones.map((z) => html`<g class="zone ${z.class}"><rect x="${px(x(z.from))}" y="${px(top)}" width="${px(Math.max(2, x(z.to) - x(z.from)))}" height="${px(bottom - top)}"/><path class="zone-edge" d="M${px(x(z.from))} ${px(top)}V${px(bottom)}M${px(x(z.to))} ${px(top)}V${px(bottom)}"/><text x="${px(x((z.from + z.to) / 2))}" y="${px(top + 14)}" text-anchor="middle">${z.zone}</text></g>`)}
${offsetAxis(frame, y, low - pad, high + pad, q, small ? `deviation, ${q.offsetUnit}` : title.slice(0, 110))}
${limit === null ? '' : html`<path class="tolerance-edge" d="M${px(left)} ${px(y(limit))}H${px(right)}M${px(left)} ${px(y(-limit))}H${px(right)}"/>`}
${stationAxis(frame, x, from, to, q)}
${(job.member.diaphragms ?? []).filter((d) => d > from && d < to).map((d) => html`<path class="diaphragm" d="M${px(x(d))} ${px(bottom - 9)}v9"/>`)}
${line.line.bearings.map((b) => html`<path class="bearing" d="M${px(x(b))} ${px(y(0) + 1)}l6 10h-12Z"/>`)}
<g class="history">${between.map((s) => html`<path d="${trace(s)}"/>`)}</g>
${restrained === undefined ? '' : html`<path class="restrained" d="${trace(restrained)}"/>`}
${found === undefined || found === now ? '' : html`<path class="found" d="${trace(found)}"/><g class="found-mark"><path d="${circles(clean(found), radius * 0.85)}"/></g>`}
${
  now === undefined
    ? ''
    : html`<path class="now-bar" d="${clean(now)
        .map((p) =>
          errorBar(x(p.station), y(p.deviation - 2 * p.u), y(p.deviation + 2 * p.u), dense ? 0 : 2.5),
        )
        .join(
          '',
        )}"/><path class="now" d="${trace(now)}"/><g class="now-mark">${small ? html`<path d="${circles(clean(now), radius)}"/>` : clean(now).map((p) => html`<path d="${circles([p], radius)}"><title>${`${q.station(p.station)}: ${q.signed(p.deviation)} ${q.offsetUnit} (${q.decimal(p.deviation)} ${q.plusMinus(p.u)})`}</title></path>`)}</g>`
}
${now === undefined ? '' : html`<g class="aside">${now.stations.filter((p) => p.setAside).map((p) => html`<path d="${markerPath('cross', x(p.station), Math.max(top, Math.min(bottom, y(p.deviation))), 4)}"/>`)}</g>`}`,
  );
}

function entries(
  found: SurveyFit | undefined,
  now: SurveyFit | undefined,
  between: number,
  limit: number | null,
  restrained: SurveyFit | undefined,
): LegendEntry[] {
  const stroke = (name: string) => (x: number, y: number) =>
    html`<path class="${name}" d="M${px(x)} ${px(y)}h26"/>`;
  const marked = (name: string) => (x: number, y: number) =>
    html`<path class="${name}" d="M${px(x)} ${px(y)}h26"/><g class="${name}-mark"><path d="${markerPath('circle', x + 13, y, 3.2)}"/></g>`;
  const out: LegendEntry[] = [];
  if (now !== undefined)
    out.push({
      sample: marked('now'),
      text: now === found ? 'as found, ± 95\u00a0%' : `after cycle ${now.cycle}, ± 95\u00a0%`,
    });
  if (found !== undefined && found !== now) out.push({ sample: marked('found'), text: 'as found' });
  if (between > 0)
    out.push({
      sample: (x, y) => html`<g class="history"><path d="M${px(x)} ${px(y)}h26"/></g>`,
      text: 'cycles between',
    });
  if (restrained !== undefined)
    out.push({ sample: stroke('restrained'), text: `jacks on, cycle ${restrained.cycle}` });
  if (limit !== null)
    out.push({
      sample: (x, y) =>
        html`<rect class="tolerance" x="${px(x)}" y="${px(y - 6)}" width="26" height="12"/><path class="tolerance-edge" d="M${px(x)} ${px(y - 6)}h26M${px(x)} ${px(y + 6)}h26"/>`,
      text: 'tolerance',
    });
  return out;
}

function profileLabel(line: LineAnalysis, q: Quantities, between: number): string {
  const found = asFound(line);
  const now = current(line);
  if (found === undefined || now === undefined)
    return `Deviation along line ${line.line.name}: no readings yet.`;
  return (
    `Deviation along line ${line.line.name}. As found the largest is ${q.length(found.largest.deviation)} at ${q.station(found.largest.station)}; ` +
    `after cycle ${now.cycle} it is ${q.length(now.largest.deviation)} ${q.plusMinus(now.largest.u)} at ${q.station(now.largest.station)}.` +
    (between > 0 ? ` ${between} cycles between are drawn faint.` : '') +
    ' The table of deviations by station holds the same numbers.'
  );
}
