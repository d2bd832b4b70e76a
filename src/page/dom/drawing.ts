import { dateText } from '../../report/dates.ts';
import { html } from '../../report/html.ts';
import { answerHtml, answerInShort } from '../answer.ts';
import { currentSheet } from '../book.ts';
import type { Room } from '../room.ts';
import { isOld, type PageState } from '../state.ts';
import { byId, fill, show } from './element.ts';

/** The frame round the rooms: which room is open, whose job it is. */
export function drawFrame({ session, room: asked }: PageState, rooms: readonly Room[], wide: boolean): void {
  document.body.classList.toggle('working', session !== null);
  show('views', session !== null);
  if (session === null) {
    for (const { id } of rooms) show(id, false);
    byId('job-name').textContent = 'Sweepbook readings';
    byId('bar-facts').textContent = 'Key in the day’s readings, see the answer. Nothing leaves this device.';
    byId('saved').textContent = '';
    return;
  }
  show('start', false);
  const has = ({ of }: Room) => of?.(session) ?? true;
  const room = rooms.some((each) => each.id === asked && has(each)) ? asked : 'entry';
  for (const { id } of rooms) {
    // Side by side where there is room: readings stay, the answer or another room is beside them.
    const beside = wide && (id === 'entry' || (id === 'answer' && room === 'entry'));
    show(id, id === room || beside);
  }
  for (const button of byId('views').querySelectorAll('button')) {
    button.setAttribute('aria-pressed', String(button.dataset.view === room));
    button.hidden = !rooms.some((each) => each.id === button.dataset.view && has(each));
  }
  const { opened, book } = session;
  const sheet = currentSheet(book);
  byId('job-name').textContent = opened.job.name;
  document.title = `${opened.job.name}: readings`;
  byId('bar-facts').textContent =
    `${book.cycle === 0 ? 'As found (cycle 0)' : `Cycle ${book.cycle}`}${sheet === null || sheet.date === '' ? '' : `, ${dateText(sheet.date, opened.job.locale)}`}`;
}

/** What the answer in sight was drawn of: it is large, and keys must not wait for it. */
let drawn: readonly unknown[] = [];

/** The strip over the readings and the answer, marked where they are to older readings. */
export function drawAnswer(state: PageState, progress: string): void {
  const { session, answer } = state;
  if (session === null) return;
  const old = isOld(state);
  byId('strip').toggleAttribute('data-old', old);
  byId('answer').toggleAttribute('data-old', old);
  show('strip-old', old);
  const strip = byId('strip-verdict');
  if (answer === null) {
    strip.textContent = 'Working it out';
    byId('strip-figure').textContent = '';
    byId('answer-state').textContent = 'Working it out';
    fill(
      byId('answer-body'),
      html`<p class="muted">The answer is being worked out from all readings of the job. Readings can be keyed meanwhile.</p>`,
    );
    drawn = [];
    return;
  }
  byId('answer-state').textContent = old ? `${progress}. Below: from before the last keys.` : progress;
  const { analysis, beside } = answer;
  const { line, cycle } = session.book;
  const width = Math.max(300, Math.min(900, byId('answer-body').clientWidth));
  const shown = !byId('answer').hidden;
  const of = [analysis, beside, line, cycle, shown, width];
  if (of.every((each, i) => each === drawn[i])) return;
  drawn = of;
  const short = answerInShort(analysis, line, cycle);
  if (strip.textContent !== short.verdict) {
    strip.textContent = short.verdict;
    byId('verdict-say').textContent = short.verdict;
  }
  byId('strip').dataset.verdict = short.verdict === 'Read on' ? '' : analysis.member.verdict;
  byId('strip-figure').textContent = short.figure;
  performance.mark('sweepbook-shown');
  if (shown) fill(byId('answer-body'), answerHtml(analysis, beside, line, cycle, width));
}
