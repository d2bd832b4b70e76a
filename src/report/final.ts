import type { Analysis, LineAnalysis, SurveyFit } from '../analysis.ts';
import { lineToday } from '../decision/line-today.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { verdictWords } from '../decision/verdict-words.ts';
import { MEASURED } from '../maths/coverage-level.ts';
import { bendAsFound, headline, limitWords } from '../status/crew-words.ts';
import { brief } from './brief.ts';
import { checksTable, claimSection, costText, daysText } from './claim.ts';
import type { ReportContext } from './context.ts';
import { extraSections, sheetCss, springbackText } from './daily.ts';
import { daysBetween } from './dates.ts';
import { explorer, explorerParts } from './explorer.ts';
import { figure } from './figure.ts';
import { heatedVees } from './figures/drawn-vees.ts';
import { movementPlot } from './figures/movement.ts';
import { profilePlot } from './figures/profiles.ts';
import { progressPlot } from './figures/progress.ts';
import { rotationsPlot } from './figures/rotations.ts';
import { allFindings, groupedFindings, groupedSetAside } from './grouped.ts';
import { type Html, html, markup } from './html.ts';
import { filmFigure, PANEL_PROGRESS_CAPTION, PROGRESS_CAPTION, planFigure } from './line-section.ts';
import { memberSections, sectionSlider, sectionSlides } from './member-section.ts';
import { multiplesSection } from './multiples.ts';
import { panelPlots, panelTable } from './panel-section.ts';
import { asFound, current, judged, lastCycle, readingDates, readingWords } from './picks.ts';
import { placeText, type Quantities, quantities } from './quantities.ts';
import { HATCHES } from './report-css.ts';
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
import {
  deviationTable,
  readingsTables,
  resultCell,
  secondDifferenceTable,
  setAsideTable,
  surveysTable,
  zonesOrWhy,
} from './tables.ts';
import { verdictPanel } from './verdict-panel.ts';
import { KIND_WORDS, prose } from './words.ts';

/**
 * The final report: as found against as left, for the file and for cost recovery, as one self-contained page.
 *
 * @returns the text of an HTML file
 */
export function renderFinal(analysis: Analysis, context: ReportContext): string {
  const q = quantities(analysis.job.units, context.fraction, analysis.job.locale);
  const cycle = lastCycle(analysis);
  const lines = linesThatDecide(analysis.lines);
  const full = context.full === true;
  const facts = context.claim;
  const slides = context.plotly === null ? [] : sectionSlides(analysis, q);
  const body = html`${markup(HATCHES)}<a class="skip" href="#main">Skip to the result</a>
<main id="main">
<div class="leaf">
${titleBlock(analysis, context, q, 'Final report', [
  ['As left', cycle === 0 ? `${readingWords(analysis)}, no cycle yet` : readingWords(analysis)],
  ['Work', workText(analysis, q)],
])}
${verdictPanel(analysis, q, [], 1)}
${briefSummary(lines, q)}
${resultsSection(lines, analysis, q)}
${remainsSection(lines, analysis, context)}
${signOff(['Crew lead', 'Inspector', 'Engineer', 'Owner'])}
</div>
<div class="${full ? 'appendix' : 'appendix bounded'}">
${contents(analysis, lines, context)}
${summarySection(lines.slice(0, full ? lines.length : MOST_LINES), q)}
${acceptanceSection(analysis, q)}
${facts === undefined ? '' : html`<section aria-labelledby="claim"><h2 id="claim">The claim: cost and working days</h2>${claimSection(analysis.job, facts)}</section><section aria-labelledby="cracks"><h2 id="cracks">Crack checks</h2>${checksTable(facts, analysis.job)}</section>`}
${memberSections(analysis, q, 'full')}
${sectionSlider(slides)}
${lines.slice(0, full ? lines.length : MOST_LINES).map((l, i) => lineSection(l, analysis, q, i, context))}
${full ? '' : multiplesSection(lines.slice(MOST_LINES), [], analysis, q)}
${decisionSection(analysis)}
${full ? findingsSection(allFindings(analysis), q) : html`<section aria-labelledby="findings"><h2 id="findings">Findings</h2>${groupedFindings(allFindings(analysis), MOST_FINDINGS, 320)}</section>`}
${repairsSection(analysis, q)}
${extraSections(context, 'final')}
<section aria-labelledby="set-aside"><h2 id="set-aside">Readings set aside, and why</h2>${full ? setAsideTable(analysis.lines, q) : groupedSetAside(analysis.lines, MOST_FINDINGS)}</section>
${methodSection(analysis, q)}
${cautionsSection()}
${full ? html`<section aria-labelledby="record"><h2 id="record">Record: every reading</h2>${analysis.lines.map((l) => readingsTables(l, analysis.readings, q))}</section>` : html`<section aria-labelledby="record"><h2 id="record">Record</h2><p>Every reading, deviation, movement and rotation is a row of the CSV tables that <code>sweepbook export</code> writes beside this report; <code>sweepbook report --final --full</code> prints them.</p></section>`}
${filesSection(context, q, true, full ? undefined : MOST_FILES)}
</div>
</main>
${footer(context, q)}`;
  return page({
    title: `${analysis.job.name}: final report`,
    description: `As found against as left. ${verdictWords(analysis.member)}. ${headline(analysis).sentences.join(' ')}`,
    css: sheetCss(analysis, context, 'final report'),
    body,
    ...explorerParts(lines, analysis.job.member, context, q, slides),
  });
}

