import type { Job } from '../job/job.ts';
import type { CoverPlateFit } from '../plates/cover-plate.ts';
import { COVER_DEFERRAL, coverLines, coverWords, referenceText } from '../plates/cover-plate-text.ts';
import { dateText } from './dates.ts';
import { type CoverView, coverPlateDrawing } from './figures/cover-plate.ts';
import { templateTile, tilesOf } from './figures/cover-template.ts';
import { type Html, html } from './html.ts';
import { page } from './shell.ts';

/** Scales drawings are made at, largest first. */
const SCALES = { us: [1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48], si: [1, 2, 5, 10, 20, 25, 50] } as const;
/** CSS pixels a metre of paper, and the room on a sheet of A4 or Letter that a drawing has. */
const PER_METRE = 96 / 0.0254;
const ROOM = { width: 592, height: 560 } as const;

const CSS = `
.cover-sheet { max-width: 52rem; }
.cover-sheet h2 { margin-top: 0; }
.cover-sheet section { break-after: page; }
.cover-sheet section:last-child { break-after: auto; }
.cover-sheet .drawing { overflow-x: auto; }
.cover-sheet td, .cover-sheet th { padding: 0.1rem 0.7rem 0.1rem 0; text-align: left; }
.cover-sheet .tables { display: flex; flex-wrap: wrap; gap: 0.4rem 2rem; align-items: flex-start; }
.cover-sheet .sign { margin-top: 1rem; }
/* A bar and a sheet at full size are wider than a phone: they count on paper only. */
.cover-sheet p svg { max-width: 100%; }
.cover-sheet .tile { overflow-x: auto; }
@media print {
  @page { margin: 8mm; }
  .cover-sheet .tile { overflow: visible; }
  .cover-sheet .tile p { font-size: 7.5pt; line-height: 1.2; margin: 0; }
  .cover-sheet .tile svg { display: block; max-width: none; }
  .cover-sheet, .cover-sheet p { font-size: 8.5pt; margin: 1mm 0; max-width: none; padding: 0; }
  .cover-sheet table { font-size: 8.5pt; }
  .cover-sheet .drawing { overflow: visible; }
}
`;

/**
 * Drawings to lay out on the steel: every opening with its plate from two reference edges, then the template for drilling
 * the plate, each to a stated scale with a bar to check the print by, and a table of every place; a plate larger than a sheet
 * also at full size, over sheets with register marks to be joined.
 *
 * @param facts day it is made (ISO date) and the program's name
 */
export function renderCoverSheet(
  job: Job,
  fits: readonly CoverPlateFit[],
  facts: { readonly generated: string; readonly tool: string },
): string {
  const made = `${job.name}; made ${dateText(facts.generated, job.locale)} by ${facts.tool}`;
  const body = html`<main class="cover-sheet">${fits.map(
    (fit) =>
      html`${steelSheet(job, fit, made)}${fit.outline === null ? null : [templateSheet(job, fit, made), fullSize(job, fit)]}`,
  )}</main>`;
  return page({
    title: `Opening and plate: ${job.name}`,
    description: 'Drawings to scale of openings and the plates over them, to lay out on the steel and drill.',
    body,
    css: CSS,
  });
}

/** The largest scale at which the drawing fits the sheet. */
function scaleOf(job: Job, width: number, height: number): number {
  const fits = (scale: number) =>
    (width * PER_METRE) / scale <= ROOM.width && (height * PER_METRE) / scale <= ROOM.height;
  return SCALES[job.units].find(fits) ?? SCALES[job.units].at(-1)!;
}

function drawing(job: Job, fit: CoverPlateFit, scale: number, view: CoverView): Html {
  const bar = job.units === 'us' ? { long: 4 * 96, word: '4 in' } : { long: 0.1 * PER_METRE, word: '100 mm' };
  return html`<div class="drawing" tabindex="0" role="region" aria-label="Drawing">${coverPlateDrawing(job, fit, PER_METRE / scale, view)}</div>
<p>Scale 1 to ${scale} when printed at 100 %. <svg viewBox="0 0 ${Math.ceil(bar.long) + 4} 12" width="${Math.ceil(bar.long) + 4}" height="12" role="img" aria-label="A bar ${bar.word} long on paper"><path d="M2 2v8M2 6H${(bar.long + 2).toFixed(1)}M${(bar.long + 2).toFixed(1)} 2v8" fill="none" stroke="#17212b" stroke-width="1.2"/></svg> This bar is ${bar.word} long on paper: check it, and measure nothing off the drawing.</p>`;
}

const SIGN = html`<p class="sign"><strong>Cut and drill only what the engineer has signed:</strong> ______________________ date ____________</p>`;

