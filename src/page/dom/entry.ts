import type { Line } from '../../job/job.ts';
import { html } from '../../report/html.ts';
import { readSheet, type SheetRead } from '../all-readings.ts';
import {
  type Book,
  currentSheet,
  factsOf,
  keyReading,
  type Place,
  samePlace,
  sameStation,
  undo,
  withTime,
} from '../book.ts';
import { type Flag, flagsOf } from '../flags.ts';
import { pressKey } from '../keypad.ts';
import { keypadHtml } from '../keys.ts';
import { heightText, placeText, progressText, shortDate } from '../place-words.ts';
import { otherReadings } from '../session.ts';
import { type StationList, stationList } from '../station-rows.ts';
import { byId, fill } from './element.ts';
import { listenToChoices, listenToFoot } from './entry-foot.ts';
import { listenToKeys, type Pressed } from './entry-keys.ts';
import { markFlags, markZones } from './entry-marks.ts';
import type { EntryPorts } from './entry-ports.ts';
import {
  changeText,
  choicesHtml,
  coursesHtml,
  flagsAt,
  flagText,
  listFootHtml,
  listHeadHtml,
  rowHtml,
  setOutHtml,
  zoneAt,
} from './entry-view.ts';
import { timeNow, today } from './wall.ts';

/** The list of stations with its keypad. */
export function entry(ports: EntryPorts) {
  const rowsBox = byId('rows');
  const pad = byId('pad');
  let list: StationList = { rows: [], previous: null, earlier: [], courses: [] };
  let others: ReturnType<typeof otherReadings> = [];
  let flags: readonly Flag[] = [];
  let active: { row: number; slot: number } | null = null;
  /** The next key starts the field anew. */
  let fresh = true;
  /** Grows whenever a field is entered: keys of one visit are undone together. */
  let visit = Date.now();
  let keysFor = '';

  function place(row: number): Place {
    const { book } = ports.session();
    const { station } = list.rows[row]!;
    return { cycle: book.cycle, line: book.line, state: book.state, station, height: list.height };
  }

  /** The line that is being read. */
  function lineNow(): Line {
    const { book, opened } = ports.session();
    return opened.job.lines.find((each) => each.name === book.line)!;
  }

  function survey(): string {
    const { cycle, line, state } = ports.session().book;
    return `${cycle} ${line} ${state}${list.height === undefined ? '' : ` ${list.height}`}`;
  }

  // ---- showing ----

  function render(): void {
    const { book, opened } = ports.session();
    const sheet = currentSheet(book)!;
    const reads = book.sheets.map((each) => readSheet(each, opened));
    others = otherReadings(opened, reads, book.cycle);
    list = stationList(opened.job, book.line, book.state, sheet, others, book.height);
    fill(
      byId('choices'),
      choicesHtml(opened.job, {
        line: book.line,
        state: book.state,
        cycle: book.cycle,
        date: shortDate(sheet.date),
      }),
    );
    showCourses();
    fill(byId('list-head'), listHeadHtml(book, list.previous, opened.job.units));
    fill(
      rowsBox,
      html`${list.rows.map((row, i) => rowHtml(row, i, Math.max(1, row.readings.length), opened.job, survey()))}`,
    );
    fill(
      byId('list-foot'),
      listFootHtml(
        opened.job,
        list.rows.length > 0 ? '' : setOutHtml(lineNow(), opened.job.units),
        lineNow().panel !== undefined,
        list.earlier.length,
        factsOf(sheet, book.line, book.state),
      ),
    );
    if (keysFor !== opened.job.units) {
      fill(byId('keys'), keypadHtml(opened.job.units));
      keysFor = opened.job.units;
    }
    pad.hidden = list.rows.length === 0;
    active = null;
    // Every key is in the book at once, so a field that kept the focus may show what the book says.
    const kept = document.activeElement;
    if (kept instanceof HTMLInputElement && rowsBox.contains(kept)) {
      kept.value = kept.getAttribute('value') ?? '';
      enter(kept);
    }
    check(reads.find((read) => read.sheet === sheet));
    zonesChanged();
    showButtons();
  }

  /** The heights of a panel; none on a line. */
  function showCourses(): void {
    const box = byId('courses');
    box.hidden = list.courses.length === 0;
    fill(box, coursesHtml(list.courses, list.height, ports.session().opened.job.units));
    const chosen = box.querySelector<HTMLElement>('input:checked')?.closest<HTMLElement>('.segment');
    if (chosen) box.scrollLeft = chosen.offsetLeft - (box.clientWidth - chosen.offsetWidth) / 2;
  }

  function check(read?: SheetRead): void {
    const { book, opened } = ports.session();
    const sheet = currentSheet(book)!;
    flags = flagsOf(read ?? readSheet(sheet, opened), opened, others);
    showFlags();
  }

  function showFlags(): void {
    const { book } = ports.session();
    markFlags(rowsBox, list.rows.length, (i) =>
      flagsAt(flags, { ...book, station: list.rows[i]!.station, height: list.height }).filter(
        (flag) => !(flag.kind === 'not-a-length' && active?.row === i && active.slot === flag.at?.slot),
      ),
    );
    showAt();
  }

  /** What stands over the keypad: the station keyed, or a doubt about the whole survey. */
  function showAt(): void {
    const { book, opened } = ports.session();
    const whole = flags.filter((flag) => flag.at === null && flag.line === book.line).slice(0, 2);
    const survey = whole.length === 0 ? '' : html`<span class="survey-flag">${flagText(whole)}</span>`;
    const at =
      active === null
        ? ''
        : html`<strong class="num">${placeText(list.rows[active.row]!.station, list.height, opened.job.units)}</strong> `;
    fill(byId('at'), html`${at}<span>${progress()}</span>${survey}`);
  }

  function progress(): string {
    const { book, opened } = ports.session();
    return progressText(book, list, opened.job.units);
  }

  function zonesChanged(): void {
    const zones = ports.zones();
    markZones(rowsBox, list.rows.length, (i) => zoneAt(zones, list.rows[i]!.station));
  }

  function showButtons(): void {
    const { book } = ports.session();
    byId<HTMLButtonElement>('undo').disabled = book.undo.length === 0;
    byId<HTMLButtonElement>('redo').disabled = book.redo.length === 0;
  }

  // ---- keying ----

  function inputAt(row: number, slot: number): HTMLInputElement | null {
    return rowsBox.querySelector<HTMLInputElement>(`input[data-row="${row}"][data-slot="${slot}"]`);
  }

  function enter(input: HTMLInputElement): void {
    const row = Number.parseInt(input.dataset.row!, 10);
    const slot = Number.parseInt(input.dataset.slot!, 10);
    if (active?.row === row && active.slot === slot) return;
    if (active !== null) leave();
    active = { row, slot };
    fresh = true;
    visit++;
    for (const item of rowsBox.querySelectorAll('.active')) item.classList.remove('active');
    input.closest('.row')?.classList.add('active');
    input.closest('.row')?.scrollIntoView({ block: 'nearest' });
    showAt();
  }

  /** A field is left: flags and answer are brought up to date at once. */
  function leave(): void {
    const left = active;
    active = null;
    clearTimeout(checking);
    check();
    if (left === null) return;
    const own = flagsAt(flags, place(left.row));
    if (own.length > 0) say(flagText(own));
  }

  let checking: ReturnType<typeof setTimeout> | undefined;
  function key(text: string, settled = false): void {
    if (active === null) return;
    const { book } = ports.session();
    const at = place(active.row);
    const next = keyReading(stamped(book), at, active.slot, text, visit);
    if (next === book) return;
    const sheet = currentSheet(next)!;
    const cell = sheet.cells.find((each) => samePlace(each, at));
    const rows = [...list.rows];
    const before = rows[active.row]!.readings.length;
    rows[active.row] = { ...rows[active.row]!, readings: cell?.readings ?? [] };
    const read = rows.filter((row) => row.readings.length > 0).length;
    const courses = list.courses.map((each) => (each.height === list.height ? { ...each, read } : each));
    list = { ...list, rows, courses };
    if (courses.length > 0 && (before === 0) !== (rows[active.row]!.readings.length === 0)) showCourses();
    ports.changed(next, settled);
    const item = rowsBox.children[active.row]!;
    item.querySelector('.change')!.textContent = changeText(rows[active.row]!, ports.session().opened.job);
    showButtons();
    clearTimeout(checking);
    checking = setTimeout(() => check(), 500);
    showAt();
  }

  function typed(text: string): void {
    fresh = false;
    key(text);
  }

  /** A key of the keypad. */
  function press(pressed: Pressed): void {
    if (active === null) start();
    if (active === null) return;
    const input = inputAt(active.row, active.slot)!;
    input.value = pressKey(input.value, pressed, fresh);
    typed(input.value);
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
    if (list.rows.length === 0) return;
    if (active === null) {
      start();
      return;
    }
    const row = active.row + step;
    if (row >= 0 && row < list.rows.length) {
      go(row);
      return;
    }
    leave();
    ports.changed(ports.session().book, true);
    const other = list.courses[list.courses.findIndex((each) => each.height === list.height) + step];
    if (other !== undefined) {
      toHeight(other.height);
      go(step === 1 ? 0 : list.rows.length - 1);
      say(`Height ${heightText(other.height, ports.session().opened.job.units)}.`);
      return;
    }
    say(step === 1 ? `End of the line. ${progress()}.` : 'This is the first station.');
    (document.activeElement as HTMLElement | null)?.blur();
    for (const item of rowsBox.querySelectorAll('.active')) item.classList.remove('active');
    showAt();
  }

  function toHeight(height: number): void {
    ports.chosen({ ...ports.session().book, height });
  }

  /** One more reading of the station: an empty field beside the first. */
  function again(): void {
    if (active === null) return;
    const row = active.row;
    const count = list.rows[row]!.readings.length;
    if (count === 0) return;
    const item = rowsBox.children[row]!;
    const holder = document.createElement('ol');
    fill(holder, rowHtml(list.rows[row]!, row, count + 1, ports.session().opened.job, survey()));
    item.replaceWith(holder.firstElementChild!);
    active = null;
    zonesChanged();
    go(row, count);
  }

  function back(how: typeof undo): void {
    const done = how(ports.session().book);
    if (done === null) return;
    const { place: at } = done;
    const book = { ...done.book, cycle: at.cycle, line: at.line, state: at.state, height: at.height };
    ports.chosen(book);
    ports.changed(book, true);
    const row = list.rows.findIndex((each) => sameStation(each.station, at.station));
    if (row >= 0) go(row);
    say(
      `${how === undo ? 'Taken back' : 'Done again'} at ${byId('at').querySelector('strong')?.textContent ?? 'the station'}.`,
    );
  }

  function say(text: string): void {
    byId('say').textContent = text;
  }

  /** Goes to the first station not read yet; on a panel to the first height with one. */
  function start(): void {
    const open = list.courses.find((course) => course.read < course.places);
    const here = list.courses.find((course) => course.height === list.height);
    if (open !== undefined && here !== undefined && here.read === here.places) toHeight(open.height);
    const first = list.rows.findIndex((row) => row.readings.length === 0);
    if (list.rows.length > 0) go(Math.max(0, first));
  }

  listenToKeys({ rowsBox, pad, enter, go, next, again, back, key: typed, press });
  listenToChoices(ports, toHeight);
  listenToFoot(ports, {
    line: lineNow,
    earlier: () => list.earlier,
    start,
    goTo: (station) => go(list.rows.findIndex((row) => sameStation(row.station, station))),
  });

  return { render, start, zonesChanged, progress };
}
