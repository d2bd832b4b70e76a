/** Room of one printed page of the daily sheet, mm: what is left of Letter between its margins, so that either paper holds it. */
const LEAF = 245;

/** The daily sheet's own styles, after `REPORT_CSS`: two leaves that are a page each in print. */
export const DAILY_CSS = `
.leaf { display: flex; flex-direction: column; }
.leaf > * { flex: none; }
.leaf h2 { font-size: 1.2rem; margin: 1.6rem 0 0.5rem; }
.leaf .verdict h2 { margin: 0.1rem 0 0.4rem; border: 0; font-size: clamp(2.1rem, 1.3rem + 3.4vw, 3.5rem); }
.tomorrow td.hand, .tomorrow th.hand { border-left: 1px solid var(--rule); min-width: 4.4rem; }
.tomorrow tbody td, .tomorrow tbody th { height: 2.6rem; vertical-align: middle; }
.tomorrow .chalk { font-weight: 650; font-size: 1.05em; }
.multiples { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(17rem, 100%), 1fr)); gap: 1rem 1.6rem; }
.multiples > div { border-top: 1.5px solid var(--ink); padding-top: 0.3rem; min-width: 0; overflow-wrap: anywhere; }
.multiples p { margin: 0.1rem 0; font-size: 0.9rem; line-height: 1.3; }
.multiples svg { display: block; width: 100%; height: auto; overflow: visible; font-size: 11px; font-family: var(--sans); fill: var(--ink); }
.groups { list-style: none; margin: 0.3rem 0; padding: 0; }
.groups li { padding: 0.25rem 0; border-bottom: 1px solid var(--rule); font-size: 0.92rem; overflow-wrap: anywhere; }
.fields { display: grid; grid-template-columns: repeat(auto-fit, minmax(15rem, 1fr)); gap: 0.3rem 2rem; }
.clamp2 { display: -webkit-box; -webkit-line-clamp: 2; -webkit-box-orient: vertical; overflow: hidden; }
@media screen and (max-width: 46rem) {
  .tomorrow td.hand, .tomorrow th.hand { display: none; }
}
@media print {
  .leaf { min-height: ${LEAF}mm; }
  .leaf ~ .leaf, .appendix { break-before: page; }
  .leaf h2 { font-size: 11pt; margin: 5pt 0 2pt; padding-top: 2pt; border-top-width: 2px; border-top-style: solid; }
  .leaf .verdict { margin-top: 7pt; gap: 4pt 16pt; }
  .leaf .verdict h2 { font-size: 21pt; padding: 0; margin: 0 0 2pt; }
  .leaf .verdict .mark { width: 20pt; height: 20pt; margin-top: 2pt; }
  .leaf .verdict p { font-size: 9pt; line-height: 1.3; margin: 2pt 0; }
  .leaf .figures > div { padding: 2pt 6pt 2pt 0; }
  .leaf .figures dd { font-size: 8.5pt; line-height: 1.2; }
  .leaf .figures dd strong { font-size: 12pt; }
  .leaf .next { padding: 4pt 8pt; } .leaf .next li { font-size: 8.6pt; line-height: 1.25; margin: 1pt 0; } .leaf .next h3 { margin: 0 0 1pt; font-size: 9.5pt; }
  .leaf h1 { font-size: 15pt; display: -webkit-box; -webkit-line-clamp: 2; -webkit-box-orient: vertical; overflow: hidden; }
  .leaf .title-block .job { padding: 3pt 8pt; } .leaf .title-block .sheet { padding: 3pt 8pt; }
  .leaf .title-block dl > div { padding: 2pt 8pt; } .leaf .title-block dd { font-size: 8.4pt; line-height: 1.25; }
  .leaf figure.grow { flex: 1 1 0; min-height: 30mm; display: flex; flex-direction: column; margin-top: 5pt; }
  .leaf figure.grow figcaption { display: -webkit-box; -webkit-line-clamp: 1; -webkit-box-orient: vertical; overflow: hidden; font-size: 8.4pt; margin: 0; max-width: none; }
  .leaf figure.grow.whole figcaption { display: block; }
  .leaf figure.grow svg.wide { flex: 1 1 0; min-height: 0; }
  .tomorrow tbody td, .tomorrow tbody th { height: 8.5mm; }
  .tomorrow.panels tbody td, .tomorrow.panels tbody th { height: 7mm; padding-top: 0; padding-bottom: 0; }
  .tomorrow td.hand, .tomorrow th.hand { min-width: 17mm; }
  .leaf .limits.one { border-top: 2px solid; margin-top: 5pt; padding-top: 3pt; }
  .leaf .limits.one h2, .leaf .limits.one p { display: inline; border: 0; margin: 0 6pt 0 0; }
  .leaf .tomorrow p, .leaf .limits p { font-size: 8.6pt; margin: 2pt 0; max-width: none; }
  .multiples { grid-template-columns: 1fr 1fr 1fr; gap: 5pt 12pt; }
  .multiples.many { grid-template-columns: repeat(4, 1fr); gap: 4pt 9pt; }
  .multiples p { font-size: 8pt; line-height: 1.25; }
  .groups li { font-size: 8.3pt; padding: 1.5pt 0; line-height: 1.25; }
  .leaf section[aria-labelledby=sign-off] p { display: none; }
  .leaf .sign { margin-top: 0; gap: 6pt 8pt; grid-template-columns: repeat(auto-fit, minmax(42mm, 1fr)); }
  .bounded p, .bounded li, .bounded dd { font-size: 8.4pt; line-height: 1.28; max-width: none; }
  .bounded figure svg.wide { max-height: 46mm; }
  .bounded figure.large svg.wide { max-height: 58mm; }
  .bounded h2 { font-size: 12pt; margin: 10pt 0 4pt; padding-top: 4pt; }
  .bounded h3 { margin: 6pt 0 2pt; }
  .bounded th, .bounded td { padding-top: 1pt; padding-bottom: 1pt; }
  .bounded table { font-size: 7.8pt; line-height: 1.25; } .leaf .sign div { margin-top: 19pt; font-size: 7pt; white-space: nowrap; }
  .leaf .deferral, .leaf .small { font-size: 8pt; max-width: none; margin: 2pt 0; }
}
`;

/** The paper a sheet is made for: Letter in the United States, A4 elsewhere, unless the job's people say otherwise. */
export function paperCss(paper: 'A4' | 'letter'): string {
  return `@media print { @page { size: ${paper}; } }\n`;
}
