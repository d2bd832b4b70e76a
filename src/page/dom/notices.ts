import { describeProblems, InputError } from '../../input-error.ts';
import { html } from '../../report/html.ts';
import { byId, fill } from './element.ts';

export type Severity = 'note' | 'caution' | 'stop';

/** How many problems of one file are listed; the rest are counted. */
const MOST_LISTED = 25;

/** Puts a notice over the page, once; `topic` is what `clearNotices` takes away again. */
export function notice(severity: Severity, text: string, topic = ''): HTMLElement {
  const box = byId('notices');
  const there = [...box.children].find((each) => each.querySelector('span')?.textContent === text);
  if (there !== undefined) return there as HTMLElement;
  const item = document.createElement('div');
  item.className = `notice ${severity}`;
  item.dataset.topic = topic;
  fill(
    item,
    html`<span>${text}</span><button type="button" class="quiet" aria-label="Put this notice away">Close</button>`,
  );
  item.querySelector('button')!.onclick = () => item.remove();
  box.append(item);
  return item;
}

/** Takes notices away: all of them, or those of a topic. */
export function clearNotices(topic?: string): void {
  for (const item of [...byId('notices').children] as HTMLElement[]) {
    if (topic === undefined || item.dataset.topic === topic) item.remove();
  }
}

/** A fault as a notice, every problem of the input listed. */
export function showError(error: unknown): void {
  clearNotices('error');
  if (!(error instanceof InputError)) {
    notice('stop', error instanceof Error ? error.message : String(error), 'error');
    return;
  }
  const item = notice('stop', error.message, 'error');
  const lines = describeProblems(error.problems);
  if (lines.length === 0) return;
  const shown = lines.slice(0, MOST_LISTED);
  const more = document.createElement('ul');
  fill(
    more,
    html`${shown.map((line) => html`<li>${line}</li>`)}${lines.length > shown.length ? html`<li>and ${lines.length - shown.length} more</li>` : ''}`,
  );
  item.querySelector('span')!.append(more);
}

/** Puts buttons into a notice; each gets the name of what it does. */
export function offer(item: HTMLElement, actions: ReturnType<typeof html>): HTMLElement {
  const row = document.createElement('p');
  row.className = 'actions';
  fill(row, actions);
  item.append(row);
  return row;
}

/** Asks in the notices; true for the first answer. */
export function choose(text: string, yes: string, no: string): Promise<boolean> {
  return new Promise((resolve) => {
    const item = notice('caution', text, 'choose');
    item.querySelector('button')?.remove();
    const actions = offer(
      item,
      html`<button type="button" data-choose="yes">${yes}</button><button type="button" data-choose="no">${no}</button>`,
    );
    for (const button of actions.querySelectorAll('button')) {
      button.onclick = () => {
        item.remove();
        resolve(button.dataset.choose === 'yes');
      };
    }
  });
}
