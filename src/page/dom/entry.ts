import type { Zone } from '../../analysis.ts';
import type { Line } from '../../job/job.ts';
import { html } from '../../report/html.ts';
import { formatLength } from '../../units/format-length.ts';
import { parseLength } from '../../units/parse-length.ts';
import { readSheet, type SheetRead } from '../all-readings.ts';
import {
  addHeights,
  addStations,
  type Book,
  currentSheet,
  factsOf,
  keyReading,
  type Place,
  redo,
  samePlace,
  sameStation,
  setFacts,
  undo,
} from '../book.ts';
import { evenStations } from '../even-stations.ts';
import { type Flag, flagsOf } from '../flags.ts';
import { pressKey } from '../keypad.ts';
import { keyOf, keypadHtml } from '../keys.ts';
import type { Session } from '../open-session.ts';
import { gridOf, usualGrid } from '../panel-grid.ts';
import { otherReadings } from '../session.ts';
import { type StationList, stationList } from '../station-rows.ts';
import { byId, fill } from './element.ts';
import {
  changeText,
  choicesHtml,
  coursesHtml,
  evenFormHtml,
  flagsAt,
  flagText,
  gridFormHtml,
  heightText,
  listFootHtml,
  rowHtml,
  zoneAt,
} from './entry-view.ts';

