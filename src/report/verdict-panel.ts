import type { Analysis, LineAnalysis, Verdict } from '../analysis.ts';
import { largestOfShape, lineToday } from '../decision/line-today.ts';
import { verdictWords } from '../decision/verdict-words.ts';
import { EXPECTED, levelText } from '../maths/coverage-level.ts';
import {
  extentWords,
  headline,
  looksAhead,
  movedLabel,
  movedWord,
  otherFindings,
  untold,
  withoutRepeats,
} from '../status/crew-words.ts';
import { brief } from './brief.ts';
import { type Html, html } from './html.ts';
import { placeText, type Quantities } from './quantities.ts';
import { resultCell } from './tables.ts';
import { prose } from './words.ts';

/** Drawn marks, 24 × 24: the verdict again as a shape. */
const MARKS: Record<Verdict, string> = {
  'within-tolerance': 'M4 13l5 5L20 6',
  progressing: 'M3 5c7 1 12 5 17 12M20 9v8h-8',
  slow: 'M3 9c6 0 12 2 17 6M15 17l5-2-2-5',
  undecided: 'M8 8a4 4 0 1 1 5.5 3.7c-1 .5-1.5 1.200-1.500 2.800M12 19v.01',
  stalled: 'M8 5v14M16 5v14',
  regressing: 'M3 17c7-1 12-5 17-12M20 13V5h-8',
  overcorrected: 'M3 5l9 14 9-14M12 19V5',
  'not-enough-readings': 'M5 12v.01M12 12v.01M19 12v.01',
};

/** Verdict in large words with its reason, the figures a crew asks for, and what to look at next. */
export function verdictPanel(
  analysis: Analysis,
  q: Quantities,
  besideDays: readonly string[] = [],
  mostLooks = LOOKS,
): Html {
  const verdict = analysis.member.verdict;
  const { line, sentences, next } = headline(analysis);
  return html`<section class="verdict" aria-labelledby="verdict-words">
<div><p class="label">Verdict</p><div class="verdict-head"><svg class="mark" viewBox="0 0 24 24" aria-hidden="true"><path d="${MARKS[verdict]}"/></svg><h2 id="verdict-words">${verdictWords(analysis.member)}</h2></div><p class="reason">${prose(sentences.join(' '))}</p><p class="next-step"><strong>Next:</strong> ${prose(next)}</p>${besideDays.map((text) => html`<p class="beside-day">${prose(text)}</p>`)}</div>
${line === null ? '' : keyFigures(line, q)}
${nextLook(analysis, mostLooks)}
</section>`;
}

/** The four figures a crew asks for, of one line: the same on the sheets and on the readings page. */
export function keyFigures(line: LineAnalysis, q: Quantities): Html {
  const today = lineToday(line);
  const { now, moved, limit } = today;
  const missing = untold(line, today, q.units);
  const item = (name: string, strong: Html | string, rest: Html | string): Html =>
    html`<div><dt>${name}</dt><dd><strong>${strong}</strong>${rest}</dd></div>`;
  const largest =
    now === null
      ? item('Largest now', 'not read', ' with the jacks off and the steel cooled')
      : missing !== null
        ? item('Largest now', 'cannot be told', ' read both ends and the bend')
        : item(
            'Largest now',
            html`<span class="num" title="${q.decimal(now.largest.deviation)}">${now.panel?.crest.lowerBound === true ? 'at least ' : ''}${q.length(Math.abs(now.largest.deviation))}</span>`,
            html`<span class="num">${q.plusMinus(now.largest.u)}</span> at <span class="num">${placeText(now.largest, q)}</span>, ${line.line.name}${shapeText(line, q)}`,
          );
  const others = line.acceptance.length - 1;
  return html`<dl class="figures" aria-label="Figures of line ${line.line.name}">
${largest}
${limit === null ? item('Limit', 'none set', ' for this line in the job') : item('Limit', q.limit(limit.limit), html`${prose(extentWords(limit.rule, q.units))}: ${resultCell(limit.result)}${others > 0 ? html` <span class="muted">and ${others} more below</span>` : ''}`)}
${moved === null ? item('Moved', missing === null ? 'no cycle yet' : 'cannot be told', '') : item(movedLabel(moved), html`<span class="num" title="${q.decimal(moved.largest.movement)}">${q.movement(moved.largest.movement)} ${q.offsetUnit}</span>`, html`<span class="num">${q.plusMinus(moved.largest.u)}</span>, ${movedWord(moved.largest)}`)}
${cyclesItem(line, missing !== null, item)}
</dl>`;
}

