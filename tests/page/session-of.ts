import { pageBundle } from '../../src/cli/page-bundle.ts';
import { openJob } from '../../src/cli/store/open-job.ts';
import { openBundle } from '../../src/page/open-bundle.ts';
import type { Session } from '../../src/page/open-session.ts';
import { emptyBook } from '../../src/page/session.ts';

/** A job folder open on the page, nothing keyed. */
export async function openSession(folder: string): Promise<Session> {
  const bundle = pageBundle(await openJob(folder));
  const opened = openBundle(bundle);
  return { id: 'id of a test', bundle, opened, book: emptyBook(opened.job), key: '' };
}
