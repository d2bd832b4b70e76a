import { page } from '../report/shell.ts';
import { PAGE_CSS } from './page-css.ts';
import { skeleton } from './skeleton.ts';

/** Id of the data block that holds a job written into the page. */
export const JOB_INSIDE = 'job-inside';

const EMPTY = `<script type="application/json" id="${JOB_INSIDE}">null</script>`;

/**
 * The readings page without a job, as the text of one HTML file.
 *
 * @param script the bundled script of the page, run in the page and in its worker
 */
export function readingsPage(script: string): string {
  return page({
    title: 'Sweepbook readings',
    description: 'Key in the day’s readings of a damaged girder and see the answer, offline.',
    css: PAGE_CSS,
    body: skeleton(),
    data: [{ id: JOB_INSIDE, value: null }],
    scripts: [script],
    policy: { 'worker-src': 'blob:', 'connect-src': `'none'`, 'frame-src': `'none'` },
  });
}

/**
 * The page with a job inside.
 *
 * @param template text of `readingsPage`
 * @param value plain data; no text in it can end its block
 */
export function pageWithJob(template: string, value: unknown): string {
  const at = template.indexOf(EMPTY);
  if (at < 0) throw new Error('this is not the readings page: it has no place for a job');
  const json = JSON.stringify(value).replaceAll('<', '\\u003c');
  return (
    template.slice(0, at) +
    EMPTY.replace('null</script>', () => `${json}</script>`) +
    template.slice(at + EMPTY.length)
  );
}
