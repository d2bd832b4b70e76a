/** Styles of the daily and final reports, after the shared tokens. Plot colours live here as classes, so print and dark screens follow. */
export const REPORT_CSS = `
.defs { position: absolute; width: 0; height: 0; }
.page-head { padding-top: 1.5rem; }
.title-block { border: 1.5px solid var(--ink); display: grid; grid-template-columns: minmax(0, 1fr) auto; background: var(--paper); }
.title-block .job { padding: 0.7rem 1rem 0.8rem; min-width: 0; }
.title-block .sheet { padding: 0.7rem 1.1rem; border-left: 1.5px solid var(--ink); text-align: right; display: flex; flex-direction: column; justify-content: center; }
.title-block .sheet strong { font-family: var(--serif); font-size: 1.25rem; line-height: 1.15; }
.title-block dl { grid-column: 1 / -1; display: grid; grid-template-columns: repeat(auto-fit, minmax(9.5rem, 1fr)); border-top: 1.5px solid var(--ink); }
.title-block dl > div { padding: 0.35rem 1rem 0.45rem; border-right: 1px solid var(--rule); }
.title-block dl > div:last-child { border-right: 0; }
.title-block dd { font-size: 0.92rem; }
.verdict { margin: 1.6rem 0 0; display: grid; grid-template-columns: minmax(0, 1.25fr) minmax(0, 1fr); gap: 1.2rem 2.6rem; }
.verdict h2 { border: 0; padding: 0; margin: 0.1rem 0 0.4rem; font-size: clamp(2.1rem, 1.3rem + 3.4vw, 3.5rem); line-height: 1.04; letter-spacing: -0.022em; }
.verdict .reason { font-size: 1.06rem; }
.verdict-head { display: flex; gap: 0.9rem; align-items: flex-start; }
.verdict .mark { width: 2.6rem; height: 2.6rem; flex: none; margin-top: 0.3rem; }
.verdict .mark path { fill: none; stroke: var(--ink); stroke-width: 3.2; stroke-linecap: round; stroke-linejoin: round; }
.figures { display: grid; grid-template-columns: 1fr 1fr; border-top: 1.5px solid var(--ink); align-content: start; }
.figures > div { padding: 0.55rem 0.8rem 0.6rem 0; border-bottom: 1px solid var(--rule); }
.figures dd { font-size: 1.02rem; line-height: 1.3; }
.figures dd strong { font-size: 1.5rem; font-weight: 650; line-height: 1.15; display: block; font-variant-numeric: lining-nums; }
.next { grid-column: 1 / -1; border: 1.5px solid var(--ink); border-left-width: 8px; background: var(--tint); padding: 0.7rem 1.1rem 0.8rem; }
.next h3 { margin: 0 0 0.3rem; font-size: 1.05rem; }
.next ol { margin: 0; padding-left: 1.25rem; max-width: 56rem; }
.next li { margin: 0.2rem 0; }
h2 .small { font-family: var(--sans); font-weight: 400; font-size: 0.9rem; margin-left: 0.4rem; }
.narrow-words { display: none; }
figure { margin: 1.9rem 0 0; }
figcaption { font-size: 0.92rem; max-width: 46rem; margin-bottom: 0.35rem; }
.photos { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 11.5rem), 1fr)); gap: 0.9rem; }
.photos figure { margin: 0; }
.photos img { display: block; width: 100%; height: 9.5rem; object-fit: contain; object-position: left bottom; margin-bottom: 0.35rem; }
figcaption strong { font-family: var(--serif); font-size: 1.02rem; }
svg.plot { display: block; width: 100%; height: auto; overflow: visible; font-family: var(--sans); font-size: 12.5px; fill: var(--ink); }
svg.narrow { display: none; }
svg.plot text { stroke: none; }
.axis text { fill: var(--ink-2); font-size: 12px; font-variant-numeric: tabular-nums; }
.axis .axis-title, .axis-title { fill: var(--ink-2); font-size: 12px; font-weight: 600; }
.grid, .zero, .spine, .tick { fill: none; stroke: var(--rule); stroke-width: 0.8; }
.zero { stroke: var(--ink); stroke-width: 1; }
.spine, .tick { stroke: var(--ink); stroke-width: 1; }
.tolerance { fill: var(--band); }
.tolerance-edge { fill: none; stroke: var(--band-edge); stroke-width: 1.4; stroke-dasharray: 7 4; }
.zone rect { fill: url(#hatch-zone); stroke: none; }
.zone.elastic rect { fill: url(#hatch-elastic); }
.zone-edge { fill: none; stroke: var(--found); stroke-width: 0.8; stroke-opacity: 0.6; }
.zone text { font-weight: 700; font-size: 13px; fill: var(--found); }
.now, .now-edge { fill: none; stroke: var(--now); stroke-width: 2.4; stroke-linejoin: round; }
.now-edge { stroke-width: 1.8; }
.now-body { fill: var(--now); fill-opacity: 0.13; stroke: none; }
.now-bar { fill: none; stroke: var(--now); stroke-width: 1; }
.now-mark path { fill: var(--now); stroke: var(--paper); stroke-width: 0.8; }
.found, .found-edge { fill: none; stroke: var(--found); stroke-width: 1.9; stroke-dasharray: 6 4; stroke-linejoin: round; }
.found-edge { stroke-width: 1.5; }
.found-mark path { fill: var(--paper); stroke: var(--found); stroke-width: 1.2; }
.section .undamaged { fill: none; stroke: var(--history); stroke-width: 0.9; }
.section .was { fill: none; stroke: var(--found); stroke-width: 1.3; stroke-dasharray: 5 3; stroke-linejoin: round; }
.section .is { fill: var(--now); fill-opacity: 0.22; stroke: var(--now); stroke-width: 1.5; stroke-linejoin: round; }
.section .guess { fill: none; stroke-dasharray: 1 2.6; stroke-linecap: round; }
.history path { fill: none; stroke: var(--history); stroke-width: 0.8; stroke-opacity: 0.75; }
.restrained { fill: none; stroke: var(--ink); stroke-width: 1.4; stroke-dasharray: 1.5 3.5; stroke-linecap: round; }
.aside path { fill: none; stroke: var(--stop); stroke-width: 1.8; }
.baseline { fill: none; stroke: var(--ink); stroke-width: 1; stroke-dasharray: 16 4 3 4; }
.bearing { fill: var(--paper); stroke: var(--ink); stroke-width: 1.3; }
.vee { fill: var(--ink); fill-opacity: 0.28; stroke: var(--ink); stroke-width: 1; stroke-linejoin: round; }
.axis .strong { font-weight: 700; fill: var(--ink); }
.diaphragm { fill: none; stroke: var(--ink-2); stroke-width: 1.1; }
.impact { fill: var(--ink); stroke: var(--paper); stroke-width: 0.8; }
.direction path { fill: none; stroke: var(--ink); stroke-width: 1.3; }
.direction text { font-size: 12px; fill: var(--ink-2); }
.fan { fill: var(--now); fill-opacity: 0.13; stroke: var(--now); stroke-width: 0.8; stroke-dasharray: 2 3; }
.fan-middle { fill: none; stroke: var(--now); stroke-width: 1.8; stroke-dasharray: 3 4; }
.regime path { fill: none; stroke: var(--ink-2); stroke-width: 1; stroke-dasharray: 2 3; }
.regime text { font-size: 12px; fill: var(--ink-2); }
.series .line { fill: none; stroke: var(--ink); stroke-width: 1.7; }
.series .bar { fill: none; stroke: var(--ink-2); stroke-width: 0.9; }
.series .marks path { fill: var(--ink); stroke: var(--paper); stroke-width: 0.8; }
.d0 .line { stroke: var(--now); } .d0 .marks path { fill: var(--now); }
.d1 .line { stroke: var(--found); stroke-dasharray: 7 3; } .d1 .marks path { fill: var(--found); }
.d2 .line { stroke: var(--near); stroke-dasharray: 2 3; } .d2 .marks path { fill: var(--near); }
.d3 .line { stroke: var(--ink); stroke-dasharray: 9 3 2 3; }
.series-name { font-weight: 700; }
.closes { fill: var(--now); } .opens { fill: url(#hatch-opens); stroke: var(--found); stroke-width: 1.2; }
.bar-error { fill: none; stroke: var(--ink); stroke-width: 1.1; }
.gain { fill: none; stroke: var(--band-edge); stroke-width: 1.4; stroke-dasharray: 7 4; }
.gain-name { font-size: 12px; fill: var(--band-edge); font-weight: 600; }
.cell { stroke: var(--paper); stroke-width: 0.5; }
.pos0, .neg0 { fill: #f3f1ea; }
.pos1 { fill: #f6e3c6; } .pos2 { fill: #efc88f; } .pos3 { fill: #dfa257; } .pos4 { fill: #b8752b; } .pos5 { fill: #8a4f12; } .pos6 { fill: #5c3006; }
.neg1 { fill: #d6e4f2; } .neg2 { fill: #aecbe6; } .neg3 { fill: #7fa9d2; } .neg4 { fill: #4c80b5; } .neg5 { fill: #275c93; } .neg6 { fill: #0f3a68; }
.cell.flush { stroke: none; }
.unseen { fill: url(#hatch-zone); stroke: none; }
.contour { fill: none; stroke: #17212b; stroke-width: 0.7; stroke-opacity: 0.75; }
.contour-label { font-size: 10px; fill: #17212b; paint-order: stroke; stroke: #fff; stroke-width: 2.6px; }
.tolerance-line { fill: none; stroke: #17212b; stroke-width: 2; stroke-dasharray: 7 4; }
.yield-line { fill: none; stroke: #8a1f11; stroke-width: 2.2; stroke-dasharray: 1.5 4; stroke-linecap: round; }
.crease-line, .crease-halo { fill: none; stroke: #8a1f11; stroke-width: 3; stroke-dasharray: 11 3.5 2.5 3.5; }
.crease-halo { stroke: #fff; stroke-width: 5; stroke-dasharray: none; }
.crest, .crest-halo { fill: none; stroke: #17212b; stroke-width: 2; }
.crest-halo { stroke: #fff; stroke-width: 5; }
.cell-hatch { fill: url(#hatch-negative); }
.cell-numbers text { font-size: 10.5px; fill: #17212b; }
.cell-numbers .on-dark { fill: #fff; }
.ramp text { font-size: 11.5px; fill: var(--ink-2); }
.marks-ok { color: var(--near); } .marks-no { color: var(--stop); } .marks-open { color: var(--found); }
.result { font-weight: 700; white-space: nowrap; }
.result .glyph { display: inline-block; width: 1.25em; text-align: center; }
tr.worst th, tr.worst td { background: var(--tint); }
.reasons { font-size: 0.88rem; padding-left: 1.2rem; margin: 0.5rem 0 0; max-width: 52rem; color: var(--ink-2); }
p.wide { max-width: none; margin: 0.25rem 0 0; }
td.aside { text-decoration: line-through; color: var(--ink-2); }
.findings { list-style: none; padding: 0; margin: 0.6rem 0; max-width: 52rem; }
.findings li { display: grid; grid-template-columns: 5.4rem minmax(0, 1fr); gap: 0.8rem; padding: 0.45rem 0; border-bottom: 1px solid var(--rule); overflow-wrap: anywhere; }
.findings .sev { font-weight: 700; }
.findings .stop .sev { color: var(--paper); background: var(--stop); padding: 0 0.5rem; justify-self: start; align-self: start; }
.findings .caution .sev { border: 1.5px solid var(--ink); padding: 0 0.4rem; justify-self: start; align-self: start; }
.facts { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(20rem, 100%), 1fr)); gap: 0.4rem 2.4rem; align-items: start; }
.facts h3 { margin-top: 0.8rem; }
@media screen and (min-width: 46rem) { .facts .against { grid-column: 2; grid-row: 1 / span 2; } .facts { grid-template-rows: auto 1fr; } }
.facts ul, .facts ol { padding-left: 1.15rem; margin: 0.2rem 0; }
.facts li { margin: 0.3rem 0; }
.sign { display: grid; grid-template-columns: repeat(auto-fit, minmax(14rem, 1fr)); gap: 2.4rem 2.5rem; margin-top: 2rem; }
.sign div { border-top: 1.2px solid var(--ink); padding-top: 0.3rem; font-size: 0.85rem; color: var(--ink-2); margin-top: 2rem; }
.hash { font-family: ui-monospace, "Cascadia Mono", "DejaVu Sans Mono", "Liberation Mono", monospace; font-size: 0.78em; overflow-wrap: anywhere; white-space: normal; }
.explore { margin: 1.4rem 0 0; border-top: 1px solid var(--rule); padding-top: 0.9rem; }
:is(.explore, .section-explore) .controls { display: flex; flex-wrap: wrap; gap: 0.5rem 1.6rem; align-items: center; margin: 0.6rem 0; }
.explore fieldset { border: 0; padding: 0; margin: 0; display: flex; flex-wrap: wrap; gap: 0.2rem 1rem; align-items: center; }
.explore legend { float: left; margin-right: 0.8rem; padding: 0; font-weight: 600; }
:is(.explore, .section-explore) label { display: inline-flex; gap: 0.4rem; align-items: center; min-height: 2.75rem; }
:is(.explore, .section-explore) input[type=range] { width: min(22rem, 60vw); accent-color: var(--now); }
.explore input[type=checkbox] { width: 1.15rem; height: 1.15rem; accent-color: var(--now); }
:is(.explore, .section-explore) output { font-weight: 650; min-width: 5.5rem; }
.section-host svg.plot { display: block; width: min(26rem, 100%); }
.explore .plotly-host { min-height: 380px; }
.columns { display: grid; grid-template-columns: repeat(auto-fit, minmax(min(22rem, 100%), 1fr)); gap: 0.4rem 2.4rem; }
.columns > * { min-width: 0; }
.contents { columns: 3 12rem; padding: 0; margin: 1.2rem 0 0; list-style: none; font-size: 0.92rem; }
/* Long records are laid out when they come into view; a table itself cannot be contained, its block can. */
@media screen { section.line ~ section.line { content-visibility: auto; contain-intrinsic-size: auto 4200px; } }
@media screen { .record .scroll { content-visibility: auto; contain-intrinsic-size: auto 2400px; } }
@media screen and (max-width: 46rem) {
  .title-block, .verdict { grid-template-columns: minmax(0, 1fr); }
  .title-block .sheet { text-align: left; border-left: 0; border-top: 1px solid var(--rule); padding: 0.5rem 1rem; }
  .title-block dl { grid-template-columns: 1fr 1fr; }
  .findings li { grid-template-columns: minmax(0, 1fr); gap: 0.1rem; }
  svg.wide, .wide-words { display: none; } svg.narrow { display: block; } .narrow-words { display: inline; }
  .columns { grid-template-columns: minmax(0, 1fr); }
  td.why { min-width: 17rem; }
  .acceptance th, .acceptance td { padding-right: 0.35rem; white-space: normal; }
  .acceptance td.why { padding-left: 0.35rem; }
}
@media print {
  .hash { font-size: 6pt; white-space: nowrap; }
  p .hash { white-space: normal; }
  .page-head { padding-top: 0; }
  .title-block dl { grid-template-columns: repeat(4, 1fr); }
  .verdict { margin-top: 10pt; gap: 8pt 20pt; grid-template-columns: 1.25fr 1fr; }
  .verdict h2 { font-size: 26pt; }
  .figures dd strong { font-size: 14pt; }
  .figures dd, .verdict .reason { font-size: 9.5pt; }
  figure { margin-top: 9pt; }
  .photos { grid-template-columns: repeat(4, 1fr); gap: 6pt; }
  .photos img { height: 95pt; }
  .columns { grid-template-columns: 1fr 1fr; gap: 0 16pt; }
  /* Side by side they ran over what follows where a page ends among them. */
  .facts { display: block; }
  .sign { break-inside: avoid; grid-template-columns: repeat(2, 1fr); }
  .verdict, .title-block, .next, .findings li, .facts li, .line > h2 + p { break-inside: avoid; }
  .findings, .findings li:first-child { break-before: avoid; }
}
`;

