import { cautionsBlock } from '../report/cautions.ts';
import { type Html, html } from '../report/html.ts';

/** What the page holds before its script fills it: every region, so that headings and landmarks never move. */
export function skeleton(): Html {
  return html`<a class="skip" href="#work">Skip to the readings</a>
<header class="bar" id="bar">
<div class="bar-job"><h1 id="job-name">Sweepbook readings</h1><p class="bar-facts" id="bar-facts">Key in the day’s readings, see the answer. Nothing leaves this device.</p></div>
<div class="bar-tools"><p class="saved" id="saved" role="status"></p><button type="button" id="theme" class="quiet" aria-label="Auto brightness, as the device">Auto</button></div>
</header>
<div class="notices" id="notices" role="alert"></div>
<noscript><p class="notice stop">This page needs its own script to run. Allow scripts for it, or key the readings into a CSV and use the command line.</p></noscript>
<nav class="views" id="views" aria-label="Parts of the page" hidden>
</nav>
<main id="work" tabindex="-1">
${startSection()}
<section id="entry" class="view entry" aria-label="Readings" hidden>
<div class="entry-top">
<div class="choices" id="choices"></div>
<button type="button" class="strip" id="strip"><span class="visually-hidden">Show the answer: </span><span id="strip-verdict"></span><span id="strip-figure"></span><span id="strip-old" hidden>from before the last keys</span></button>
<p class="visually-hidden" id="verdict-say" role="status"></p>
</div>
<fieldset class="segments courses" id="courses" hidden></fieldset>
<div class="list-head" id="list-head" aria-hidden="true"></div>
<div class="list" id="list-scroll" role="region" aria-label="Stations" tabindex="0">
<ol class="rows" id="rows"></ol>
<div class="list-foot" id="list-foot"></div>
</div>
<div class="pad" id="pad" hidden>
<p class="at" id="at"></p>
<div id="keys"></div>
<div class="moves" role="group" aria-label="Move and change">
<button type="button" id="undo">Undo</button><button type="button" id="redo">Redo</button><button type="button" id="again">Read again</button><button type="button" id="up">Back</button><button type="button" id="next" class="main">Next</button>
</div>
</div>
<p class="visually-hidden" id="say" role="status" aria-live="polite"></p>
</section>
<section id="answer" class="view answer" aria-label="Today" hidden><p class="label" id="answer-state"></p><div id="answer-body"></div></section>
<section id="out" class="view out" aria-label="Papers" hidden></section>
</main>
<dialog id="sheet-dialog" aria-labelledby="sheet-title"><form method="dialog" id="sheet-form"></form></dialog>`;
}

function startSection(): Html {
  return html`<section id="start" class="view start" aria-label="Open or start a job" hidden>
<div id="stored"></div>
<div id="stored-aside"></div>
<h2>Open a job</h2>
<p>Take the job folder, its files, or a whole-job file this page wrote. They can also be dropped anywhere on the page.</p>
<p class="actions"><label class="file-button">Choose files<input type="file" id="pick-files" multiple accept=".json,.csv,.jsonl"></label><label class="file-button">Choose a folder<input type="file" id="pick-folder" webkitdirectory multiple></label><button type="button" id="open-folder" hidden>Open its folder to read and write</button></p>
<h2>Start a job</h2>
<form id="new-job" novalidate></form>
<details><summary><h2>Practise first</h2></summary><form id="new-practice" novalidate></form></details>
<section aria-labelledby="start-cautions"><h2 id="start-cautions">Cautions</h2>${cautionsBlock()}</section>
</section>`;
}
