import { PAGE_ID } from '../../ledger/identity.ts';
import { jobKey } from '../answer-key.ts';
import { asideAct } from '../asides.ts';
import { openSheet, setDate } from '../book.ts';
import type { FinishedAnswer } from '../finished-answer.ts';
import { type GivenFile, rehashed, withFiles } from '../folder-files.ts';
import { handOut } from '../hand-over.ts';
import { bundleOf, parseBundle } from '../job-bundle.ts';
import { dryRun, imported } from '../ledger/imports.ts';
import { canRecord, withRecord } from '../ledger/record.ts';
import { type NewJob, newJobText } from '../new-job.ts';
import { openBundle } from '../open-bundle.ts';
import { ANSWER_INSIDE, JOB_INSIDE } from '../page-file.ts';
import type { Desk } from '../room.ts';
import { ROOMS } from '../rooms.ts';
import { nextCycle } from '../session.ts';
import type { PageState } from '../state.ts';
import { answering } from './answering.ts';
import { canShare, download, share } from './deliver.ts';
import { drawAnswer, drawFrame } from './drawing.ts';
import { byId } from './element.ts';
import { entry } from './entry.ts';
import { folderLink } from './folder-link.ts';
import { droppedFiles, textsOf } from './given-files.ts';
import { recall, remember } from './last-open.ts';
import { notice, showError } from './notices.ts';
import { opening } from './opening.ts';
import { layOut, roomParts } from './rooms-view.ts';
import { saving } from './saving.ts';
import { openSheetDialog } from './sheet-dialog.ts';
import { showStart } from './start-screen.ts';
import { openStorage } from './storage.ts';
import { createStore } from './store.ts';
import { sure } from './sure.ts';
import { brightness } from './theme.ts';
import { randomId, today } from './wall.ts';

/** Digest of the core's script in this page. */
declare const SWEEPBOOK_CORE: string;

