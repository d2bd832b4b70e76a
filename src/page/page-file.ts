import { page } from '../report/shell.ts';
import { APP_MANIFEST, APP_SERVICE } from './app-files.ts';
import type { FinishedAnswer } from './finished-answer.ts';
import { PAGE_CSS } from './page-css.ts';
import { skeleton } from './skeleton.ts';

/** Ids of the blocks that hold a job written into the page, its answer, and the core's script. */
export const JOB_INSIDE = 'job-inside';
export const ANSWER_INSIDE = 'answer-inside';
export const CORE_INSIDE = 'core';

/** Starts the worker at once: it gets ready while the page's own script, further down, is still being read. */
const BOOT = `try{self.sweepbookWorker=new Worker(URL.createObjectURL(new Blob([document.getElementById("${CORE_INSIDE}").textContent],{type:"text/javascript"})));self.sweepbookWorker.onerror=function(e){e.preventDefault();self.sweepbookWorker=null}}catch(e){}`;

/** Keeps the served form on the device; where the browser will not, the page works all the same. */
const INSTALL = `if(navigator.serviceWorker)navigator.serviceWorker.register(${JSON.stringify(APP_SERVICE)}).catch(function(){})`;

/**
 * The readings page without a job, as the text of one HTML file.
 *
 * @param script the bundled script of the page
 * @param core the bundled script of its worker
 * @param licences notices of the packages in both scripts
 * @param installable served beside its manifest and service worker (`appFiles`), not as a file of its own
 */
export function readingsPage(script: string, core: string, licences: string, installable = false): string {
  return page({
    title: 'Sweepbook readings',
    description: 'Key in the day’s readings of a damaged girder and see the answer, offline.',
    css: PAGE_CSS,
    body: skeleton(),
    data: [
      { id: JOB_INSIDE, value: null },
      { id: ANSWER_INSIDE, value: null },
      { id: 'licences', value: licences },
    ],
    stored: [{ id: CORE_INSIDE, text: core }],
    scripts: installable ? [BOOT, script, INSTALL] : [BOOT, script],
    ...(installable ? { manifest: APP_MANIFEST } : {}),
    policy: {
      'worker-src': installable ? `blob: 'self'` : 'blob:',
      ...(installable ? { 'manifest-src': `'self'` } : {}),
      'connect-src': `'none'`,
      'frame-src': `'none'`,
    },
  });
}

/**
 * The page with a job inside.
 *
 * @param template text of `readingsPage`
 * @param value plain data; no text in it can end its block
 * @param finished its answer, shown at once if it was made of the very same data by the very same core
 */
export function pageWithJob(
  template: string,
  value: unknown,
  finished: FinishedAnswer | null = null,
): string {
  const withJob = filled(template, JOB_INSIDE, JSON.stringify(value));
  if (finished === null) return withJob;
  return filled(withJob, ANSWER_INSIDE, `{"key":${JSON.stringify(finished.key)},"answer":${finished.text}}`);
}

function filled(template: string, id: string, json: string): string {
  const open = `<script type="application/json" id="${id}">`;
  const empty = `${open}null</script>`;
  const at = template.indexOf(empty);
  if (at < 0) throw new Error('this is not the readings page: it has no place for a job');
  const text = json.replaceAll('<', '\\u003c');
  return `${template.slice(0, at)}${open}${text}</script>${template.slice(at + empty.length)}`;
}
