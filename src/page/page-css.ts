import { REPORT_CSS } from '../report/report-css.ts';

const DARK = `
  --paper: #12171b; --tint: #1b2228; --tint-2: #28323a; --rule: #45515b; --ink: #f3f1e8; --ink-2: #b4bec6;
  --now: #8cc0ff; --found: #f2b066; --near: #6ad3bd; --stop: #ff9a91; --history: #7d8790; --band: #16352f; --band-edge: #6ad3bd;
  --pos: #f2b066; --neg: #8cc0ff; --zone: #4a3a1f; --key: #2a343d; --key-2: #36424c; --on-now: #0c1a2b; --on-stop: #2a0705;
  color-scheme: dark;`;

/**
 * Styles of the readings page, after the tokens and plot styles of the reports. Made for a tablet on a lift: keys for
 * gloved thumbs, the list as a page of a field book with the girder drawn down its margin.
 */
export const PAGE_CSS = `${REPORT_CSS}
:root { --key: #e9e4d6; --key-2: #d8d1be; --on-now: #ffffff; --on-stop: #ffffff; }
:root[data-brightness="bright"] { --paper: #ffffff; --tint: #f2f2f0; --tint-2: #e2e2de; --rule: #8d8d88; --ink: #000000; --ink-2: #2c3238; --found: #7a3f00; --key: #e4e4e0; --key-2: #cfcfca; }
@media screen { :root[data-brightness="dark"] {${DARK} } }
@media screen and (prefers-color-scheme: dark) { :root[data-brightness="auto"] {${DARK} } }
html { scroll-padding: 4rem; }
body { min-height: 100dvh; }
[hidden] { display: none !important; }
main { width: 100%; max-width: 46rem; padding: 0 1rem; }
main:focus { outline: none; }
.bar { display: flex; gap: 0.75rem; align-items: center; justify-content: space-between; padding: 0.45rem 1rem; border-bottom: 3px double var(--ink); background: var(--paper); }
.bar-job { min-width: 0; }
.bar h1 { font-size: 1.12rem; line-height: 1.2; display: -webkit-box; -webkit-box-orient: vertical; -webkit-line-clamp: 2; overflow: hidden; }
.bar-facts { margin: 0; font-size: 0.85rem; color: var(--ink-2); }
.bar-tools { display: flex; gap: 0.6rem; align-items: center; flex: none; }
.saved { margin: 0; font-size: 0.82rem; line-height: 1.15; text-align: right; max-width: 6.4rem; color: var(--ink-2); }
.saved[data-state="saved"]::before { content: "\\2713 "; font-weight: 700; color: var(--near); }
.saved[data-state="not-saved"] { background: var(--stop); color: var(--on-stop); font-weight: 700; padding: 0.2rem 0.45rem; }
button.quiet { border-color: var(--rule); padding: 0.2rem 0.6rem; font-size: 0.85rem; }
button:disabled { color: var(--ink-2); border-color: var(--rule); opacity: 0.7; cursor: default; }
button.main { background: var(--ink); color: var(--paper); border-color: var(--ink); font-weight: 650; }
.notices { max-width: 70rem; margin: 0 auto; width: 100%; }
.notice { display: flex; flex-wrap: wrap; gap: 0.4rem 1rem; align-items: start; justify-content: space-between; padding: 0.5rem 1rem; border-left: 8px solid var(--ink-2); background: var(--tint); border-bottom: 1px solid var(--rule); overflow-wrap: anywhere; }
.notice > span { flex: 1 1 14rem; min-width: 0; }
.notice > button { flex: none; }
.notice > .actions { flex: 1 0 100%; margin: 0 0 0.3rem; overflow-wrap: normal; }
.notice.caution { border-left-color: var(--found); }
.notice.stop { border-left-color: var(--stop); }
.notice ul { margin: 0.3rem 0; padding-left: 1.1rem; max-height: 40vh; overflow: auto; font-size: 0.9rem; }
.views { display: grid; grid-auto-flow: column; grid-auto-columns: minmax(0, 1fr); border-bottom: 1.5px solid var(--ink); }
.views button { border: 0; border-radius: 0; background: var(--paper); min-height: 2.9rem; padding: 0.2rem; font-weight: 600; color: var(--ink-2); }
.views button + button { border-left: 1px solid var(--rule); }
.views button[aria-pressed="true"] { color: var(--ink); box-shadow: inset 0 -5px 0 var(--ink); }
.actions { display: flex; flex-wrap: wrap; gap: 0.6rem; max-width: none; }
.file-button { position: relative; display: inline-flex; align-items: center; min-height: 2.75rem; padding: 0.4rem 0.9rem; border: 1.5px solid var(--ink); border-radius: 3px; cursor: pointer; overflow: hidden; }
.file-button:hover { background: var(--tint-2); }
.file-button input { position: absolute; inset: 0; opacity: 0; cursor: pointer; font-size: 0; }
.file-button:focus-within { outline: 3px solid var(--now); outline-offset: 2px; }
.problem { color: var(--stop); font-weight: 600; }
.problem:empty { display: none; }
input, select { background: var(--paper); border: 1.5px solid var(--ink); border-radius: 2px; min-height: 2.75rem; padding: 0.3rem 0.6rem; width: 100%; }
input[type="radio"] { width: 1.2rem; min-height: 1.2rem; accent-color: var(--ink); }
::placeholder { color: var(--ink-2); opacity: 0.75; font-style: italic; }
.field label, .field legend { display: block; font-weight: 600; font-size: 0.92rem; margin-bottom: 0.15rem; padding: 0; }
fieldset.field { border: 0; padding: 0; margin: 0.5rem 0; }
fieldset.field label { display: inline-flex; gap: 0.4rem; align-items: center; font-weight: 400; min-height: 2.75rem; margin-right: 1rem; }
.fields { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(17rem, 100%), 1fr)); gap: 0 1.5rem; align-items: end; }
.field small { display: block; color: var(--ink-2); font-size: 0.85rem; line-height: 1.3; margin-top: 0.15rem; }
.room .fields { align-items: start; }
.room .fields > * { margin-bottom: 0.7rem; }
.field select { max-width: 100%; }
.view summary { min-height: 2.75rem; display: flex; gap: 0.6rem; align-items: center; cursor: pointer; }
.view summary::before { content: "+"; width: 1.2rem; font-weight: 700; }
.view [open] > summary::before { content: "\\2212"; }
.job-group > summary { font-family: var(--serif); font-weight: 700; font-size: 1.15rem; border-top: 1.5px solid var(--ink); }
.job-group { padding-bottom: 0.6rem; }
fieldset.group { border: 0; border-left: 3px solid var(--rule); padding: 0 0 0 0.9rem; margin: 0.6rem 0 1rem; grid-column: 1 / -1; min-width: 0; }
fieldset.group > legend { font-weight: 700; padding: 0; }
.job-group > .fields > [data-id] { grid-column: 1 / -1; }
.job-group > .fields > .field { grid-column: auto; }
.entry-row { border-bottom: 1px solid var(--rule); padding: 0.2rem 0; }
.entry-row > fieldset.group > legend { display: none; }
fieldset.pair { display: grid; grid-template-columns: 1fr auto 1fr; gap: 0.4rem; align-items: center; }
fieldset.pair > legend, fieldset.pair > small, fieldset.pair > .problem { grid-column: 1 / -1; }
.one-of .inside { border-left: 3px solid var(--rule); padding-left: 0.9rem; }
.send { position: sticky; bottom: -3rem; background: var(--paper); border-top: 1.5px solid var(--ink); padding: 0.4rem 0 2.4rem; margin-top: 1rem; }
input.short { max-width: 16rem; }
[aria-invalid="true"] { border-color: var(--stop); border-width: 2.5px; }
.mark-rows { max-height: 50dvh; overflow: auto; border: 1px solid var(--rule); }
.tick { width: 1.6rem; min-height: 1.6rem; accent-color: var(--ink); }
td:has(> .tick) { padding: 0.6rem; }
.big-keys { display: flex; flex-wrap: wrap; gap: 0.4rem; grid-column: 1 / -1; }
fieldset.field.big-keys label.segment { display: grid; flex: 0 1 auto; margin: 0; border: 1.5px solid var(--ink); border-radius: 3px; }
.big-keys .segment span { min-height: 2.75rem; }
.field.with-key { display: grid; grid-template-columns: minmax(0, 1fr) auto; column-gap: 0.4rem; }
.field.with-key label { grid-column: 1 / -1; }
.field.with-key button { min-width: 4.5rem; font-weight: 650; }
input.keyed { outline: 3px solid var(--now); }
.handouts li > .photo { flex: 1 0 100%; }
.photo img { max-width: 100%; max-height: 70dvh; }
.log-pad { z-index: 1; background: var(--tint); border: 1.5px solid var(--ink); border-width: 3px 0 1.5px; padding: 0.3rem 0.45rem; margin: 0.6rem 0; max-width: 40rem; }
@media (pointer: coarse) { .log-pad { position: sticky; bottom: -3rem; padding-bottom: 0.6rem; } }
.log-pad p { display: flex; justify-content: space-between; align-items: center; margin: 0 0 0.3rem; max-width: none; }
.room details > summary { min-height: 2.75rem; display: flex; align-items: center; cursor: pointer; font-weight: 600; }
.log-rows { overflow-x: auto; }
.start { padding-bottom: 3rem; }
.start > h2:first-of-type { margin-top: 1.4rem; }
.handouts { list-style: none; padding: 0; margin: 0.5rem 0 1.5rem; border-top: 1.5px solid var(--ink); }
.handouts li { display: flex; flex-wrap: wrap; gap: 0.3rem 1.5rem; justify-content: space-between; align-items: center; padding: 0.6rem 0; border-bottom: 1px solid var(--rule); }
.handouts li > div { flex: 1 1 11rem; min-width: 0; overflow-wrap: anywhere; }
.handouts h3 { margin: 0; }
.handouts p { margin: 0.1rem 0; }
.held { padding-left: 1.1rem; margin: 0.3rem 0; }
.held li { overflow-wrap: anywhere; }

body.working { height: 100dvh; display: flex; flex-direction: column; overflow: hidden; }
body.working .notices { max-height: 20dvh; overflow: auto; flex: none; }
body.working .notices:has([data-merge], [data-choose]) { max-height: 60dvh; }
body.working main { flex: 1; min-height: 0; max-width: none; padding: 0; margin: 0; display: grid; grid-template-columns: minmax(0, 1fr); }
.view.answer, .view.out, .view.room { position: relative; overflow-y: auto; padding: 0.8rem 1rem 3rem; min-height: 0; }
.view.answer > *, .view.out > *, .view.room > * { max-width: 62rem; }
.answer h2 { margin-top: 1.8rem; }
#answer-state { margin: 0 0 0.5rem; }
.answer .verdict-words { border: 0; padding: 0; margin: 0.1rem 0 0.4rem; font-size: clamp(2rem, 1.4rem + 2.4vw, 3rem); line-height: 1.05; letter-spacing: -0.02em; }
.answer .reason { font-size: 1.06rem; }
.answer .figures dd { line-height: 1.35; }
#hatch-zone rect { fill: var(--zone); fill-opacity: 0.55; } #hatch-zone path { stroke: var(--found); } #hatch-opens rect { fill: var(--paper); }
#answer-body > .findings { border-top: 3px solid var(--stop); }
.section-choice { display: flex; flex-wrap: wrap; gap: 0.2rem 0.8rem; align-items: center; }
.section-choice label, .section-choice output { font-weight: 650; }
.section-choice input { flex: 1 1 14rem; max-width: 26rem; padding: 0; border: 0; accent-color: var(--now); }
.section-choice output { flex-basis: 9rem; }
.unsettled { border: 1.5px solid var(--ink); border-left-width: 8px; background: var(--tint); padding: 0.6rem 1rem; }
.unsettled h2 { border: 0; padding: 0; margin: 0 0 0.3rem; font-size: 1.6rem; }
.peak path { fill: none; stroke: var(--now); stroke-width: 1.6; }
iframe.paper { display: block; width: 100%; height: min(80vh, 70rem); border: 1.5px solid var(--ink); background: #fff; }
#papers pre.paper[data-kind="verify"], #papers pre.paper[data-kind="status"] { white-space: pre-wrap; overflow-wrap: anywhere; }
.out code { overflow-wrap: anywhere; }
pre.paper.wrap { white-space: pre-wrap; overflow-wrap: anywhere; }
.check { display: inline-flex; gap: 0.6rem; align-items: center; min-height: 2.75rem; }
.start summary h2 { margin: 0; border: 0; padding: 0; }
pre.paper { overflow-x: auto; white-space: pre; padding: 0.8rem; border: 1px solid var(--rule); font-size: 0.85rem; line-height: 1.4; }
.part > h2:first-of-type { margin-top: 0; border: 0; padding: 0; }
.part + .part { margin-top: 2rem; border-top: 1.5px solid var(--ink); padding-top: 1rem; }

.entry { display: flex; flex-direction: column; min-height: 0; min-width: 0; }
.entry-top { border-bottom: 1px solid var(--rule); flex: none; }
.choices { display: flex; flex-wrap: wrap; gap: 0.4rem 0.6rem; padding: 0.45rem 0.7rem; align-items: stretch; }
.choices .cycle { min-height: 2.75rem; padding: 0.15rem 0.7rem; display: inline-flex; gap: 0.35rem; align-items: baseline; white-space: nowrap; }
.choices .cycle strong { font-size: 1.35rem; font-family: var(--serif); line-height: 2.2rem; }
.cycle-date { font-size: 0.85rem; color: var(--ink-2); }
.segments { display: flex; border: 1.5px solid var(--ink); border-radius: 3px; padding: 0; margin: 0; min-width: 0; overflow: hidden; }
.segments.lines { flex: 1 1 14rem; overflow-x: auto; }
.segment { position: relative; flex: 1; display: grid; }
.segment + .segment { border-left: 1.5px solid var(--ink); }
.segment input { position: absolute; inset: 0; opacity: 0; width: 100%; height: 100%; cursor: pointer; margin: 0; }
.segment span { display: grid; place-items: center; min-height: 2.75rem; padding: 0.1rem 0.75rem; font-size: 0.92rem; font-weight: 600; white-space: nowrap; }
.segment input:checked + span { background: var(--ink); color: var(--paper); }
.segment input:focus-visible + span { outline: 3px solid var(--now); outline-offset: -3px; }
.segments.courses { border-width: 0 0 1px; flex: none; border-radius: 0; overflow-x: auto; scrollbar-width: thin; position: relative; }
.courses .segment { flex: 1 0 auto; }
.courses .segment span { padding: 0.1rem 0.6rem; min-height: 2.75rem; align-content: center; line-height: 1.15; }
.courses .segment small { font-weight: 400; font-size: 0.74rem; }
.courses .done small::before { content: "\\2713 "; }
.courses .done:not(:has(:checked)) span { color: var(--ink-2); }
.stations-form .break { flex: 1 0 100%; }
.strip { display: flex; gap: 0.2rem 0.8rem; flex-wrap: wrap; align-items: baseline; justify-content: space-between; width: 100%; text-align: left; border: 0; border-top: 1px solid var(--rule); border-left: 8px solid var(--ink); border-radius: 0; background: var(--tint); padding: 0.35rem 0.7rem; min-height: 2.75rem; }
.strip[data-verdict="within-tolerance"], .strip[data-verdict="progressing"] { border-left-color: var(--near); }
.strip[data-verdict="regressing"], .strip[data-verdict="overcorrected"] { border-left-color: var(--stop); }
.strip[data-verdict="stalled"], .strip[data-verdict="slow"] { border-left-color: var(--found); }
#strip-verdict { font-family: var(--serif); font-weight: 700; font-size: 1.1rem; }
.strip[data-old] { border-left-style: dotted; background: var(--paper); }
.strip[data-old] #strip-verdict { font-weight: 400; font-style: italic; }
#strip-old { font-size: 0.82rem; color: var(--ink-2); font-style: italic; }
.answer[data-old] #answer-state { outline: 1.5px dashed var(--ink); outline-offset: 0.25rem; color: var(--ink); }
#strip-figure { font-size: 0.92rem; font-variant-numeric: lining-nums; }
.list-head, .row { display: grid; grid-template-columns: 1.9rem 5rem minmax(3.2rem, 0.8fr) minmax(6.2rem, 1.5fr) 3.9rem; column-gap: 0.5rem; align-items: center; padding-right: 0.7rem; }
.list-head { font-size: 0.74rem; font-weight: 600; letter-spacing: 0.03em; color: var(--ink-2); border-bottom: 1.5px solid var(--ink); padding-top: 0.2rem; padding-bottom: 0.15rem; flex: none; }
.list-head span:nth-child(3), .list-head span:nth-child(5) { text-align: right; }
.list { flex: 1; min-height: 3.1rem; overflow-y: auto; overscroll-behavior: contain; }
.rows { list-style: none; margin: 0; padding: 0; }
.row { min-height: 3.3rem; border-bottom: 1px solid var(--rule); scroll-margin: 3.4rem 0; cursor: pointer; }
.rail { align-self: stretch; position: relative; display: grid; place-items: center; border-right: 1.5px solid var(--ink); background: var(--paper); }
.rail svg { width: 1.25rem; height: 1.25rem; }
.rail .solid { fill: var(--ink); }
.rail .stroke { fill: none; stroke: var(--ink); stroke-width: 1.8; }
.in-zone .rail { background: var(--zone); }
.in-zone .rail::after { content: attr(data-zone); }
.stn { font-size: 1.06rem; font-weight: 600; }
.tag { font-size: 0.68rem; font-weight: 700; letter-spacing: 0.05em; text-transform: uppercase; color: var(--found); }
.was { color: var(--ink-2); text-align: right; white-space: normal; font-size: 1.06rem; }
.fields:not(form .fields) { gap: 0.3rem; }
.row .fields { display: flex; flex-wrap: wrap; gap: 0.3rem; padding: 0.25rem 0; }
.field-now { flex: 1 1 5.6rem; min-width: 0; font-size: 1.22rem; font-weight: 650; text-align: right; min-height: 2.8rem; border-color: var(--rule); background: transparent; font-variant-numeric: tabular-nums lining-nums; }
.field-now:not([value=""]) { border-color: var(--ink-2); }
.row.active { background: var(--tint); }
.row.active .field-now:focus, .row.active .field-now { border-color: var(--now); }
.field-now:focus { outline: 3px solid var(--now); outline-offset: 0; background: var(--paper); }
.field-now[aria-invalid="true"] { border-color: var(--stop); border-width: 2.5px; }
.change { text-align: right; font-size: 0.95rem; color: var(--ink-2); }
.row .flag { grid-column: 2 / -1; margin: 0 0 0.4rem; padding: 0.1rem 0 0.1rem 0.6rem; border-left: 5px solid var(--stop); font-size: 0.92rem; line-height: 1.35; max-width: none; }
.row.flagged .flag::before { content: "Look again. "; font-weight: 700; color: var(--stop); }
.list-foot { padding: 0.8rem 0.9rem 1.2rem; }
.stations-form { display: flex; flex-wrap: wrap; gap: 0.5rem; align-items: end; margin: 0.4rem 0; }
.stations-form .field { flex: 1 1 6rem; margin: 0; max-width: 14rem; }
.facts-form { border: 0; border-top: 1px solid var(--rule); margin: 1.2rem 0 0; padding: 0.4rem 0 0; display: grid; grid-template-columns: 1fr 1fr; gap: 0 0.8rem; min-width: 0; }
.facts-form legend { font-family: var(--serif); font-weight: 700; padding: 0 0.5rem 0 0; }
.facts-form .wide { grid-column: 1 / -1; }
.pad { flex: none; border-top: 3px double var(--ink); background: var(--tint); padding: 0.3rem 0.45rem max(0.45rem, env(safe-area-inset-bottom)); }
.at { margin: 0 0.2rem 0.25rem; font-size: 0.88rem; color: var(--ink-2); display: flex; flex-wrap: wrap; gap: 0 0.7rem; align-items: baseline; max-width: none; min-height: 1.5rem; }
.at strong { color: var(--ink); font-size: 1.05rem; }
.survey-flag { color: var(--ink); border-left: 5px solid var(--stop); padding-left: 0.5rem; max-height: 4.2em; overflow: auto; }
.keys { gap: 0.35rem; }
.keys.inches { display: grid; grid-template-columns: 3fr 4fr; gap: 0.35rem 0.6rem; }
.digits, .tape { display: grid; gap: 0.35rem; grid-template-columns: repeat(3, minmax(0, 1fr)); grid-auto-rows: minmax(0, 1fr); }
.tape { grid-template-columns: repeat(4, minmax(0, 1fr)); }
.keys.metric { display: grid; grid-template-columns: repeat(4, minmax(0, 1fr)); }
.keys.metric .wide { grid-column: span 3; }
.key { min-height: clamp(2.75rem, 6.3dvh, 4.2rem); padding: 0; background: var(--key); border: 1px solid var(--rule); border-bottom: 2.5px solid var(--ink-2); border-radius: 5px; font-size: 1.4rem; font-weight: 600; font-variant-numeric: lining-nums; touch-action: manipulation; user-select: none; -webkit-user-select: none; }
.key.other { background: var(--paper); font-size: 1.15rem; }
.key:hover { background: var(--key-2); }
.key:active { background: var(--ink); color: var(--paper); }
.tape-key { position: relative; font-size: 1.05rem; background: var(--paper); display: grid; place-items: center; padding-top: 0.55rem; line-height: 1; }
.tape-key::before { content: ""; position: absolute; top: 0; left: 50%; width: 2px; margin-left: -1px; height: 0.28rem; background: var(--ink); }
.tape-key.t8::before { height: 0.38rem; } .tape-key.t4::before { height: 0.48rem; width: 2.5px; } .tape-key.t2::before { height: 0.58rem; width: 3px; } .tape-key.t1::before { height: 0; }
.tape-key.t2, .tape-key.t4 { background: var(--key); font-weight: 700; }
.tape-key.t1 { padding-top: 0; font-size: 0.85rem; }
.fraction { display: inline-grid; justify-items: center; line-height: 1; font-size: 0.95em; }
.fraction .over { display: block; width: 1.35rem; font-size: 0; height: 1.5px; background: currentColor; margin: 0.12rem 0; }
.key.other .fraction .over { width: 1rem; }
.key.other .fraction { font-size: 0.75em; display: inline-grid; vertical-align: middle; }
.moves { display: grid; grid-template-columns: 1fr 1fr 1.25fr 1fr 2fr; gap: 0.35rem; margin-top: 0.4rem; }
.moves button { padding: 0.1rem 0.2rem; min-height: clamp(2.9rem, 6.5dvh, 4.2rem); font-size: 0.95rem; line-height: 1.1; touch-action: manipulation; }
.moves .main { font-size: 1.25rem; }
dialog { background: var(--paper); color: var(--ink); border: 1.5px solid var(--ink); border-radius: 3px; max-width: 30rem; width: calc(100vw - 2rem); padding: 1rem 1.2rem; }
dialog::backdrop { background: rgb(0 0 0 / 55%); }
dialog h2 { margin: 0 0 0.4rem; border: 0; padding: 0; }

@media (max-width: 34rem) {
  /* A rule a block, its result in sight: the wide table would hide it past the edge. */
  .answer table.acceptance thead { position: absolute; clip-path: inset(50%); }
  .answer table.acceptance :is(tbody, tr, th, td) { display: block; border: 0; padding: 0; text-align: left; }
  .answer table.acceptance tr { border-bottom: 1px solid var(--rule); padding: 0.5rem 0; }
  .answer table.acceptance td.n { display: inline-block; margin-right: 1rem; }
  .answer table.acceptance td:nth-child(3)::before { content: "Limit "; } .answer table.acceptance td:nth-child(4)::before { content: "Measured "; }
  .answer table.acceptance td br { display: none; }
  .bar { padding: 0.2rem 0.6rem; border-bottom-width: 1.5px; border-bottom-style: solid; }
  .bar h1 { font-size: 0.98rem; -webkit-line-clamp: 1; }
  .bar-facts { font-size: 0.8rem; line-height: 1.25; }
  .saved { font-size: 0.76rem; max-width: 5.4rem; }
  .views { grid-auto-columns: auto; }
  .views button { min-height: 2.75rem; min-width: 2.75rem; font-size: 0.88rem; padding: 0.2rem 0.1rem; }
  .choices { padding: 0.3rem 0.5rem; gap: 0.3rem 0.4rem; }
  .choices .cycle { padding: 0 0.5rem; }
  .segments.lines { order: 3; flex: 1 1 100%; }
  .segments:not(.lines):not(.courses) { flex: 1 1 auto; }
  .strip { padding: 0.1rem 0.6rem; flex-wrap: nowrap; gap: 0.6rem; align-items: center; }
  #strip-verdict { font-size: 0.98rem; line-height: 1.15; }
  .strip[data-old] { border-left-style: dotted; background: var(--paper); }
.strip[data-old] #strip-verdict { font-weight: 400; font-style: italic; }
#strip-old { font-size: 0.82rem; color: var(--ink-2); font-style: italic; }
.answer[data-old] #answer-state { outline: 1.5px dashed var(--ink); outline-offset: 0.25rem; color: var(--ink); }
#strip-figure { font-size: 0.84rem; text-align: right; line-height: 1.15; }
  .list-head, .row { grid-template-columns: 1.6rem 4.3rem minmax(3rem, 0.8fr) minmax(5.6rem, 1.4fr) 3.1rem; column-gap: 0.4rem; padding-right: 0.5rem; }
  .row { min-height: 3rem; }
  .row .fields { padding: 0.12rem 0; }
  .field-now { min-height: 2.75rem; }
  .stn, .was { font-size: 1rem; }
  .change { font-size: 0.88rem; }
  .cycle-date { display: none; }
  .segment span { padding: 0.1rem 0.5rem; }
  .pad { padding-top: 0.25rem; }
  .at { font-size: 0.82rem; min-height: 1.2rem; margin-bottom: 0.1rem; line-height: 1.25; }
  .at strong { font-size: 0.95rem; }
  .key { min-height: clamp(2.75rem, 5.5dvh, 4rem); }
  .keys.inches { gap: 0.3rem 0.45rem; } .digits, .tape, .keys.metric { gap: 0.28rem; }
  .moves { margin-top: 0.3rem; gap: 0.28rem; }
  .moves button { min-height: clamp(2.75rem, 6dvh, 4rem); font-size: 0.9rem; }
}
/* A phone or a low window on its side: keys beside the list. */
@media (max-height: 34rem) and (min-width: 40rem) {
  .entry { display: grid; grid-template-columns: minmax(0, 1fr) minmax(20rem, 0.9fr); grid-template-rows: auto auto minmax(0, 1fr); }
  .entry-top { grid-column: 1 / -1; } .list-head { grid-column: 1; } .list { grid-column: 1; }
  .pad { grid-column: 2; grid-row: 2 / -1; overflow: auto; border-top: 0; border-left: 1.5px solid var(--ink); }
  .key { min-height: 2.75rem; }
}
@media (min-width: 68rem) {
  body.working main { grid-template-columns: minmax(27rem, 33rem) minmax(0, 1fr); }
  body.working .entry { border-right: 1.5px solid var(--ink); }
  .views { display: flex; }
  .views button { padding: 0.2rem 1.6rem; }
  .views [data-view="answer"], .strip { display: none; }
  .choices { padding: 0.4rem 0.6rem; }
  .segments.lines { order: 3; flex: 1 1 100%; }
  .segments:not(.lines):not(.courses) { flex: 1; }
  .key { min-height: clamp(2.75rem, 5dvh, 3.6rem); }
  .moves button { min-height: clamp(2.75rem, 5.4dvh, 3.6rem); }
  .view.answer, .view.out, .view.room { padding: 1.2rem 2.2rem 3rem; }
}
@media print {
  body.working, body.working main { display: block; height: auto; overflow: visible; }
  .entry, .views, .bar-tools, .notices, .actions, .file-button, .log-form { display: none !important; }
  .view.answer, .view.out, .view.room { overflow: visible; padding: 0; }
  .view.room .scroll { overflow: visible; max-height: none; }
}
`;
