import type { BulgeDocument } from './bulge-document.ts';
import type { ReportSection } from './context.ts';
import { figure } from './figure.ts';
import { bulgeDrawing } from './figures/bulge.ts';
import { type Html, html } from './html.ts';
import type { Quantities } from './quantities.ts';

/** Report section of the panels mapped from scans; null where there is none. */
export function bulgeSection(
  documents: readonly BulgeDocument[],
  q: Quantities,
  member: {
    readonly webThickness: number | null;
    readonly yieldStress: number;
    readonly elasticModulus: number;
  },
): ReportSection | null {
  if (documents.length === 0) return null;
  return {
    id: 'panels',
    title: 'Panels mapped from scans',
    body: html`<p>Deviation of each panel from the surface its held edges span (their lean, twist and bow are taken off), positive toward the side the set-up names. The mark is the largest bulge of the smoothed map. For acceptance of out-of-flatness the specification in force governs.</p>${documents.map((each) => panel(each, mostOf(documents, each), q, member))}`,
    in: 'both',
  };
}

/** Maps of one panel share a scale, so that cycles can be compared by eye. */
function mostOf(documents: readonly BulgeDocument[], own: BulgeDocument): number {
  const same = documents.filter((each) => each.map.panel.name === own.map.panel.name);
  let most = 0;
  for (const { map } of same) for (const cell of map.cells) most = Math.max(most, Math.abs(cell.deviation));
  return most;
}

function panel(
  { cycle, date, source, alignment, map }: BulgeDocument,
  most: number,
  q: Quantities,
  member: {
    readonly webThickness: number | null;
    readonly yieldStress: number;
    readonly elasticModulus: number;
  },
): Html {
  const { largest, extent, curvature } = map;
  const perMetre = (k: number) =>
    (q.units === 'us' ? `${(k * 0.0254).toFixed(5)} 1/in` : `${k.toFixed(3)} 1/m`).replace('-', '−');
  const rows: [string, string][] = [
    [
      'Largest bulge',
      `${largest.lowerBound === true ? 'at least ' : ''}${q.length(largest.deviation)} (${q.plusMinus(largest.sd)}, k = 2)${largest.lowerBound === true ? '; it stands beside a hole or a part not seen, where it can be more' : ''}`,
    ],
    ['At', `${q.length(largest.u)} from corner 1 toward 2, ${q.length(largest.v)} toward 4`],
    ['At least half of it over', `${q.length(extent.along)} by ${q.length(extent.up)}`],
    [
      'Curvature there',
      `${perMetre(curvature.greatest)} and ${perMetre(curvature.least)} (± ${perMetre(2 * curvature.sd)}), mean over a radius of ${q.length(curvature.radius)}`,
    ],
  ];
  if (member.webThickness !== null) {
    const ratio =
      (Math.abs(curvature.greatest) * member.webThickness) / 2 / (member.yieldStress / member.elasticModulus);
    rows.push([
      'Surface strain ratio',
      `${ratio.toFixed(1)} (curvature × half the web thickness ÷ yield strain, if it was flat before)`,
    ]);
  }
  rows.push([
    'Seen',
    `${Math.round(map.seen * 100)} % of the panel; ${map.rejected.jumps + map.rejected.offSurface} points on other things left out`,
  ]);
  rows.push(['Scan', `${source.name}, SHA-256 ${source.sha256.slice(0, 16)}…`]);
  if (alignment) rows.push(['Alignment', alignment.words]);
  const title = `Panel ${map.panel.name}, cycle ${cycle}${date === null ? '' : ` (${date})`}`;
  return html`<h3>${title}</h3><div class="keep"><table><tbody>${rows.map(([k, v]) => html`<tr><th scope="row">${k}</th><td>${v}</td></tr>`)}</tbody></table></div>${figure(title, `Out-of-flatness, seen from the ${map.seenFrom} side; grey was not seen by the scanner, or is the margin along the edges that is left out.`, (width) => bulgeDrawing(map, most, q, width))}`;
}
