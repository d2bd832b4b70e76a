import type { Job } from '../job/job.ts';
import { cautionsBlock } from './cautions.ts';
import { html, markup } from './html.ts';
import { quantities } from './quantities.ts';
import { HATCHES, REPORT_CSS } from './report-css.ts';
import { SCAN_PREVIEW_CSS } from './scan-preview-css.ts';
import { type PreviewFlange, scanFigures, scanView } from './scan-view.ts';
import { page } from './shell.ts';
import { type WebView, webFigures } from './web-view.ts';

export interface PreviewFacts {
  readonly generated: string;
  readonly tool: string;
  readonly cloud: { readonly name: string; readonly sha256: string; readonly points: number };
  readonly cycle: number;
  /** What became of it: imported, or not and what to do. */
  readonly outcome: string;
  /** What was found from the picks, row by row; empty where the set-up said it all. */
  readonly found: readonly (readonly [what: string, found: string])[];
  /** What rests on an assumption, in words. */
  readonly assumed: readonly string[];
  /** The set-up as JSON; null where it is a file already. */
  readonly setUp: string | null;
}

/** What an eye looks for. */
const LOOK = [
  'In every slice the blue outline must lie on the flange, the whole flange and no other plate.',
  'In plan and elevation the two blue lines must run along its edges from pick to pick, without a jump.',
  'Look at the framed slices first: there the outline explains the points worst.',
];
const WEB_LOOK = [
  'In every slice the blue line must lie on the web, from foot to head, and on no stiffener, pipe or other plate.',
];
const REFUSED_LOOK = [
  'The two crosses must lie on one and the same flange, at its bearings.',
  'In plan its points must run from the one to the other. Where they leave the figure the flange stands outside the search, or a pick is on another girder.',
];

/**
 * The preview of a scan: plan, elevation and slices with the section that was fitted drawn on the points, so that an eye
 * tells at once whether it ran along the right steel. One self-contained page without scripts.
 */
export function renderScanPreview(
  job: Job,
  flanges: readonly PreviewFlange[],
  webs: readonly WebView[],
  facts: PreviewFacts,
): string {
  const q = quantities(job.units, 16, job.locale);
  const refused = flanges.some((f) => f.view === null);
  const look = [
    ...(refused ? REFUSED_LOOK : flanges.length > 0 ? LOOK : []),
    ...(webs.length > 0 ? WEB_LOOK : []),
  ];
  const body = html`${markup(HATCHES)}<header class="page-head">
<div class="title-block"><div class="job"><p class="label">Preview of a scan</p><h1>${job.name}</h1></div>
<div class="sheet"><strong>Cycle ${facts.cycle}</strong><span class="small">${q.date(facts.generated)}</span></div>
<dl><div><dt>Cloud</dt><dd>${facts.cloud.name}</dd></div><div><dt>Points</dt><dd class="num">${facts.cloud.points.toLocaleString('en-US')}</dd></div><div><dt>SHA-256</dt><dd class="hash">${facts.cloud.sha256.slice(0, 16)}…</dd></div><div><dt>Made by</dt><dd>${facts.tool}</dd></div></dl></div>
</header><main>
<div class="look${refused ? ' refused' : ''}"><p><strong>${facts.outcome}</strong></p>
<ul>${look.map((each) => html`<li>${each}</li>`)}</ul></div>
${facts.found.length === 0 ? null : html`<h2>Found from the picks</h2><div class="keep"><table><tbody>${facts.found.map(([what, found]) => html`<tr><th scope="row">${what}</th><td>${found}</td></tr>`)}</tbody></table></div>${facts.assumed.length === 0 ? null : html`<p><strong>Assumed:</strong> ${facts.assumed.join('; ')}.</p>`}`}
<h2>What was followed</h2>${flanges.map((flange) => scanFigures(scanView(flange, job), q))}${webs.map((web) => webFigures(web, q))}
${facts.setUp === null ? null : html`<h2>Set-up used</h2><p>As scan.json in the job folder it needs no picks next time.</p><pre>${facts.setUp}</pre>`}
<h2>Before this is acted on</h2>${cautionsBlock()}</main>
<footer class="page-foot">Points near the line only, thinned for drawing; what is imported rests on all of them.</footer>`;
  return page({
    title: `Preview of a scan: ${job.name}`,
    description: 'Plan, elevation and slices of scanned steel with what was fitted drawn on the points.',
    body,
    css: REPORT_CSS + SCAN_PREVIEW_CSS,
  });
}