/** Bounds of the sections of the report that is not `full`, so that its length does not grow with the job. */
const MOST_LINES = 3;
const MOST_BRIEF = 4;
const MOST_LIMITS = 3;
const MOST_FINDINGS = 10;
const MOST_FILES = 12;
const MOST_STATIONS = 40;
const MOST_SURVEYS = 12;

/** As found against as left, one row a line: the first thing a finance office looks for. */
function briefSummary(lines: readonly LineAnalysis[], q: Quantities): Html {
  const rows = lines.flatMap((l) => {
    const [found, left] = [asFound(l), current(l)];
    if (found === undefined || left === undefined) return [];
    const size = ({ largest }: SurveyFit): Html =>
      html`${q.length(Math.abs(largest.deviation))} <span class="muted">${q.plusMinus(largest.u)}</span> at ${placeText(largest, q)}`;
    return [
      html`<tr><th scope="row">${brief(l.line.name, 30)}</th><td class="n">${size(found)}</td><td class="n">${untold(l) ? untoldCell(l, q) : size(left)}</td></tr>`,
    ];
  });
  const left = rows.length - MOST_BRIEF;
  return html`<section class="limits" aria-labelledby="result"><h2 id="result">Largest deviation</h2><div class="scroll" tabindex="0" role="region" aria-label="Largest deviation"><table aria-label="Largest deviation"><thead><tr><th scope="col">Line</th><th scope="col" class="n">As found</th><th scope="col" class="n">As left</th></tr></thead><tbody>${rows.slice(0, MOST_BRIEF)}</tbody></table></div>${left > 0 ? html`<p class="small">${left} more lines in the appendix.</p>` : ''}</section>`;
}

/** Whether the last judged survey of a line carries no number: what little it read would pass for what is left. */
function untold(line: LineAnalysis): boolean {
  return lineToday(line).lack !== null;
}

function untoldCell(line: LineAnalysis, q: Quantities): Html {
  const { now, told } = lineToday(line);
  const before =
    told === null
      ? ''
      : html`;<br><span class="muted">by cycle ${told.cycle}: ${q.length(Math.abs(told.largest.deviation))} ${q.plusMinus(told.largest.u)}</span>`;
  return html`<strong>cannot be told</strong> from cycle ${now?.cycle ?? 0}${before}`;
}

function resultsSection(lines: readonly LineAnalysis[], analysis: Analysis, q: Quantities): Html {
  const all = [
    ...lines.flatMap((l) => l.acceptance.map((result) => ({ name: l.line.name, result }))),
    ...analysis.unmeasured.map((result) => ({ name: 'no line', result })),
  ];
  if (all.length === 0)
    return html`<section class="limits" aria-labelledby="rules"><h2 id="rules">Rules and results</h2><p>The job names no rule; without one nothing here says whether the member is done.</p></section>`;
  const rank = { outside: 0, undetermined: 1, within: 2 } as const;
  const sorted = [...all].sort((a, b) => rank[a.result.result] - rank[b.result.result]);
  const open = all.filter(({ result }) => result.result !== 'within').length;
  return html`<section class="limits" aria-labelledby="rules"><h2 id="rules">Rules and results</h2><div class="scroll" tabindex="0" role="region" aria-label="Rules and results"><table aria-label="Rules and results"><tbody>${sorted.slice(0, MOST_LIMITS).map(({ name, result }) => html`<tr><th scope="row">${brief(name, 30)}: ${prose(brief(limitWords(result, q.units), 70))}</th><td>${resultCell(result.result)}</td></tr>`)}</tbody></table></div><p>${all.length - open} of ${all.length} within${open === 0 ? '' : `; ${open} not shown to be within, and undetermined is not a pass`}.</p></section>`;
}

