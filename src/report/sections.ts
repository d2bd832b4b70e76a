import type { Analysis, LineAnalysis } from '../analysis.ts';
import { lineToday } from '../decision/line-today.ts';
import { linesThatDecide } from '../decision/member-verdict.ts';
import { verdictWords } from '../decision/verdict-words.ts';
import type { Finding } from '../finding.ts';
import { EXPECTED, levelText, MEASURED } from '../maths/coverage-level.ts';
import { looksAhead } from '../status/crew-words.ts';
import { formatLength } from '../units/format-length.ts';
import { formatStress } from '../units/format-quantity.ts';
import { cautionsBlock } from './cautions.ts';
import type { ReportContext } from './context.ts';
import { type Html, html } from './html.ts';
import { placeText, type Quantities } from './quantities.ts';
import { acceptanceTable } from './tables.ts';
import { wholeRange } from './verdict-panel.ts';
import { prose } from './words.ts';

const SEVERITIES: readonly Finding['severity'][] = ['stop', 'caution', 'note'];

/** Findings of the job and of every line, stops first, each said once. */
export function findingsSection(all: readonly Finding[], q: Quantities): Html {
  return html`<section aria-labelledby="findings"><h2 id="findings">Findings</h2>${all.length === 0 ? html`<p>None.</p>` : findingsList(all, q)}</section>`;
}

/** Findings as a list, stops first; nothing where there are none. What a finding of the same kind has said stands once. */
export function findingsList(findings: readonly Finding[], q: Quantities): Html | '' {
  const sorted = SEVERITIES.flatMap((severity) => findings.filter((f) => f.severity === severity));
  if (sorted.length === 0) return '';
  const said = new Map<string, Set<string>>();
  return html`<ul class="findings">${sorted.map((f) => {
    const before = said.get(f.code) ?? new Set();
    said.set(f.code, before);
    return html`<li class="${f.severity}"><span class="sev">${{ stop: 'Stop', caution: 'Caution', note: 'Note' }[f.severity]}</span><span>${prose(unsaid(f.message, before))}${placeOf(f, q)}</span></li>`;
  })}</ul>`;
}

/** Shorter sentences ("Read it again.") are left where they stand. */
const WORTH_SAYING_ONCE = 4;

/** A message without the sentences said before, its first always kept; what it says is added to `before`. */
function unsaid(message: string, before: Set<string>): string {
  const sentences = message.split(/(?<=[.!?]) (?=[A-Z])/);
  const left = sentences.filter(
    (each, i) => i === 0 || !before.has(each) || each.split(' ').length < WORTH_SAYING_ONCE,
  );
  for (const each of sentences) before.add(each);
  return left.join(' ');
}

function placeOf(f: Finding, q: Quantities): Html | '' {
  const parts = [
    f.line === undefined ? '' : `line ${f.line}`,
    f.cycle === undefined ? '' : `cycle ${f.cycle}`,
    f.station === undefined ? '' : `station ${q.place(f.station)}`,
    f.file === undefined ? '' : `${f.file}${f.row === undefined ? '' : `, row ${f.row}`}`,
  ].filter((part) => part !== '');
  return parts.length === 0 ? '' : html` <span class="muted small">(${parts.join(', ')})</span>`;
}

export function acceptanceSection(analysis: Analysis, q: Quantities): Html {
  const results = [
    ...analysis.lines.flatMap((l) => l.acceptance.map((result) => ({ line: l.line.name, result }))),
    ...analysis.unmeasured.map((result) => ({ line: null, result })),
  ];
  return html`<section aria-labelledby="acceptance"><h2 id="acceptance">Acceptance</h2>${acceptanceTable(results, q)}
<p><strong>Decision rule.</strong> Guarded acceptance (JCGM 106:2012, 8.3.2) with a guard band of twice the standard uncertainty: <em>within</em> only when the measured value stays inside the limit with the guard band added, <em>outside</em> only when it stays beyond the limit with it taken off, <em>undetermined</em> in between. Undetermined is not a pass. The engineer chooses the rules; the specification in force governs.</p></section>`;
}

