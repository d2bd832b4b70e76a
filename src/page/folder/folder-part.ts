import { PAGE_LOCK, SILENT_MS } from '../../folder/page-lock.ts';
import { type Html, html } from '../../report/html.ts';
import { type Act, part } from '../room.ts';
import type { FolderSaid } from './folder-said.ts';

interface Own {
  readonly said: FolderSaid;
  readonly working: boolean;
}

/** The job folder, where the browser lets a page into one. */
export const jobFolder = part<Own>({
  id: 'job-folder',
  begin: () => ({ said: { kind: 'none' }, working: false }),
  view: (page, own, desk) => {
    const name = desk.folder.nameOf(page.session.id);
    if (!desk.folder.able()) {
      return html`<h2>Job folder</h2><p>This browser does not let a page into a folder. Hand the whole job over as one file instead (below): it carries the ledger, and the page opens it again on any device.</p>`;
    }
    const off = own.working ? html` disabled` : '';
    const last = name === null ? desk.folder.keptNameOf(page.session.id) : null;
    if (last !== null) {
      return html`<h2>Job folder</h2>
<p>The job was last in the folder <strong>${last}</strong>. Nothing is read from it or written into it until it is open again.</p>
<p class="actions"><button type="button" class="main" data-act="again" data-do="folder-again"${off}>Open ${last} again</button><button type="button" data-act="write" data-do="write-folder"${off}>Choose another folder</button></p>
${saidHtml(own.said, off)}`;
    }
    return html`<h2>Job folder</h2>
<p>${name === null ? 'The job is on this device only. Choose its folder, or an empty one, and it is written there.' : html`Open from the folder <strong>${name}</strong>. What is keyed goes into it as files, each import as a record of its ledger.`}</p>
<p class="actions"><button type="button" data-act="write" data-do="write-folder"${off}>${name === null ? 'Choose its folder' : 'Write into the folder'}</button></p>
${saidHtml(own.said, off)}`;
  },
  acts: {
    write: (act) => work(act, () => act.desk.folder.write()),
    again: (act) => work(act, () => act.desk.folder.again()),
    take: (act) => work(act, () => act.desk.folder.takeIn()),
  },
});

async function work({ own, put }: Act<Own>, doIt: () => Promise<FolderSaid>): Promise<void> {
  put({ ...own, working: true });
  try {
    put({ said: await doIt(), working: false });
  } catch (error) {
    put({ said: { kind: 'none' }, working: false });
    throw error;
  }
}

function saidHtml(said: FolderSaid, off: Html | string): Html {
  switch (said.kind) {
    case 'none':
      return html``;
    case 'same':
      return html`<p role="status">The folder holds everything already.</p>`;
    case 'opened':
      return html`<p role="status">It is open again, and nobody else wrote into it. What is keyed here is not in it yet: write it now.</p>`;
    case 'written':
      return html`<div role="status"><p>Written, and read back as written: ${said.files.join(', ')}.</p>${said.records === 0 ? '' : html`<p class="small">Seal of ledger record ${said.records}: <code>${said.seal}</code></p>`}</div>`;
    case 'changed':
      return html`<div class="notice caution" role="alert"><div><p><strong>Nothing was written: somebody else wrote into this folder since.</strong></p><ul>${said.changes.map((each) => html`<li>${each}</li>`)}</ul>${said.twice.length === 0 ? '' : html`<p><strong>Cycle ${said.twice.join(', ')} is in the folder now and is keyed here too.</strong> Taken in, both count, as readings taken twice; if they are the same sheet, take out the readings keyed here first.</p>`}<p>Taking it in keeps what is keyed here and puts your own records after theirs. Then write.</p><p class="actions"><button type="button" data-act="take" data-do="take-in"${off}>Take it in</button></p></div></div>`;
    case 'taken':
      return html`<div role="status"><p>Taken in. Nothing of this page is in the folder yet: write it now.</p>${said.apart.length === 0 ? '' : html`<p class="notice caution">Both sides had changed ${said.apart.join(', ')}: the folder’s stands; what this page had has been downloaded.</p>`}</div>`;
    case 'busy':
      return html`<p class="notice caution" role="alert">Nothing was written: ${busyWords(said)}</p>`;
    case 'held-up':
      return html`<p class="notice caution" role="alert">This page was held up while it wrote, and another program took it for gone. What it had written until then is whole. Write again.</p>`;
    case 'not-as-written':
      return html`<p class="notice stop" role="alert">${said.file} is not as it was written. Look at the folder before you go on; “Is everything as recorded?” says what is wrong with it.</p>`;
  }
}

function busyWords({ file, since }: Extract<FolderSaid, { kind: 'busy' }>): string {
  if (!file.startsWith(PAGE_LOCK))
    return `another program is writing in this folder (${file}). Try again when it has finished.`;
  const when = since === null ? '' : `, since ${since.replace('T', ' ')} UTC`;
  return `another readings page is writing in this folder${when} (${file}). Try again when it has finished; one that gives no sign of life for ${SILENT_MS / 1000} seconds is taken for gone.`;
}