/** Puts the page together: one store, what draws it, what changes it. */
export async function startPage(): Promise<void> {
  brightness(byId('theme'));
  layOut(ROOMS);
  const storage = await openStorage();
  const wide = matchMedia('(min-width: 68rem)');
  const store = createStore(draw);
  const answers = answering(store, storage);
  const saves = saving(store, storage, {
    handOver: () => {
      const file = handOut(desk.page(), 'job');
      if (file !== null) download(file.name, file.text, file.type);
    },
    replaced: () => {
      answers.changed();
      list.render();
      answers.ask(true);
    },
  });
  const list = entry({
    session: () => store.get().session!,
    changed: (book, settled) => {
      const other = book.sheets !== store.get().session!.book.sheets;
      store.setBook(book);
      saves.save();
      if (other) answers.changed();
      answers.ask(settled);
    },
    chosen: (book) => {
      store.setBook(book);
      saves.save();
      list.render();
    },
    zones: () => {
      const { answer, session } = store.get();
      const line = answer?.analysis.lines.find((each) => each.line.name === session?.book.line);
      return line?.fit.zones ?? [];
    },
  });
  const jobs = opening(store, storage, {
    addFiles,
    opened: (session, finished, kept) => {
      answers.job(session);
      answers.ask(true);
      answers.takeFinished(finished);
      saves.begin(kept?.book?.revision ?? 0, kept?.book?.book ?? null);
      remember(session.id);
      list.render();
      list.start();
      saves.save();
    },
  });

  const desk: Desk = {
    page: () => {
      const state = store.get();
      if (state.session === null) throw new Error('no job is open');
      return { ...state, session: state.session };
    },
    asides: () => store.get().asides,
    today,
    now: () => new Date().toISOString(),
    freshId: () => `${PAGE_ID}${randomId()}`,
    say: notice,
    download,
    share: async (name, text, type) => {
      if ((await share(name, text, type)) !== 'refused') return;
      download(name, text, type);
      notice('caution', `This device would not share ${name}. It has been downloaded instead.`);
    },
    canShare,
    folder: {
      able: () => folder.able(),
      nameOf: (id) => folder.nameOf(id),
      write: () => folder.write(),
      takeIn: () => folder.takeIn(),
      everything: () => folder.everything(),
    },
    papers: answers.papers,
    sure,
    key: (book, settled) => {
      store.setBook(book);
      saves.save();
      answers.changed();
      list.render();
      answers.ask(settled);
    },
    change: async (bundle, given) => {
      const { session } = desk.page();
      const opened = openBundle(bundle);
      const lines = opened.job.lines.map(({ name }) => name);
      const book = given ?? session.book;
      const next = {
        ...{ id: session.id, bundle, opened, key: jobKey(SWEEPBOOK_CORE, bundle) },
        book: lines.includes(book.line) ? book : { ...book, line: lines[0]! },
      };
      if ('saveBundle' in storage) {
        const saved = await storage.saveBundle(session.id, bundle, session.bundle);
        if (saved === 'elsewhere') {
          throw new Error(
            'This job was changed in another window of this browser, so nothing was changed here. Close one of the two windows, and open the job again.',
          );
        }
        if (saved === 'refused') {
          notice(
            'stop',
            'This device did not store the change (storage full, switched off or faulty). Hand the whole job over (download) before you leave the page.',
          );
        }
      }
      store.set({ session: next });
      answers.job(next);
      answers.changed();
      list.render();
      saves.save();
      answers.ask(true);
    },
    dropAside: async (key) => {
      if (!('dropAside' in storage)) return;
      await storage.dropAside(key);
      store.set({ asides: await storage.asides() });
    },
    close: () => {
      remember(null);
      store.set({ session: null, answer: null });
      void toStart();
    },
    enter: (room) => store.set({ room }),
  };
  const folder = folderLink(async (make) => {
    const before = store.get().session;
    await jobs.tryOpen(make);
    const now = store.get().session;
    return now === before ? null : (now?.id ?? null);
  }, desk);
  const parts = roomParts(ROOMS, store, desk);

  function draw(state: PageState): void {
    drawFrame(
      state,
      ROOMS.map(({ id }) => id),
      wide.matches,
    );
    if (state.session === null) return;
    drawAnswer(state, list.progress());
    list.zonesChanged();
    parts.draw({ ...state, session: state.session });
  }

  /** CSV files for the open job: all of them or none, as `sweepbook add` does it. */
  async function addFiles(given: readonly GivenFile[]): Promise<void> {
    const { bundle, opened } = desk.page().session;
    const dry = dryRun(bundle, opened, given);
    const news = dry.files.filter(
      (each) => each.already === null && !bundle.files.some(({ text }) => text === each.text),
    );
    if (news.length === 0) {
      notice('note', 'The job holds these files already.');
      return;
    }
    try {
      await desk.change(
        canRecord(bundle)
          ? imported(bundle, opened, dry, false, desk.now(), desk.freshId())
          : withFiles(bundle, given),
      );
    } catch (error) {
      showError(error);
      // What can be done with them stands in the room of the job.
      store.set({ own: { ...store.get().own, imports: { given } } });
      return;
    }
    const count = news.reduce((sum, each) => sum + each.readings.length, 0);
    notice('note', `Added ${news.map((each) => each.file).join(', ')}: ${count} readings.`);
    for (const doubt of dry.doubts.slice(0, 6)) notice(doubt.severity, doubt.message);
  }

  function toStart(): Promise<void> {
    return showStart(storage, {
      openKept: jobs.openKept,
      asides: (asides) => store.set({ asides }),
    });
  }

  // ---- what is outside the rooms ----

  byId('views').addEventListener('click', (event) => {
    const room = (event.target as HTMLElement).closest<HTMLElement>('[data-view]')?.dataset.view;
    if (room !== undefined) store.set({ room });
  });
  byId('strip').addEventListener('click', () => store.set({ room: 'answer' }));
  wide.addEventListener('change', () => draw(store.get()));

  byId('stored-aside').addEventListener('click', (event) => {
    const control = (event.target as HTMLElement).closest<HTMLElement>('[data-act="aside"]');
    if (control !== null) void asideAct({ desk, control }).then(toStart, showError);
  });

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

  byId('open-folder').hidden = !folder.able();
  byId('open-folder').addEventListener('click', () => void folder.open().catch(showError));

  document.addEventListener('change', (event) => {
    const input = event.target as HTMLInputElement;
    if (['pick-files', 'pick-folder', 'pick-csv', 'look-csv'].includes(input.id)) void pick(input);
  });
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

  document.addEventListener('dragover', (event) => event.preventDefault());
  document.addEventListener('drop', (event) => {
    event.preventDefault();
    if (event.dataTransfer === null) return;
    void droppedFiles(event.dataTransfer).then(jobs.take, showError);
  });

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
        if (assumed.length > 0) notice('caution', `Assumed: ${assumed.join(' ')}`);
      });
  });

  window.addEventListener('beforeunload', (event) => {
    if (store.get().unsaved) event.preventDefault();
  });

  let resizing: ReturnType<typeof setTimeout> | undefined;
  window.addEventListener('resize', () => {
    clearTimeout(resizing);
    resizing = setTimeout(() => draw(store.get()), 200);
  });

  // ---- beginning ----

  const inside = byId(JOB_INSIDE).textContent ?? 'null';
  if (inside.trim() !== 'null') {
    await jobs.tryOpen(() => rehashed(parseBundle(inside, 'the job inside this page')), answerInside());
  } else {
    const last = recall();
    if (last !== null) await jobs.openKept(last);
  }
  if (store.get().session === null) await toStart();
}

/** The answer written into the page with the job; null where there is none. */
function answerInside(): FinishedAnswer | null {
  const text = byId(ANSWER_INSIDE).textContent ?? '';
  const match = /^\{"key":"([0-9a-f]{64})","answer":/.exec(text);
  return match === null ? null : { key: match[1]!, text: text.slice(match[0].length, -1) };
}