/**
 * Facts for and against stopping. The page never decides.
 *
 * @param above the line whose reason stands above on the same screen already
 */
export function decisionSection(analysis: Analysis, above?: LineAnalysis): Html {
  const { forStopping, againstStopping, checkFirst } = analysis.decision;
  const list = (items: readonly string[], none: string): Html =>
    items.length === 0
      ? html`<p class="muted">${none}</p>`
      : html`<ul>${items.map((i) => html`<li>${prose(saidAbove(i, above))}</li>`)}</ul>`;
  return html`<section aria-labelledby="decision"><h2 id="decision">Stop or go on: the facts</h2><p>The decision is the engineer’s. These are the facts the readings give for it.</p><div class="facts"><div><h3>For stopping</h3>${list(forStopping, 'Nothing in the readings.')}</div><div class="against"><h3>Against stopping</h3>${list(againstStopping, 'Nothing in the readings.')}</div><div><h3>Check first</h3>${list(checkFirst, 'Nothing special.')}</div></div></section>`;
}

function saidAbove(fact: string, above: LineAnalysis | undefined): string {
  if (above === undefined) return fact;
  const { reason } = above.progress;
  const early = `too early to call. ${reason}`;
  if (!fact.startsWith(`${above.line.name}: `))
    return fact.replace(early, 'too early to call, for the same reason.');
  return fact
    .replace(early, 'too early to call, as said above.')
    .replace(reason, `${verdictWords(above.progress)}, as said above.`);
}

export function repairsSection(analysis: Analysis, q: Quantities): Html {
  const { repairs } = analysis.job;
  return html`<section aria-labelledby="repairs"><h2 id="repairs">Repair history of the location</h2>${repairs.length === 0 ? html`<p>The job names no earlier damage or repair here. Ask the owner: repeated straightening of one place makes the steel more brittle.</p>` : html`<div class="scroll" tabindex="0" role="region" aria-label="Repair history"><table aria-label="Repair history"><thead><tr><th scope="col">Date</th><th scope="col" class="n">Stations</th><th scope="col">What was done</th></tr></thead><tbody>${repairs.map((r) => html`<tr><th scope="row">${r.date === null ? 'not known' : q.date(r.date)}</th><td class="n">${q.station(r.from)} to ${q.station(r.to)}</td><td>${r.note}</td></tr>`)}</tbody></table></div>`}</section>`;
}

/** Files with their SHA-256; `whole` adds the ledger record by record. */
export function filesSection(
  given: ReportContext,
  q: Quantities,
  whole: boolean,
  most = Number.POSITIVE_INFINITY,
): Html {
  const context = { ...given, files: given.files.slice(-most), ledger: given.ledger.slice(-most) };
  const left =
    given.files.length - context.files.length + (whole ? given.ledger.length - context.ledger.length : 0);
  return html`<section aria-labelledby="files"><h2 id="files">Files behind these numbers</h2>${context.files.length === 0 ? html`<p>None listed.</p>` : html`<div class="scroll" tabindex="0" role="region" aria-label="Files"><table aria-label="Files"><thead><tr><th scope="col">File</th><th scope="col" class="n">Rows</th><th scope="col">SHA-256</th><th scope="col">Known as</th></tr></thead><tbody>${context.files.map((f) => html`<tr><th scope="row">${f.file}</th><td class="n">${f.rows ?? ''}</td><td class="hash">${f.sha256}</td><td>${f.note}</td></tr>`)}</tbody></table></div>`}${!whole || context.ledger.length === 0 ? '' : html`<h3>Ledger</h3><div class="scroll" tabindex="0" role="region" aria-label="Ledger"><table aria-label="Ledger"><thead><tr><th scope="col">When</th><th scope="col">What</th></tr></thead><tbody>${context.ledger.map((r) => html`<tr><th scope="row" class="num">${q.date(r.when)} ${r.when.slice(11, 16)}</th><td>${r.what}</td></tr>`)}</tbody></table></div>`}${left === 0 ? '' : html`<p>${left} earlier files and records: <code>sweepbook report --final --full</code>; the ledger itself is ledger.jsonl.</p>`}${sealLine(context)}</section>`;
}

