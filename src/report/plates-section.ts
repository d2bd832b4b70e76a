import type { Job } from '../job/job.ts';
import type { CoverPlateFit, CoverSide } from '../plates/cover-plate.ts';
import {
  boltRows,
  COVER_DEFERRAL,
  coverLines,
  edgeText,
  faceTitle,
  referenceText,
} from '../plates/cover-plate-text.ts';
import type { PlateFit } from '../plates/plate-fit.ts';
import { clearanceLines, gapRows, limitText, PLATES_DEFERRAL, plateHead } from '../plates/plates-text.ts';
import type { ReportSection } from './context.ts';
import { coverPlateDrawing } from './figures/cover-plate.ts';
import { type Html, html } from './html.ts';

/** Gaps, fillers and clearance of every plate, for both sheets; nothing for a job without plates. */
export function platesSections(
  job: Job,
  fits: readonly PlateFit[],
  covers: readonly CoverPlateFit[],
): ReportSection[] {
  if (fits.length === 0 && covers.length === 0) return [];
  return [
    {
      id: 'plates',
      title: 'Plates',
      in: 'both',
      body: html`${fits.map((fit) => plate(job, fit))}${fits.length === 0 ? null : html`<p class="deferral">${PLATES_DEFERRAL}</p>`}${covers.map((cover) => opening(job, cover))}${covers.length === 0 ? null : html`<p class="deferral">${COVER_DEFERRAL}</p>`}`,
    },
  ];
}

/** Width of the panel in the drawing, in its own units. */
const DRAWN = 560;

function opening(job: Job, cover: CoverPlateFit): Html {
  const line = job.lines.find((each) => each.name === cover.line)!;
  const long = line.bearings[1] - line.bearings[0];
  return html`<h3>Opening in panel ${cover.line}</h3>${coverLines(job, cover).map((text) => html`<p>${text}</p>`)}<figure><figcaption><strong>The opening and its plate to scale.</strong> ${referenceText(job, cover)}. Its own sheet, with a template for drilling: <code>sweepbook plates --drawing</code>.</figcaption><div class="scroll" tabindex="0" role="region" aria-label="Drawing of the opening in ${cover.line}">${coverPlateDrawing(job, cover, DRAWN / long, 'panel')}</div></figure>${cover.on.map((side) => boltTable(job, cover, side))}${cover.findings.map((f) => html`<p><strong>${f.severity}:</strong> ${f.message}</p>`)}`;
}

function boltTable(job: Job, cover: CoverPlateFit, side: CoverSide): Html {
  const [heading, ...rows] = boltRows(job, cover, side);
  const title = `${faceTitle(side)}: gap under it at each bolt, cycle ${cover.cycle ?? ''}`;
  return html`<p class="table-title">${title}</p><div class="scroll" tabindex="0" role="region" aria-label="${title}"><table aria-label="${title}"><thead><tr>${heading!.map((cell) => html`<th scope="col">${cell}</th>`)}</tr></thead><tbody>${rows.map(
    ([first, ...cells]) =>
      html`<tr><th scope="row" class="num">${first}</th>${cells.map((cell) => html`<td class="num">${cell}</td>`)}</tr>`,
  )}</tbody></table></div><p>${edgeText(job, side)}</p>`;
}

function plate(job: Job, fit: PlateFit): Html {
  const [name, ...facts] = plateHead(job, fit);
  return html`<h3>${name}</h3>${facts.map((text) => html`<p>${text}</p>`)}${fit.gaps === null ? null : gapTable(job, fit)}${clearanceLines(job, fit).map((text) => html`<p>${text}</p>`)}${fit.findings.map((f) => html`<p><strong>${f.severity}:</strong> ${f.message}</p>`)}`;
}

function gapTable(job: Job, fit: PlateFit): Html {
  const [heading, ...rows] = gapRows(job, fit);
  return html`<p class="table-title">Filler schedule</p><div class="scroll" tabindex="0" role="region" aria-label="Gaps under ${fit.plate.name}"><table aria-label="Gaps under ${fit.plate.name}"><thead><tr>${heading!.map((cell) => html`<th scope="col">${cell}</th>`)}</tr></thead><tbody>${rows.map(
    ([first, ...cells]) =>
      html`<tr><th scope="row" class="num">${first}</th>${cells.map((cell) => html`<td class="num">${cell}</td>`)}</tr>`,
  )}</tbody></table></div><p class="small">${limitText(job, fit)}</p>`;
}
