/**
 * The look shared by every page: a printed engineering document. System fonts, ink on paper, thin rules.
 * Colour is always a second carrier: line weight, dashes, markers and hatching say the same in greyscale.
 * The blue / ochre / teal set keeps its order of lightness, so it survives greyscale and the common colour-vision deficiencies.
 */
export const TOKENS = `
:root {
  --paper: #fdfcf8; --tint: #f4f1e8; --tint-2: #e9e4d6; --rule: #cfc9ba; --ink: #17212b; --ink-2: #4b5661;
  --now: #0b4a8f; --found: #9a5200; --near: #0e6b5c; --stop: #9c1f1f; --history: #8a929a; --band: #d9ebe6; --band-edge: #0e6b5c;
  --pos: #a85a00; --neg: #1d5fa8; --zone: #e9d9bd;
  --serif: Charter, "Bitstream Charter", "Sitka Text", Cambria, "Noto Serif", "Liberation Serif", Georgia, serif;
  --sans: system-ui, -apple-system, "Segoe UI", Roboto, "Noto Sans", "Liberation Sans", "Helvetica Neue", Arial, sans-serif;
  color-scheme: light;
}
*, *::before, *::after { box-sizing: border-box; }
html { -webkit-text-size-adjust: 100%; text-size-adjust: 100%; }
body { margin: 0; background: var(--paper); color: var(--ink); font: 16px/1.5 var(--sans); }
main, .page-head, .page-foot { max-width: 70rem; margin: 0 auto; padding: 0 1.25rem; }
h1, h2, h3 { font-family: var(--serif); font-weight: 700; line-height: 1.2; text-wrap: balance; overflow-wrap: anywhere; }
h1 { font-size: clamp(1.5rem, 1.1rem + 1.6vw, 2.1rem); margin: 0; letter-spacing: -0.01em; }
h2 { font-size: 1.45rem; margin: 3rem 0 0.9rem; padding-top: 0.6rem; border-top: 3px double var(--ink); }
h3 { font-size: 1.1rem; margin: 1.8rem 0 0.5rem; }
p { margin: 0.5rem 0; max-width: 44rem; text-wrap: pretty; }
a { color: var(--now); }
small, .small { font-size: 0.85rem; }
.label { font-size: 0.72rem; letter-spacing: 0.07em; text-transform: uppercase; color: var(--ink-2); font-weight: 600; }
.source, .muted { color: var(--ink-2); }
.source { font-size: 0.85em; font-style: italic; }
.num { font-variant-numeric: tabular-nums lining-nums; white-space: nowrap; }
.visually-hidden { position: absolute; width: 1px; height: 1px; margin: -1px; overflow: hidden; clip-path: inset(50%); white-space: nowrap; }
.skip { position: absolute; left: -999px; top: 0; background: var(--ink); color: var(--paper); padding: 0.5rem 1rem; z-index: 5; }
.skip:focus { left: 0; }
:focus-visible { outline: 3px solid var(--now); outline-offset: 2px; }
table { border-collapse: collapse; font-size: 0.9rem; font-variant-numeric: tabular-nums lining-nums; }
caption { text-align: left; font-weight: 600; padding: 0 0 0.35rem; }
.table-title { font-weight: 600; font-size: 0.92rem; margin: 1.8rem 0 0.3rem; max-width: 60rem; }
th, td { padding: 0.22rem 0.7rem 0.22rem 0; text-align: left; vertical-align: top; border-bottom: 1px solid var(--rule); }
thead th { border-bottom: 1.5px solid var(--ink); font-weight: 600; vertical-align: bottom; line-height: 1.25; }
tbody th { font-weight: 400; }
td.n, th.n { text-align: right; white-space: nowrap; }
.scroll { overflow-x: auto; max-width: 100%; }
dl { margin: 0; }
dt { font-size: 0.72rem; letter-spacing: 0.07em; text-transform: uppercase; color: var(--ink-2); font-weight: 600; }
dd { margin: 0; overflow-wrap: anywhere; }
button, input, select, textarea { font: inherit; color: inherit; }
button { background: var(--paper); border: 1.5px solid var(--ink); border-radius: 3px; padding: 0.4rem 0.9rem; cursor: pointer; min-height: 2.75rem; }
button:hover { background: var(--tint-2); }
.cautions ul { padding-left: 1.2rem; max-width: 46rem; }
.cautions li { margin: 0.4rem 0; }
.cautions .deferral { border-left: 4px solid var(--ink); padding: 0.2rem 0 0.2rem 0.9rem; font-weight: 600; }
.page-foot { margin-top: 3rem; padding-top: 0.8rem; padding-bottom: 2rem; font-size: 0.85rem; color: var(--ink-2); border-top: 1px solid var(--rule); }
@media print {
  :root { --paper: #fff; --tint: #f4f1e8; }
  @page { margin: 15mm 14mm 17mm; @bottom-left { content: "Sweepbook"; font: 8pt sans-serif; color: #555; } @bottom-right { content: "page " counter(page) " of " counter(pages); font: 8pt sans-serif; color: #555; } }
  html { font-size: 9.5pt; }
  body { font-size: 1rem; line-height: 1.38; -webkit-print-color-adjust: exact; print-color-adjust: exact; }
  main, .page-head, .page-foot { max-width: none; padding: 0; }
  h2 { font-size: 14pt; margin: 16pt 0 6pt; }
  h3 { font-size: 11pt; margin: 11pt 0 4pt; }
  h1, h2, h3, .table-title { break-inside: avoid; break-after: avoid-page; }
  p, li { orphans: 3; widows: 3; }
  h2 + p { break-after: avoid-page; }
  .page-foot { break-before: avoid; margin-top: 1.5rem; padding-bottom: 0; }
  figure, tr, .keep { break-inside: avoid; }
  thead { display: table-header-group; }
  table { font-size: 8.2pt; }
  thead { break-after: avoid; }
  tbody tr:first-child, tbody tr:last-child { break-before: avoid; }
  th, td { padding: 1.5pt 6pt 1.5pt 0; }
  .scroll { overflow: visible; }
  .screen-only, button, .skip { display: none !important; }
  a { color: inherit; text-decoration: none; }
}
@media screen { .print-only { display: none !important; } }
@media screen and (max-width: 40rem) {
  main, .page-head, .page-foot { padding: 0 1rem; }
  h2 { margin-top: 2.2rem; }
}
`;
