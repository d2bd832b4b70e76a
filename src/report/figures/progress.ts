import type { LineAnalysis } from '../../analysis.ts';
import { EXPECTED, levelText, MEASURED } from '../../maths/coverage-level.ts';
import { type Html, html } from '../html.ts';
import { bandLimit } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import {
  band,
  cycleAxis,
  errorBar,
  type LegendEntry,
  legend,
  linear,
  markerPath,
  narrow,
  offsetAxis,
  polyline,
  px,
  svg,
} from '../svg.ts';
import { prose } from '../words.ts';

/** Largest deviation by cycle with its uncertainty, the tolerance as a band from zero, the forecast as a fan. */
export function progressPlot(line: LineAnalysis, q: Quantities, width: number): Html {
  const { series, sinceCycle } = line.progress;
  const forecast = forecastShown(line);
  const limit = bandLimit(line);
  const small = narrow({ width });
  const left = small ? 46 : 62;
  const right = width - (small ? 8 : 18);
  const key = legend(entries(limit, forecast.length > 0), small ? 2 : 4, 12, right);
  const top = key.height + 46;
  const bottom = top + (small ? 190 : 240);
  const frame = { width, height: bottom + 44, left, right, top, bottom };

  const cycles = [...series.map((p) => p.cycle), ...forecast.map((p) => p.cycle)];
  const from = Math.min(0, ...cycles);
  const to = Math.max(from + 1, ...cycles);
  const high =
    Math.max(
      0.001,
      (limit ?? 0) * 1.2,
      ...series.map((p) => p.value + 2 * p.u),
      ...forecast.map((p) => p.high),
    ) * 1.05;
  const low = Math.min(0, ...forecast.map((p) => p.low));
  const x = linear(from - 0.4, to + 0.4, left, right);
  const y = linear(low, high, bottom, top);
  const last = series.at(-1);
  const start = last === undefined ? [] : [[x(last.cycle), y(last.value), y(last.value)] as const];
  const fan = band([...start, ...forecast.map((p) => [x(p.cycle), y(p.low), y(p.high)] as const)]);
  const middle = polyline([
    ...(last === undefined ? [] : [[x(last.cycle), y(last.value)] as const]),
    ...forecast.map((p) => [x(p.cycle), y(p.expected)] as const),
  ]);
  const regime = sinceCycle === null || sinceCycle <= from ? null : sinceCycle;
  return svg(
    frame,
    progressLabel(line, q, limit),
    html`${key.drawing}
${limit === null ? '' : html`<rect class="tolerance" x="${px(left)}" y="${px(y(limit))}" width="${px(right - left)}" height="${px(y(0) - y(limit))}"/>`}
${offsetAxis(frame, y, low, high, q, `largest deviation, ${q.offsetUnit}`)}
${limit === null ? '' : html`<path class="tolerance-edge" d="M${px(left)} ${px(y(limit))}H${px(right)}"/>`}
${forecast.length === 0 ? '' : html`<path class="fan" d="${fan}"/><path class="fan-middle" d="${middle}"/>`}
${regime === null ? '' : html`<g class="regime"><path d="M${px(x(regime))} ${px(top)}V${px(bottom)}"/><text x="${px(x(regime) + 5)}" y="${px(top + 12)}">${`present pace since cycle ${regime}`}</text></g>`}
${cycleAxis(frame, x, from, to)}
<path class="now-bar" d="${series.map((p) => errorBar(x(p.cycle), y(Math.max(0, p.value - 2 * p.u)), y(p.value + 2 * p.u), 3)).join('')}"/>
<path class="now" d="${polyline(series.map((p) => [x(p.cycle), y(p.value)] as const))}"/>
<g class="now-mark">${series.map((p) => html`<path d="${markerPath('circle', x(p.cycle), y(p.value), 3.8)}"><title>${`cycle ${p.cycle}: ${q.length(p.value)} (${q.decimal(p.value)} ${q.plusMinus(p.u)})`}</title></path>`)}</g>`,
  );
}

/** Most cycles ahead a drawing shows. */
const AHEAD = 12;

/** The forecast up to a little after the tolerance is expected to be reached: a fan lying on zero says nothing. None once inside. */
export function forecastShown(line: LineAnalysis): LineAnalysis['progress']['forecast'] {
  const { forecast, series, cyclesLeft, verdict } = line.progress;
  if (verdict === 'within-tolerance') return [];
  const last = series.at(-1)?.cycle ?? 0;
  const ahead =
    cyclesLeft === null || cyclesLeft.high === null ? AHEAD : Math.min(AHEAD, Math.ceil(cyclesLeft.high) + 2);
  return forecast.filter((p) => p.cycle <= last + ahead);
}

function entries(limit: number | null, forecast: boolean): LegendEntry[] {
  return [
    {
      sample: (x, y) =>
        html`<path class="now" d="M${px(x)} ${px(y)}h26"/><g class="now-mark"><path d="${markerPath('circle', x + 13, y, 3.4)}"/></g>`,
      text: `largest deviation, ± ${prose(levelText(MEASURED))}`,
    },
    ...(limit === null
      ? []
      : [
          {
            sample: (x: number, y: number) =>
              html`<rect class="tolerance" x="${px(x)}" y="${px(y - 6)}" width="26" height="12"/><path class="tolerance-edge" d="M${px(x)} ${px(y - 6)}h26"/>`,
            text: 'inside tolerance',
          },
        ]),
    ...(forecast
      ? [
          {
            sample: (x: number, y: number) =>
              html`<rect class="fan" x="${px(x)}" y="${px(y - 6)}" width="26" height="12"/><path class="fan-middle" d="M${px(x)} ${px(y)}h26"/>`,
            text: `forecast, ${prose(levelText(EXPECTED))}`,
          },
        ]
      : []),
  ];
}

function progressLabel(line: LineAnalysis, q: Quantities, limit: number | null): string {
  const { series, cyclesLeft } = line.progress;
  const first = series[0];
  const last = series.at(-1);
  if (first === undefined || last === undefined)
    return `Progress of line ${line.line.name}: no judged readings yet.`;
  return (
    `Largest deviation of line ${line.line.name} by cycle: ${q.length(first.value)} in cycle ${first.cycle}, ${q.length(last.value)} in cycle ${last.cycle}.` +
    (limit === null ? '' : ` Tolerance ${q.length(limit)}.`) +
    (cyclesLeft === null
      ? ''
      : ` Forecast: ${Math.ceil(cyclesLeft.low)} to ${cyclesLeft.high === null ? 'an unknown number of' : Math.ceil(cyclesLeft.high)} cycles left.`)
  );
}
