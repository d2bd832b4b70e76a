/** One sheet, readable at arm's length: the two limits as large as the page allows, room to write by hand. */
export const CREW_CARD_CSS = `
.card { max-width: 60rem; padding-top: 1.2rem; padding-bottom: 1.5rem; }
.card h1 { font-size: clamp(1.3rem, 1rem + 1.5vw, 1.8rem); }
.card h2 { font-size: 1.05rem; margin: 0 0 0.2rem; padding: 0; border: 0; }
.card .made { margin: 0.1rem 0 0.6rem; color: var(--ink-2); font-size: 0.9rem; }
.card header .label { margin: 0; }
.limits { display: grid; grid-template-columns: 3fr 2fr; gap: 0.8rem; }
.box { border: 3px solid var(--ink); padding: 0.6rem 0.9rem; min-width: 0; }
.box p { margin: 0.25rem 0; }
.box .big { font: 800 clamp(2.6rem, 1.6rem + 4.6vw, 4.6rem)/1 var(--sans); letter-spacing: -0.02em; margin: 0.1rem 0; white-space: nowrap; }
.box.heat .big { font-size: clamp(2.1rem, 1.4rem + 3vw, 3.2rem); }
.box .big.words { font-size: clamp(1.9rem, 1.3rem + 2.4vw, 2.8rem); white-space: normal; }
.box .second { font-weight: 700; font-size: 1.3rem; }
.box table { width: 100%; margin-top: 0.3rem; }
.ceiling { border-width: 5px; }
.ceiling.none .big, .heat .big { color: var(--ink); }
.stop { border: 4px solid var(--stop); padding: 0.4rem 0.9rem; margin: 0 0 0.8rem; }
.stop p { margin: 0.2rem 0; max-width: none; }
.stop strong { color: var(--stop); }
.vees { margin-top: 1.1rem; }
.done { max-width: none; border-left: 4px solid var(--ink); padding-left: 0.6rem; }
.proposal { max-width: none; margin: 0.2rem 0 0.5rem; display: flex; flex-wrap: wrap; gap: 0.3rem 1rem; align-items: baseline; }
.proposal .line { border-top: 1px solid var(--ink); min-width: 9rem; font-size: 0.75rem; color: var(--ink-2); margin-top: 1.3rem; flex: 1 1 9rem; }
.sheet { display: grid; grid-template-columns: 1fr auto; gap: 1rem; align-items: start; }
.sheet table { width: 100%; }
.sheet th, .sheet td { border: 1px solid var(--ink-2); padding: 0.35rem 0.5rem; vertical-align: middle; }
.sheet .chalk { font-weight: 700; font-size: 1.15rem; }
.sheet .hand { width: 4.2rem; font-weight: 400; color: var(--ink-2); }
.sheet figure { margin: 0; width: 160px; font-size: 0.85rem; }
.sheet.one { grid-template-columns: minmax(0, 1fr); overflow-x: auto; }
@media screen { .sheet.one .chalk { white-space: normal; } }
.panel-map svg { width: 100%; max-width: 40rem; height: auto; display: block; font: 12px var(--sans); }
.panel-map .axis path, .panel-map .tick { stroke: var(--ink-2); fill: none; }
.card .cautions { margin-top: 1.1rem; }
.card .cautions ol { margin: 0.2rem 0; padding-left: 1.4rem; columns: 2; column-gap: 1.6rem; }
.card .cautions li { margin: 0 0 0.35rem; break-inside: avoid; font-size: 0.92rem; line-height: 1.35; }
.card .deferral { max-width: none; }
@media screen and (max-width: 46rem) {
  .limits, .sheet { grid-template-columns: minmax(0, 1fr); }
  .card .cautions ol { columns: 1; }
  .sheet .hand { display: none; }
}
@media print {
  @page { margin: 8mm 12mm 8mm; @bottom-left { content: none; } @bottom-right { content: none; } }
  .card { padding: 0; }
  .card h1 { font-size: 14pt; }
  .card h2 { font-size: 10pt; }
  .card p { margin: 1mm 0; }
  .card .made { margin-bottom: 2mm; font-size: 8.5pt; }
  .card .label { display: none; }
  .box { padding: 1.5mm 3mm; }
  .box .big { font-size: 40pt; }
  .box.heat .big { font-size: 30pt; }
  .box .second { font-size: 13pt; }
  .box table, .sheet table { font-size: 9pt; }
  .box th, .box td { padding-top: 0.4mm; padding-bottom: 0.4mm; }
  .stop { font-size: 8.5pt; padding: 1mm 3mm; margin-bottom: 2mm; }
  .sheet .chalk { font-size: 12pt; }
  .sheet th, .sheet td { padding: 0.6mm 1.5mm; }
  .sheet tbody tr { height: 7.4mm; }
  .sheet .hand { width: 14mm; }
  .sheet { gap: 3mm; }
  .sheet figure { width: 36mm; font-size: 8pt; }
  .sheet figure svg { width: 36mm; height: auto; }
  .proposal .line { margin-top: 5mm; }
  .card .cautions ol { margin: 0.5mm 0; columns: 3; column-gap: 6mm; padding-left: 4mm; }
  .card .cautions li { font-size: 7.8pt; margin-bottom: 0.6mm; line-height: 1.22; }
  .card .deferral { font-size: 8.5pt; }
  .vees, .card .cautions { margin-top: 2.5mm; }
  .panel-map svg { max-width: 120mm; max-height: 55mm; }
  .panel.apart { break-before: page; }
  .small { font-size: 7.5pt; }
  /* Names and sources of any length stay on the page; their full text is on screen and in the job. */
  .card h1, .card .small, .stop p, .clamp { display: -webkit-box; -webkit-box-orient: vertical; overflow: hidden; }
  .card h1 { -webkit-line-clamp: 2; }
  .card .small, .stop p { -webkit-line-clamp: 3; }
  .clamp { -webkit-line-clamp: 1; overflow-wrap: anywhere; }
  .vees .small { -webkit-line-clamp: 6; max-width: none; }
  .roomy .box .big { font-size: 56pt; }
  .roomy .box.heat .big { font-size: 36pt; }
  .box .big.words, .roomy .box .big.words { font-size: 28pt; }
  .box.heat .big.words { font-size: 24pt; }
  .roomy .sheet tbody tr { height: 10mm; }
  .roomy .cautions ol { columns: 2; }
  .roomy .cautions li { font-size: 9pt; margin-bottom: 1mm; line-height: 1.28; }
  .roomy .small { font-size: 8.5pt; }
  .roomy .deferral { font-size: 9pt; }
  .roomy .vees, .roomy .cautions { margin-top: 4mm; }
}
`;
