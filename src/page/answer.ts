import type { Analysis, LineAnalysis, SurveyFit } from '../analysis.ts';
import { lineToday } from '../decision/line-today.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { verdictWords } from '../decision/verdict-words.ts';
import { type BesideHeats, withHeats } from '../heats/beside-heats.ts';
import { kept } from '../report/figures/profile-frame.ts';
import { allFindings } from '../report/grouped.ts';
import { type Html, html, markup } from '../report/html.ts';
import { panelMapsAt } from '../report/panel-section.ts';
import { current, judged, leadingLine } from '../report/picks.ts';
import { placeText, type Quantities, quantities } from '../report/quantities.ts';
import { HATCHES } from '../report/report-css.ts';
import { acceptanceSection, decisionSection, findingsList, findingsSection } from '../report/sections.ts';
import { zonesOrWhy } from '../report/tables.ts';
import { keyFigures } from '../report/verdict-panel.ts';
import { prose } from '../report/words.ts';
import { headline } from '../status/crew-words.ts';
import { isJudged } from '../survey/judged.ts';
import { profileToday } from './profile-today.ts';

/** A line whose survey of this cycle is only begun. */
interface Unsettled {
  readonly line: string;
  /** `5 of 19 stations`, against the survey before; of the first survey only how many. */
  readonly read: string;
}

/**
 * The first line whose newest survey, of the cycle being keyed, cannot speak for the line yet (`shortfall`, the rule of
 * the verdict itself). The line that decides is asked first.
 */
export function unsettled(analysis: Analysis, cycle: number): Unsettled | null {
  for (const line of linesThatDecide(analysis.lines)) {
    const { now, lack } = lineToday(line);
    if (now === null || now.cycle !== cycle || lack === null) continue;
    const before = judged(line).at(-2);
    const read = kept(now).length;
    const of = before === undefined ? '' : ` of ${kept(before).length}`;
    return { line: line.line.name, read: `${read}${of} stations` };
  }
  return null;
}

/** One line for the strip that is always in sight. */
export function answerInShort(
  analysis: Analysis,
  lineName: string,
  cycle: number,
): { verdict: string; figure: string } {
  const q = quantities(analysis.job.units, 16, analysis.job.locale);
  const line = analysis.lines.find((each) => each.line.name === lineName) ?? leadingLine(analysis);
  const open = unsettled(analysis, cycle);
  if (open !== null) return { verdict: 'Read on', figure: `${open.line}: ${open.read}` };
  const now = line === undefined ? undefined : current(line);
  return {
    verdict: verdictWords(analysis.member),
    figure:
      line === undefined || now === undefined
        ? 'no reading to judge on this line yet'
        : lineToday(line).lack !== null
          ? `${line.line.name}: cannot be told from cycle ${now.cycle}`
          : `${line.line.name}: largest ${q.length(Math.abs(now.largest.deviation))} at ${placeText(now.largest, q)}`,
  };
}

/**
 * The live answer: stops, verdict and reason, what the heats say beside it, the figures asked for, profile, zones,
 * acceptance, findings.
 *
 * @param beside what the heats say; null while that is not worked out yet
 */
export function answerHtml(
  bare: Analysis,
  beside: BesideHeats | null,
  lineName: string,
  cycle: number,
  width: number,
): Html {
  const analysis = beside === null ? bare : withHeats(bare, beside);
  const q = quantities(analysis.job.units, 16, analysis.job.locale);
  const line = analysis.lines.find((each) => each.line.name === lineName) ?? leadingLine(analysis);
  const open = unsettled(analysis, cycle);
  const { sentences, next } = headline(analysis);
  const findings = allFindings(analysis);
  const [stops, others] = [
    findings.filter(({ severity }) => severity === 'stop'),
    findings.filter(({ severity }) => severity !== 'stop'),
  ];
  const days = (beside?.days ?? []).map((text) => html`<p class="beside-day">${prose(text)}</p>`);
  return html`${markup(HATCHES)}${findingsList(stops, q)}${
    open === null
      ? html`<p class="label">The member</p>
<h2 class="verdict-words">${verdictWords(analysis.member)}</h2>
<p class="reason">${prose(sentences.join(' '))}</p>`
      : html`<div class="unsettled"><h2>Read on</h2><p>Cycle ${cycle} on ${open.line} is only begun, ${open.read} read: nothing can be said from it yet.</p></div>`
  }
<p class="next-step"><strong>Next:</strong> ${prose(next)}</p>
${beside === null ? html`<p class="muted small">The heat log is still being laid beside this.</p>` : days}
${line === undefined ? '' : lineAnswer(line, analysis, q, width)}
${acceptanceSection(analysis, q)}
${findingsSection(others, q)}
${decisionSection(analysis, line !== undefined && latest(line) !== undefined && lineToday(line).lack === null ? line : undefined)}`;
}

function lineAnswer(line: LineAnalysis, analysis: Analysis, q: Quantities, width: number): Html {
  const now = latest(line);
  const what = line.line.panel === undefined ? 'Line' : 'Panel';
  if (now === undefined) return html`<p>${what} ${line.line.name} has no readings yet.</p>`;
  const { lack } = lineToday(line);
  const before = line.fit.surveys.findLast((s) => s.state === now.state && s.cycle < now.cycle);
  const aside =
    now.state === 'restrained' ? ', jacks on (not judged)' : isJudged(now) ? '' : ', steel hot (not judged)';
  const mapped = line.fit.surveys.some((s) => s.panel !== undefined);
  return html`<section aria-labelledby="answer-line"><h2 id="answer-line">${what} ${line.line.name}</h2>
${lack === null ? html`<p><strong>${verdictWords(line.progress)}.</strong> ${prose(line.progress.reason)}</p>` : ''}
${keyFigures(line, q)}
${mapped ? panelMapsAt(line, analysis.job.member, q, width) : html`<figure><figcaption>Deviation from the baseline, cycle ${now.cycle}${aside}. + is ${line.line.positive}.</figcaption>${profileToday(line, now, before, analysis.job, q, width)}</figure>`}
${zonesOrWhy(line, analysis.job.member, q)}</section>`;
}

/** The newest survey with the jacks off, judged or hot, as it is being keyed; of a line read only with the jacks on, that. */
function latest(line: LineAnalysis): SurveyFit | undefined {
  return line.fit.surveys.findLast((s) => s.state === 'released') ?? line.fit.surveys.at(-1);
}
