import type { AcceptanceResult, Analysis } from '../analysis.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { verdictWords } from '../decision/verdict-words.ts';
import { headline, limitWords } from '../status/crew-words.ts';
import { brief } from './brief.ts';
import type { ReportContext } from './context.ts';
import { DAILY_CSS, paperCss } from './daily-css.ts';
import { explorer, explorerParts } from './explorer.ts';
import { figure } from './figure.ts';
import { PANEL_HEATS_KEY, panelHeatsMap } from './figures/panel-heats.ts';
import { profilePlot } from './figures/profiles.ts';
import { allFindings, groupedFindings, groupedSetAside } from './grouped.ts';
import { type Html, html, markup } from './html.ts';
import { linePlots } from './line-section.ts';
import { memberSections, sectionSlider, sectionSlides } from './member-section.ts';
import { multiplesSection } from './multiples.ts';
import { panelMapsFigure, panelTable } from './panel-section.ts';
import { current, lastCycle, leadingLine, readingDates, readingWords } from './picks.ts';
import { type Quantities, quantities } from './quantities.ts';
import { HATCHES, pageFootCss, REPORT_CSS } from './report-css.ts';
import { SCAN_FIGURES_CSS } from './scan-preview-css.ts';
import {
  acceptanceSection,
  cautionsSection,
  decisionSection,
  filesSection,
  findingsSection,
  footer,
  linesOverview,
  methodSection,
  signOff,
  titleBlock,
} from './sections.ts';
import { page } from './shell.ts';
import {
  deviationTable,
  resultCell,
  secondDifferenceTable,
  setAsideTable,
  surveysTable,
  zonesOrWhy,
} from './tables.ts';
import { tomorrowSection } from './tomorrow.ts';
import { saidFirst, verdictPanel } from './verdict-panel.ts';
import { KIND_WORDS, prose } from './words.ts';

/** Cycles shown beside the current one in the table by station. */
const RECENT = 4;

/** Vees and limits page one holds: fewer where a day that stood still is told as well. */
const MOST_VEES = [5, 3] as const;

/** Rows of limits, kinds of finding and groups of readings set aside that the two pages hold. */
const MOST_LIMITS = [4, 2] as const;
/** What is not met first: it must not be among the ones merely counted. */
const RANK = { outside: 0, undetermined: 1, within: 2 } as const;
/** Kinds of finding beside few small multiples, and beside as many as there may be. */
const MOST_FINDINGS = [9, 5] as const;
const MOST_ASIDE = [6, 3] as const;
/** Small multiples there is room for beside the row of sections. */
const MOST_BESIDE_SECTIONS = 4;
/** More small multiples than this fill half of page two. */
const FEW_MULTIPLES = 3;

/**
 * The daily sheet: what the crew looks at in the morning, as one self-contained file that prints on two pages whatever
 * the job. `context.full` adds an appendix with everything behind them; what stands there stands on the two pages no more.
 *
 * @returns the text of an HTML file
 */
export function renderDaily(analysis: Analysis, context: ReportContext): string {
  const q = quantities(analysis.job.units, context.fraction, analysis.job.locale);
  const cycle = lastCycle(analysis);
  const lines = linesThatDecide(analysis.lines);
  const full = context.full === true;
  const sections = full ? '' : memberSections(analysis, q, 'daily');
  const slides = full && context.plotly !== null ? sectionSlides(analysis, q) : [];
  const told = (context.besideDays ?? []).length > 0 ? 1 : 0;
  const body = html`${markup(HATCHES)}<a class="skip" href="#main">Skip to the verdict</a>
<main id="main">
<div class="leaf">
${titleBlock(analysis, context, q, 'Daily sheet', [
  ['Reading', readingWords(analysis)],
  ['Read on', readOn(analysis, q)],
])}
${verdictPanel(analysis, q, context.besideDays)}
${lines.slice(0, 1).map((l) => (l.line.panel !== undefined ? panelMapsFigure(l, analysis.job.member, q, true) : figure('Deviation along the line', `+ is ${l.line.positive}.`, (width) => profilePlot(l, analysis.job, q, width, true, true), 'grow')))}
${tomorrowSection(analysis.job, context.heats, context.heatsFault, withinNames(lines), MOST_VEES[told])}
${limitsSection(lines, analysis, q, MOST_LIMITS[told])}
</div>
<div class="leaf page-two">
${sections}
${heatsFigure(lines, analysis, context, q)}
${multiplesSection(lines.slice(1), context.panels ?? [], analysis, q, sections === '' ? undefined : MOST_BESIDE_SECTIONS)}
${full ? '' : groupsSections(analysis, lines.length - 1 + (context.panels ?? []).length > FEW_MULTIPLES)}
<section aria-labelledby="cautions"><h2 id="cautions">Before anyone heats or jacks</h2><p class="small">Look for cracks around the impact, at connections and diaphragms, before heating and after it. Keep to the limits on page one and the engineer’s plan. These are measurements and estimates; the owner’s specification, local codes and the licensed engineer in charge govern.</p></section>
${signOff(['Crew lead', 'Engineer'])}
<p class="small">${sheetFoot(context, q)}</p>
</div>
${full ? appendix(analysis, lines, context, q, slides) : ''}
</main>
${full ? footer(context, q) : ''}`;
  return page({
    title: `${analysis.job.name}: daily sheet, cycle ${cycle}`,
    description: `${verdictWords(analysis.member)}. ${headline(analysis).sentences.join(' ')}`,
    css: sheetCss(analysis, context, `daily sheet, cycle ${cycle}`),
    body,
    ...(full ? explorerParts(lines, analysis.job.member, context, q, slides) : {}),
  });
}

