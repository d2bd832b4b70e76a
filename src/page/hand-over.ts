import type { Job } from '../job/job.ts';
import { cautionsBlock } from '../report/cautions.ts';
import { dateText } from '../report/dates.ts';
import { type Html, html } from '../report/html.ts';
import { asideAct, asidesHtml } from './asides.ts';
import { bundleText } from './job-bundle.ts';
import { type Act, type Desk, type OpenPage, part } from './room.ts';
import { wholeJob } from './session.ts';
import { readsOf } from './state.ts';
import { discardUnfitted, mapUnfitted, type Unfitted, unfitted, unfittedCsv } from './unfitted.ts';

/** What can be taken away from the page, and what it holds. */
export const handOver = part<null>({
  id: 'out-body',
  begin: () => null,
  of: (page) => [page.session, page.asides],
  view: (page, _, desk) => outHtml(page, desk.canShare),
  acts: {
    hand: (act) => hand(act),
    aside: asideAct,
    unfitted: onUnfitted,
    close: ({ desk }) => desk.close(),
  },
});

function outHtml(page: OpenPage, canShare: Desk['canShare']): Html {
  const { bundle, opened, book } = page.session;
  const { job } = opened;
  const { cycle } = book;
  const sheets = readsOf(page.session);
  const homeless = unfitted(book, job);
  const now = sheets.find((each) => each.sheet.cycle === cycle);
  const count = now?.csv.count ?? 0;
  const bad = now?.csv.unreadable.length ?? 0;
  const sharable = {
    csv: canShare('readings.csv', 'text/csv'),
    job: canShare('job.json', 'application/json'),
  };
  const row = (title: string, what: Html | string, act: keyof typeof sharable, able: boolean) =>
    html`<li><div><h3>${title}</h3><p>${what}</p></div><p class="actions"><button type="button" data-act="hand" data-do="${act}"${able ? '' : html` disabled`}>Download</button>${sharable[act] ? html`<button type="button" data-act="hand" data-do="share-${act}"${able ? '' : html` disabled`}>Share</button>` : ''}</p></li>`;
  return html`<h2>Hand over</h2>
<ul class="handouts">
${row(`Readings of cycle ${cycle}`, html`${count} reading${count === 1 ? '' : 's'} as CSV, for <code>sweepbook add</code>.${bad > 0 ? html` <strong>${bad} keyed ${bad === 1 ? 'text is' : 'texts are'} not a length and ${bad === 1 ? 'goes' : 'go'} along as a comment only.</strong>` : ''}`, 'csv', count > 0)}
${row('The whole job', 'Every file and every sheet in one file. This page opens it again, here or on another device.', 'job', true)}
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
${homeless.length === 0 ? '' : unfittedHtml(homeless, job)}
${asidesHtml(page.asides)}
<h3>Files of the job</h3>
${bundle.files.length === 0 ? html`<p>None yet.</p>` : html`<details><summary>${bundle.files.length} file${bundle.files.length === 1 ? '' : 's'}</summary><ul class="held">${bundle.files.map((file) => html`<li>${file.file}: ${file.note}</li>`)}</ul></details>`}
${bundle.seal === null ? '' : html`<p class="small">Seal of ledger record ${bundle.seal.records}: <code>${bundle.seal.sha256}</code>. Printed reports carry one: <code>sweepbook verify --seal</code> says whether it is of this ledger. A job file rewritten in all its parts agrees with itself, and only a seal noted elsewhere shows it.</p>`}
<p class="actions"><label class="file-button">Add CSV files<input type="file" id="pick-csv" multiple accept=".csv,.txt,.tsv"></label><button type="button" data-act="close" data-do="close">Close this job</button></p>
<p class="small muted">${job.name}. Closing keeps the job on this device; it is offered again when the page opens.</p>
<section aria-labelledby="cautions"><h2 id="cautions">Cautions</h2>${cautionsBlock()}</section>`;
}

function unfittedHtml(all: readonly Unfitted[], job: Job): Html {
  return html`<h3>Readings on a line this job does not have</h3>
<p>They count nowhere. If the line was renamed, put them on its new name.</p>
<ul class="handouts">${all.map(
    ({ cycle, line, count, onPanel }, i) =>
      html`<li><div><h3>${line}, cycle ${cycle}</h3><p>${count} reading${count === 1 ? '' : 's'}.</p></div><p class="actions"><button type="button" data-act="unfitted" data-unfitted="download" data-at="${i}">Download</button><select aria-label="Line for ${line}, cycle ${cycle}">${job.lines.filter((each) => (each.panel !== undefined) === onPanel).map((each) => html`<option>${each.name}</option>`)}</select><button type="button" data-act="unfitted" data-unfitted="map" data-at="${i}">Put on this line</button><button type="button" data-act="unfitted" data-unfitted="discard" data-at="${i}">Discard</button></p></li>`,
  )}</ul>`;
}

/** A file the page hands out; null where there is none (yet). */
export function handOut(
  page: OpenPage,
  what: string,
): { readonly name: string; readonly text: string; readonly type: string } | null {
  const { bundle, opened, book } = page.session;
  const stem = fileStem(opened.job.name);
  const sheet = readsOf(page.session).find((each) => each.sheet.cycle === book.cycle);
  switch (what) {
    case 'csv':
      return sheet === undefined
        ? null
        : { name: sheet.sheet.file.replace('readings/', ''), text: sheet.csv.text, type: 'text/csv' };
    case 'job':
      return {
        name: `${stem}-whole-job.json`,
        text: bundleText(wholeJob(bundle, book)),
        type: 'application/json',
      };
    default:
      return null;
  }
}

/** A job's name as the beginning of file names. */
export function fileStem(name: string): string {
  return (
    name
      .toLowerCase()
      .replace(/[^a-z0-9]+/g, '-')
      .replace(/^-+|-+$/g, '')
      .slice(0, 60) || 'job'
  );
}

async function hand({ desk, control }: Act<null>): Promise<void> {
  const what = control.dataset.do ?? '';
  const file = handOut(desk.page(), what.replace('share-', ''));
  if (file === null) return;
  if (what.startsWith('share-')) await desk.share(file.name, file.text, file.type);
  else desk.download(file.name, file.text, file.type);
}

/** Readings on a line the job does not have: download, put on a line, or discard. */
function onUnfitted({ desk, control }: Act<null>): void {
  const { opened, book } = desk.page().session;
  const one = unfitted(book, opened.job)[Number.parseInt(control.dataset.at ?? '', 10)];
  if (one === undefined) return;
  switch (control.dataset.unfitted) {
    case 'download': {
      const { text } = unfittedCsv(book, opened.job, one);
      desk.download(`cycle-${one.cycle}-without-a-line.csv`, text, 'text/csv');
      return;
    }
    case 'map': {
      const to = control.closest('li')?.querySelector('select')?.value ?? '';
      if (!opened.job.lines.some((line) => line.name === to)) return;
      const mapped = mapUnfitted(book, opened.job, one, to);
      const left = unfitted(mapped, opened.job).find(
        (each) => each.cycle === one.cycle && each.line === one.line,
      );
      if (left !== undefined) {
        desk.say(
          'caution',
          `${left.count} reading${left.count === 1 ? '' : 's'} of ${one.line} stay where they are: ${to} has a reading at the same place already.`,
        );
      }
      desk.key(mapped, true);
      return;
    }
    default:
      if (desk.sure(control)) desk.key(discardUnfitted(book, opened.job, one), true);
  }
}
