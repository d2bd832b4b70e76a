import { type Html, html } from '../report/html.ts';
import type { Act } from './room.ts';
import type { Aside } from './state.ts';

/** What has no place in a job and is kept as text. */
export function asidesHtml(asides: readonly Aside[]): Html {
  if (asides.length === 0) return html``;
  return html`<h3>Put aside on this device</h3>
<ul class="handouts">${asides.map(
    ({ file, why }, i) =>
      html`<li><div><h3>${file}</h3><p>${why}</p></div><p class="actions"><button type="button" data-act="aside" data-aside="download" data-at="${i}">Download</button><button type="button" data-act="aside" data-aside="discard" data-at="${i}">Discard</button></p></li>`,
  )}</ul>`;
}

/** Download one of them, or discard it by a second click. */
export async function asideAct({ desk, control }: Pick<Act<unknown>, 'desk' | 'control'>): Promise<void> {
  const one = desk.asides()[Number.parseInt(control.dataset.at ?? '', 10)];
  if (one === undefined) return;
  if (control.dataset.aside === 'download') desk.download(one.file, one.text, 'text/plain');
  else if (desk.sure(control)) await desk.dropAside(one.key);
}
