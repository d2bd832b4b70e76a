import type { LineAnalysis, SurveyFit } from '../../analysis.ts';
import { type Html, html } from '../html.ts';
import { bandLimit, evenly, judged } from '../picks.ts';
import type { Quantities } from '../quantities.ts';
import { linear, narrow, polyline, px, svg } from '../svg.ts';

/** Frames at most, in rows of so many: a cycle more than these hold is left out, evenly. */
const GRID = { wide: { across: 6, rows: 2 }, narrow: { across: 3, rows: 4 } } as const;
const TITLE = 30;

/** The line survey by survey, every frame at one scale: how it came in, without a word. As found stays behind each, dashed. */
export function filmStrip(line: LineAnalysis, q: Quantities, width: number): Html {
  const { across, rows } = narrow({ width }) ? GRID.narrow : GRID.wide;
  const all = judged(line);
  const shown = evenly(all, across * rows);
  const found = all[0]!;
  const limit = bandLimit(line) ?? 0;
  const values = shown.flatMap((survey) => read(survey).map((p) => p.deviation));
  const stations = shown.flatMap((survey) => read(survey).map((p) => p.station));
  const [high, low] = [Math.max(limit, 0, ...values), Math.min(-limit, 0, ...values)];
  const gap = 14;
  const frameWidth = (width - gap * (across - 1)) / across;
  const frameHeight = Math.min(86, frameWidth * 0.62);
  const x = linear(Math.min(...stations), Math.max(...stations), 0, frameWidth);
  const y = linear(low, high, frameHeight, 0);
  const trace = (survey: SurveyFit): string =>
    polyline(read(survey).map((p) => [x(p.station), y(p.deviation)]));
  const frames = shown.map((survey, i) => {
    const [left, top] = [
      (i % across) * (frameWidth + gap),
      Math.floor(i / across) * (frameHeight + TITLE + 12),
    ];
    return html`<g transform="translate(${px(left)} ${px(top + TITLE)})"><g class="axis"><text x="0" y="-17"><tspan class="strong">${survey.cycle === 0 ? 'as found' : `cycle ${survey.cycle}`}</tspan></text><text x="0" y="-4">${q.length(Math.abs(survey.largest.deviation))}</text></g>${limit === 0 ? '' : html`<rect class="tolerance" x="0" y="${px(y(limit))}" width="${px(frameWidth)}" height="${px(y(-limit) - y(limit))}"/>`}<path class="zero" d="M0 ${px(y(0))}H${px(frameWidth)}"/>${survey === found ? '' : html`<path class="found" d="${trace(found)}"/>`}<path class="now" d="${trace(survey)}"/></g>`;
  });
  const drawn = Math.ceil(shown.length / across);
  const said = shown.map(
    (survey) =>
      `${survey.cycle === 0 ? 'as found' : `cycle ${survey.cycle}`} ${q.length(Math.abs(survey.largest.deviation))}`,
  );
  return svg(
    { width, height: drawn * (frameHeight + TITLE + 12) },
    `Line ${line.line.name} survey by survey at one scale, largest deviation: ${said.join(', ')}.`,
    html`${frames}`,
  );
}

function read(survey: SurveyFit) {
  return survey.stations.filter((p) => !p.setAside);
}
