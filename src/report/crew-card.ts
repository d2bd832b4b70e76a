import type { LineAnalysis } from '../analysis.ts';
import { HEAT_CAUTIONS, HEAT_DEFERRAL } from '../heats/cautions.ts';
import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import { chalkStation } from '../heats/heats-text.ts';
import { megapascalText, psiText } from '../heats/limit-text.ts';
import type { PanelHeating } from '../heats/panel-heats.ts';
import { bulgeLimitText, panelHeatRows, pushText } from '../heats/panel-heats-text.ts';
import type { Job } from '../job/job.ts';
import { fahrenheitFromCelsius } from '../units/factors.ts';
import { formatLength } from '../units/format-length.ts';
import { formatAngle, formatForce } from '../units/format-quantity.ts';
import { CREW_CARD_CSS } from './crew-card-css.ts';
import { dateText } from './dates.ts';
import { PANEL_HEATS_KEY, panelHeatsMap } from './figures/panel-heats.ts';
import { type Html, html } from './html.ts';
import { quantities } from './quantities.ts';
import { page } from './shell.ts';

export interface CardFacts {
  /** ISO date the card is made; the builder reads no clock. */
  readonly generated: string;
  readonly tool: string;
  /** Last judged cycle the vees rest on; null before any reading. */
  readonly cycle: number | null;
  /** Lines inside every limit of theirs by the last readings: heats on them are not needed for the tolerance. */
  readonly within?: readonly string[];
  /** The lines of the job, for the maps of its panels; left out: none are drawn. */
  readonly lines?: readonly LineAnalysis[];
}

/** Rows of the vee sheet, jacks and stops on one page; more would not fit. */
const MOST_ROWS = 10;
const MOST_ROWS_UNDER_STOPS = 6;
const MOST_JACKS = 3;
const MOST_STOPS = 2;
const MOST_PANEL_ROWS = 10;

/**
 * The crew card: ceiling, temperature, next vees and cautions on one sheet, readable at arm's length and
 * filled in by hand. The vees are a proposal until the engineer has signed it.
 *
 * @returns the text of an HTML file that prints on one A4 or Letter page
 */
export function renderCrewCard(job: Job, heats: HeatsOfJob, facts: CardFacts): string {
  const body = html`<main class="${isRoomy(heats) ? 'card roomy' : 'card'}">
<header>
<p class="label">Crew card</p>
<h1>${job.name}</h1>
<p class="made">${facts.cycle === null ? 'No readings yet' : `${panelsOnly(job) ? 'Heats' : 'Vees'} from the readings of cycle ${facts.cycle}`}; made ${dateText(facts.generated, job.locale)} by ${facts.tool}</p>
</header>
${stops(heats)}
<div class="limits">
${ceilingBox(job, heats)}
${temperatureBox(job, heats)}
</div>
${panelsOnly(job) ? null : veeSheet(job, heats, facts.within ?? [])}
${heats.panels.map((panel) => panelSheet(job, heats, panel, facts.lines ?? []))}
<section class="cautions" aria-labelledby="cautions"><h2 id="cautions">Before anyone heats or jacks</h2>
<ol>${HEAT_CAUTIONS.map((c) => html`<li>${bold(c.text)} <span class="source">${c.source}</span></li>`)}</ol>
<p class="deferral">${HEAT_DEFERRAL}</p></section>
</main>`;
  return page({
    title: `Crew card: ${job.name}`,
    description: 'Jacking ceiling, temperature limit, next vees and cautions for the crew.',
    body,
    css: CREW_CARD_CSS,
  });
}

/** True where the page has room to spare: it is then set larger in print. */
function isRoomy(heats: HeatsOfJob): boolean {
  const vees =
    heats.layouts.reduce((sum, layout) => sum + layout.vees.length, 0) +
    heats.panels.reduce((sum, panel) => sum + 6 * panel.next.length, 0);
  const jacks = heats.restraint?.ceiling?.jacks.length ?? 0;
  return vees <= 5 && jacks <= 2 && !heats.findings.some((f) => f.severity === 'stop');
}

function stops(heats: HeatsOfJob): Html | null {
  const found = heats.findings.filter((f) => f.severity === 'stop');
  if (found.length === 0) return null;
  return html`<section class="stop" aria-label="Stop">${found.slice(0, MOST_STOPS).map((f) => html`<p><strong>STOP.</strong> ${f.message}${f.row === undefined ? '' : ` (${f.file}, line ${f.row})`}</p>`)}${found.length > MOST_STOPS ? html`<p>${found.length - MOST_STOPS} more: see “sweepbook heats”.</p>` : null}</section>`;
}

