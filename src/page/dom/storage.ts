import type { FinishedAnswer } from '../finished-answer.ts';
import type { FolderFiles } from '../folder/folder-now.ts';
import type { JobBundle } from '../job-bundle.ts';
import { readStoredBook, readStoredBundle, type StoredBook } from '../kept-book.ts';
import type { Aside } from '../state.ts';

/** A job with everything kept of it; either half may be missing where the store took only one. */
export interface Kept {
  readonly bundle: JobBundle | null;
  readonly book: StoredBook | null;
  /** The last answer there was, with the digest of what it was made of. */
  readonly answer: FinishedAnswer | null;
  /** Records as they stand, where something in them could not be read: to be put aside before they are written over. */
  readonly damaged: string | null;
}

/** A job kept, as the first screen lists it. */
export interface Listed {
  readonly id: string;
  readonly name: string;
  readonly saved: string;
  /** What is wrong with it, in words; empty where nothing is. */
  readonly trouble: string;
}

/** A folder of the device a person let the page into, and its files as the page last saw them, without photographs. */
export interface KeptFolder {
  readonly root: FileSystemDirectoryHandle;
  readonly seen: FolderFiles;
}

export type SaveResult = 'saved' | 'elsewhere' | 'refused';

/**
 * The jobs kept in this browser (IndexedDB). The book, which is small, is written at every key, with strict
 * durability; the job with its files, which is large, only when it changes.
 */
export interface Storage {
  readonly list: () => Promise<readonly Listed[]>;
  readonly load: (id: string) => Promise<Kept | null>;
  /** @param before the job this window has had until now: where another window stored another one, nothing is stored */
  readonly saveBundle: (id: string, bundle: JobBundle, before?: JobBundle) => Promise<SaveResult>;
  /** Writes the book as `revision` if the one kept is older; otherwise another window has changed it. */
  readonly saveBook: (stored: StoredBook) => Promise<SaveResult>;
  /** Keeps the last answer, which can always be worked out again: nothing is said where it cannot be kept. */
  readonly saveAnswer: (id: string, answer: FinishedAnswer) => Promise<SaveResult>;
  /** What is kept of a job as the store holds it, whatever it is. */
  readonly raw: (id: string) => Promise<string>;
  /** The folder a job was open from last; null where there is none. */
  readonly folder: (id: string) => Promise<KeptFolder | null>;
  /** Keeps it, which is a convenience: nothing is said where it cannot be kept. */
  readonly saveFolder: (id: string, folder: KeptFolder) => Promise<SaveResult>;
  readonly remove: (id: string) => Promise<void>;
  readonly asides: () => Promise<readonly Aside[]>;
  readonly putAside: (aside: Aside) => Promise<SaveResult>;
  readonly dropAside: (key: string) => Promise<SaveResult>;
}

const NAME = 'sweepbook-readings';

/** Opens the storage, or says why it cannot be had. */
export async function openStorage(): Promise<Storage | { readonly refused: string }> {
  try {
    if (typeof indexedDB === 'undefined') return { refused: 'this browser has no storage for pages' };
    return storageOf(await openDatabase());
  } catch (error) {
    return { refused: error instanceof Error ? error.message : String(error) };
  }
}

function openDatabase(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const request = indexedDB.open(NAME, 4);
    request.onupgradeneeded = (event) => {
      if (event.oldVersion < 1) {
        request.result.createObjectStore('bundles');
        request.result.createObjectStore('books', { keyPath: 'id' });
      }
      if (event.oldVersion < 2) request.result.createObjectStore('answers');
      if (event.oldVersion < 3) request.result.createObjectStore('asides', { keyPath: 'key' });
      request.result.createObjectStore('folders');
    };
    request.onsuccess = () => {
      // A later version of this page in another window may want to change the storage.
      request.result.onversionchange = () => request.result.close();
      resolve(request.result);
    };
    request.onerror = () => reject(request.error ?? new Error('storage could not be opened'));
    request.onblocked = () => reject(new Error('storage is held by another window'));
  });
}