/** Largest of the shape through all readings, where that reads differently: the limits are judged on it. */
function shapeText(line: LineAnalysis, q: Quantities): string {
  const { now } = lineToday(line);
  const shape = now === null ? null : largestOfShape(line, now);
  if (now === null || shape === null) return '';
  const text = q.length(shape);
  return text === q.length(Math.abs(now.largest.deviation))
    ? ''
    : prose(`; the shape through all readings gives ${text}`);
}

function cyclesItem(
  line: LineAnalysis,
  untold: boolean,
  item: (name: string, strong: string, rest: string) => Html,
): Html {
  const { cyclesLeft, probabilityWithin, daysLeft, verdict, pattern } = line.progress;
  const chance =
    probabilityWithin === null ? '' : `chance of ever getting inside ${percent(probabilityWithin)}`;
  if (verdict === 'within-tolerance') return item('Cycles left', 'none', 'inside the tolerance now');
  if (untold) return item('Cycles left', 'cannot be told', '');
  if (!looksAhead(verdict)) return item('Cycles left', 'no forecast', 'as long as it goes this way');
  if (pattern?.neverMoved === true) return item('Cycles left', 'no forecast', 'nothing has moved it yet');
  if (cyclesLeft === null) return item('Cycles left', 'no forecast', chance);
  if (cyclesLeft.high !== null && Math.ceil(cyclesLeft.high) === 0)
    return item('Cycles left', 'none', 'by the estimate; the readings do not show it yet');
  const days = daysLeft === null ? '' : `, about ${wholeRange(daysLeft)} working days`;
  return item(
    `Cycles left, ${prose(levelText(EXPECTED))}`,
    wholeRange(cyclesLeft),
    `likeliest ${Math.ceil(cyclesLeft.expected)}${days}; ${chance}`,
  );
}

/** A range in whole cycles or days, rounded up: a part of a cycle takes a whole one. */
export function wholeRange(range: { readonly low: number; readonly high: number | null }): string {
  const low = Math.ceil(range.low);
  if (range.high === null) return `${low} or more, perhaps never`;
  const high = Math.ceil(range.high);
  return low === high ? String(low) : `${low} to ${high}`;
}

export function percent(p: number): string {
  if (p > 0.99) return 'over 99 %';
  if (p < 0.01) return 'under 1 %';
  return `${Math.round(p * 100)} %`;
}

/** Most of what to look at next stands on the first screen, and how much of each. */
const LOOKS = 3;
const LOOK_CHARACTERS = 210;

/**
 * What deserves the next look, most urgent first: stops, what practice says to check, cautions. Each with the sentences
 * an earlier one has said already taken out; empty where nothing is left of it.
 */
function looks(
  analysis: Analysis,
): readonly { readonly of: string; readonly said: string; readonly stop: boolean }[] {
  const findings = otherFindings(analysis);
  const ofSeverity = (severity: 'stop' | 'caution') =>
    findings.filter((finding) => finding.severity === severity).map((finding) => finding.message);
  const stops = ofSeverity('stop');
  const messages = [
    ...stops,
    ...findings.filter(({ code }) => code === 'file-not-in-ledger').map(({ message }) => message),
    ...analysis.decision.checkFirst.slice(0, 2),
    ...ofSeverity('caution'),
  ];
  return withoutRepeats(messages).flatMap((said, i) =>
    said === '' ? [] : [{ of: messages[i]!, said, stop: i < stops.length }],
  );
}

/** Messages that stand whole on the first screen, so that no list of findings repeats them. */
export function saidFirst(analysis: Analysis): ReadonlySet<string> {
  return new Set(
    looks(analysis)
      .slice(0, LOOKS)
      .filter(({ said }) => said.length <= LOOK_CHARACTERS)
      .map(({ of }) => of),
  );
}

function nextLook(analysis: Analysis, most: number): Html {
  const all = looks(analysis);
  const left = all.length - most;
  return html`<div class="next"><h3>Look at next</h3>${all.length === 0 ? html`<p class="small">Nothing beyond the next step.</p>` : html`<ol>${all.slice(0, most).map(({ said, stop }) => html`<li>${stop ? html`<strong>Stop:</strong> ` : ''}${prose(brief(said, LOOK_CHARACTERS))}</li>`)}</ol>`}${left > 0 ? html`<p class="small">And ${left} more under <a href="#findings">findings</a>.</p>` : ''}</div>`;
}
