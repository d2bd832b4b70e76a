import type { Html } from '../report/html.ts';
import type { Book } from './book.ts';
import type { FolderSaid } from './folder/folder-said.ts';
import type { JobBundle } from './job-bundle.ts';
import type { Session } from './open-session.ts';
import type { PapersAsked } from './papers/make-papers.ts';
import type { Aside, PageState } from './state.ts';
import type { PapersFromWorker } from './worker-messages.ts';

/** What a part of a room is drawn from while a job is open. */
export interface OpenPage extends PageState {
  readonly session: Session;
}

/** What the controls of a part can do to the page. */
export interface Desk {
  readonly page: () => OpenPage;
  /** What this device has put aside, of whatever job. */
  readonly asides: () => readonly Aside[];
  /** The day on the wall, ISO. */
  readonly today: () => string;
  /** The moment, ISO date-time in UTC, as ledger records carry it. */
  readonly now: () => string;
  /** An id nobody has. */
  readonly freshId: () => string;
  readonly say: (severity: 'note' | 'caution' | 'stop', text: string, topic?: string) => void;
  /** Hands a file to the device. */
  readonly download: (name: string, content: string | Uint8Array<ArrayBuffer>, type: string) => void;
  /** Passes a text on by the device's share sheet; where it will not, downloads it and says so. */
  readonly share: (name: string, text: string, type: string) => Promise<void>;
  readonly canShare: (name: string, type: string) => boolean;
  /** The job folder, where the browser lets the page into one. */
  readonly folder: {
    readonly able: () => boolean;
    /** Name of the folder a job on this device is open from; null: none. */
    readonly nameOf: (id: string) => string | null;
    /** Name of the folder it was open from last, as the device keeps it; null: none. */
    readonly keptNameOf: (id: string) => string | null;
    /** Opens that folder again. */
    readonly again: () => Promise<FolderSaid>;
    readonly write: () => Promise<FolderSaid>;
    readonly takeIn: () => Promise<FolderSaid>;
    /** Everything in the folder of the open job, to be hashed again; null where it is open from none. */
    readonly everything: () => Promise<ReadonlyMap<string, Uint8Array> | null>;
    /** Its photographs, for a page that does not carry them; null where it is open from none, or they are too large. */
    readonly photos: () => Promise<ReadonlyMap<string, Uint8Array> | null>;
  };
  /** Has papers made beside the page. */
  readonly papers: (asked: PapersAsked) => Promise<PapersFromWorker>;
  /** True at the second click on a button within a few seconds; the first turns its words into a question. */
  readonly sure: (control: HTMLElement) => boolean;
  /** What was keyed changed; `settled` where the answer need not wait for more keys. */
  readonly key: (book: Book, settled: boolean) => void;
  /**
   * Takes the open job as it is from now on: read, answered and kept on the device.
   *
   * @throws InputError with what is wrong in it; the job then stays as it was
   */
  readonly change: (bundle: JobBundle, book?: Book) => Promise<void>;
  /** Discards something put aside. */
  readonly dropAside: (key: string) => Promise<void>;
  /** Closes the job; it stays on the device. */
  readonly close: () => void;
  readonly enter: (room: string) => void;
}

/** A click, a change, a key or a form sent in a part, on the element that says what it does. */
export interface Act<S> {
  readonly desk: Desk;
  readonly own: S;
  /** What the part keeps from now on; it is drawn anew. */
  readonly put: (own: S) => void;
  /** The element with `data-act`, `data-change`, `data-input`, or the form. */
  readonly control: HTMLElement;
  /** Texts of a form that was sent, by the names of its fields. */
  readonly fields: Readonly<Record<string, string>>;
}

/**
 * A part of a room: markup as a pure function of the state, and what its controls do. A control says it by name:
 * `data-act` (click; on a form: sent), `data-change` (a choice made, a file picked), `data-input` (every key).
 */
export interface PartOf<S> {
  readonly id: string;
  /** What it keeps of its own when a job is opened. */
  readonly begin: (session: Session) => S;
  /** What it is drawn of: it is drawn again only where one of them differs. Left out: at every change. */
  readonly of?: (page: OpenPage, own: S) => readonly unknown[];
  readonly view: (page: OpenPage, own: S, desk: Pick<Desk, 'canShare' | 'today' | 'folder'>) => Html;
  readonly acts: Readonly<Record<string, (act: Act<S>) => void | Promise<void>>>;
}

export type Part = PartOf<unknown>;

/** A part whose own state is nobody else's business. */
export function part<S>(given: PartOf<S>): Part {
  return given as unknown as Part;
}

export interface Room {
  /** Value of its tab's `data-view`, and id of its section. */
  readonly id: string;
  readonly name: string;
  /** What stands in it, from top to bottom; in the rooms of the readings and of the answer, below what their own scripts draw. */
  readonly parts: readonly Part[];
  /** Jobs it is a room of; left out: of every job. */
  readonly of?: (session: Session) => boolean;
}
