import type { Book } from './book.ts';
import type { JobBundle } from './job-bundle.ts';
import type { OpenedBundle } from './open-bundle.ts';

/** A job that is open. */
export interface Session {
  readonly id: string;
  readonly bundle: JobBundle;
  readonly opened: OpenedBundle;
  readonly book: Book;
  /** Digest of what the job without its sheets brings to an answer. */
  readonly key: string;
}
