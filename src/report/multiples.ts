import type { Analysis, LineAnalysis } from '../analysis.ts';
import { lineToday } from '../decision/line-today.ts';
import { verdictWords } from '../decision/verdict-words.ts';
import { limitWords } from '../status/crew-words.ts';
import { brief } from './brief.ts';
import type { BulgeDocument } from './bulge-document.ts';
import { smallPanel } from './figures/panel.ts';
import { type Html, html } from './html.ts';
import { bandLimit, drawable } from './picks.ts';
import { placeText, type Quantities } from './quantities.ts';
import { linear, markerPath, polyline, px } from './svg.ts';
import { RESULT_WORDS } from './words.ts';

/** Small multiples a page holds beside what was set aside, the findings and the signatures; the rest are named. */
const MOST = 8;
const [WIDTH, HEIGHT] = [300, 84];

/**
 * Every line but the one that decides, and every panel, each as a small drawing at a scale of its own with its numbers.
 *
 * @param most shown; the rest are named
 */
export function multiplesSection(
  lines: readonly LineAnalysis[],
  panels: readonly BulgeDocument[],
  analysis: Analysis,
  q: Quantities,
  most = MOST,
): Html {
  const newest = [...new Map(panels.map((each) => [each.map.panel.name, each])).values()];
  const cards = [
    ...lines.map((line) => ({ name: line.line.name, card: lineCard(line, analysis, q) })),
    ...newest.map((each) => ({ name: each.map.panel.name, card: panelCard(each, q) })),
  ];
  if (cards.length === 0) return html``;
  const left = cards.slice(most).map(({ name }) => name);
  return html`<section aria-labelledby="others"><h2 id="others">Other lines and panels</h2><div class="${cards.length > Math.min(6, most - 1) ? 'multiples many' : 'multiples'}">${cards.slice(0, most).map(({ card }) => card)}</div>${left.length === 0 ? '' : html`<p class="small">${left.length} more: ${brief(left.join(', '), 200)}</p>`}</section>`;
}

function lineCard(item: LineAnalysis, { job }: Analysis, q: Quantities): Html {
  const { now, lack, limit } = lineToday(item);
  const size =
    now === null
      ? 'not read yet'
      : lack !== null
        ? 'cannot be told from the last survey'
        : `${q.length(Math.abs(now.largest.deviation))} ${q.plusMinus(now.largest.u)} at ${placeText(now.largest, q)}`;
  const rule =
    limit === null
      ? 'no limit set'
      : `${limitWords(limit, job.units)}: ${RESULT_WORDS[limit.result].toLowerCase()}`;
  return html`<div><p><strong>${brief(item.line.name, 26)}</strong>: ${verdictWords(item.progress).toLowerCase()}</p><p>${size}; ${rule}</p>${item.line.panel === undefined ? smallProfile(item, q) : smallPanel(item, q, WIDTH, HEIGHT)}</div>`;
}

/** As found dashed, now strong, the tolerance as a band; offsets at a scale of their own, which the labels give. */
function smallProfile(item: LineAnalysis, q: Quantities): Html {
  const [found, now] = [drawable(item)[0], drawable(item).at(-1)];
  if (found === undefined || now === undefined) return html``;
  const points = [...found.stations, ...now.stations].filter((p) => !p.setAside);
  if (points.length === 0) return html``;
  const limit = bandLimit(item) ?? 0;
  const values = points.map((p) => p.deviation);
  const [high, low] = [Math.max(limit, 0, ...values), Math.min(-limit, 0, ...values)];
  const stations = points.map((p) => p.station);
  const x = linear(Math.min(...stations), Math.max(...stations), 44, WIDTH - 4);
  const y = linear(low, high, HEIGHT - 8, 8);
  const trace = (survey: typeof found) =>
    polyline(survey.stations.map((p) => [x(p.station), p.setAside ? null : y(p.deviation)]));
  const dots = now.stations
    .filter((p) => !p.setAside)
    .map((p) => markerPath('circle', x(p.station), y(p.deviation), 1.8))
    .join('');
  const label = `Line ${item.line.name}: as found ${q.length(found.largest.deviation)} at ${q.station(found.largest.station)}, now ${q.length(now.largest.deviation)} at ${q.station(now.largest.station)}.`;
  return html`<svg viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="${label}">${limit === 0 ? '' : html`<rect class="tolerance" x="44" y="${px(y(limit))}" width="${WIDTH - 48}" height="${px(y(-limit) - y(limit))}"/>`}<path class="zero" d="M44 ${px(y(0))}H${WIDTH - 4}"/>${found === now ? '' : html`<path class="found" d="${trace(found)}"/>`}<path class="now" d="${trace(now)}"/><g class="now-mark"><path d="${dots}"/></g><g class="axis"><text x="40" y="${px(y(high) + 4)}" text-anchor="end">${q.bare(high)}</text><text x="40" y="${px(y(low) + 4)}" text-anchor="end">${q.bare(low)}</text></g></svg>`;
}

function panelCard({ cycle, map }: BulgeDocument, q: Quantities): Html {
  const us = map.outline.map((p) => p[0]);
  const vs = map.outline.map((p) => p[1]);
  const [lowU, highU, lowV, highV] = [Math.min(...us), Math.max(...us), Math.min(...vs), Math.max(...vs)];
  const scale = Math.min((WIDTH - 8) / (highU - lowU), (HEIGHT - 8) / (highV - lowV));
  const x = linear(lowU, highU, 4, 4 + scale * (highU - lowU));
  const y = linear(lowV, highV, 4 + scale * (highV - lowV), 4);
  const outline = map.outline.map(([u, v], i) => `${i === 0 ? 'M' : 'L'}${px(x(u))} ${px(y(v))}`).join('');
  const { largest } = map;
  const text = `${largest.lowerBound === true ? 'at least ' : ''}${q.length(largest.deviation)} ${q.plusMinus(largest.sd)}, ${q.length(largest.u)} from corner 1 toward 2 and ${q.length(largest.v)} toward 4`;
  return html`<div><p><strong>Panel ${brief(map.panel.name, 26)}</strong>, cycle ${cycle}</p><p>${text}</p><svg viewBox="0 0 ${WIDTH} ${HEIGHT}" role="img" aria-label="Panel ${map.panel.name}: largest bulge ${text}"><path class="spine" d="${outline}Z"/><path class="now" d="${markerPath('cross', x(largest.u), y(largest.v), 7)}"/><g class="axis"><text x="${px(x(lowU) + 3)}" y="${px(y(lowV) - 4)}">corner 1</text></g></svg></div>`;
}