/** A job of panels alone has no line that jacks push along. */
function panelsOnly(job: Job): boolean {
  return job.lines.every((line) => line.panel !== undefined);
}

/** The force on a bulge as the other ceiling is shown: large, with what it is a share of. */
function pushBox(job: Job, panels: readonly PanelHeating[]): Html {
  const known = panels.filter((panel) => panel.ceiling !== null);
  if (known.length === 0) {
    return html`<section class="box ceiling none" aria-labelledby="ceiling"><h2 id="ceiling">Force on the bulge</h2>
<p class="big words">No pushing</p><p>${panels.map((panel) => `${panel.line}: ${panel.ceilingMissing}. `)}Do not push without a ceiling from the engineer.</p></section>`;
  }
  const [first] = known;
  const others = known
    .slice(1)
    .map((panel) => `; ${panel.line} ${pushText(job, panel.ceiling!.force)}`)
    .join('');
  const { force, jack, share, factor } = first!.ceiling!;
  return html`<section class="box ceiling" aria-labelledby="ceiling"><h2 id="ceiling">Force on ${first!.line}, never above</h2>
<p class="big num">${pushText(job, force)}</p>${jack === null ? null : html`<p class="second num">${gaugeTexts(job, jack.pressure).join(' · ')} on ${jack.name}</p>`}
<p class="small">${(share.value * 100).toFixed(0)} % (${share.source}) of ${factor.toFixed(2)} times the plate’s plastic moment, a point load by yield lines${others}. Square to the plate, before heating, rounded down; specified yield stress, no uncertainty.</p></section>`;
}

/** The next heats of one panel on its map, with cells to write in. */
function panelSheet(job: Job, heats: HeatsOfJob, panel: PanelHeating, lines: readonly LineAnalysis[]): Html {
  const title = html`<h2 id="panel-${panel.line}">Heats on panel ${panel.line} for the next cycle</h2>`;
  const push =
    panelsOnly(job) || panel.ceiling === null
      ? null
      : html`<p><strong>Force on the bulge at most ${pushText(job, panel.ceiling.force)}</strong>${panel.ceiling.jack === null ? '' : `, ${gaugeTexts(job, panel.ceiling.jack.pressure)[0]} on ${panel.ceiling.jack.name}`}.</p>`;
  const line = lines.find((each) => each.line.name === panel.line);
  const beside = panelsOnly(job) ? 'vees panel' : 'vees panel apart';
  if (panel.next.length === 0)
    return html`<section class="${beside}" aria-labelledby="panel-${panel.line}">${title}${push}<p>None proposed: ${panel.reason}.</p></section>`;
  const rows = panelHeatRows(job, panel, panel.next).slice(1).slice(0, MOST_PANEL_ROWS);
  return html`<section class="${beside}" aria-labelledby="panel-${panel.line}">${title}${push}
<p class="proposal"><strong>Proposal. Chalk and heat only what the engineer has signed:</strong> <span class="line">name and date</span></p>
${line === undefined ? null : html`<div class="panel-map">${panelHeatsMap(line, panel, job.member, quantities(job.units, 16, job.locale), 640)}</div>`}
<div class="sheet one"><table><thead><tr><th scope="col">Heat</th><th scope="col">Station and height</th><th scope="col">Face</th><th scope="col" class="hand">Gauge</th><th scope="col" class="hand">Before</th><th scope="col" class="hand">Reached</th><th scope="col" class="hand">Time</th></tr></thead><tbody>${rows.map(
    ([name, place, face]) =>
      html`<tr><th scope="row" class="num">${name}</th><td class="num chalk">${place}</td><td>${face}</td><td class="hand"></td><td class="hand"></td><td class="hand"></td><td class="hand"></td></tr>`,
  )}</tbody></table></div>
${panel.next.length > rows.length ? html`<p>${panel.next.length - rows.length} more: see “sweepbook heats”.</p>` : null}
<p class="small">L: line heat from end to end. S: spot heat. ${bulgeLimitText(job, heats.limits)} ${PANEL_HEATS_KEY} Write what was reached into heats.csv: panel under line, L1 or S4 under zone.</p></section>`;
}

/** A pressure as the job has it, then the other way. */
function gaugeTexts({ units }: Job, pressure: number): readonly [string, string] {
  const [psi, megapascal] = [psiText(pressure), megapascalText(pressure)];
  return units === 'us' ? [psi, megapascal] : [megapascal, psi];
}