function storageOf(database: IDBDatabase): Storage {
  const write = (
    store: 'bundles' | 'books' | 'answers' | 'asides' | 'folders',
    work: (store: IDBObjectStore, abort: (why: SaveResult) => void) => void,
    durability: IDBTransactionDurability = 'strict',
  ) =>
    new Promise<SaveResult>((resolve) => {
      let why: SaveResult = 'refused';
      try {
        const transaction = database.transaction(store, 'readwrite', { durability });
        transaction.oncomplete = () => resolve('saved');
        transaction.onabort = () => resolve(why);
        transaction.onerror = () => resolve(why);
        work(transaction.objectStore(store), (reason) => {
          why = reason;
          transaction.abort();
        });
      } catch {
        resolve('refused');
      }
    });
  const read = (store: string, key: string) =>
    asked<unknown>(database.transaction(store).objectStore(store).get(key));
  /** "Saved" is said of what was read back and is the same. */
  const readBack = async (result: SaveResult, store: string, key: string, wanted: unknown) => {
    if (result !== 'saved') return result;
    const there = await read(store, key).catch(() => undefined);
    if (JSON.stringify(there) === JSON.stringify(wanted)) return 'saved';
    const revision = (record: unknown) => (record as { revision?: number } | undefined)?.revision ?? 0;
    return revision(there) > revision(wanted) ? 'elsewhere' : 'refused';
  };
  const halves = async (id: string) => {
    const transaction = database.transaction(['books', 'bundles', 'answers']);
    const get = (store: string) => asked<unknown>(transaction.objectStore(store).get(id));
    const [book, bundle, answer] = await Promise.all([get('books'), get('bundles'), get('answers')]);
    return { book, bundle, answer };
  };
  return {
    list: async () => {
      const transaction = database.transaction(['books', 'bundles']);
      const keys = (store: string) => asked<IDBValidKey[]>(transaction.objectStore(store).getAllKeys());
      const ids = new Set((await Promise.all([keys('books'), keys('bundles')])).flat().map(String));
      return Promise.all([...ids].map(async (id) => listed(id, await halves(id))));
    },
    load: async (id) => {
      const { book, bundle, answer } = await halves(id);
      if (book === undefined && bundle === undefined) return null;
      const readBook = readStoredBook(id, book);
      const readJob = readStoredBundle(bundle);
      const damaged = readBook?.whole === false || (bundle !== undefined && readJob === null);
      return {
        book: readBook?.stored ?? null,
        bundle: readJob,
        answer: isAnswer(answer) ? answer : null,
        damaged: damaged ? rawText({ book, bundle }) : null,
      };
    },
    raw: async (id) => {
      const { book, bundle } = await halves(id);
      return rawText({ book, bundle });
    },
    saveBundle: async (id, bundle, before) =>
      readBack(
        await write('bundles', (store, abort) => {
          if (before === undefined) {
            store.put(bundle, id);
            return;
          }
          const kept = store.get(id);
          kept.onsuccess = () => {
            const there = readStoredBundle(kept.result);
            if (there !== null && !sameText(there, before)) abort('elsewhere');
            else put(store, bundle, id, abort);
          };
        }),
        'bundles',
        id,
        bundle,
      ),
    saveBook: async (stored) =>
      readBack(
        await write('books', (store, abort) => {
          const kept = store.get(stored.id);
          kept.onsuccess = () => {
            const other = readStoredBook(stored.id, kept.result)?.stored;
            if (other !== undefined && other.revision >= stored.revision) abort('elsewhere');
            else put(store, stored, undefined, abort);
          };
        }),
        'books',
        stored.id,
        stored,
      ),
    saveAnswer: (id, answer) => write('answers', (store) => store.put(answer, id), 'relaxed'),
    folder: async (id) => {
      const kept = await read('folders', id).catch(() => undefined);
      return isFolder(kept) ? kept : null;
    },
    saveFolder: (id, folder) => write('folders', (store) => store.put(folder, id), 'relaxed'),
    remove: async (id) => {
      await write('folders', (store) => store.delete(id));
      await write('answers', (store) => store.delete(id));
      await write('books', (store) => store.delete(id));
      await write('bundles', (store) => store.delete(id));
    },
    asides: () => asked<Aside[]>(database.transaction('asides').objectStore('asides').getAll()),
    putAside: async (aside) =>
      readBack(await write('asides', (store) => store.put(aside)), 'asides', aside.key, aside),
    dropAside: (key) => write('asides', (store) => store.delete(key)),
  };
}

function listed(id: string, { book, bundle }: { readonly book: unknown; readonly bundle: unknown }): Listed {
  const read = readStoredBook(id, book);
  const trouble =
    bundle === undefined
      ? 'Only what was keyed is here; the job and its files were not stored. Open the job from its files: what was keyed joins it.'
      : readStoredBundle(bundle) === null
        ? 'The job and its files cannot be read any more. Open the job from its files: what was keyed joins it.'
        : read === null
          ? 'Only the job and its files are here; nothing that was keyed was stored.'
          : read.whole
            ? ''
            : 'Part of what was keyed cannot be read. The rest opens; the record is kept as it is.';
  return {
    id,
    name: read?.stored.name ?? (id.startsWith('id ') ? 'A job' : id.split('\n')[0]!),
    saved: read?.stored.saved ?? '',
    trouble,
  };
}

/** Puts a record; a store that throws in the middle of a transaction has refused it. */
function put(
  store: IDBObjectStore,
  record: unknown,
  key: string | undefined,
  abort: (why: SaveResult) => void,
): void {
  try {
    store.put(record, key);
  } catch {
    abort('refused');
  }
}

function sameText(a: JobBundle, b: JobBundle): boolean {
  return (
    a.job === b.job && a.ledgerText === b.ledgerText && JSON.stringify(a.others) === JSON.stringify(b.others)
  );
}

function rawText(record: unknown): string {
  return `${JSON.stringify(record, null, 1)}\n`;
}

function isAnswer(raw: unknown): raw is FinishedAnswer {
  const answer = raw as Partial<FinishedAnswer> | undefined;
  return typeof answer?.key === 'string' && typeof answer.text === 'string';
}

function isFolder(raw: unknown): raw is KeptFolder {
  const kept = raw as Partial<KeptFolder> | undefined;
  return (
    typeof FileSystemDirectoryHandle !== 'undefined' &&
    kept?.root instanceof FileSystemDirectoryHandle &&
    kept.seen instanceof Map &&
    [...kept.seen].every(([file, bytes]) => typeof file === 'string' && bytes instanceof Uint8Array)
  );
}

function asked<T>(request: IDBRequest): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result as T);
    request.onerror = () => reject(request.error ?? new Error('storage could not be read'));
  });
}