function sealLine(context: ReportContext): Html | '' {
  const seal = context.ledgerSeal ?? null;
  if (seal === null) return '';
  return html`<p>Seal of ledger record ${seal.records}: <span class="hash">${seal.sha256}</span>. Whoever holds this page can tell whether the ledger was changed later.</p>`;
}

/** How the numbers were made, with what they rest on. */
export function methodSection(analysis: Analysis, q: Quantities): Html {
  const { member } = analysis.job;
  const zoned = analysis.lines.some((l) => l.fit.zones.length > 0);
  const assumptions = [...new Set(analysis.lines.flatMap((l) => l.progress.assumptions))];
  return html`<section aria-labelledby="method"><h2 id="method">Method and uncertainty</h2>
<p>Deviation is the offset read, less the standoff, the string’s own offset and tilt, and the baseline: the shape the member would have undamaged. Every survey has its own string, so offset and tilt are found anew each time from the bearings and the undamaged reaches; whether these still agree with each other is the closure test. Only readings taken with the jacks off and the steel cooled are judged; the others are shown and no verdict, limit or “as left” rests on them.</p>
<p>The tables give what each station itself read. Verdict, trend and acceptance use the shape fitted through all the readings of a survey where there is one, because its crest is not picked for its reading error; a reading that stands clear of that shape still counts for itself in acceptance. The two can differ by about the uncertainty stated.</p>
<p><strong>Uncertainty.</strong> A value written ± has an expanded uncertainty with k = 2, about ${prose(levelText(MEASURED))} (JCGM 100:2008). It combines the scatter of one reading with the uncertainty of the string set-up. It does not know of a wrong station, a bent rule, warm steel or sun on one side.</p>
<dl class="${analysis.lines.length > 1 ? 'columns' : ''}">${analysis.lines.map((l) => lineMethod(l, q))}</dl>
${zoned ? html`<p><strong>Zones.</strong> ${member.diaphragms === null ? 'The as-found shape is fitted as straight reaches joined by disjoint zones of concentrated curvature, with elastic bending bounded by yield locked in between them; the job does not give the diaphragms, and giving them would sharpen the zones.' : 'The as-found shape is fitted by the mechanics of the blow: an elastic-plastic flange on diaphragms that give, pushed once or twice and let go, which settles the zones and the elastic bending left locked in between them. Where no blow explains the readings, it is fitted as straight reaches joined by disjoint zones of concentrated curvature, with a piecewise linear elastic moment bounded by yield.'} Later surveys are fitted with the zones held and their rotations free. Degree of damage and strain ratio follow the published heat-straightening practice of FHWA-IF-99-004 and FHWA-IF-08-999: rotation is the change of direction across the zone, strain ratio is half the flange width over the radius, against yield strain Fy/E with Fy = ${formatStress(member.yieldStress, q.units)} and E = ${formatStress(member.elasticModulus, q.units)}. A repair up to 100 times yield strain is what published tests cover (Avent and others); it is the limit of what has been tried, not a strength.</p>` : ''}
<p><strong>Pace and forecast.</strong> The pace is judged from the largest deviation of the released readings and from the rotation of each zone, against a useful gain of ${q.movement(analysis.job.usefulGain).replace('+', '')} ${q.offsetUnit} a cycle. “Stalled” is stated only where a useful pace can be ruled out, not merely where none can be shown. The forecast is an ${prose(levelText(EXPECTED))} interval and assumes that the work goes on as in the present pace.</p>
${assumptions.length === 0 ? '' : html`<ul>${assumptions.map((a) => html`<li>${a}</li>`)}</ul>`}
</section>`;
}

function lineMethod(line: LineAnalysis, q: Quantities): Html {
  const { baseline, readingSd } = line.fit;
  return html`<div class="keep"><dt>${line.line.name}</dt><dd>${prose(capital(baseline.reason))}.${baseline.residualSd === 0 ? '' : ` Scatter about the baseline there: ${q.decimal(baseline.residualSd).replace('+', '')}.`} ${prose(readingSd.reason)}</dd></div>`;
}

function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}

export function cautionsSection(id = 'cautions'): Html {
  return html`<section aria-labelledby="${id}" class="keep"><h2 id="${id}">Cautions</h2>${cautionsBlock()}</section>`;
}

