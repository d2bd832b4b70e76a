import type { Analysis } from '../analysis.ts';
import type { BesideHeats } from '../heats/beside-heats.ts';
import { readSheet, type SheetRead } from './all-readings.ts';
import type { Book } from './book.ts';
import type { Session } from './open-session.ts';

/** An answer that is shown, and which state of the book it is the answer to. */
export interface Shown {
  readonly analysis: Analysis;
  readonly version: number;
  /** Its text, where it was worked out before the page was opened. */
  readonly before: string | null;
  /** What the heats say beside it; null while that is not worked out yet. */
  readonly beside: BesideHeats | null;
}

/** Something keyed that has no place in a job: kept as text until somebody discards it. */
export interface Aside {
  readonly key: string;
  /** Id of the job it was found in. */
  readonly job: string;
  /** Name to download it under. */
  readonly file: string;
  readonly why: string;
  readonly text: string;
}

/** Everything the page shows is made of this. It changes only in its store, which then draws what differs. */
export interface PageState {
  /** The open job; null on the first screen. */
  readonly session: Session | null;
  readonly answer: Shown | null;
  /** Grows with every change of what was keyed: an answer to an older one is marked as that. */
  readonly version: number;
  /** Id of the room that is open. */
  readonly room: string;
  /** True while the device has not stored what was keyed. */
  readonly unsaved: boolean;
  readonly asides: readonly Aside[];
  /** What each part of a room keeps of its own: half-filled forms, what is chosen. By the part's id. */
  readonly own: Readonly<Record<string, unknown>>;
}

export const START: PageState = {
  session: null,
  answer: null,
  version: 0,
  room: 'entry',
  unsaved: false,
  asides: [],
  own: {},
};

export function withBook(state: PageState, book: Book): PageState {
  return state.session === null ? state : { ...state, session: { ...state.session, book } };
}

/** The keyed sheets of the open job, read. */
export function readsOf({ book, opened }: Session): SheetRead[] {
  return book.sheets.map((sheet) => readSheet(sheet, opened));
}

/** The answer, if it is to what is keyed now. */
export function currentAnswer({ answer, version }: PageState): Shown | null {
  return answer?.version === version ? answer : null;
}

/** True where the answer that is shown is to older readings than those keyed. */
export function isOld({ answer, version }: PageState): boolean {
  return answer !== null && answer.version !== version;
}