/** Days, cost, cracks, and what is left to accept or plate, with a place to write why. */
function remainsSection(lines: readonly LineAnalysis[], analysis: Analysis, context: ReportContext): Html {
  const facts = context.claim;
  const open = lines.filter((l) => l.acceptance.some(({ result }) => result !== 'within'));
  const plates = [
    ...analysis.job.plates.map(({ name }) => name),
    ...analysis.job.lines.flatMap(({ name, panel }) =>
      panel?.cutOut?.plate == null ? [] : [`over the opening in ${name}`],
    ),
  ];
  const remains =
    open.length === 0 && analysis.unmeasured.length === 0
      ? 'Nothing beyond the limits of the job.'
      : `${brief([...open.map((l) => l.line.name), ...analysis.unmeasured.map(({ rule }) => rule.label)].join(', '), 160)}: not shown to be within. ${plates.length === 0 ? 'No plate is planned in the job.' : `Plates in the job: ${brief(plates.join(', '), 80)}.`}`;
  const none = 'not recorded';
  const days = facts?.sums == null ? none : daysText(facts.sums);
  const cost = facts?.sums == null ? none : costText(facts.sums, analysis.job);
  return html`<section class="limits" aria-labelledby="remains"><h2 id="remains">Days, cost, cracks, what remains</h2><p><strong>Days:</strong> ${brief(days, 150)}. <strong>Cost:</strong> ${cost}.</p><p><strong>Cracks.</strong> ${brief(facts?.cracks == null ? 'Crack checks: not recorded. Look for cracks before this member is accepted.' : facts.cracks.sentences.join(' '), 280)}</p><p><strong>What remains.</strong> ${prose(remains)}${open.length === 0 ? '' : ' Accepted or plated because (engineer): ______________________________'}</p></section>`;
}

function contents(analysis: Analysis, lines: readonly LineAnalysis[], context: ReportContext): Html {
  const item = (id: string, title: string): Html => html`<li><a href="#${id}">${title}</a></li>`;
  return html`<section aria-labelledby="contents"><h2 id="contents">Contents</h2><ol class="contents">${[
    ['summary', 'As found against as left'],
    ['acceptance', 'Acceptance'],
    ...(context.claim === undefined
      ? []
      : [
          ['claim', 'The claim: cost and working days'],
          ['cracks', 'Crack checks'],
        ]),
    ...lines
      .slice(0, context.full === true ? lines.length : MOST_LINES)
      .map((l) => [
        `line-${analysis.lines.indexOf(l)}`,
        `${l.line.panel === undefined ? 'Line' : 'Panel'} ${l.line.name}`,
      ]),
    ['decision', 'Stop or go on'],
    ['findings', 'Findings'],
    ['repairs', 'Repair history'],
    ...(context.sections ?? []).filter((s) => s.in !== 'daily').map((s) => [s.id, s.title]),
    ['set-aside', 'Readings set aside'],
    ['method', 'Method and uncertainty'],
    ['cautions', 'Cautions'],
    ['record', 'Record'],
    ['files', 'Files behind these numbers'],
  ].map(([id, title]) => item(id!, title!))}</ol></section>`;
}

/** "9 cycles, read on 6 days from 4 Mar 2026 to 11 Mar 2026". */
function workText(analysis: Analysis, q: Quantities): string {
  const dates = readingDates(analysis);
  const cycles = lastCycle(analysis);
  const count = `${cycles} ${cycles === 1 ? 'cycle' : 'cycles'}`;
  const first = dates[0];
  const last = dates.at(-1);
  if (first === undefined || last === undefined) return `${count}, no dates given`;
  if (first === last) return `${count}, read on ${q.date(first)}`;
  return `${count}, read on ${dates.length} working days from ${q.date(first)} to ${q.date(last)} (${daysBetween(first, last) + 1} calendar days)`;
}

