import type { Analysis, LineAnalysis } from '../analysis.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { bendAsFound, headline } from '../status/crew-words.ts';
import type { ReportContext } from './context.ts';
import { extraSections, springbackText } from './daily.ts';
import { dateText, daysBetween } from './dates.ts';
import { explorer, explorerParts } from './explorer.ts';
import { figure } from './figure.ts';
import { movementPlot } from './figures/movement.ts';
import { profilePlot } from './figures/profiles.ts';
import { progressPlot } from './figures/progress.ts';
import { rotationsPlot } from './figures/rotations.ts';
import { type Html, html, markup } from './html.ts';
import { PROGRESS_CAPTION, planFigure } from './line-section.ts';
import { asFound, current, judged, lastCycle, readingDates, readingWords } from './picks.ts';
import { type Quantities, quantities } from './quantities.ts';
import { HATCHES, pageFootCss, REPORT_CSS } from './report-css.ts';
import {
  acceptanceSection,
  cautionsSection,
  decisionSection,
  filesSection,
  findingsSection,
  footer,
  methodSection,
  repairsSection,
  signOff,
  titleBlock,
} from './sections.ts';
import { page } from './shell.ts';
import { deviationTable, readingsTables, setAsideTable, surveysTable, zonesTable } from './tables.ts';
import { verdictPanel } from './verdict-panel.ts';
import { KIND_WORDS, VERDICT_WORDS } from './words.ts';

/**
 * The final report: as found against as left, for the file and for cost recovery, as one self-contained page.
 *
 * @returns the text of an HTML file
 */
export function renderFinal(analysis: Analysis, context: ReportContext): string {
  const q = quantities(analysis.job.units, context.fraction);
  const cycle = lastCycle(analysis);
  const lines = linesThatDecide(analysis.lines);
  const body = html`${markup(HATCHES)}<a class="skip" href="#main">Skip to the result</a>
${titleBlock(analysis, context, q, 'Final report', [
  ['As left', cycle === 0 ? `${readingWords(analysis)}, no cycle yet` : readingWords(analysis)],
  ['Work', workText(analysis)],
])}
<main id="main">
${verdictPanel(analysis, q)}
${summarySection(lines, q)}
${acceptanceSection(analysis, q)}
${lines.map((l, i) => lineSection(l, analysis, q, i, context))}
${decisionSection(analysis)}
${findingsSection(analysis, q)}
${repairsSection(analysis, q)}
${extraSections(context, 'final')}
<section aria-labelledby="set-aside"><h2 id="set-aside">Readings set aside, and why</h2>${setAsideTable(analysis.lines, q)}</section>
${methodSection(analysis, q)}
${cautionsSection()}
${signOff(['Crew lead', 'Inspector', 'Engineer', 'Owner'])}
<section aria-labelledby="record"><h2 id="record">Record: every reading</h2>${analysis.lines.map((l) => readingsTables(l, analysis.readings, q))}</section>
${filesSection(context, true)}
</main>
${footer(context)}`;
  return page({
    title: `${analysis.job.name}: final report`,
    description: `As found against as left. ${VERDICT_WORDS[analysis.member.verdict]}. ${headline(analysis).sentences.join(' ')}`,
    css: REPORT_CSS + pageFootCss(analysis.job.name, 'final report'),
    body,
    ...explorerParts(lines, context, q),
  });
}

/** "9 cycles, read on 6 days from 4 Mar 2026 to 11 Mar 2026". */
function workText(analysis: Analysis): string {
  const dates = readingDates(analysis);
  const cycles = lastCycle(analysis);
  const count = `${cycles} ${cycles === 1 ? 'cycle' : 'cycles'}`;
  const first = dates[0];
  const last = dates.at(-1);
  if (first === undefined || last === undefined) return `${count}, no dates given`;
  if (first === last) return `${count}, read on ${dateText(first)}`;
  return `${count}, read on ${dates.length} working days from ${dateText(first)} to ${dateText(last)} (${daysBetween(first, last) + 1} calendar days)`;
}

