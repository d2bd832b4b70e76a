import type { Job } from '../job/job.ts';
import type { PlateFit } from '../plates/plate-fit.ts';
import { clearanceLines, gapRows, limitText, PLATES_DEFERRAL, plateHead } from '../plates/plates-text.ts';
import type { ReportSection } from './context.ts';
import { type Html, html } from './html.ts';

/** Gaps, fillers and clearance of every plate, for both sheets; nothing for a job without plates. */
export function platesSections(job: Job, fits: readonly PlateFit[]): ReportSection[] {
  if (fits.length === 0) return [];
  return [
    {
      id: 'plates',
      title: 'Plates',
      in: 'both',
      body: html`${fits.map((fit) => plate(job, fit))}<p class="deferral">${PLATES_DEFERRAL}</p>`,
    },
  ];
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
