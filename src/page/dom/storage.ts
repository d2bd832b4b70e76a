import type { Book } from '../book.ts';
import type { FinishedAnswer } from '../finished-answer.ts';
import type { JobBundle } from '../job-bundle.ts';

/** One job kept on this device. */
export interface StoredBook {
  readonly id: string;
  readonly name: string;
  /** ISO date-time of the last change */
  readonly saved: string;
  /** Counts the saves: a second window that saved in between is noticed. */
  readonly revision: number;
  readonly book: Book;
}

/** A job with everything kept of it. */
export interface Kept {
  readonly bundle: JobBundle;
  readonly book: StoredBook;
  /** The last answer there was, with the digest of what it was made of. */
  readonly answer: FinishedAnswer | null;
}

export type SaveResult = 'saved' | 'elsewhere' | 'refused';

/**
 * The jobs kept in this browser (IndexedDB). The book, which is small, is written at every key, with strict
 * durability; the job with its files, which is large, only when it changes.
 */
export interface Storage {
  readonly list: () => Promise<readonly StoredBook[]>;
  readonly load: (id: string) => Promise<Kept | null>;
  readonly saveBundle: (id: string, bundle: JobBundle) => Promise<SaveResult>;
  /** Writes the book as `revision` if the one kept is older; otherwise another window has changed it. */
  readonly saveBook: (stored: StoredBook) => Promise<SaveResult>;
  /** Keeps the last answer, which can always be worked out again: nothing is said where it cannot be kept. */
  readonly saveAnswer: (id: string, answer: FinishedAnswer) => Promise<SaveResult>;
  readonly remove: (id: string) => Promise<void>;
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
    const request = indexedDB.open(NAME, 2);
    request.onupgradeneeded = (event) => {
      if (event.oldVersion < 1) {
        request.result.createObjectStore('bundles');
        request.result.createObjectStore('books', { keyPath: 'id' });
      }
      request.result.createObjectStore('answers');
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
    store: 'bundles' | 'books' | 'answers',
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
  return {
    list: () => asked<StoredBook[]>(database.transaction('books').objectStore('books').getAll()),
    load: async (id) => {
      const transaction = database.transaction(['books', 'bundles', 'answers']);
      const get = <T>(store: string) => asked<T | undefined>(transaction.objectStore(store).get(id));
      const [book, bundle, answer] = await Promise.all([
        get<StoredBook>('books'),
        get<JobBundle>('bundles'),
        get<FinishedAnswer>('answers'),
      ]);
      return book === undefined || bundle === undefined ? null : { bundle, book, answer: answer ?? null };
    },
    saveBundle: (id, bundle) => write('bundles', (store) => store.put(bundle, id)),
    saveBook: (stored) =>
      write('books', (store, abort) => {
        const kept = store.get(stored.id);
        kept.onsuccess = () => {
          const other = kept.result as StoredBook | undefined;
          if (other !== undefined && other.revision >= stored.revision) abort('elsewhere');
          else store.put(stored);
        };
      }),
    saveAnswer: (id, answer) => write('answers', (store) => store.put(answer, id), 'relaxed'),
    remove: async (id) => {
      await write('answers', (store) => store.delete(id));
      await write('books', (store) => store.delete(id));
      await write('bundles', (store) => store.delete(id));
    },
  };
}

function asked<T>(request: IDBRequest): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result as T);
    request.onerror = () => reject(request.error ?? new Error('storage could not be read'));
  });
}
