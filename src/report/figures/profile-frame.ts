import type { LineAnalysis, StationFit, SurveyFit } from '../../analysis.ts';
import type { Job } from '../../job/job.ts';
import { type Html, html } from '../html.ts';
import { bandLimit } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import {
  type Frame,
  type LegendEntry,
  legend,
  linear,
  markerPath,
  narrow,
  offsetAxis,
  polyline,
  px,
  type Scale,
  stationAxis,
} from '../svg.ts';

/** Deviation over station with everything that stands behind the surveys: axes, tolerance, zones, supports, legend. */
export interface ProfileFrame {
  readonly frame: Frame;
  readonly x: Scale;
  readonly y: Scale;
  readonly behind: Html;
  /** Path of a survey; a gap where a reading is set aside. */
  readonly trace: (survey: SurveyFit) => string;
  /** Crosses where readings are set aside, kept inside the frame. */
  readonly aside: (survey: SurveyFit, size: number) => Html;
}

export interface ProfileSettings {
  readonly line: LineAnalysis;
  readonly job: Job;
  readonly q: Quantities;
  readonly width: number;
  /** Height of the drawing itself, in pixels: on a phone, elsewhere. */
  readonly heights: readonly [number, number];
  readonly entries: readonly LegendEntry[];
  /** Surveys that will be drawn. */
  readonly drawn: readonly SurveyFit[];
  /** Bars longer than this run out of the frame, m: the shape stays readable. */
  readonly longest?: number;
}

export function profileFrame(settings: ProfileSettings): ProfileFrame {
  const { line, job, q, width, drawn, longest = Number.POSITIVE_INFINITY } = settings;
  const limit = bandLimit(line);
  const small = narrow({ width });
  const left = small ? 46 : 62;
  const right = width - (small ? 8 : 18);
  const key = legend(settings.entries, small ? 2 : 4, 12, right);
  const top = key.height + 46;
  const bottom = top + settings.heights[small ? 0 : 1];
  const frame = { width, height: bottom + 44, left, right, top, bottom };

  const shown = drawn.flatMap(kept);
  const stations = [...shown.map((p) => p.station), ...line.line.bearings];
  const from = Math.min(...stations);
  const to = Math.max(...stations);
  const values = shown.flatMap((p) => {
    const bar = Math.min(2 * p.u, longest);
    return [p.deviation - bar, p.deviation + bar];
  });
  const reach = limit === null ? [] : [-limit * 1.15, limit * 1.15];
  const low = Math.min(0, ...values, ...reach);
  const high = Math.max(0, ...values, ...reach);
  const pad = (high - low) * 0.05 || 0.001;
  const x = linear(from, to, left, right);
  // The zones are named in a strip of their own, so that no curve crosses a letter.
  const y = linear(low - pad, high + pad, bottom, line.fit.zones.length === 0 ? top : top + 18);
  const piers = (job.member.bearings ?? []).filter((b) => b > from && b < to);
  const bearingsWithin = [...new Set([...line.line.bearings, ...piers])];
  const title = `deviation, ${q.offsetUnit}, + ${line.line.positive}`;
  return {
    frame,
    x,
    y,
    behind: html`${key.drawing}
${limit === null ? '' : html`<rect class="tolerance" x="${px(left)}" y="${px(y(limit))}" width="${px(right - left)}" height="${px(y(-limit) - y(limit))}"/>`}
${line.fit.zones.map((z) => html`<g class="zone ${z.class}"><rect x="${px(x(z.from))}" y="${px(top)}" width="${px(Math.max(2, x(z.to) - x(z.from)))}" height="${px(bottom - top)}"/><path class="zone-edge" d="M${px(x(z.from))} ${px(top)}V${px(bottom)}M${px(x(z.to))} ${px(top)}V${px(bottom)}"/><text x="${px(x((z.from + z.to) / 2))}" y="${px(top + 14)}" text-anchor="middle">${z.zone}</text></g>`)}
${offsetAxis(frame, y, low - pad, high + pad, q, small ? `deviation, ${q.offsetUnit}` : title.slice(0, 110))}
${limit === null ? '' : html`<path class="tolerance-edge" d="M${px(left)} ${px(y(limit))}H${px(right)}M${px(left)} ${px(y(-limit))}H${px(right)}"/>`}
${stationAxis(frame, x, from, to, q)}
${(job.member.diaphragms ?? []).filter((d) => d > from && d < to).map((d) => html`<path class="diaphragm" d="M${px(x(d))} ${px(bottom - 9)}v9"/>`)}
${bearingsWithin.map((b) => html`<path class="bearing" d="M${px(x(b))} ${px(y(0) + 1)}l6 10h-12Z"/>`)}`,
    trace: (survey) =>
      polyline(survey.stations.map((p) => [x(p.station), p.setAside ? null : y(p.deviation)])),
    aside: (survey, size) =>
      html`<g class="aside">${survey.stations.filter((p) => p.setAside).map((p) => html`<path d="${markerPath('cross', x(p.station), Math.max(top, Math.min(bottom, y(p.deviation))), size)}"/>`)}</g>`,
  };
}

/** Stations of a survey whose readings count. */
export function kept(survey: SurveyFit): StationFit[] {
  return survey.stations.filter((p) => !p.setAside);
}

/** Legend samples of a line of a class, plain or with its marker. */
export function strokeSample(name: string): LegendEntry['sample'] {
  return (x, y) => html`<path class="${name}" d="M${px(x)} ${px(y)}h26"/>`;
}

export function markedSample(name: string): LegendEntry['sample'] {
  return (x, y) =>
    html`<path class="${name}" d="M${px(x)} ${px(y)}h26"/><g class="${name}-mark"><path d="${markerPath('circle', x + 13, y, 3.2)}"/></g>`;
}

export function historySample(): LegendEntry['sample'] {
  return (x, y) => html`<g class="history"><path d="M${px(x)} ${px(y)}h26"/></g>`;
}

export function toleranceEntry(): LegendEntry {
  return {
    sample: (x, y) =>
      html`<rect class="tolerance" x="${px(x)}" y="${px(y - 6)}" width="26" height="12"/><path class="tolerance-edge" d="M${px(x)} ${px(y - 6)}h26M${px(x)} ${px(y + 6)}h26"/>`,
    text: 'tolerance',
  };
}
