import type { Zone } from '../../analysis.ts';
import type { Book } from '../book.ts';
import type { Session } from '../open-session.ts';

export interface EntryPorts {
  readonly session: () => Session;
  /** What was keyed changed; `settled` when a field was left, so that the answer need not wait. */
  readonly changed: (book: Book, settled: boolean) => void;
  /** Another line, state or cycle was chosen. */
  readonly chosen: (book: Book) => void;
  readonly zones: () => readonly Zone[];
}