/** Hatchings used by the plots: direction and density carry what colour carries on screen. */
export const HATCHES = `<svg class="defs" aria-hidden="true" focusable="false"><defs>
<pattern id="hatch-zone" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="7" height="7" fill="#e9d9bd" fill-opacity=".38"/><path d="M0 0V7" stroke="#9a5200" stroke-width="1" stroke-opacity=".5"/></pattern>
<pattern id="hatch-elastic" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V9" stroke="#4b5661" stroke-width=".7" stroke-opacity=".4"/></pattern>
<pattern id="hatch-opens" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="6" height="6" fill="#fdfcf8"/><path d="M0 0V6" stroke="#9a5200" stroke-width="2.4"/></pattern>
<pattern id="hatch-negative" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)"><path d="M0 0V6" stroke="#17212b" stroke-width=".8" stroke-opacity=".5"/></pattern>
</defs></svg>`;

/** Foot of every printed page: which job and sheet a loose leaf belongs to. */
export function pageFootCss(job: string, sheet: string): string {
  return `@media print { @page { @bottom-left { content: ${cssString(`${shorten(job, 80)}: ${sheet}`)}; } } }\n`;
}

function shorten(text: string, most: number): string {
  return [...text].length > most ? `${[...text].slice(0, most - 1).join('')}…` : text;
}

/** A CSS string that cannot end early: every character but plain letters, digits and spaces is written as its code. */
function cssString(text: string): string {
  return `"${text.replace(/[^A-Za-z0-9 ]/gu, (c) => `\\${c.codePointAt(0)!.toString(16)} `)}"`;
}
