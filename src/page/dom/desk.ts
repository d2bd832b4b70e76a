import { PAGE_ID } from '../../ledger/identity.ts';
import { jobKey } from '../answer-key.ts';
import { openBundle } from '../open-bundle.ts';
import type { Session } from '../open-session.ts';
import type { Desk } from '../room.ts';
import { canShare, download, share } from './deliver.ts';
import { remember } from './last-open.ts';
import { notice } from './notices.ts';
import type { Storage } from './storage.ts';
import type { Store } from './store.ts';
import { sure } from './sure.ts';
import { randomId, today } from './wall.ts';

/** Digest of the core's script in this page. */
declare const SWEEPBOOK_CORE: string;

export interface DeskPorts {
  readonly papers: Desk['papers'];
  readonly keyed: Desk['key'];
  /** The open job is another from now on. */
  readonly changed: (session: Session) => void;
  readonly closed: () => void;
  /** Asked for when it is used: the folder itself works by the desk. */
  readonly folder: () => Desk['folder'];
}

/** What the controls of all rooms can do to the page. */
export function createDesk(
  store: Store,
  storage: Storage | { readonly refused: string },
  { papers, keyed, changed, closed, folder }: DeskPorts,
): Desk {
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
      able: () => folder().able(),
      nameOf: (id) => folder().nameOf(id),
      keptNameOf: (id) => folder().keptNameOf(id),
      again: () => folder().again(),
      write: () => folder().write(),
      takeIn: () => folder().takeIn(),
      everything: () => folder().everything(),
      photos: () => folder().photos(),
    },
    papers: papers,
    sure,
    key: (book, settled) => {
      keyed(book, settled);
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
      changed(next);
    },
    dropAside: async (key) => {
      if (!('dropAside' in storage)) return;
      await storage.dropAside(key);
      store.set({ asides: await storage.asides() });
    },
    close: () => {
      remember(null);
      store.set({ session: null, answer: null });
      closed();
    },
    enter: (room) => store.set({ room }),
  };
  return desk;
}