function ceilingBox(job: Job, heats: HeatsOfJob): Html {
  if (panelsOnly(job) && heats.panels.length > 0) return pushBox(job, heats.panels);
  const ceiling = heats.restraint?.ceiling ?? null;
  if (ceiling === null) {
    return html`<section class="box ceiling none" aria-labelledby="ceiling"><h2 id="ceiling">Jacks</h2>
<p class="big words">No jacking</p><p>No ceiling has been worked out: the job does not say how the member is held and pushed. Do not jack without a ceiling from the engineer.</p></section>`;
  }
  if (ceiling.pressure === 0) {
    return html`<section class="box ceiling none" aria-labelledby="ceiling"><h2 id="ceiling">Jacks</h2>
<p class="big words">No jacking</p><p>${heats.findings.find((f) => f.code === 'ram-too-large' || f.code === 'locked-in-uses-the-share')?.message ?? 'The ceiling is nothing.'}</p></section>`;
  }
  const [first, second] = gaugeTexts(job, ceiling.pressure);
  return html`<section class="box ceiling" aria-labelledby="ceiling"><h2 id="ceiling">Gauge, never above</h2>
<p class="big num">${first}</p><p class="second num">${second}</p>
<table><thead><tr><th scope="col">Jack</th><th scope="col">At</th><th scope="col" class="n">Most force</th></tr></thead><tbody>${ceiling.jacks
    .slice(0, MOST_JACKS)
    .map(
      (jack) =>
        html`<tr><th scope="row"><span class="clamp">${jack.name}</span></th><td class="num">${formatLength(jack.station, { units: job.units, as: 'station', digits: 2 })}</td><td class="n">${formatForce(Math.floor(jack.forceAtCeiling / 100) * 100, job.units)}</td></tr>`,
    )}</tbody></table>
<p class="small">${ceiling.jacks.length > MOST_JACKS ? `${ceiling.jacks.length - MOST_JACKS} more jacks: see “sweepbook heats”. ` : ''}${ceiling.jacks.length > 1 ? 'All jacks at this pressure together. ' : ''}${(ceiling.limit.fraction * 100).toFixed(0)} % of the plastic moment (${ceiling.limit.source})${ceiling.lockedIn === null || ceiling.lockedIn.moment === 0 ? '' : ', what the blow left locked in counted'}${ceiling.rating === null ? '' : `; the rating of ${ceiling.rating.of} comes first`}; rounded down. No uncertainty: ideal set-up, specified yield stress.</p></section>`;
}

function temperatureBox(job: Job, heats: HeatsOfJob): Html {
  const { maxTemperature, coolBelow } = heats.limits;
  // A limit is rounded to the safe side; a hair is given so that 1200 °F stays 1200.
  const down = (value: number) => Math.floor(value + 1e-6);
  const degrees = (celsius: number): readonly [string, string] => {
    const [f, c] = [`${down(fahrenheitFromCelsius(celsius))} °F`, `${down(celsius)} °C`];
    return job.units === 'us' ? [f, c] : [c, f];
  };
  const [cool, coolToo] = degrees(coolBelow.value);
  return html`<section class="box heat" aria-labelledby="heat"><h2 id="heat">${maxTemperature === null ? 'Heat' : 'Steel, never above'}</h2>
${
  maxTemperature === null
    ? html`<p class="big words">No heating</p><p>The limit of this grade is not settled: the engineer must state it.</p>`
    : html`<p class="big num">${degrees(maxTemperature.value)[0]}</p><p class="second num">${degrees(maxTemperature.value)[1]}</p><p class="small">${maxTemperature.source}</p>`
}
<p><strong>Cool below <span class="num">${cool} (${coolToo})</span></strong> before the next heat and before reading.</p></section>`;
}

