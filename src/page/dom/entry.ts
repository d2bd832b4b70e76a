import { type Book, keyReading, sameStation, undo, withTime } from '../book.ts';
import { pressKey } from '../keypad.ts';
import { heightText } from '../place-words.ts';
import { byId } from './element.ts';
import { listenToChoices, listenToFoot } from './entry-foot.ts';
import { listenToKeys, type Pressed } from './entry-keys.ts';
import type { EntryPorts } from './entry-ports.ts';
import { entrySheet, type Field } from './entry-sheet.ts';
import { timeNow, today } from './wall.ts';

/** The list of stations with its keypad: which field is keyed, what a key does to the book. */
export function entry(ports: EntryPorts) {
  const rowsBox = byId('rows');
  let active: Field | null = null;
  const sheet = entrySheet(ports, () => active);
  /** The next key starts the field anew. */
  let fresh = true;
  /** Grows whenever a field is entered: keys of one visit are undone together. */
  let visit = Date.now();

  function render(): void {
    const read = sheet.draw();
    active = null;
    // Every key is in the book at once, so a field that kept the focus may show what the book says.
    const kept = document.activeElement;
    if (kept instanceof HTMLInputElement && rowsBox.contains(kept)) {
      kept.value = kept.getAttribute('value') ?? '';
      enter(kept);
    }
    sheet.check(read);
    sheet.zonesChanged();
    sheet.showButtons();
  }

  function inputAt(row: number, slot: number): HTMLInputElement | null {
    return rowsBox.querySelector<HTMLInputElement>(`input[data-row="${row}"][data-slot="${slot}"]`);
  }

  function noneActive(): void {
    for (const item of rowsBox.querySelectorAll('.active')) item.classList.remove('active');
  }

  function enter(input: HTMLInputElement): void {
    const row = Number.parseInt(input.dataset.row!, 10);
    const slot = Number.parseInt(input.dataset.slot!, 10);
    if (active?.row === row && active.slot === slot) return;
    if (active !== null) leave();
    active = { row, slot };
    fresh = true;
    visit++;
    noneActive();
    input.closest('.row')?.classList.add('active');
    input.closest('.row')?.scrollIntoView({ block: 'nearest' });
    sheet.showAt();
  }

  /** A field is left: flags and answer are brought up to date at once. */
  function leave(): void {
    const left = active;
    active = null;
    clearTimeout(checking);
    sheet.check();
    const doubt = left === null ? null : sheet.doubtAt(left.row);
    if (doubt !== null) say(doubt);
  }

  let checking: ReturnType<typeof setTimeout> | undefined;
  function key(text: string): void {
    fresh = false;
    if (active === null) return;
    const { row, slot } = active;
    const { book } = ports.session();
    const next = keyReading(stamped(book), sheet.place(row), slot, text, visit);
    if (next === book) return;
    sheet.keyed(row, next);
    ports.changed(next, false);
    sheet.showKeyed(row);
    clearTimeout(checking);
    checking = setTimeout(() => sheet.check(), 500);
    sheet.showAt();
  }

  /** A key of the keypad. */
  function press(pressed: Pressed): void {
    if (active === null) start();
    if (active === null) return;
    const input = inputAt(active.row, active.slot)!;
    input.value = pressKey(input.value, pressed, fresh);
    key(input.value);
  }

  /** The first reading of a survey notes the time of day, if the sheet is of today. */
  function stamped(book: Book): Book {
    const time = timeNow();
    const next = withTime(book, today(), time);
    const field = document.querySelector<HTMLInputElement>('[data-fact="time"]');
    if (next !== book && field !== null) field.value = time;
    return next;
  }

  function go(row: number, slot = 0): void {
    const input = inputAt(row, slot);
    if (input === null) return;
    input.focus({ preventScroll: true });
    enter(input);
    input.select();
  }

  function next(step: 1 | -1): void {
    const { rows, courses, height } = sheet.list();
    if (rows.length === 0) return;
    if (active === null) {
      start();
      return;
    }
    const row = active.row + step;
    if (row >= 0 && row < rows.length) {
      go(row);
      return;
    }
    leave();
    ports.changed(ports.session().book, true);
    const other = courses[courses.findIndex((each) => each.height === height) + step];
    if (other !== undefined) {
      toHeight(other.height);
      go(step === 1 ? 0 : sheet.list().rows.length - 1);
      say(`Height ${heightText(other.height, ports.session().opened.job.units)}.`);
      return;
    }
    say(step === 1 ? `End of the line. ${sheet.progress()}.` : 'This is the first station.');
    (document.activeElement as HTMLElement | null)?.blur();
    noneActive();
    sheet.showAt();
  }

  function toHeight(height: number): void {
    ports.chosen({ ...ports.session().book, height });
  }

  /** One more reading of the station: an empty field beside the first. */
  function again(): void {
    if (active === null) return;
    const { row } = active;
    const count = sheet.list().rows[row]!.readings.length;
    if (count === 0) return;
    sheet.widen(row, count + 1);
    active = null;
    sheet.zonesChanged();
    go(row, count);
  }

  function back(how: typeof undo): void {
    const done = how(ports.session().book);
    if (done === null) return;
    const { place: at } = done;
    const book = { ...done.book, cycle: at.cycle, line: at.line, state: at.state, height: at.height };
    ports.chosen(book);
    ports.changed(book, true);
    goTo(at.station);
    say(
      `${how === undo ? 'Taken back' : 'Done again'} at ${byId('at').querySelector('strong')?.textContent ?? 'the station'}.`,
    );
  }

  function say(text: string): void {
    byId('say').textContent = text;
  }

  /** Goes to the first station not read yet; on a panel to the first height with one. */
  function start(): void {
    const { courses, height } = sheet.list();
    const open = courses.find((course) => course.read < course.places);
    const here = courses.find((course) => course.height === height);
    if (open !== undefined && here !== undefined && here.read === here.places) toHeight(open.height);
    const { rows } = sheet.list();
    const first = rows.findIndex((row) => row.readings.length === 0);
    if (rows.length > 0) go(Math.max(0, first));
  }

  function goTo(station: number): void {
    const row = sheet.list().rows.findIndex((each) => sameStation(each.station, station));
    if (row >= 0) go(row);
  }

  listenToKeys({ rowsBox, pad: byId('pad'), enter, go, next, again, back, key, press });
  listenToChoices(ports, toHeight);
  listenToFoot(ports, { line: sheet.line, earlier: () => sheet.list().earlier, start, goTo });

  return { render, start, zonesChanged: sheet.zonesChanged, progress: sheet.progress };
}