export interface EntryPorts {
  readonly session: () => Session;
  /** What was keyed changed; `settled` when a field was left, so that the answer need not wait. */
  readonly changed: (book: Book, settled: boolean) => void;
  /** Another line, state or cycle was chosen. */
  readonly chosen: (book: Book) => void;
  readonly zones: () => readonly Zone[];
}

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
    const was = list.previous;
    fill(
      byId('list-head'),
      html`<span></span><span>Station</span><span>${was === null ? 'Before' : `Cycle ${was.cycle}${was.state === book.state ? '' : was.state === 'restrained' ? ', on' : ', off'}`}</span><span>Cycle ${book.cycle}, ${opened.job.units === 'us' ? 'in' : 'mm'}</span><span>Change</span>`,
    );
    fill(
      rowsBox,
      html`${list.rows.map((row, i) => rowHtml(row, i, Math.max(1, row.readings.length), opened.job, survey()))}`,
    );
    fill(
      byId('list-foot'),
      listFootHtml(
        opened.job,
        list.rows.length > 0
          ? ''
          : lineNow().panel === undefined
            ? evenFormHtml(lineNow(), opened.job.units)
            : gridFormHtml(lineNow(), usualGrid(lineNow(), opened.job.units), opened.job.units),
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
    list.rows.forEach((row, i) => {
      const item = rowsBox.children[i] as HTMLElement | undefined;
      if (item === undefined) return;
      const own = flagsAt(flags, { ...book, station: row.station, height: list.height }).filter(
        (flag) => !(flag.kind === 'not-a-length' && active?.row === i && active.slot === flag.at?.slot),
      );
      const box = item.querySelector<HTMLElement>('.flag')!;
      item.classList.toggle('flagged', own.length > 0);
      const text = flagText(own);
      if (box.textContent !== text) box.textContent = text;
      box.hidden = own.length === 0;
      for (const input of item.querySelectorAll('input')) {
        const bad = own.some((flag) => String(flag.at?.slot) === input.dataset.slot);
        input.toggleAttribute('aria-invalid', bad);
        if (bad) {
          input.setAttribute('aria-invalid', 'true');
          input.setAttribute('aria-describedby', box.id);
        } else {
          input.removeAttribute('aria-invalid');
          input.removeAttribute('aria-describedby');
        }
      }
    });
    const whole = flags.filter((flag) => flag.at === null && flag.line === book.line);
    showAt(whole);
  }

  /** What stands over the keypad: the station keyed, or a doubt about the whole survey. */
  function showAt(
    whole: readonly Flag[] = flags.filter((f) => f.at === null && f.line === ports.session().book.line),
  ): void {
    const at = byId('at');
    const survey =
      whole.length === 0 ? '' : html`<span class="survey-flag">${flagText(whole.slice(0, 2))}</span>`;
    if (active === null) {
      fill(at, html`<span>${progress()}</span>${survey}`);
      return;
    }
    const row = list.rows[active.row]!;
    const { units } = ports.session().opened.job;
    fill(
      at,
      html`<strong class="num">${formatLength(row.station, { units, as: 'station', digits: 2 })}${list.height === undefined ? '' : `, ${heightText(list.height, units)} high`}</strong> <span>${progress()}</span>${survey}`,
    );
  }

  function progress(): string {
    const { book } = ports.session();
    const read = list.rows.filter((row) => row.readings.length > 0).length;
    if (list.height !== undefined) {
      const { units } = ports.session().opened.job;
      const open = list.courses.filter((course) => course.read < course.places).length;
      return `Cycle ${book.cycle}, height ${heightText(list.height, units)}: ${read} of ${list.rows.length} stations read${open === 0 ? '' : `, ${open} height${open === 1 ? '' : 's'} open`}${book.state === 'restrained' ? ', jacks on' : ''}`;
    }
    return `Cycle ${book.cycle}: ${read} of ${list.rows.length} stations read${book.state === 'restrained' ? ', jacks on' : ''}`;
  }

  function zonesChanged(): void {
    const zones = ports.zones();
    list.rows.forEach((row, i) => {
      const item = rowsBox.children[i] as HTMLElement | undefined;
      const zone = zoneAt(zones, row.station);
      item?.classList.toggle('in-zone', zone !== null);
      if (item !== undefined) item.dataset.zone = zone === null ? '' : zone.zone;
    });
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

  /** The first reading of a survey notes the time of day, if the sheet is of today. */
  function stamped(book: Book): Book {
    const sheet = currentSheet(book)!;
    const facts = factsOf(sheet, book.line, book.state);
    const begun = sheet.cells.some((cell) => cell.line === book.line && cell.state === book.state);
    const now = new Date();
    const two = (n: number): string => String(n).padStart(2, '0');
    const date = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
    if (begun || facts.time !== '' || sheet.date !== date) return book;
    const time = `${two(now.getHours())}:${two(now.getMinutes())}`;
    const field = document.querySelector<HTMLInputElement>('[data-fact="time"]');
    if (field !== null) field.value = time;
    return setFacts(book, { ...facts, time });
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

  // ---- wiring ----

  rowsBox.addEventListener('focusin', (event) => {
    const input = event.target as HTMLElement;
    if (input instanceof HTMLInputElement && input.dataset.slot !== undefined) enter(input);
  });
  rowsBox.addEventListener('click', (event) => {
    const target = event.target as HTMLElement;
    if (target instanceof HTMLInputElement) return;
    const row = target.closest<HTMLElement>('.row')?.dataset.row;
    if (row !== undefined) go(Number.parseInt(row, 10));
  });
  rowsBox.addEventListener('input', (event) => {
    fresh = false;
    key((event.target as HTMLInputElement).value);
  });
  rowsBox.addEventListener('keydown', (event) => {
    if (event.key === 'Enter' || event.key === 'ArrowDown') next(1);
    else if (event.key === 'ArrowUp') next(-1);
    else if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'z')
      back(event.shiftKey ? redo : undo);
    else if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === 'y') back(redo);
    else return;
    event.preventDefault();
  });

  // Keys on the screen must not take the focus from the field.
  pad.addEventListener('pointerdown', (event) => {
    if ((event.target as HTMLElement).closest('button') !== null) event.preventDefault();
  });
  byId('keys').addEventListener('click', (event) => {
    const name = (event.target as HTMLElement).closest<HTMLElement>('[data-key]')?.dataset.key;
    const pressed = name === undefined ? null : keyOf(name);
    if (pressed === null) return;
    if (active === null) start();
    if (active === null) return;
    const input = inputAt(active.row, active.slot)!;
    const text = pressKey(input.value, pressed, fresh);
    fresh = false;
    input.value = text;
    key(text);
  });
  byId('next').addEventListener('click', () => next(1));
  byId('up').addEventListener('click', () => next(-1));
  byId('again').addEventListener('click', again);
  byId('undo').addEventListener('click', () => back(undo));
  byId('redo').addEventListener('click', () => back(redo));

  byId('choices').addEventListener('change', (event) => {
    const { name, value } = event.target as HTMLInputElement;
    const { book } = ports.session();
    if (name === 'line') ports.chosen({ ...book, line: value });
    else if (name === 'state')
      ports.chosen({ ...book, state: value === 'restrained' ? 'restrained' : 'released' });
    else return;
    byId('choices').querySelector<HTMLInputElement>(`input[name="${name}"]:checked`)?.focus();
  });
  byId('courses').addEventListener('change', (event) => {
    toHeight(Number((event.target as HTMLInputElement).value));
    byId('courses').querySelector<HTMLInputElement>('input:checked')?.focus();
  });

  const foot = byId('list-foot');
  foot.addEventListener('submit', (event) => {
    event.preventDefault();
    const { book, opened } = ports.session();
    const unit = opened.job.units === 'us' ? 'ft' : 'm';
    const { dashedLengths: dashed } = opened.job;
    const text = (id: string) => byId<HTMLInputElement>(id).value;
    const read = (id: string) => parseLength(text(id), { unit, station: true, dashed });
    const readHeight = (id: string) => parseLength(text(id), { unit: unit === 'ft' ? 'in' : 'mm', dashed });
    const problem = byId('station-problem');
    if ((event.target as HTMLElement).id === 'even-form') {
      const [step, from, to] = [read('even-step'), read('even-from'), read('even-to')];
      const stations = step.ok && from.ok && to.ok ? evenStations(from.metres, to.metres, step.metres) : [];
      if (stations.length === 0) {
        problem.textContent = `Step, from and to are lengths such as ${unit === 'ft' ? '2 ft, 0 ft and 62 ft' : '0.5 m, 0 m and 18.3 m'}, at most 1000 stations.`;
        return;
      }
      ports.chosen(addStations(book, book.line, stations));
      start();
      return;
    }
    if ((event.target as HTMLElement).id === 'grid-form') {
      const [sf, st, hf, ht] = [
        read('grid-from'),
        read('grid-to'),
        readHeight('grid-low'),
        readHeight('grid-high'),
      ];
      const [sx, sy] = [readHeight('grid-along'), readHeight('grid-up')];
      const grid =
        sf.ok && st.ok && hf.ok && ht.ok && sx.ok && sy.ok
          ? gridOf({
              stations: { from: sf.metres, to: st.metres, step: sx.metres },
              heights: { from: hf.metres, to: ht.metres, step: sy.metres },
            })
          : null;
      if (grid === null) {
        problem.textContent = `Spacings, stations and heights are lengths such as ${unit === 'ft' ? '4 in, 22 ft and 36 in' : '100 mm, 6.7 m and 900 mm'}; at most 60 heights.`;
        return;
      }
      ports.chosen(addHeights(addStations(book, book.line, grid.stations), book.line, grid.heights));
      start();
      return;
    }
    if ((event.target as HTMLElement).id === 'height-form') {
      const height = readHeight('height-new');
      const [low, high] = lineNow().panel!.heights;
      const slack = 0.1 * (high - low);
      if (!height.ok || height.metres < low - slack || height.metres > high + slack) {
        const { units } = opened.job;
        problem.textContent = `A height on the panel is expected here, from ${heightText(low, units)} to ${heightText(high, units)}.`;
        return;
      }
      ports.chosen({ ...addHeights(book, book.line, [height.metres]), height: height.metres });
      start();
      return;
    }
    const station = read('station-new');
    if (!station.ok) {
      problem.textContent = `A station is expected here: ${station.expected}.`;
      return;
    }
    ports.chosen(addStations(book, book.line, [station.metres]));
    go(list.rows.findIndex((row) => sameStation(row.station, station.metres)));
  });
  foot.addEventListener('click', (event) => {
    if ((event.target as HTMLElement).id !== 'earlier') return;
    const { book } = ports.session();
    ports.chosen(addStations(book, book.line, list.earlier));
    start();
  });
  foot.addEventListener('input', (event) => {
    const field = event.target as HTMLInputElement;
    const fact = field.dataset.fact;
    if (fact !== 'time' && fact !== 'temperature' && fact !== 'note') return;
    const { book } = ports.session();
    const facts = factsOf(currentSheet(book)!, book.line, book.state);
    ports.changed(setFacts(book, { ...facts, [fact]: field.value }), false);
  });

  return { render, start, zonesChanged, progress };
}

function shortDate(date: string): string {
  const match = /^(\d{4})-(\d{2})-(\d{2})$/.exec(date);
  if (match === null) return '';
  const months = ['Jan', 'Feb', 'Mar', 'Apr', 'May', 'Jun', 'Jul', 'Aug', 'Sep', 'Oct', 'Nov', 'Dec'];
  return `${Number.parseInt(match[3]!, 10)} ${months[Number.parseInt(match[2]!, 10) - 1] ?? ''}`;
}
