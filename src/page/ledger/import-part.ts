import { describeProblems } from '../../input-error.ts';
import { type Html, html } from '../../report/html.ts';
import { formatLength } from '../../units/format-length.ts';
import type { GivenFile } from '../folder-files.ts';
import { type Act, type OpenPage, part } from '../room.ts';
import { readsOf } from '../state.ts';
import { type DryRun, dryRun, imported } from './imports.ts';
import { requireLedger } from './record.ts';

interface Own {
  /** Files looked at and not taken yet. */
  readonly given: readonly GivenFile[];
}

/** How many rows or doubts of one dry run are listed; the rest are counted. */
const MOST_LISTED = 30;

/** Files and keyed sheets on their way into the ledger: looked at first, as `check` does, then taken, as `add` does. */
export const importPart = part<Own>({
  id: 'imports',
  begin: () => ({ given: [] }),
  of: (page, own) => [page.session.bundle, page.session.book.sheets, own],
  view: (page, own) => importHtml(page, own),
  acts: {
    take: (act) => take(act, false),
    aside: (act) => take(act, true),
    leave: ({ put }) => put({ given: [] }),
    sheet: recordSheet,
  },
});

function importHtml(page: OpenPage, { given }: Own): Html {
  const { bundle, opened } = page.session;
  const open = readsOf(page.session).filter(({ filed, csv }) => !filed && csv.count > 0);
  return html`<h2>Readings into the ledger</h2>
${
  open.length === 0
    ? ''
    : html`<p>Sheets keyed here count as they are. In the ledger they are dated, and a later change is seen.</p><ul class="handouts">${open.map(
        ({ sheet, csv }) =>
          html`<li data-id="${sheet.cycle}"><div><h3>Cycle ${sheet.cycle}, keyed here</h3><p>${csv.count} reading${csv.count === 1 ? '' : 's'}.${csv.unreadable.length === 0 ? '' : html` <strong>${csv.unreadable.length} keyed text${csv.unreadable.length === 1 ? ' is' : 's are'} not a length: correct or rub out first.</strong>`}</p></div><p class="actions"><button type="button" data-act="sheet" data-cycle="${sheet.cycle}"${csv.unreadable.length === 0 ? '' : html` disabled`}>Record cycle ${sheet.cycle} in the ledger</button></p></li>`,
      )}</ul>`
}
<p class="actions"><label class="file-button">Look at CSV files<input type="file" id="look-csv" multiple accept=".csv,.txt,.tsv"></label></p>
${given.length === 0 ? '' : dryHtml(dryRun(bundle, opened, given), page)}`;
}

function dryHtml({ files, surveys, doubts }: DryRun, page: OpenPage): Html {
  const { units } = page.session.opened.job;
  const bad = files.filter((each) => each.problems.length > 0);
  const refused = files.some((each) => each.fault !== null);
  const news = files.filter((each) => each.already === null);
  const say = (m: number, as: 'station' | 'offset') =>
    formatLength(m, { units, as, fraction: 16, digits: 2 });
  return html`<h3>What these files would bring</h3>
<ul class="held">${files.map(
    ({ name, readings, rows, fault, already }) =>
      html`<li><strong>${name}</strong>: ${already !== null ? html`in the job already, as ${already.file} since ${already.when.slice(0, 10)}.` : html`${readings.length} reading${readings.length === 1 ? '' : 's'} in ${rows} row${rows === 1 ? '' : 's'}.${fault === null ? '' : html` <strong>It cannot be used: ${fault}.</strong>`}`}</li>`,
  )}</ul>
${
  surveys.length === 0
    ? ''
    : html`<div class="scroll"><table><thead><tr><th scope="col">Line</th><th scope="col">Cycle</th><th scope="col">Jacks</th><th scope="col">Stations</th><th scope="col">From</th><th scope="col">To</th><th scope="col">Least</th><th scope="col">Most</th></tr></thead><tbody>${surveys.map(
        (each) =>
          html`<tr><td>${each.line}${each.repeated ? ' (again)' : ''}</td><td>${each.cycle}</td><td>${each.state === 'released' ? 'off' : 'on'}</td><td>${each.stations}</td><td>${say(each.from, 'station')}</td><td>${say(each.to, 'station')}</td><td>${say(each.least, 'offset')}</td><td>${say(each.most, 'offset')}</td></tr>`,
      )}</tbody></table></div>`
}
${listed('Rows that cannot be used', describeProblems(bad.flatMap((each) => each.problems)))}
${listed(
  'Look at these before you take them',
  doubts.map((each) => each.message),
)}
<p class="actions">${news.length === 0 || refused ? '' : bad.length === 0 ? html`<button type="button" class="main" data-act="take">Import</button>` : html`<button type="button" class="main" data-act="aside">Import the usable rows, record the others</button>`}<button type="button" data-act="leave">Leave them out</button></p>`;
}

function listed(title: string, all: readonly string[]): Html {
  if (all.length === 0) return html``;
  const shown = all.slice(0, MOST_LISTED);
  return html`<h4>${title}</h4><ul class="held">${shown.map((each) => html`<li>${each}</li>`)}${all.length > shown.length ? html`<li>and ${all.length - shown.length} more</li>` : ''}</ul>`;
}

async function take({ desk, own, put }: Act<Own>, setAside: boolean): Promise<void> {
  const { bundle, opened } = desk.page().session;
  requireLedger(bundle);
  const dry = dryRun(bundle, opened, own.given);
  await desk.change(imported(bundle, opened, dry, setAside, desk.now(), desk.freshId()));
  put({ given: [] });
  const names = dry.files.filter((each) => each.already === null).map(({ file }) => file);
  const { seal } = desk.page().session.bundle;
  desk.say('note', `Imported ${names.join(', ')}: ledger record ${seal?.records ?? 0}.`);
}

/** A keyed sheet as the file it would be handed over as. */
async function recordSheet({ desk, control }: Act<Own>): Promise<void> {
  const { session } = desk.page();
  const { bundle, opened } = session;
  requireLedger(bundle);
  const cycle = Number.parseInt(control.dataset.cycle ?? '', 10);
  const read = readsOf(session).find((each) => each.sheet.cycle === cycle);
  if (read === undefined || read.csv.unreadable.length > 0) return;
  const dry = dryRun(bundle, opened, [{ path: read.sheet.file, text: read.csv.text }]);
  await desk.change(imported(bundle, opened, dry, false, desk.now(), desk.freshId()));
  desk.say('note', `Cycle ${cycle} is in the ledger as ${dry.files[0]!.file}.`);
  for (const doubt of dry.doubts.slice(0, 6)) desk.say(doubt.severity, doubt.message);
}
