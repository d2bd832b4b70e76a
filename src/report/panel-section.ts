import type { LineAnalysis } from '../analysis.ts';
import { bulgeText, takenOffText } from '../status/panel-words.ts';
import { figure } from './figure.ts';
import { panelCuts, panelMaps } from './figures/panel.ts';
import { type Html, html } from './html.ts';
import { current, drawable } from './picks.ts';
import type { Quantities } from './quantities.ts';
import { prose } from './words.ts';

/** Grids with more places than this are not printed as a table. */
const MOST_ACROSS = 16;
const MOST_DOWN = 24;

/** The maps of a panel; `grows`: takes the room a leaf has left. */
export function panelMapsFigure(line: LineAnalysis, q: Quantities, grows = false): Html {
  return figure(
    'The panel on one scale',
    `Dashed is the tolerance, the cross is the crest, hatched is the minus side, grey was not read. + is ${line.line.positive}; contours in ${q.units === 'us' ? 'inches' : 'millimetres'}.`,
    (width) => panelMaps(line, q, width),
    grows,
  );
}

/** Maps, cuts through the crest, what was taken off, and the grid as it stands now. */
export function panelPlots(line: LineAnalysis, q: Quantities, mapsToo: boolean): Html {
  return html`${mapsToo ? panelMapsFigure(line, q) : ''}
${figure('Cuts through the crest', 'Through the crest as found. The strong line is now with its uncertainty (twice the standard one), dashed is as found, the band is the tolerance.', (width) => panelCuts(line, q, width))}
${panelFacts(line, q)}`;
}

function panelFacts(line: LineAnalysis, q: Quantities): Html {
  const now = current(line) ?? drawable(line).at(-1);
  if (now?.panel === undefined) return html``;
  return html`<p><strong>Bulge.</strong> ${prose(bulgeText(now.panel, q.units))}.</p><p><strong>Taken off first.</strong> ${prose(takenOffText(now.panel, q.units))}.</p>`;
}

/** Out-of-flatness where it was read, heights down and stations across; a note in its place for a grid too large to print. */
export function panelTable(line: LineAnalysis, q: Quantities): Html {
  const now = current(line);
  if (now?.panel === undefined) return html`<p>No readings of this panel yet.</p>`;
  const kept = now.stations;
  const stations = [...new Set(kept.map((s) => s.station))].sort((a, b) => a - b);
  const heights = [...new Set(kept.map((s) => s.height ?? 0))].sort((a, b) => b - a);
  if (stations.length > MOST_ACROSS || heights.length > MOST_DOWN)
    return html`<p>Out-of-flatness at ${kept.length} places: <code>sweepbook export --table deviations</code>.</p>`;
  const at = new Map(kept.map((s) => [`${s.station} ${s.height}`, s]));
  const most = kept
    .filter((s) => !s.setAside)
    .reduce((a, b) => (Math.abs(b.deviation) > Math.abs(a.deviation) ? b : a), kept[0]!);
  return html`<p class="table-title">Out of flat, ${q.offsetUnit}, cycle ${now.cycle}, + ${line.line.positive}. Heights down, stations across; the shaded place is the furthest read.</p><div class="scroll" tabindex="0" role="region" aria-label="Out of flat, panel ${line.line.name}"><table aria-label="Out of flat, panel ${line.line.name}"><thead><tr><th scope="col" class="n">Height, ${q.offsetUnit}</th>${stations.map((s) => html`<th scope="col" class="n">${q.station(s)}</th>`)}</tr></thead><tbody>${heights.map(
    (h) =>
      html`<tr><th scope="row" class="n">${q.bare(h)}</th>${stations.map((s) => {
        const here = at.get(`${s} ${h}`);
        if (here === undefined) return html`<td class="n"></td>`;
        const title = `${q.decimal(here.deviation)} ${q.plusMinus(here.u)}${here.setAside ? ', set aside' : ''}`;
        return html`<td class="n${here.setAside ? ' aside' : here === most ? ' worst' : ''}" title="${title}">${q.signed(here.deviation)}</td>`;
      })}</tr>`,
  )}</tbody></table></div>`;
}