function summarySection(lines: readonly LineAnalysis[], q: Quantities): Html {
  const rows = lines.flatMap((l) => {
    const found = asFound(l);
    const left = current(l);
    if (found === undefined || left === undefined) return [];
    const closed = Math.abs(left.largest.deviation) - Math.abs(found.largest.deviation);
    const share = Math.abs(found.largest.deviation) > 0 ? -closed / Math.abs(found.largest.deviation) : 0;
    return [
      html`<tr><th scope="row"><strong>${l.line.name}</strong>, largest deviation</th><td class="n" title="${q.decimal(found.largest.deviation)}">${q.length(found.largest.deviation)} <span class="muted">${q.plusMinus(found.largest.u)}</span></td><td class="n">${q.station(found.largest.station)}</td><td class="n" title="${q.decimal(left.largest.deviation)}"><strong>${q.length(left.largest.deviation)}</strong> <span class="muted">${q.plusMinus(left.largest.u)}</span></td><td class="n">${q.station(left.largest.station)}</td><td class="n" title="${q.decimal(closed)}">${q.signed(closed)} ${q.offsetUnit}${found === left ? '' : ` (${Math.round(share * 100)} % taken out)`}</td></tr>`,
      html`<tr><th scope="row">root mean square</th><td class="n" title="${q.decimal(found.rms)}">${q.length(found.rms)}</td><td></td><td class="n" title="${q.decimal(left.rms)}">${q.length(left.rms)}</td><td></td><td class="n" title="${q.decimal(left.rms - found.rms)}">${q.signed(left.rms - found.rms)} ${q.offsetUnit}</td></tr>`,
      ...l.fit.zones.map((zone) => {
        const then = bendAsFound(l, zone, found);
        const now = found === left ? then : left.zones.find((z) => z.zone === zone.zone);
        if (now === undefined) return '';
        return html`<tr><th scope="row">rotation of zone ${zone.zone}${zone.class === 'elastic' ? ' (elastic only)' : ''}</th><td class="n">${q.angle(then.rotation)} <span class="muted">± ${degrees(MEASURED.factor * then.u)}</span></td><td class="n">${q.place(zone.core.centre)}</td><td class="n">${q.angle(now.rotation)} <span class="muted">± ${degrees(MEASURED.factor * now.u)}</span></td><td></td><td class="n">${q.angle(now.rotation - then.rotation)}</td></tr>`;
      }),
    ];
  });
  return html`<section aria-labelledby="summary"><h2 id="summary">As found against as left</h2><div class="scroll" tabindex="0" role="region" aria-label="As found against as left"><table aria-label="As found against as left"><thead><tr><th scope="col"></th><th scope="col" class="n">As found</th><th scope="col" class="n">at</th><th scope="col" class="n">As left</th><th scope="col" class="n">at</th><th scope="col" class="n">Change</th></tr></thead><tbody>${rows}</tbody></table></div>${lines.some((l) => l.fit.zones.length > 0) ? html`<p class="small muted wide">Rotations with the zone edges held, like against like; the doubt of those as found includes the edges. Root mean square: the deviation all stations have on average, squares averaged.</p>` : ''}</section>`;
}

function degrees(radians: number): string {
  return `${((radians * 180) / Math.PI).toFixed(2)}°`;
}

function lineSection(
  line: LineAnalysis,
  analysis: Analysis,
  q: Quantities,
  index: number,
  context: ReportContext,
): Html {
  const own = analysis.lines.indexOf(line);
  const several = judged(line).length > 1;
  const drawn = line.line.kind === 'sweep' || line.line.kind === 'camber' || line.line.kind === 'bulge';
  return html`<section class="line" aria-labelledby="line-${own}"><h2 id="line-${own}">Line ${line.line.name} <span class="muted small">${KIND_WORDS[line.line.kind]}</span></h2>
${drawn ? planFigure(line, analysis.job, q) : ''}
${figure('As found and as left', `+ is ${line.line.positive}.`, (width) => profilePlot(line, analysis.job, q, width, false))}
${several ? figure('How it came in', PROGRESS_CAPTION, (width) => progressPlot(line, q, width)) : ''}
${several && line.fit.zones.length > 0 ? figure('Rotation of the zones', 'By cycle; each zone has its own marker and dash.', (width) => rotationsPlot(line, q, width)) : ''}
${line.movements.length > 0 ? figure('Movement, cycle by cycle', 'What each cycle did to the largest deviation, with its uncertainty; one bar over several cycles where none between was read.', (width) => movementPlot(line, analysis.job, q, width)) : ''}
${explorer(line, index, context)}
${line.fit.zones.length > 0 ? zonesTable(line, q) : ''}
${deviationTable(line, q, 0)}
${surveysTable(line, q)}
${springbackText(line, q)}
</section>`;
}
