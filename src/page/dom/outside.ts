import { asideAct } from '../asides.ts';
import { openSheet, setDate } from '../book.ts';
import { bundleOf } from '../job-bundle.ts';
import { withRecord } from '../ledger/record.ts';
import { type NewJob, newJobText } from '../new-job.ts';
import { begunPractice, type NewPractice } from '../practice/practice-job.ts';
import type { Desk } from '../room.ts';
import { nextCycle } from '../session.ts';
import { byId } from './element.ts';
import type { entry } from './entry.ts';
import type { folderLink } from './folder-link.ts';
import { droppedFiles, textsOf } from './given-files.ts';
import { notice, showError } from './notices.ts';
import type { opening } from './opening.ts';
import { openSheetDialog } from './sheet-dialog.ts';
import type { Store } from './store.ts';
import { today } from './wall.ts';

export interface OutsidePorts {
  readonly store: Store;
  readonly desk: Desk;
  readonly jobs: ReturnType<typeof opening>;
  readonly folder: ReturnType<typeof folderLink>;
  readonly list: ReturnType<typeof entry>;
  readonly toStart: () => Promise<void>;
  readonly redraw: () => void;
}

/** Listens to what stands outside the rooms: tabs, the strip, the first screen, files picked or dropped, the window. */
export function listenOutside(ports: OutsidePorts): void {
  listenToTabs(ports);
  listenToFirstScreen(ports);
  listenToFiles(ports);
  listenToWindow(ports);
}

function listenToTabs({ store, desk, list }: OutsidePorts): void {
  byId('views').addEventListener('click', (event) => {
    const room = (event.target as HTMLElement).closest<HTMLElement>('[data-view]')?.dataset.view;
    if (room !== undefined) store.set({ room });
  });
  byId('strip').addEventListener('click', () => store.set({ room: 'answer' }));

  byId('choices').addEventListener('click', (event) => {
    const { session } = store.get();
    if ((event.target as HTMLElement).closest('#cycle-button') === null || session === null) return;
    const { opened, book } = session;
    openSheetDialog(book, nextCycle(opened, book), today(), opened.job.locale, (cycle, date) => {
      const now = desk.page().session;
      const taken = now.bundle.files.map((file) => file.file);
      desk.key(setDate(openSheet(now.book, cycle, date, taken), date), true);
      list.start();
    });
  });
}

function listenToFirstScreen({ store, desk, jobs, folder, toStart }: OutsidePorts): void {
  byId('stored-aside').addEventListener('click', (event) => {
    const control = (event.target as HTMLElement).closest<HTMLElement>('[data-act="aside"]');
    if (control !== null) void asideAct({ desk, control }).then(toStart, showError);
  });

  byId('open-folder').hidden = !folder.able();
  byId('open-folder').addEventListener('click', () => void folder.open().catch(showError));

  byId<HTMLFormElement>('new-job').addEventListener('submit', (event) => {
    event.preventDefault();
    const form = event.target as HTMLFormElement;
    const given = Object.fromEntries(new FormData(form)) as unknown as NewJob;
    let assumed: readonly string[] = [];
    void jobs
      .tryOpen(() => {
        const made = newJobText(given, desk.freshId());
        assumed = made.assumed;
        const start = { kind: 'start', job: given.name.trim() } as const;
        return withRecord(bundleOf(made.text), start, desk.now(), desk.freshId());
      })
      .then(() => {
        if (store.get().session === null) return;
        form.reset();
        if (assumed.length > 0) notice('caution', assumed.map((each) => `Assumed: ${each}`).join(' '));
      });
  });

  byId<HTMLFormElement>('new-practice').addEventListener('submit', (event) => {
    event.preventDefault();
    const given = Object.fromEntries(new FormData(event.target as HTMLFormElement));
    const moment = { when: desk.now(), fresh: desk.freshId() };
    void jobs
      .tryOpen(() => begunPractice(given as unknown as NewPractice, moment))
      .then(() => {
        if (store.get().session !== null) store.set({ room: 'practice' });
      });
  });
}

/** Files that are picked or dropped anywhere on the page. */
function listenToFiles({ store, jobs }: OutsidePorts): void {
  async function pick(input: HTMLInputElement): Promise<void> {
    try {
      const given = await textsOf(input.files ?? []);
      if (input.id === 'look-csv') store.set({ own: { ...store.get().own, imports: { given } } });
      else await jobs.take(given);
    } catch (error) {
      showError(error);
    }
    input.value = '';
  }

  document.addEventListener('change', (event) => {
    const input = event.target as HTMLInputElement;
    if (['pick-files', 'pick-folder', 'pick-csv', 'look-csv'].includes(input.id)) void pick(input);
  });

  document.addEventListener('dragover', (event) => event.preventDefault());
  document.addEventListener('drop', (event) => {
    event.preventDefault();
    if (event.dataTransfer === null) return;
    void droppedFiles(event.dataTransfer).then(jobs.take, showError);
  });
}

function listenToWindow({ store, redraw }: OutsidePorts): void {
  window.addEventListener('beforeunload', (event) => {
    if (store.get().unsaved) event.preventDefault();
  });

  let resizing: ReturnType<typeof setTimeout> | undefined;
  window.addEventListener('resize', () => {
    clearTimeout(resizing);
    resizing = setTimeout(redraw, 200);
  });
}