/** Where heats stand on the one panel a job has: page two has the room. */
function heatsFigure(
  lines: readonly Analysis['lines'][number][],
  { job }: Analysis,
  { heats }: ReportContext,
  q: Quantities,
): Html | '' {
  const [line] = lines;
  const heating = heats?.panels.find((panel) => panel.line === line?.line.name);
  if (line === undefined || lines.length > 1 || heating === undefined || heating.places.length === 0)
    return '';
  return figure(
    'Where heats stand',
    PANEL_HEATS_KEY,
    (width) => panelHeatsMap(line, heating, job.member, q, width),
    'grow whole',
  );
}

/** Styles of both sheets: paper and foot as the job's people print them. */
export function sheetCss(analysis: Analysis, context: ReportContext, sheet: string): string {
  const paper = context.paper ?? (analysis.job.units === 'us' ? 'letter' : 'A4');
  const scans = context.sections?.some((each) => each.id === 'scans') ? SCAN_FIGURES_CSS : '';
  return REPORT_CSS + DAILY_CSS + scans + pageFootCss(analysis.job.name, sheet) + paperCss(paper);
}

function withinNames(lines: readonly Analysis['lines'][number][]): string[] {
  return lines.filter((l) => l.progress.verdict === 'within-tolerance').map((l) => l.line.name);
}

function limitsSection(
  lines: readonly Analysis['lines'][number][],
  analysis: Analysis,
  q: Quantities,
  most: number,
): Html {
  const [first, ...others] = lines.map((l) =>
    [...l.acceptance].sort((a, b) => RANK[a.result] - RANK[b.result]),
  );
  const shown = (first ?? []).slice(0, most);
  const rest = [...(first ?? []).slice(most), ...others.flat(), ...analysis.unmeasured];
  const open = rest.filter(({ result }) => result !== 'within').length;
  const only = shown.length === 1 && rest.length === 0 ? shown[0] : undefined;
  if (only !== undefined)
    return html`<section class="limits one" aria-labelledby="limits"><h2 id="limits">Limits of ${brief(lines[0]!.line.name, 40)}</h2> <p>${prose(brief(limitWords(only, q.units), 80))}: measured ${measuredCell(only, q)}; ${resultCell(only.result)}${only.result === 'undetermined' ? ', which is not a pass' : ''}.</p></section>`;
  return html`<section class="limits" aria-labelledby="limits"><h2 id="limits">Limits${lines[0] === undefined ? '' : html` of ${brief(lines[0].line.name, 40)}`}</h2>${
    shown.length === 0
      ? html`<p>None set for this line in the job. Without one nothing here says whether the member is done.</p>`
      : html`<div class="scroll" tabindex="0" role="region" aria-label="Limits"><table aria-label="Limits"><thead><tr><th scope="col">Limit</th><th scope="col" class="n">Measured</th><th scope="col">Result</th></tr></thead><tbody>${shown.map((a) => html`<tr><th scope="row">${prose(brief(limitWords(a, q.units), 80))}</th><td class="n">${measuredCell(a, q)}</td><td>${resultCell(a.result)}</td></tr>`)}</tbody></table></div>`
  }${rest.length === 0 ? '' : html`<p>${rest.length} more ${rest.length === 1 ? 'limit' : 'limits'} in the job, ${open === 0 ? 'all within' : `${open} of them not shown to be within`}. Undetermined is not a pass.</p>`}</section>`;
}

function measuredCell({ measured, u, atLeast }: AcceptanceResult, q: Quantities): Html | string {
  if (measured === null) return 'not measured';
  return html`${atLeast === true ? 'at least ' : ''}<span title="${q.decimal(measured)}">${q.length(measured)}</span>${u === null ? '' : html` <span class="muted">${q.plusMinus(u)}</span>`}`;
}

