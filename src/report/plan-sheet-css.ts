/** One page for people who decide on money and lanes: six large figures, then what could change them. */
export const PLAN_SHEET_CSS = `
.plan { max-width: 60rem; padding-top: 1.2rem; padding-bottom: 1.5rem; }
.plan h1 { font-size: clamp(1.3rem, 1rem + 1.5vw, 1.8rem); }
.plan .made { margin: 0.1rem 0 0.8rem; color: var(--ink-2); font-size: 0.9rem; }
.plan .lead { max-width: none; }
.tiles { display: grid; grid-template-columns: repeat(3, minmax(0, 1fr)); gap: 0.8rem; margin: 0.8rem 0; }
.tile { border: 2px solid var(--ink); padding: 0.5rem 0.8rem; min-width: 0; }
.tile h2 { font-size: 0.85rem; margin: 0; padding: 0; border: 0; color: var(--ink-2); }
.tile p { margin: 0.15rem 0; }
.tile .big { font: 800 clamp(1.3rem, 1rem + 1.8vw, 2.1rem)/1.1 var(--sans); }
.tile .big.none { font-size: 1.2rem; color: var(--ink-2); }
.plan > section:not(.tile) h2 { font-size: 1.05rem; margin: 1rem 0 0.3rem; }
.plan ul { margin: 0.2rem 0; padding-left: 1.2rem; }
.plan li, .plan p { max-width: none; }
.plan table { width: 100%; font-size: 0.9rem; }
.plan td.n { white-space: nowrap; }
@media screen and (max-width: 46rem) {
  .tiles { grid-template-columns: repeat(2, minmax(0, 1fr)); }
  .plan table, .plan tbody { display: block; }
  .plan thead { position: absolute; width: 1px; height: 1px; overflow: hidden; clip-path: inset(50%); }
  .plan tbody tr { display: grid; grid-template-columns: 1fr auto 7rem; gap: 0 0.6rem; border-bottom: 1px solid var(--rule, #ccc); padding: 0.3rem 0; }
  .plan tbody th, .plan tbody td { border: 0; padding: 0; }
  .plan tbody .from { grid-column: 1 / -1; color: var(--ink-2); font-size: 0.85rem; }
}
@media print {
  @page { margin: 10mm 13mm; @bottom-left { content: none; } @bottom-right { content: none; } }
  .plan { padding: 0; font-size: 9.5pt; }
  .plan table { font-size: 8pt; }
  .tile .big { font-size: 18pt; }
  .plan li { font-size: 8.5pt; }
}
`;
