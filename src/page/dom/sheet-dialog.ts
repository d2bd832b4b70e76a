import { isDate } from '../../job/dates.ts';
import { dateText } from '../../report/dates.ts';
import { html } from '../../report/html.ts';
import { type Book, currentSheet } from '../book.ts';
import { byId, fill } from './element.ts';

/** Asks which cycle is read and on what day: a sheet there is, the next one, or any other number. */
export function openSheetDialog(
  book: Book,
  next: number,
  today: string,
  locale: string,
  onChosen: (cycle: number, date: string) => void,
): void {
  const dialog = byId<HTMLDialogElement>('sheet-dialog');
  const form = byId<HTMLFormElement>('sheet-form');
  const now = currentSheet(book);
  fill(
    form,
    html`<h2 id="sheet-title">Which cycle is read?</h2>
<p>Cycle 0 is as found. Every heat, cool and read after it is one more.</p>
<p class="actions">${book.sheets.map((sheet) => html`<button type="button" data-cycle="${sheet.cycle}" data-date="${sheet.date}">Cycle ${sheet.cycle}${sheet.date === '' ? '' : html`<br><span class="small">${dateText(sheet.date, locale)}</span>`}</button>`)}${book.sheets.some((sheet) => sheet.cycle === next) ? '' : html`<button type="button" data-cycle="${next}" data-date="${today}">Begin cycle ${next}<br><span class="small">today</span></button>`}</p>
<p class="field"><label for="sheet-cycle">Cycle number</label><input id="sheet-cycle" inputmode="numeric" autocomplete="off" value="${book.cycle}"></p>
<p class="field"><label for="sheet-date">Date read</label><input id="sheet-date" type="date" value="${now?.date ?? today}"></p>
<p class="problem" id="sheet-problem" role="alert"></p>
<p class="actions"><button class="main" value="ok">Use these</button><button value="cancel" formnovalidate>Leave as it is</button></p>`,
  );
  form.onclick = (event) => {
    const chosen = (event.target as HTMLElement).closest<HTMLElement>('[data-cycle]');
    if (chosen === null) return;
    onChosen(Number.parseInt(chosen.dataset.cycle!, 10), chosen.dataset.date!);
    dialog.close();
  };
  form.onsubmit = (event) => {
    if ((event.submitter as HTMLButtonElement | null)?.value === 'cancel') return;
    const cycle = byId<HTMLInputElement>('sheet-cycle').value.trim();
    const date = byId<HTMLInputElement>('sheet-date').value;
    if (!/^\d{1,4}$/.test(cycle) || (date !== '' && !isDate(date))) {
      event.preventDefault();
      byId('sheet-problem').textContent =
        'A cycle is a whole number 0, 1, 2, and a date is a day of the calendar.';
      return;
    }
    onChosen(Number.parseInt(cycle, 10), date);
  };
  dialog.showModal();
}
