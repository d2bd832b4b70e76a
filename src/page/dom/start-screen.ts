import { dateText } from '../../report/dates.ts';
import { type Html, html } from '../../report/html.ts';
import { asidesHtml } from '../asides.ts';
import { newJobForm } from '../new-job.ts';
import { newPracticeForm } from '../practice/new-practice.ts';
import type { Aside } from '../state.ts';
import { download } from './deliver.ts';
import { byId, fill, show } from './element.ts';
import { notice, showError } from './notices.ts';
import type { Listed, Storage } from './storage.ts';
import { sure } from './sure.ts';

export interface StartPorts {
  readonly openKept: (id: string) => Promise<void>;
  readonly asides: (all: readonly Aside[]) => void;
}

/** The first screen: jobs on this device, files to open, a job to start. */
export async function showStart(
  storage: Storage | { readonly refused: string },
  ports: StartPorts,
): Promise<void> {
  const kept = 'list' in storage ? await storage.list() : [];
  fill(byId('stored'), storedHtml(kept));
  byId('stored').onclick = (event) => {
    const button = (event.target as HTMLElement).closest<HTMLElement>('[data-open],[data-raw],[data-remove]');
    if (button === null || !('raw' in storage)) return;
    const { open, raw, remove } = button.dataset;
    const one = kept[Number.parseInt(open ?? raw ?? remove ?? '', 10)]!;
    if (open !== undefined) void ports.openKept(one.id);
    else if (raw !== undefined) {
      void storage.raw(one.id).then((text) => download('kept-on-this-device.json', text, 'application/json'));
    } else if (sure(button)) {
      void storage.remove(one.id).then(() => showStart(storage, ports), showError);
    }
  };
  const asides = 'asides' in storage ? await storage.asides() : [];
  ports.asides(asides);
  fill(byId('stored-aside'), asidesHtml(asides));
  if ('refused' in storage) {
    notice(
      'stop',
      `This browser will not keep anything for this page (${storage.refused}). Readings keyed here must be downloaded before the page is closed.`,
    );
  }
  fill(byId('new-job'), newJobForm());
  fill(byId('new-practice'), newPracticeForm());
  show('start', true);
}

function storedHtml(kept: readonly Listed[]): Html {
  if (kept.length === 0) return html``;
  return html`<h2>On this device</h2><ul class="handouts">${kept.map(
    (each, i) =>
      html`<li><div><h3>${each.name}</h3>${each.saved === '' ? '' : html`<p>Last changed ${dateText(each.saved, navigator.language)} ${each.saved.slice(11, 16)} UTC.</p>`}${each.trouble === '' ? '' : html`<p><strong>${each.trouble}</strong></p>`}</div><p class="actions"><button type="button" class="main" data-open="${i}">Open</button>${each.trouble === '' ? '' : html`<button type="button" data-raw="${i}">Download</button><button type="button" data-remove="${i}">Discard</button>`}</p></li>`,
  )}</ul>`;
}
