import { html } from '../../report/html.ts';
import { sha256Hex } from '../../sha256.ts';
import { bundleText } from '../job-bundle.ts';
import { mergeBooks } from '../merge-books.ts';
import { wholeJob } from '../session.ts';
import { byId } from './element.ts';
import { clearNotices, notice, offer } from './notices.ts';
import { type SaveState, saver } from './saver.ts';
import type { Storage } from './storage.ts';
import type { Store } from './store.ts';

export interface SavingPorts {
  /** Hands this window's whole job to the device. */
  readonly handOver: () => void;
  /** The book is another one, by no key of this window. */
  readonly replaced: () => void;
}

/** Keeps the book on the device, shows how it stands to it, and merges what two windows keyed. */
export function saving(store: Store, storage: Storage | { readonly refused: string }, ports: SavingPorts) {
  const writes = saver(storage, showSaved);

  function save(): void {
    const { session } = store.get();
    if (session === null) return;
    const { id, opened, book } = session;
    writes.save({ id, name: opened.job.name, saved: new Date().toISOString(), book });
  }

  function showSaved(state: SaveState): void {
    const mark = byId('saved');
    mark.dataset.state = state.kind;
    switch (state.kind) {
      case 'saving':
        // A word that changes at every key would only flicker, and be read out each time.
        if (mark.textContent === '') mark.textContent = 'Saving';
        break;
      case 'saved':
        if (!mark.textContent?.startsWith('Saved')) clearNotices('storage');
        mark.textContent = 'Saved on this device';
        mark.title = state.when;
        break;
      case 'not-saved':
        mark.textContent = 'Not saved';
        if (state.elsewhere) offerMerge(state.why);
        else notice('stop', `${state.why} Download the readings now (Papers).`, 'storage');
    }
    const unsaved = state.kind === 'not-saved';
    if (unsaved !== store.get().unsaved) store.set({ unsaved });
  }

  /** Another window saved since: this window's readings are downloaded first, then both are merged. */
  function offerMerge(why: string): void {
    const item = notice(
      'stop',
      `${why} Download this window’s readings first; then both can be merged.`,
      'storage',
    );
    if (item.querySelector('[data-merge]') !== null) return;
    const actions = offer(
      item,
      html`<button type="button" data-merge="download">Download this window’s readings</button><button type="button" class="main" data-merge="merge" disabled>Merge both windows</button>`,
    );
    const merge = actions.querySelector<HTMLButtonElement>('[data-merge="merge"]')!;
    actions.querySelector<HTMLButtonElement>('[data-merge="download"]')!.onclick = () => {
      ports.handOver();
      merge.disabled = false;
    };
    merge.onclick = () => void mergeWindows();
  }

  async function mergeWindows(): Promise<void> {
    const { session } = store.get();
    if (session === null || !('load' in storage)) return;
    const { id, bundle } = session;
    const kept = await storage.load(id).catch(() => null);
    const now = store.get().session;
    if (now?.id !== id || !kept?.book || kept.damaged !== null) {
      notice(
        'stop',
        'What the other window stored cannot be read. Keep the file you downloaded, and leave both windows open.',
      );
      return;
    }
    const mine = now.book;
    const merged = mergeBooks(writes.seen(), mine, kept.book.book);
    if (merged.differing.length > 0) {
      const text = bundleText(wholeJob(bundle, mine));
      const file = 'this-window-before-merging.json';
      const put = await storage.putAside({
        key: sha256Hex(JSON.stringify([id, file, text])),
        job: id,
        file,
        why: `Both windows changed the same readings (cycle ${merged.differing.join(', ')}): the other window’s count, this is what this window had.`,
        text,
      });
      if (put !== 'saved') {
        notice('stop', 'There is no room to keep both. Nothing was merged; keep the file you downloaded.');
        return;
      }
      store.set({ asides: await storage.asides() });
    }
    clearNotices('storage');
    // What was keyed while the other window's record was read is in the book, and not in the merge.
    const { book } = store.get().session!;
    store.setBook(book === mine ? merged.book : mergeBooks(mine, book, merged.book).book);
    writes.begin(kept.book.revision, kept.book.book);
    save();
    ports.replaced();
    notice(
      merged.differing.length > 0 ? 'caution' : 'note',
      merged.differing.length > 0
        ? `Merged. Both windows had changed the same readings of cycle ${merged.differing.join(', ')}: the other window’s count here; this window’s are listed under Papers.`
        : 'Merged: what was keyed in either window is here.',
    );
  }

  return { save, begin: writes.begin };
}
