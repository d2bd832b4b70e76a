/** Styles of the figures of a scan, after those of the reports. */
export const SCAN_FIGURES_CSS = `
.cloud { fill: none; stroke: var(--history); stroke-width: 1.7; stroke-linecap: round; }
.on-steel { fill: none; stroke: var(--ink); stroke-width: 1.7; stroke-linecap: round; }
.outline { fill: none; stroke: var(--now); stroke-width: 2.2; stroke-linejoin: round; }
.outline-back { fill: none; stroke: var(--paper); stroke-width: 4.6; stroke-linejoin: round; }
.pick-mark { fill: none; stroke: var(--stop); stroke-width: 2; }
.pick-name { font-weight: 700; fill: var(--stop); paint-order: stroke; stroke: var(--paper); stroke-width: 3; }
svg.plot .pick-name { stroke: var(--paper); }
.reading-mark path { fill: var(--paper); stroke: var(--now); stroke-width: 1.4; }
.fit-bar { fill: var(--near); }
.fit-bar.poor { fill: url(#hatch-opens); stroke: var(--found); stroke-width: 0.8; }
.fit-bar.none { fill: none; stroke: var(--stop); stroke-width: 1; }
.slices { display: grid; grid-template-columns: repeat(auto-fill, minmax(min(100%, 13.5rem), 1fr)); gap: 1rem 1.2rem; margin-top: 1rem; }
.slices figure { margin: 0; }
.slices svg.plot { border: 1px solid var(--rule); }
.slices .poorest svg.plot { border: 2.5px solid var(--found); }
.slices figcaption { font-size: 0.85rem; margin-bottom: 0.2rem; }
.slices figcaption { min-height: 2.6em; display: flex; flex-direction: column; justify-content: flex-end; }
@media (max-width: 34rem) { .slices { grid-template-columns: repeat(2, minmax(0, 1fr)); gap: 0.8rem; } }
@media print { .slices { grid-template-columns: repeat(4, 1fr); gap: 6pt 8pt; } }
`;

/** Styles of the preview of a scan, with those of its figures. */
export const SCAN_PREVIEW_CSS = `${SCAN_FIGURES_CSS}
.look { border: 1.5px solid var(--ink); border-left-width: 8px; background: var(--tint); padding: 0.7rem 1.1rem 0.8rem; margin: 1.2rem 0 0; }
.look.refused { border-color: var(--stop); }
.look p { max-width: none; margin: 0.2rem 0; }
.look ul { margin: 0.3rem 0 0; padding-left: 1.2rem; }
pre { background: var(--tint); padding: 0.7rem 0.9rem; overflow-x: auto; font-size: 0.82rem; white-space: pre-wrap; overflow-wrap: anywhere; }
@media print { pre { font-size: 7pt; } }
`;
