import type { LineAnalysis } from '../analysis.ts';
import type { Member } from '../job/job.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { readSpacing } from '../panels/seen.ts';
import { certainlyYielded, yieldedOf } from '../panels/yielded.ts';
import { areaText, bulgeText, pastText, takenOffText } from '../status/panel-words.ts';
import { brief } from './brief.ts';
import { figure } from './figure.ts';
import { panelCuts, panelMaps } from './figures/panel.ts';
import { type Html, html } from './html.ts';
import { bandLimit, current, drawable } from './picks.ts';
import type { Quantities } from './quantities.ts';
import { prose } from './words.ts';

/** Grids with more places than this are not printed as a table. */
const MOST_ACROSS = 16;
const MOST_DOWN = 24;

/** The maps of a panel; `grows`: takes the room a leaf has left. */
export function panelMapsFigure(line: LineAnalysis, member: Member, q: Quantities, grows = false): Html {
  return figure(
    MAPS,
    mapsKey(line, q),
    (width) => panelMaps(line, member, q, width),
    grows ? 'grow whole' : 'large',
  );
}

/** The same, drawn for the width it will have. */
export function panelMapsAt(line: LineAnalysis, member: Member, q: Quantities, width: number): Html {
  return html`<figure><figcaption><strong>${MAPS}.</strong> ${mapsKey(line, q)}</figcaption>${panelMaps(line, member, q, width)}</figure>`;
}

const MAPS = 'The panel on one scale';

function mapsKey({ line }: LineAnalysis, q: Quantities): string {
  return `Dashed: tolerance. Cross: crest. Dotted: bent past yield as found, heavy dash-dot in it a crease, the rest the dome. Hatched: minus side; grey: not read. + is ${brief(line.positive, 60)}; contours in ${q.units === 'us' ? 'inches' : 'millimetres'}.`;
}

/** Maps, cuts through the crest, what was taken off, and the grid as it stands now. */
export function panelPlots(line: LineAnalysis, member: Member, q: Quantities, mapsToo: boolean): Html {
  return html`${mapsToo ? panelMapsFigure(line, member, q) : ''}
${figure('Cuts through the crest', 'Through the crest as found. The strong line is now with its uncertainty (twice the standard one), dashed is as found, the band is the tolerance.', (width) => panelCuts(line, q, width))}
${panelFacts(line, q)}${yieldText(line, member, q)}`;
}

function panelFacts(line: LineAnalysis, q: Quantities): Html {
  const now = current(line) ?? drawable(line).at(-1);
  if (now?.panel === undefined) return html``;
  return html`<p><strong>Bulge.</strong> ${prose([pastText(now.panel, bandLimit(line), q.units), bulgeText(now.panel, q.units)].filter((text) => text !== '').join('; '))}.</p><p><strong>Taken off first.</strong> ${prose(takenOffText(now.panel, q.units))}.</p>`;
}

/** Where the plate was bent past yield as found: how far, over what area, and what the grid cannot show. */
function yieldText(line: LineAnalysis, member: Member, q: Quantities): Html | '' {
  const found = drawable(line).find((survey) => survey.panel !== undefined);
  const thickness = line.line.panel?.thickness ?? null;
  if (found?.panel === undefined || thickness === null) return '';
  const { map } = found.panel;
  const yielded = yieldedOf(found.panel, thickness, member.yieldStress, member.elasticModulus);
  const { ratio, u, crease } = yielded;
  const cell = ((map.to - map.from) * (map.high - map.low)) / ((map.columns - 1) * (map.rows - 1));
  const certain = certainlyYielded(found.panel, yielded);
  const past = certain.filter(Boolean).length;
  const creased = certain.filter((is, i) => is && crease[i]).length;
  const top = ratio.reduce((most, r, i) => (map.seen[i] && r > (ratio[most] ?? 0) ? i : most), 0);
  const finest = 2 * readSpacing(found.stations);
  if (past === 0)
    return html`<p><strong>Yield.</strong> By its bending the plate is nowhere shown to be past yield at a spacing of ${q.length(finest / 2)}; a crease narrower than ${q.length(finest)} would not show.</p>`;
  return html`<p><strong>Yield.</strong> As found the plate is bent past yield for certain over ${areaText(past * cell, q.units)}, ${areaText(creased * cell, q.units)} of it in creases (the foot of the bulge and folds), the rest on its dome (surface strain t/2·κ over Fy/E, if it was flat before), most ${ratio[top]!.toFixed(1)} ± ${(MEASURED.factor * u[top]!).toFixed(1)} times yield. A crease narrower than ${q.length(finest)} is drawn wider and softer than it is, so the ratio there is at least this.</p>`;
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