function summarySection(lines: readonly LineAnalysis[], q: Quantities): Html {
  const rows = lines.flatMap((l) => {
    const found = asFound(l);
    const left = current(l);
    if (found === undefined || left === undefined) return [];
    const closed = Math.abs(left.largest.deviation) - Math.abs(found.largest.deviation);
    const share = Math.abs(found.largest.deviation) > 0 ? -closed / Math.abs(found.largest.deviation) : 0;
    if (untold(l)) {
      return [
        html`<tr><th scope="row"><strong>${l.line.name}</strong>, largest deviation</th><td class="n" title="${q.decimal(found.largest.deviation)}">${q.length(found.largest.deviation)} <span class="muted">${q.plusMinus(found.largest.u)}</span></td><td class="n">${placeText(found.largest, q)}</td><td class="n" colspan="3">${untoldCell(l, q)}</td></tr>`,
      ];
    }
    return [
      html`<tr><th scope="row"><strong>${l.line.name}</strong>, largest deviation</th><td class="n" title="${q.decimal(found.largest.deviation)}">${q.length(found.largest.deviation)} <span class="muted">${q.plusMinus(found.largest.u)}</span></td><td class="n">${placeText(found.largest, q)}</td><td class="n" title="${q.decimal(left.largest.deviation)}"><strong>${q.length(left.largest.deviation)}</strong> <span class="muted">${q.plusMinus(left.largest.u)}</span></td><td class="n">${placeText(left.largest, q)}</td><td class="n" title="${q.decimal(closed)}">${q.signed(closed)} ${q.offsetUnit}${found === left ? '' : ` (${Math.round(share * 100)} % taken out)`}</td></tr>`,
      html`<tr><th scope="row">root mean square</th><td class="n" title="${q.decimal(found.rms)}">${q.length(found.rms)}</td><td></td><td class="n" title="${q.decimal(left.rms)}">${q.length(left.rms)}</td><td></td><td class="n" title="${q.decimal(left.rms - found.rms)}">${q.signed(left.rms - found.rms)} ${q.offsetUnit}</td></tr>`,
      ...l.fit.zones.map((zone) => {
        const then = bendAsFound(l, zone, found);
        const now = found === left ? then : left.zones.find((z) => z.zone === zone.zone);
        if (now === undefined) return '';
        return html`<tr><th scope="row">rotation of zone ${zone.zone}${zone.class === 'elastic' ? ' (elastic: not shown to have yielded)' : ''}</th><td class="n">${q.angle(then.rotation)} <span class="muted">± ${degrees(MEASURED.factor * then.u)}</span></td><td class="n">${q.place(zone.core.centre)}</td><td class="n">${q.angle(now.rotation)} <span class="muted">± ${degrees(MEASURED.factor * now.u)}</span></td><td></td><td class="n">${q.angle(now.rotation - then.rotation)}</td></tr>`;
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
  const full = context.full === true;
  const stations = Math.max(0, ...line.fit.surveys.map((survey) => survey.stations.length));
  const panel = line.line.panel !== undefined;
  const drawn =
    !panel && (line.line.kind === 'sweep' || line.line.kind === 'camber' || line.line.kind === 'bulge');
  return html`<section class="line" aria-labelledby="line-${own}"><h2 id="line-${own}">${panel ? 'Panel' : 'Line'} ${line.line.name} <span class="muted small">${KIND_WORDS[line.line.kind]}</span></h2>
${drawn ? planFigure(line, analysis.job, q, { of: heatedVees(line, context.heats), word: 'heated' }) : ''}
${panel ? panelPlots(line, analysis.job.member, q, true) : figure('As found and as left', `+ is ${line.line.positive}.`, (width) => profilePlot(line, analysis.job, q, width, false, !full))}
${filmFigure(line, q)}
${several ? figure('How it came in', panel ? PANEL_PROGRESS_CAPTION : PROGRESS_CAPTION, (width) => progressPlot(line, q, width)) : ''}
${full && several && line.fit.zones.length > 0 ? figure('Rotation of the zones', 'By cycle; each zone has its own marker and dash.', (width) => rotationsPlot(line, q, width)) : ''}
${full && line.movements.length > 0 ? figure('Movement, cycle by cycle', 'What each cycle did to the largest deviation, with its uncertainty; one bar over several cycles where none between was read.', (width) => movementPlot(line, analysis.job, q, width)) : ''}
${explorer(line, index, context)}
${panel ? '' : zonesOrWhy(line, analysis.job.member, q)}
${full || line.fit.pointCurvature.length <= MOST_STATIONS ? secondDifferenceTable(line, q) : html`<p>Published strain ratio at ${line.fit.pointCurvature.length} stations: <code>sweepbook report --final --full</code>.</p>`}
${panel ? panelTable(line, q) : full || stations <= MOST_STATIONS ? deviationTable(line, q, 0) : html`<p>Deviations at ${stations} stations: <code>sweepbook export --table deviations</code>.</p>`}
${full || line.fit.surveys.length <= MOST_SURVEYS ? surveysTable(line, q) : html`<p>${line.fit.surveys.length} surveys: <code>sweepbook export --table movement</code>.</p>`}
${springbackText(line, q)}
</section>`;
}
