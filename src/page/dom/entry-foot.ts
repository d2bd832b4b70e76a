import type { Line } from '../../job/job.ts';
import { addStations, currentSheet, factsOf, setFacts } from '../book.ts';
import { setOutBy } from '../place-forms.ts';
import { byId } from './element.ts';
import type { EntryPorts } from './entry-ports.ts';

/** Listens to the choices over the list: line, jacks on or off, height on a panel. */
export function listenToChoices({ session, chosen }: EntryPorts, toHeight: (height: number) => void): void {
  byId('choices').addEventListener('change', (event) => {
    const { name, value } = event.target as HTMLInputElement;
    const { book } = session();
    if (name === 'line') chosen({ ...book, line: value });
    else if (name === 'state') chosen({ ...book, state: value === 'restrained' ? 'restrained' : 'released' });
    else return;
    byId('choices').querySelector<HTMLInputElement>(`input[name="${name}"]:checked`)?.focus();
  });
  byId('courses').addEventListener('change', (event) => {
    toHeight(Number((event.target as HTMLInputElement).value));
    byId('courses').querySelector<HTMLInputElement>('input:checked')?.focus();
  });
}

interface FootPorts {
  /** The line that is being read. */
  readonly line: () => Line;
  /** Stations read in earlier cycles and not in this list, m. */
  readonly earlier: () => readonly number[];
  readonly start: () => void;
  readonly goTo: (station: number) => void;
}

/** Listens to what stands under the list: forms that set out places, and when and how the survey was read. */
export function listenToFoot({ session, chosen, changed }: EntryPorts, list: FootPorts): void {
  const { line, earlier, start, goTo } = list;
  const foot = byId('list-foot');
  foot.addEventListener('submit', (event) => {
    event.preventDefault();
    const { book, opened } = session();
    const text = (field: string) => byId<HTMLInputElement>(field).value;
    const made = setOutBy((event.target as HTMLElement).id, text, opened.job, line(), book);
    if ('problem' in made) {
      byId('station-problem').textContent = made.problem;
      return;
    }
    chosen(made.book);
    if (made.station === null) start();
    else goTo(made.station);
  });
  foot.addEventListener('click', (event) => {
    if ((event.target as HTMLElement).id !== 'earlier') return;
    const { book } = session();
    chosen(addStations(book, book.line, earlier()));
    start();
  });
  foot.addEventListener('input', (event) => {
    const field = event.target as HTMLInputElement;
    const fact = field.dataset.fact;
    if (fact !== 'time' && fact !== 'temperature' && fact !== 'note') return;
    const { book } = session();
    const facts = factsOf(currentSheet(book)!, book.line, book.state);
    changed(setFacts(book, { ...facts, [fact]: field.value }), false);
  });
}