export function signOff(roles: readonly string[]): Html {
  return html`<section aria-labelledby="sign-off" class="keep"><h2 id="sign-off">Sign-off</h2><p>Signing says who read these figures. It adds nothing to what the page can know.</p><div class="sign">${roles.map((role) => html`<div>${role}: name, signature, date</div>`)}</div></section>`;
}

/** Title block: which job, which sheet, as of when. */
export function titleBlock(
  analysis: Analysis,
  context: ReportContext,
  q: Quantities,
  sheet: string,
  facts: readonly (readonly [string, string])[],
): Html {
  const { job } = analysis;
  const rows = [
    ...facts,
    ['Member', memberText(job, q)] as const,
    ['Prepared', q.date(context.generated)] as const,
  ];
  return html`<header class="page-head"><div class="title-block"><div class="job"><p class="label" id="job-label">Job</p><h1>${job.name}</h1></div><div class="sheet"><span class="label">Sheet</span><strong>${sheet}</strong></div><dl>${rows.map(([name, value]) => html`<div><dt>${name}</dt><dd>${prose(value)}</dd></div>`)}</dl></div></header>`;
}

function memberText(job: Analysis['job'], q: Quantities): string {
  const { member } = job;
  return `${spansText(member, q)}, flange ${formatLength(member.flangeWidth, { units: q.units, as: 'offset', fraction: q.fraction, trim: true })}, ${member.steel === null ? '' : `${member.steel}, `}Fy ${formatStress(member.yieldStress, q.units)}`;
}

/** The span; of several all of them, the struck one first. */
function spansText({ span, bearings }: Analysis['job']['member'], q: Quantities): string {
  if (bearings === undefined) return `span ${q.station(span)}`;
  const spans = bearings.slice(1).map((at, i) => q.station(at - bearings[i]!));
  return `struck span ${q.station(span)} of ${spans.join(', ')}`;
}

export function footer(context: ReportContext, q: Quantities): Html {
  return html`<footer class="page-foot">Made by ${context.tool} on ${q.date(context.generated)}. Measurements and estimates only; a licensed engineer decides.</footer>`;
}

/** Short table of all lines, where there is more than one. */
export function linesOverview(
  analysis: Analysis,
  q: Quantities,
  words: (line: LineAnalysis) => string,
): Html | '' {
  if (analysis.lines.length < 2) return '';
  return html`<section aria-labelledby="overview"><h2 id="overview">All lines</h2><div class="scroll" tabindex="0" role="region" aria-label="All lines"><table aria-label="All lines"><thead><tr><th scope="col">Line</th><th scope="col">Verdict</th><th scope="col" class="n">Largest now</th><th scope="col" class="n">At</th><th scope="col" class="n">Pace a cycle</th><th scope="col" class="n">Cycles left, ${prose(levelText(EXPECTED))}</th></tr></thead><tbody>${linesThatDecide(
    analysis.lines,
  ).map((l) => {
    const i = analysis.lines.indexOf(l);
    const today = lineToday(l);
    const now = today.lack === null ? today.now : null;
    const { rate, rateLow, rateHigh, cyclesLeft } = l.progress;
    return html`<tr><th scope="row"><a href="#line-${i}">${l.line.name}</a></th><td><strong>${words(l)}</strong></td><td class="n">${now === null ? 'cannot be told' : html`${q.length(now.largest.deviation)} <span class="muted">${q.plusMinus(now.largest.u)}</span>`}</td><td class="n">${now === null ? '' : placeText(now.largest, q)}</td><td class="n"${rate === null ? '' : html` title="${q.decimal(rate)}, ${levelText(EXPECTED)}: ${rateLow === null ? '' : q.decimal(rateLow)} to ${rateHigh === null ? '' : q.decimal(rateHigh)}"`}>${rate === null ? 'not yet' : q.movement(rate)}</td><td class="n">${cyclesLeft === null || !looksAhead(l.progress.verdict) ? '' : wholeRange(cyclesLeft)}</td></tr>`;
  })}</tbody></table></div></section>`;
}