function steelSheet(job: Job, fit: CoverPlateFit, made: string): Html {
  const line = job.lines.find((each) => each.name === fit.line)!;
  const [low, high] = line.panel!.heights;
  const scale = scaleOf(job, line.bearings[1] - line.bearings[0], high - low);
  const { x, y } = coverWords(job, fit);
  const corners = fit.opening.corners.map((c, i) => [`opening ${i + 1}`, x(c.station), y(c.height)]);
  const { outline } = fit;
  const plate =
    outline === null
      ? []
      : [
          ['plate, near lower', x(outline.from), y(outline.low)],
          ['plate, far upper', x(outline.to), y(outline.high)],
        ];
  return html`<section aria-labelledby="steel-${fit.line}"><h2 id="steel-${fit.line}">Panel ${fit.line}: opening and plate on the steel</h2><p>${made}. ${referenceText(job, fit)}.</p>${drawing(job, fit, scale, 'panel')}${coverLines(job, fit).map((text) => html`<p>${text}</p>`)}<div class="tables">${placesTable('Corners', [...corners, ...plate])}</div>${SIGN}<p><strong>${COVER_DEFERRAL}</strong></p></section>`;
}

function templateSheet(job: Job, fit: CoverPlateFit, made: string): Html {
  const outline = fit.outline!;
  const scale = scaleOf(job, outline.to - outline.from, outline.high - outline.low);
  const { small, x, y } = coverWords(job, fit);
  const rows = fit.bolts.map((bolt) => [
    bolt.name,
    small(bolt.station - outline.from),
    small(bolt.height - outline.low),
    x(bolt.station),
    y(bolt.height),
  ]);
  const third = Math.ceil(rows.length / 2);
  const table = (part: readonly (readonly string[])[], k: number) =>
    html`<table aria-label="Bolts, part ${k}"><thead><tr><th scope="col">Bolt</th><th scope="col">On the plate<br>across</th><th scope="col"><br>up</th><th scope="col">On the panel<br>across</th><th scope="col"><br>up</th></tr></thead><tbody>${part.map(([first, ...cells]) => html`<tr><th scope="row">${first}</th>${cells.map((cell) => html`<td class="num">${cell}</td>`)}</tr>`)}</tbody></table>`;
  const both =
    fit.plate!.sides === 'both' ? ' A plate on the other face is drilled as its mirror image.' : '';
  return html`<section aria-labelledby="template-${fit.line}"><h2 id="template-${fit.line}">Panel ${fit.line}: template for drilling the plate</h2><p>${made}. Across from the plate’s near end, up from its lower edge, seen from the + face.${both}</p>${drawing(job, fit, scale, 'template')}<p>Holes for ${small(fit.plate!.boltDiameter)} bolts; their size is for the engineer to say. Drill the plate, hold it against the steel over the opening, and drill the steel through it.</p><div class="tables">${table(rows.slice(0, third), 1)}${table(rows.slice(third), 2)}</div>${SIGN}</section>`;
}

/** The template over sheets at full size; nothing where one sheet holds it at full size already. */
function fullSize(job: Job, fit: CoverPlateFit): Html | null {
  const outline = fit.outline!;
  const [wide, tall] = [outline.to - outline.from, outline.high - outline.low];
  if (scaleOf(job, wide, tall) === 1) return null;
  const tiles = tilesOf(job, outline, fit);
  const { small } = coverWords(job, fit);
  const names = tiles.map(({ name }) => name).join(', ');
  const turned =
    fit.plate!.sides === 'both' ? ' Turned over, it is the template of the plate on the other face.' : '';
  return html`${tiles.map((tile, k) => html`<section class="tile"><p><strong>Panel ${fit.line}, template at full size: sheet ${tile.name}</strong> (${k + 1} of ${tiles.length}: ${names}; letters from the near end, numbers from the lower edge).${k === 0 ? html` Print at 100 %, no fitting to the page. Join by the rings: cut along the broken frame and lay ring on ring. Use it only where both check lengths are true and the joined plate measures ${small(wide)} by ${small(tall)}, ${small(Math.hypot(wide, tall))} from corner to corner.${turned}` : ''}</p>${templateTile(job, fit, outline, tile)}</section>`)}`;
}

function placesTable(title: string, rows: readonly (readonly string[])[]): Html {
  return html`<table aria-label="${title}"><thead><tr><th scope="col">${title}</th><th scope="col">Across</th><th scope="col">Up</th></tr></thead><tbody>${rows.map(([first, ...cells]) => html`<tr><th scope="row">${first}</th>${cells.map((cell) => html`<td class="num">${cell}</td>`)}</tr>`)}</tbody></table>`;
}
