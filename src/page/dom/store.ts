import type { Book } from '../book.ts';
import { type PageState, START, withBook } from '../state.ts';

/** The one place the page's state is kept. */
export interface Store {
  readonly get: () => PageState;
  /** Takes changes and draws what differs by them. */
  readonly set: (changes: Partial<PageState>) => void;
  /** Another book of the open job. */
  readonly setBook: (book: Book) => void;
}

export function createStore(draw: (state: PageState) => void): Store {
  let state = START;
  const take = (next: PageState) => {
    state = next;
    draw(state);
  };
  return {
    get: () => state,
    set: (changes) => take({ ...state, ...changes }),
    setBook: (book) => take(withBook(state, book)),
  };
}
