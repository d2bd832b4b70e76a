import type { Book } from '../book.ts';
import type { StoredBook } from '../kept-book.ts';
import type { SaveResult, Storage } from './storage.ts';

/** How the book stands to the storage; shown at all times. */
export type SaveState =
  | { readonly kind: 'saving' }
  | { readonly kind: 'saved'; readonly when: string }
  | { readonly kind: 'not-saved'; readonly why: string; readonly elsewhere: boolean };

const WHY: Record<Exclude<SaveResult, 'saved'>, string> = {
  refused:
    'This device did not store the readings, or gave back something else than was stored (storage full, switched off or faulty).',
  elsewhere:
    'This job was changed in another window of this browser, so this window’s last keys are not stored. Leave both windows open.',
};

/**
 * Writes through: at most one write is under way, and the newest book always follows it. A refused write is tried
 * again at the next key.
 */
export function saver(storage: Storage | { readonly refused: string }, onState: (state: SaveState) => void) {
  let waiting: Omit<StoredBook, 'revision'> | null = null;
  let busy = false;
  let revision = 0;
  let elsewhere = false;
  /** What this window last saw on the device. */
  let seen: Book | null = null;

  async function run(): Promise<void> {
    if (busy || !('saveBook' in storage)) return;
    busy = true;
    while (waiting !== null) {
      const stored = { ...waiting, revision: revision + 1 };
      waiting = null;
      const result = await storage.saveBook(stored);
      if (result === 'saved') {
        revision = stored.revision;
        seen = stored.book;
        if (waiting === null) onState({ kind: 'saved', when: stored.saved });
      } else {
        elsewhere = result === 'elsewhere';
        onState({ kind: 'not-saved', why: WHY[result], elsewhere });
        if (elsewhere) waiting = null;
      }
    }
    busy = false;
  }

  return {
    /** The revision found when the job was opened; saves count on from it. */
    begin: (kept: number, book: Book | null): void => {
      revision = kept;
      seen = book;
      waiting = null;
      elsewhere = false;
    },
    seen: (): Book | null => seen,
    save: (stored: Omit<StoredBook, 'revision'>): void => {
      if (!('saveBook' in storage)) {
        onState({
          kind: 'not-saved',
          why: `This browser keeps nothing for this page (${storage.refused}).`,
          elsewhere: false,
        });
        return;
      }
      if (elsewhere) return;
      waiting = stored;
      onState({ kind: 'saving' });
      void run();
    },
  };
}
