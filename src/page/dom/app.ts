import { html } from '../../report/html.ts';
import type { FinishedAnswer } from '../finished-answer.ts';
import { type GivenFile, rehashed, withFiles } from '../folder-files.ts';
import { handOut } from '../hand-over.ts';
import { parseBundle } from '../job-bundle.ts';
import { dryRun, imported } from '../ledger/imports.ts';
import { canRecord } from '../ledger/record.ts';
import { ANSWER_INSIDE, JOB_INSIDE } from '../page-file.ts';
import { ROOMS } from '../rooms.ts';
import type { PageState } from '../state.ts';
import { answering } from './answering.ts';
import { download } from './deliver.ts';
import { createDesk } from './desk.ts';
import { drawAnswer, drawFrame } from './drawing.ts';
import { byId } from './element.ts';
import { entry } from './entry.ts';
import { folderLink } from './folder-link.ts';
import { recall, remember } from './last-open.ts';
import { notice, offer, showError } from './notices.ts';
import { opening } from './opening.ts';
import { listenOutside } from './outside.ts';
import { layOut, roomParts } from './rooms-view.ts';
import { saving } from './saving.ts';
import { showStart } from './start-screen.ts';
import { openStorage } from './storage.ts';
import { createStore } from './store.ts';
import { brightness } from './theme.ts';

/** Puts the page together: one store, what draws it, what changes it. */
export async function startPage(): Promise<void> {
  brightness(byId('theme'));
  layOut(ROOMS);
  const storage = await openStorage();
  const wide = matchMedia('(min-width: 68rem)');
  /** On paper the readings room shows the answer, however narrow the paper is: its keys are no use there. */
  let printing = false;
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
      void folder.recall(session.id).then((found) => {
        if (found && store.get().session?.id === session.id) offerFolder(session.id);
      });
    },
  });

  const desk = createDesk(store, storage, {
    papers: answers.papers,
    keyed: (book, settled) => {
      store.setBook(book);
      saves.save();
      answers.changed();
      list.render();
      answers.ask(settled);
    },
    changed: (session) => {
      answers.job(session);
      answers.changed();
      list.render();
      saves.save();
      answers.ask(true);
    },
    closed: () => void toStart(),
    folder: () => folder,
  });
  const folder = folderLink(
    async (make) => {
      const before = store.get().session;
      await jobs.tryOpen(make);
      const now = store.get().session;
      return now === before ? null : (now?.id ?? null);
    },
    desk,
    storage,
  );
  const parts = roomParts(ROOMS, store, desk);

  function draw(state: PageState): void {
    drawFrame(state, ROOMS, wide.matches || printing);
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

  /** One tap opens the folder again that a job was in when the page was left; what comes of it stands under Papers. */
  function offerFolder(id: string): void {
    const name = folder.nameOf(id) === null ? folder.keptNameOf(id) : null;
    store.set({});
    if (name === null) return;
    const item = notice('note', `This job was in the folder ${name}.`, 'folder');
    offer(item, html`<button type="button">Open ${name} again</button>`).onclick = () => {
      item.remove();
      store.set({ room: 'out' });
      document.querySelector<HTMLElement>('[data-do="folder-again"]')?.click();
    };
  }

  function toStart(): Promise<void> {
    return showStart(storage, {
      openKept: jobs.openKept,
      asides: (asides) => store.set({ asides }),
    });
  }

  listenOutside({ store, desk, jobs, folder, list, toStart, redraw: () => draw(store.get()) });
  wide.addEventListener('change', () => draw(store.get()));
  for (const event of ['beforeprint', 'afterprint']) {
    window.addEventListener(event, () => {
      printing = event === 'beforeprint';
      draw(store.get());
    });
  }

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
