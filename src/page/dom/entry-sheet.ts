import type { Line } from '../../job/job.ts';
import { html } from '../../report/html.ts';
import { readSheet, type SheetRead } from '../all-readings.ts';
import { type Book, currentSheet, factsOf, type Place, samePlace } from '../book.ts';
import { type Flag, flagsOf } from '../flags.ts';
import { keypadHtml } from '../keys.ts';
import { placeText, progressText, shortDate } from '../place-words.ts';
import { otherReadings } from '../session.ts';
import { type StationList, stationList } from '../station-rows.ts';
import { byId, fill } from './element.ts';
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

/** A field that is being keyed, by its row and its place in the row. */
export interface Field {
  readonly row: number;
  readonly slot: number;
}

/**
 * The sheet being read as it is shown: its stations, what is doubted of them, the keypad under them.
 *
 * @param active the field being keyed: nothing is called no length yet while it is
 */
export function entrySheet(ports: EntryPorts, active: () => Field | null) {
  const rowsBox = byId('rows');
  let list: StationList = { rows: [], previous: null, earlier: [], courses: [] };
  let others: ReturnType<typeof otherReadings> = [];
  let flags: readonly Flag[] = [];
  let keysFor = '';

  function place(row: number): Place {
    const { book } = ports.session();
    const { station } = list.rows[row]!;
    return { cycle: book.cycle, line: book.line, state: book.state, station, height: list.height };
  }

  /** The line that is being read. */
  function line(): Line {
    const { book, opened } = ports.session();
    return opened.job.lines.find((each) => each.name === book.line)!;
  }

  function survey(): string {
    const { cycle, line, state } = ports.session().book;
    return `${cycle} ${line} ${state}${list.height === undefined ? '' : ` ${list.height}`}`;
  }

  /** Draws it from the book; what is doubted of it (`check`) comes after. */
  function draw(): SheetRead | undefined {
    const { book, opened } = ports.session();
    const { job } = opened;
    const sheet = currentSheet(book)!;
    const reads = book.sheets.map((each) => readSheet(each, opened));
    others = otherReadings(opened, reads, book.cycle);
    list = stationList(job, book.line, book.state, sheet, others, book.height);
    const { cycle, state } = book;
    const date = shortDate(sheet.date);
    fill(byId('choices'), choicesHtml(job, { line: book.line, state, cycle, date }));
    showCourses();
    fill(byId('list-head'), listHeadHtml(book, list.previous, job.units));
    fill(
      rowsBox,
      html`${list.rows.map((row, i) => rowHtml(row, i, Math.max(1, row.readings.length), job, survey()))}`,
    );
    fill(
      byId('list-foot'),
      listFootHtml(
        job,
        list.rows.length > 0 ? '' : setOutHtml(line(), job.units),
        line().panel !== undefined,
        list.earlier.length,
        factsOf(sheet, book.line, state),
      ),
    );
    if (keysFor !== job.units) {
      fill(byId('keys'), keypadHtml(job.units));
      keysFor = job.units;
    }
    byId('pad').hidden = list.rows.length === 0;
    return reads.find((read) => read.sheet === sheet);
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
    flags = flagsOf(read ?? readSheet(currentSheet(book)!, opened), opened, others);
    const now = active();
    markFlags(rowsBox, list.rows.length, (i) =>
      flagsAt(flags, { ...book, station: list.rows[i]!.station, height: list.height }).filter(
        (flag) => !(flag.kind === 'not-a-length' && now?.row === i && now.slot === flag.at?.slot),
      ),
    );
    showAt();
  }

  /** What stands over the keypad: the station keyed, or a doubt about the whole survey. */
  function showAt(): void {
    const { book, opened } = ports.session();
    const whole = flags.filter((flag) => flag.at === null && flag.line === book.line).slice(0, 2);
    const doubt = whole.length === 0 ? '' : html`<span class="survey-flag">${flagText(whole)}</span>`;
    const now = active();
    const at =
      now === null
        ? ''
        : html`<strong class="num">${placeText(list.rows[now.row]!.station, list.height, opened.job.units)}</strong> `;
    fill(byId('at'), html`${at}<span>${progress()}</span>${doubt}`);
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

  /** Takes into the list what a key put into the book at a row; `showKeyed` then shows it. */
  function keyed(row: number, book: Book): void {
    const cell = currentSheet(book)!.cells.find((each) => samePlace(each, place(row)));
    const before = list.rows[row]!.readings.length;
    const rows = list.rows.map((each, i) => (i === row ? { ...each, readings: cell?.readings ?? [] } : each));
    const read = rows.filter((each) => each.readings.length > 0).length;
    const courses = list.courses.map((each) => (each.height === list.height ? { ...each, read } : each));
    list = { ...list, rows, courses };
    if (courses.length > 0 && (before === 0) !== (rows[row]!.readings.length === 0)) showCourses();
  }

  function showKeyed(row: number): void {
    const item = rowsBox.children[row]!;
    item.querySelector('.change')!.textContent = changeText(list.rows[row]!, ports.session().opened.job);
    showButtons();
  }

  /** A row with room for so many readings. */
  function widen(row: number, count: number): void {
    const holder = document.createElement('ol');
    fill(holder, rowHtml(list.rows[row]!, row, count, ports.session().opened.job, survey()));
    rowsBox.children[row]!.replaceWith(holder.firstElementChild!);
  }

  return {
    list: () => list,
    /** What is doubted at a place, in words; null: nothing. */
    doubtAt: (row: number): string | null => {
      const own = flagsAt(flags, place(row));
      return own.length === 0 ? null : flagText(own);
    },
    ...{ place, line, draw, check, showAt, progress, zonesChanged, showButtons, keyed, showKeyed, widen },
  };
}
