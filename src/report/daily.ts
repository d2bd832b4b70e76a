import type { Analysis } from '../analysis.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { headline } from '../status/crew-words.ts';
import type { ReportContext } from './context.ts';
import { dateText } from './dates.ts';
import { explorer, explorerParts } from './explorer.ts';
import { type Html, html, markup } from './html.ts';
import { linePlots } from './line-section.ts';
import { current, lastCycle, leadingLine, readingDates, readingWords } from './picks.ts';
import { type Quantities, quantities } from './quantities.ts';
import { HATCHES, pageFootCss, REPORT_CSS } from './report-css.ts';
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
import { deviationTable, setAsideTable, surveysTable, zonesTable } from './tables.ts';
import { verdictPanel } from './verdict-panel.ts';
import { KIND_WORDS, prose, VERDICT_WORDS } from './words.ts';

/** Cycles shown beside the current one in the table by station. */
const RECENT = 4;

/**
 * The daily sheet: what the crew looks at in the morning, as one self-contained page.
 *
 * @returns the text of an HTML file
 */
export function renderDaily(analysis: Analysis, context: ReportContext): string {
  const q = quantities(analysis.job.units, context.fraction);
  const cycle = lastCycle(analysis);
  const lines = linesThatDecide(analysis.lines);
  const body = html`${markup(HATCHES)}<a class="skip" href="#main">Skip to the verdict</a>
${titleBlock(analysis, context, q, 'Daily sheet', [
  ['Reading', readingWords(analysis)],
  ['Read on', readOn(analysis)],
])}
<main id="main">
${verdictPanel(analysis, q, context.besideDays)}
${linesOverview(analysis, q, (l) => VERDICT_WORDS[l.progress.verdict])}
${lines.map((l, i) => lineSection(l, analysis, q, i, context))}
${acceptanceSection(analysis, q)}
${findingsSection(analysis, q)}
${decisionSection(analysis)}
<section aria-labelledby="set-aside"><h2 id="set-aside">Readings set aside, and why</h2>${setAsideTable(analysis.lines, q)}</section>
${extraSections(context, 'daily')}
${methodSection(analysis, q)}
${cautionsSection()}
${signOff(['Crew lead', 'Engineer'])}
${filesSection(context, false)}
</main>
${footer(context)}`;
  return page({
    title: `${analysis.job.name}: daily sheet, cycle ${cycle}`,
    description: `${VERDICT_WORDS[analysis.member.verdict]}. ${headline(analysis).sentences.join(' ')}`,
    css: REPORT_CSS + pageFootCss(analysis.job.name, `daily sheet, cycle ${cycle}`),
    body,
    ...explorerParts(lines, context, q),
  });
}

function lineSection(
  line: Analysis['lines'][number],
  analysis: Analysis,
  q: Quantities,
  index: number,
  context: ReportContext,
): Html {
  const own = analysis.lines.indexOf(line);
  return html`<section class="line" aria-labelledby="line-${own}"><h2 id="line-${own}">Line ${line.line.name} <span class="muted small">${KIND_WORDS[line.line.kind]}</span></h2>
<p><strong>${VERDICT_WORDS[line.progress.verdict]}.</strong> ${prose(line.progress.reason)}</p>
${linePlots(line, analysis.job, q, true)}
${explorer(line, index, context)}
${line.fit.zones.length > 0 ? zonesTable(line, q) : ''}
${deviationTable(line, q, RECENT)}
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

function readOn(analysis: Analysis): string {
  const line = leadingLine(analysis);
  const now = line === undefined ? undefined : current(line);
  const date = now?.date ?? readingDates(analysis).at(-1) ?? null;
  if (date === null) return 'no date given';
  return dateText(date) + (now?.time == null ? '' : `, ${now.time}`);
}
