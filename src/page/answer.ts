import type { Analysis, LineAnalysis, SurveyFit } from '../analysis.ts';
import { kept } from '../report/figures/profile-frame.ts';
import { type Html, html, markup } from '../report/html.ts';
import { bandLimit, current, leadingLine } from '../report/picks.ts';
import { type Quantities, quantities } from '../report/quantities.ts';
import { HATCHES } from '../report/report-css.ts';
import { acceptanceSection, decisionSection, findingsSection } from '../report/sections.ts';
import { zonesTable } from '../report/tables.ts';
import { movementWords, wholeRange } from '../report/verdict-panel.ts';
import { prose, VERDICT_WORDS } from '../report/words.ts';
import { profileToday } from './profile-today.ts';

/** A line whose survey of this cycle is only begun. */
interface Unsettled {
  readonly line: string;
  /** Of the largest deviation, m. */
  readonly u: number;
  /** Stations read, and how many the survey before had; null where the uncertainty alone speaks. */
  readonly read: { readonly now: number; readonly before: number } | null;
}

/**
 * The first line whose newest survey, of the cycle being keyed, cannot speak for the line yet: it does not reach to
 * where the survey before was worst, or has under half its stations; or it is so uncertain (twice u over the tolerance,
 * or over 1/2 in where there is none) because its string is not tied down at both ends.
 */
export function unsettled(analysis: Analysis, cycle: number): Unsettled | null {
  for (const line of analysis.lines) {
    const now = current(line);
    if (now === undefined || now.cycle !== cycle) continue;
    const { u } = now.largest;
    const before = line.fit.surveys.findLast((s) => s.state === now.state && s.cycle < now.cycle);
    if (before !== undefined) {
      const stations = kept(now).map((p) => p.station);
      const read = { now: stations.length, before: kept(before).length };
      const worst = before.largest.station;
      const reaches = stations.some((s) => s <= worst + 1e-6) && stations.some((s) => s >= worst - 1e-6);
      if (!reaches || 2 * read.now < read.before) return { line: line.line.name, u, read };
    }
    const limit = bandLimit(line) ?? 0.0127;
    if (2 * u > limit) return { line: line.line.name, u, read: null };
  }
  return null;
}

/** One line for the strip that is always in sight. */
export function answerInShort(
  analysis: Analysis,
  lineName: string,
  cycle: number,
): { verdict: string; figure: string } {
  const q = quantities(analysis.job.units, 16);
  const line = analysis.lines.find((each) => each.line.name === lineName) ?? leadingLine(analysis);
  const now = line === undefined ? undefined : current(line);
  const open = unsettled(analysis, cycle);
  if (open !== null) {
    const { read } = open;
    const so = read === null ? `${q.plusMinus(open.u)} so far` : `${read.now} of ${read.before} stations`;
    return { verdict: 'Read on', figure: `${open.line}: ${so}` };
  }
  return {
    verdict: VERDICT_WORDS[analysis.member.verdict],
    figure:
      now === undefined
        ? 'no reading on this line yet'
        : `largest ${q.length(Math.abs(now.largest.deviation))} at ${q.station(now.largest.station)}`,
  };
}

/** The live answer: verdict and reason, the figures asked for, profile, zones, acceptance, findings. */
export function answerHtml(analysis: Analysis, lineName: string, cycle: number, width: number): Html {
  const q = quantities(analysis.job.units, 16);
  const line = analysis.lines.find((each) => each.line.name === lineName) ?? leadingLine(analysis);
  const open = unsettled(analysis, cycle);
  return html`${markup(HATCHES)}${
    open === null
      ? html`<p class="label">The member</p>
<h2 class="verdict-words">${VERDICT_WORDS[analysis.member.verdict]}</h2>
<p class="reason">${prose(analysis.member.reason)}</p>`
      : html`<div class="unsettled"><h2>Read on</h2><p>Cycle ${cycle} on ${open.line} is only begun: ${open.read === null ? uncertainYet(open, q) : `${open.read.now} of the ${open.read.before} stations of the survey before ${open.read.now === 1 ? 'is' : 'are'} read, too few to speak for the line. Read on over the bend and to both ends.`}</p><p class="small">From these readings alone it would be: ${VERDICT_WORDS[analysis.member.verdict].toLowerCase()}. ${prose(analysis.member.reason)}</p></div>`
  }
${line === undefined ? '' : lineAnswer(line, analysis, q, width, open?.line === line.line.name)}
${acceptanceSection(analysis, q)}
${findingsSection(analysis, q)}
${decisionSection(analysis)}`;
}

function uncertainYet({ u }: Unsettled, q: Quantities): string {
  return `what is read so far leaves the largest deviation uncertain by ${q.plusMinus(u).replace('± ', '±\u00a0')}, because the string is not tied down by readings at both ends yet. Read the bearings and the undamaged reaches.`;
}

function lineAnswer(
  line: LineAnalysis,
  analysis: Analysis,
  q: Quantities,
  width: number,
  begun: boolean,
): Html {
  const now = latest(line);
  if (now === undefined) return html`<p>Line ${line.line.name} has no readings yet.</p>`;
  const before = line.fit.surveys.findLast((s) => s.state === now.state && s.cycle < now.cycle);
  return html`<section aria-labelledby="answer-line"><h2 id="answer-line">Line ${line.line.name}</h2>
${analysis.lines.length > 1 && !begun ? html`<p><strong>${VERDICT_WORDS[line.progress.verdict]}.</strong> ${prose(line.progress.reason)}</p>` : ''}
${figures(line, now, before, q)}
<figure><figcaption>Deviation from the baseline${now.state === 'restrained' ? ', jacks on (not judged)' : ''}. + is ${line.line.positive}.</figcaption>${profileToday(line, now, before, analysis.job, q, width)}</figure>
${line.fit.zones.length > 0 ? zonesTable(line, q) : ''}</section>`;
}

/** The newest survey, with the jacks off where the newest cycle has one. */
function latest(line: LineAnalysis): SurveyFit | undefined {
  return current(line);
}

function figures(line: LineAnalysis, now: SurveyFit, before: SurveyFit | undefined, q: Quantities): Html {
  const limit = bandLimit(line);
  const moved = line.movements.findLast((m) => m.toCycle === now.cycle);
  const { cyclesLeft, verdict } = line.progress;
  const item = (name: string, strong: string, rest: string) =>
    html`<div><dt>${name}</dt><dd><strong class="num">${strong}</strong> ${rest}</dd></div>`;
  const last =
    before === undefined ? '' : `, cycle ${before.cycle}: ${q.length(Math.abs(before.largest.deviation))}`;
  return html`<dl class="figures">
${item('Largest now', q.length(Math.abs(now.largest.deviation)), prose(`${q.plusMinus(now.largest.u)} at ${q.station(now.largest.station)}${last}`))}
${item('Tolerance', limit === null ? 'none set' : q.length(limit), limit === null ? 'the job names no limit' : 'over the whole line')}
${item('Moved since the last cycle', moved === undefined ? 'no cycle yet' : `${q.movement(moved.largest.movement)} ${q.offsetUnit}`, moved === undefined ? '' : `${q.plusMinus(moved.largest.u)}${movementWords(moved.largest)}`)}
${item('Cycles left, 80\u00a0%', verdict === 'within-tolerance' ? 'none' : cyclesLeft === null ? 'no forecast' : wholeRange(cyclesLeft), '')}
</dl>`;
}