function veeSheet(job: Job, heats: HeatsOfJob, within: readonly string[]): Html {
  const all = heats.layouts.flatMap((layout) => layout.vees.map((vee) => ({ vee, line: layout.line })));
  const small = (metres: number) => formatLength(metres, { units: job.units, as: 'offset', trim: true });
  const stopped = heats.findings.some((f) => f.severity === 'stop');
  const rows = all.slice(0, stopped ? MOST_ROWS_UNDER_STOPS : MOST_ROWS);
  const several = new Set(rows.map((r) => r.line)).size > 1;
  const { plan } = heats;
  const title = html`<h2 id="vees">Vees for the next cycle</h2>`;
  if (rows.length === 0) {
    const why =
      heats.layouts.length === 0
        ? 'No plastic zone was found on a sweep line.'
        : heats.layouts.map((l) => `${l.line}: ${l.reason}.`).join(' ');
    return html`<section class="vees" aria-labelledby="vees">${title}<p>None proposed. ${why}</p></section>`;
  }
  const done = [...new Set(rows.map((r) => r.line))].filter((line) => within.includes(line));
  const unseen = rows.some((r) => r.vee.basis === 'formula') && heats.quantities.heats > 0;
  return html`<section class="vees" aria-labelledby="vees">${title}${done.length === 0 ? null : html`<p class="done"><strong>${done.join(', ')}: inside every limit now.</strong> These vees would take out what bend is left; ask the engineer whether to heat at all.</p>`}
<p class="proposal"><strong>Proposal. Chalk and heat only what the engineer has signed:</strong> <span class="line">name and date</span></p>
<div class="sheet"><table><thead><tr><th scope="col">Vee</th><th scope="col">Centre at</th>${several ? html`<th scope="col">Line</th>` : null}<th scope="col">Zone</th><th scope="col">Apex at edge</th><th scope="col" class="hand">Gauge</th><th scope="col" class="hand">Before</th><th scope="col" class="hand">Reached</th><th scope="col" class="hand">Time</th></tr></thead><tbody>${rows.map(
    ({ vee, line }, i) =>
      html`<tr><th scope="row" class="num">${i + 1}</th><td class="num chalk">${chalkStation(vee.station, job)}</td>${several ? html`<td>${line}</td>` : null}<td>${vee.zone}</td><td>${edgeWord(job, line, vee.apex)}</td><td class="hand"></td><td class="hand"></td><td class="hand"></td><td class="hand"></td></tr>`,
  )}</tbody></table>
<figure>${veeSketch()}<figcaption>${formatAngle(plan.angle, 0)} vee, <span class="num">${small(plan.depth)}</span> deep, <span class="num">${small(plan.openWidth)}</span> at the open end. Heat from apex to open end.</figcaption></figure></div>
${all.length > rows.length ? html`<p>${all.length - rows.length} more: see “sweepbook heats”.</p>` : null}
<p class="small">${unseen ? 'The heats so far have not shown the expected rotation in every zone: check temperature, jacking and vee placement first. ' : ''}${edges(
    job,
    rows.map((r) => r.line),
  )}Station to the half inch or centimetre; single heats vary considerably, so no uncertainty is given for what they will do. Write what was reached into heats.csv.</p></section>`;
}

/** Short enough for its column: the line's own words where they are short, else + edge; the other is the opposite edge. */
export function edgeWord(job: Job, lineName: string, apex: 'positive' | 'negative'): string {
  const words = positiveOf(job, lineName);
  if (apex === 'negative') return 'opposite edge';
  return words.length <= 26 ? words : '+ edge';
}

/** What the edges of the lines in the sheet are called, in full. */
function edges(job: Job, lines: readonly string[]): string {
  return [...new Set(lines)]
    .map((line) => `On ${line} the + edge is ${positiveOf(job, line)}; the opposite edge is the other one. `)
    .join('');
}

function positiveOf(job: Job, lineName: string): string {
  return job.lines.find((line) => line.name === lineName)?.positive ?? 'the + side';
}

/** A vee on a flange seen from below: apex at one edge, open end at the other. */
function veeSketch(): Html {
  return html`<svg viewBox="0 0 150 92" role="img" aria-label="A vee across the flange: the apex at one edge, the open end at the other" width="150" height="92">
<rect x="2" y="18" width="146" height="56" fill="none" stroke="currentColor" stroke-width="1.5"/>
<path d="M75 20 L52 74 H98 Z" fill="currentColor" fill-opacity="0.14" stroke="currentColor" stroke-width="2"/>
<path d="M75 26 V68" stroke="currentColor" stroke-width="1" stroke-dasharray="4 3"/>
<text x="75" y="13" text-anchor="middle" font-size="11">apex</text><text x="75" y="88" text-anchor="middle" font-size="11">open end</text></svg>`;
}

/** The word before the colon or first comma stands out, so that a caution is found by its subject. */
function bold(text: string): Html {
  const cut = /^[^:,]{2,30}[:,]/.exec(text)?.[0] ?? '';
  return html`<strong>${cut}</strong>${text.slice(cut.length)}`;
}