function groupsSections(analysis: Analysis, crowded: boolean): Html {
  const [findingsMost, asideMost] = [MOST_FINDINGS[crowded ? 1 : 0], MOST_ASIDE[crowded ? 1 : 0]];
  const first = saidFirst(analysis);
  const findings = allFindings(analysis).filter(({ message }) => !first.has(message));
  const said = first.size === 0 ? '' : html`<p class="small">Those on page one are not repeated.</p>`;
  return html`<section aria-labelledby="set-aside"><h2 id="set-aside">Readings set aside, and why</h2>${groupedSetAside(analysis.lines, asideMost)}</section><section aria-labelledby="findings"><h2 id="findings">Findings</h2>${said}${groupedFindings(findings, findingsMost, crowded ? 150 : 200)}</section>`;
}

function sheetFoot(context: ReportContext, q: Quantities): Html {
  const seal = context.ledgerSeal ?? null;
  const bad = context.files.filter(({ note }) => /^(?:CHANGED|MISSING|not in the ledger)/.test(note));
  return html`Rests on ${context.files.length} ${context.files.length === 1 ? 'file' : 'files'}${bad.length === 0 ? '' : html`, <strong>${bad.length} not as the ledger has them</strong>: ${brief(bad.map(({ file, note }) => `${file} (${note})`).join('; '), 160)}`}.${seal === null ? '' : html` Seal of ledger record ${seal.records}: <span class="hash">${seal.sha256}</span>.`} Made by ${context.tool} on ${q.date(context.generated)}.${context.full === true ? '' : html` Everything behind these two pages: <code>sweepbook report --full</code>.`}`;
}

function appendix(
  analysis: Analysis,
  lines: readonly Analysis['lines'][number][],
  context: ReportContext,
  q: Quantities,
  slides: ReturnType<typeof sectionSlides>,
): Html {
  return html`<div class="appendix">
${linesOverview(analysis, q, (l) => verdictWords(l.progress))}
${memberSections(analysis, q, 'full')}
${sectionSlider(slides)}
${lines.map((l, i) => lineSection(l, analysis, q, i, context))}
${acceptanceSection(analysis, q)}
${findingsSection(allFindings(analysis), q)}
${decisionSection(analysis)}
<section aria-labelledby="set-aside"><h2 id="set-aside">Readings set aside, and why</h2>${setAsideTable(analysis.lines, q)}</section>
${extraSections(context, 'daily')}
${methodSection(analysis, q)}
${cautionsSection('all-cautions')}
${filesSection(context, q, false)}
</div>`;
}

function lineSection(
  line: Analysis['lines'][number],
  analysis: Analysis,
  q: Quantities,
  index: number,
  context: ReportContext,
): Html {
  const own = analysis.lines.indexOf(line);
  return html`<section class="line" aria-labelledby="line-${own}"><h2 id="line-${own}">${line.line.panel === undefined ? 'Line' : 'Panel'} ${line.line.name} <span class="muted small">${KIND_WORDS[line.line.kind]}</span></h2>
<p><strong>${verdictWords(line.progress)}.</strong> ${prose(line.progress.reason)}</p>
${linePlots(line, analysis.job, q, index > 0, context.heats)}
${explorer(line, index, context)}
${line.line.panel === undefined ? zonesOrWhy(line, analysis.job.member, q) : ''}
${secondDifferenceTable(line, q)}
${line.line.panel === undefined ? deviationTable(line, q, RECENT) : panelTable(line, q)}
${surveysTable(line, q)}
${springbackText(line, q)}
</section>`;
}

export function springbackText(line: Analysis['lines'][number], q: Quantities): Html | '' {
  const restrained = line.fit.surveys.findLast((s) => s.state === 'restrained');
  const last = line.springback.at(-1);
  if (restrained !== undefined && last?.cycle !== restrained.cycle)
    return html`<p><strong>Springback.</strong> That of cycle ${restrained.cycle} cannot be told; read both ends with the jacks on and with the jacks off.</p>`;
  if (last === undefined) return '';
  return html`<p><strong>Springback.</strong> When the jacks came off in cycle ${last.cycle} the line moved most at ${q.station(last.largest.station)}: <span class="num" title="${q.decimal(last.largest.springback)}">${q.movement(last.largest.springback)} ${q.offsetUnit} ${q.plusMinus(last.largest.u)}</span>.</p>`;
}

export function extraSections(context: ReportContext, sheet: 'daily' | 'final'): Html {
  return html`${(context.sections ?? [])
    .filter((s) => s.in === sheet || s.in === 'both')
    .map(
      (s) => html`<section aria-labelledby="${s.id}"><h2 id="${s.id}">${s.title}</h2>${s.body}</section>`,
    )}`;
}

function readOn(analysis: Analysis, q: Quantities): string {
  const line = leadingLine(analysis);
  const now = line === undefined ? undefined : current(line);
  const date = now?.date ?? readingDates(analysis).at(-1) ?? null;
  if (date === null) return 'no date given';
  return q.date(date) + (now?.time == null ? '' : `, ${now.time}`);
}
