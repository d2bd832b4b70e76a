import type { SaveResult, Storage, StoredBook } from './storage.ts';

/** How the book stands to the storage; shown at all times. */
export type SaveState =
  | { readonly kind: 'saving' }
  | { readonly kind: 'saved'; readonly when: string }
  | { readonly kind: 'not-saved'; readonly why: string };

const WHY: Record<Exclude<SaveResult, 'saved'>, string> = {
  refused: 'This device refused to store the readings (storage full or switched off).',
  elsewhere: 'This job was changed in another window of this browser. Close one of them and reload.',
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

  async function run(): Promise<void> {
    if (busy || !('saveBook' in storage)) return;
    busy = true;
    while (waiting !== null) {
      const stored = { ...waiting, revision: revision + 1 };
      waiting = null;
      const result = await storage.saveBook(stored);
      if (result === 'saved') {
        revision = stored.revision;
        if (waiting === null) onState({ kind: 'saved', when: stored.saved });
      } else {
        elsewhere = result === 'elsewhere';
        onState({ kind: 'not-saved', why: WHY[result] });
        if (elsewhere) waiting = null;
      }
    }
    busy = false;
  }

  return {
    /** The revision found when the job was opened; saves count on from it. */
    begin: (kept: number): void => {
      revision = kept;
      elsewhere = false;
    },
    save: (stored: Omit<StoredBook, 'revision'>): void => {
      if (!('saveBook' in storage)) {
        onState({ kind: 'not-saved', why: `This browser keeps nothing for this page (${storage.refused}).` });
        return;
      }
      if (elsewhere) return;
      waiting = stored;
      onState({ kind: 'saving' });
      void run();
    },
  };
}
