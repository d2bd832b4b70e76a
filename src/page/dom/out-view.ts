import type { Job } from '../../job/job.ts';
import { dateText } from '../../report/dates.ts';
import { type Html, html } from '../../report/html.ts';
import type { SheetRead } from '../all-readings.ts';
import type { JobBundle } from '../job-bundle.ts';
import type { Unfitted } from '../unfitted.ts';
import type { Aside } from './storage.ts';

export interface OutFacts {
  readonly job: Job;
  readonly bundle: JobBundle;
  readonly sheets: readonly SheetRead[];
  readonly cycle: number;
  /** Keyed readings on lines the job does not have. */
  readonly unfitted: readonly Unfitted[];
  readonly asides: readonly Aside[];
  /** Whether the device can pass a file of this name and type on. */
  readonly canShare: (name: string, type: string) => boolean;
  /** True once there is an answer a report can be made of. */
  readonly answered: boolean;
}

/** What can be taken away from the page, and what it holds. */
export function outHtml({
  job,
  bundle,
  sheets,
  cycle,
  unfitted,
  asides,
  canShare,
  answered,
}: OutFacts): Html {
  const now = sheets.find((each) => each.sheet.cycle === cycle);
  const count = now?.csv.count ?? 0;
  const bad = now?.csv.unreadable.length ?? 0;
  const sharable = {
    csv: canShare('readings.csv', 'text/csv'),
    job: canShare('job.json', 'application/json'),
    daily: canShare('daily.html', 'text/html'),
    status: false,
  };
  const row = (title: string, what: Html | string, act: keyof typeof sharable, able: boolean) =>
    html`<li><div><h3>${title}</h3><p>${what}</p></div><p class="actions"><button type="button" data-do="${act}"${able ? '' : html` disabled`}>Download</button>${sharable[act] ? html`<button type="button" data-do="share-${act}"${able ? '' : html` disabled`}>Share</button>` : ''}</p></li>`;
  return html`<ul class="handouts">
${row(`Readings of cycle ${cycle}`, html`${count} reading${count === 1 ? '' : 's'} as CSV, for <code>sweepbook add</code>.${bad > 0 ? html` <strong>${bad} keyed ${bad === 1 ? 'text is' : 'texts are'} not a length and ${bad === 1 ? 'goes' : 'go'} along as a comment only.</strong>` : ''}`, 'csv', count > 0)}
${row('The whole job', 'Every file and every sheet in one file. This page opens it again, here or on another device.', 'job', true)}
${row('Daily sheet', 'The report of the day as one HTML page.', 'daily', answered)}
${row('Status document', 'The answer as JSON (SI units), as <job> status --json prints it.'.replace('<job> ', 'sweepbook '), 'status', answered)}
</ul>
${sharable.csv ? '' : html`<p class="small muted">This browser cannot pass a file on by itself: download it, and send it from where downloads are kept.</p>`}
<h3>Sheets keyed on this device</h3>
${
  sheets.length === 0
    ? html`<p>None yet.</p>`
    : html`<ul class="held">${sheets.map(
        ({ sheet, csv, filed }) =>
          html`<li>Cycle ${sheet.cycle}${sheet.date === '' ? '' : `, ${dateText(sheet.date, job.locale)}`}: ${csv.count} reading${csv.count === 1 ? '' : 's'}${filed ? '; in the job’s files now, counted once' : ''}.</li>`,
      )}</ul>`
}
${unfitted.length === 0 ? '' : unfittedHtml(unfitted, job)}
${asidesHtml(asides)}
<h3>Files of the job</h3>
${bundle.files.length === 0 ? html`<p>None yet.</p>` : html`<details><summary>${bundle.files.length} file${bundle.files.length === 1 ? '' : 's'}</summary><ul class="held">${bundle.files.map((file) => html`<li>${file.file}: ${file.note}</li>`)}</ul></details>`}
${bundle.seal === null ? '' : html`<p class="small">Seal of ledger record ${bundle.seal.records}: <code>${bundle.seal.sha256}</code>. Printed reports carry one: <code>sweepbook verify --seal</code> says whether it is of this ledger. A job file rewritten in all its parts agrees with itself, and only a seal noted elsewhere shows it.</p>`}
<p class="actions"><label class="file-button">Add CSV files<input type="file" id="pick-csv" multiple accept=".csv,.txt,.tsv"></label><button type="button" data-do="close">Close this job</button></p>
<p class="small muted">${job.name}. Closing keeps the job on this device; it is offered again when the page opens.</p>`;
}

function unfittedHtml(all: readonly Unfitted[], job: Job): Html {
  return html`<h3>Readings on a line this job does not have</h3>
<p>They count nowhere. If the line was renamed, put them on its new name.</p>
<ul class="handouts">${all.map(
    ({ cycle, line, count }, i) =>
      html`<li><div><h3>${line}, cycle ${cycle}</h3><p>${count} reading${count === 1 ? '' : 's'}.</p></div><p class="actions"><button type="button" data-unfitted="download" data-at="${i}">Download</button><select aria-label="Line for ${line}, cycle ${cycle}">${job.lines.map((each) => html`<option>${each.name}</option>`)}</select><button type="button" data-unfitted="map" data-at="${i}">Put on this line</button><button type="button" data-unfitted="discard" data-at="${i}">Discard</button></p></li>`,
  )}</ul>`;
}

/** What has no place in a job and is kept as text. */
export function asidesHtml(asides: readonly Aside[]): Html {
  if (asides.length === 0) return html``;
  return html`<h3>Put aside on this device</h3>
<ul class="handouts">${asides.map(
    ({ file, why }, i) =>
      html`<li><div><h3>${file}</h3><p>${why}</p></div><p class="actions"><button type="button" data-aside="download" data-at="${i}">Download</button><button type="button" data-aside="discard" data-at="${i}">Discard</button></p></li>`,
  )}</ul>`;
}
