import { finishedAnswer } from '../page/finished-answer.ts';
import { pageWithJob } from '../page/page-file.ts';
import { pageBundle } from './page-bundle.ts';
import type { OpenedJob } from './store/open-job.ts';

/**
 * The readings page with a job and its finished answer inside.
 *
 * @param template text of the page without a job
 * @param core digest of the core's script in it, of which this program was built too; null: no answer goes in
 * @throws InputError as `pageBundle`
 */
export function writtenPage(template: string, opened: OpenedJob, core: string | null): string {
  const bundle = pageBundle(opened);
  return pageWithJob(template, bundle, core === null ? null : finishedAnswer(bundle, core));
}
