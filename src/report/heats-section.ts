import type { Analysis, LineAnalysis } from '../analysis.ts';
import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import { ceilingLines, leftText, MOMENTS_NOTE, momentRows, sameFlangeLines } from '../heats/heats-text.ts';
import { limitTemperature } from '../heats/limit-text.ts';
import type { PanelHeating } from '../heats/panel-heats.ts';
import {
  bulgeLimitText,
  PANEL_HEATS_NOTE,
  panelHeatRows,
  panelWorkLines,
  pushLines,
} from '../heats/panel-heats-text.ts';
import { patternsText } from '../heats/quantities.ts';
import type { ZoneHeats } from '../heats/zone-heats.ts';
import type { Job } from '../job/job.ts';

import type { ReportSection } from './context.ts';
import { figure } from './figure.ts';
import { PANEL_HEATS_KEY, panelHeatsMap } from './figures/panel-heats.ts';
import { type Html, html } from './html.ts';
import type { Quantities } from './quantities.ts';
import { prose } from './words.ts';

const DEGREE = 180 / Math.PI;

/**
 * Heats and jacking (both sheets), and quantities (final sheet), for a job that logs heats or says how the member is
 * held; nothing for one that does neither.
 */
export function heatsSections(
  { job, lines }: Pick<Analysis, 'job' | 'lines'>,
  heats: HeatsOfJob,
  q: Quantities,
): ReportSection[] {
  const logged = heats.quantities.heats > 0;
  const sections: ReportSection[] = [];
  const linesToo = job.lines.some((line) => line.panel === undefined);
  const panels = heats.panels.filter(
    (panel) => logged || panel.ceiling !== null || panel.places.length > 0 || heats.restraint !== null,
  );
  if (logged || heats.restraint !== null || panels.length > 0) {
    sections.push({
      id: 'heats',
      title: 'Heats and jacking',
      in: 'both',
      body: html`${linesToo ? html`${zonesTable(heats.zones, q)}${sameFlangeLines(heats).map((text) => html`<p>${prose(text)}</p>`)}${limits(job, heats)}` : null}${panels.map((panel) => panelPart(job, lines.find(({ line }) => line.name === panel.line)!, heats, panel, q))}<p class="deferral">A ceiling or a temperature limit here is a limit, not an approval: look for cracks first, and heat and jack only under the engineer’s plan.</p>`,
    });
  }
  if (logged) {
    sections.push({ id: 'work', title: 'Work done', in: 'final', body: workTable(heats, q) });
  }
  return sections;
}

/** One panel: where its heats stand, the next ones, the ceiling for a force on it, and what heats have done. */
function panelPart(
  job: Job,
  line: LineAnalysis,
  heats: HeatsOfJob,
  panel: PanelHeating,
  q: Quantities,
): Html {
  const map =
    panel.places.length === 0
      ? null
      : figure(
          'Where heats stand',
          PANEL_HEATS_KEY,
          (width) => panelHeatsMap(line, panel, job.member, q, width),
          'large',
        );
  return html`<h3>Panel ${panel.line}</h3>${map}${
    panel.reason === null
      ? html`<p class="table-title">Proposed next heats, for the engineer to decide</p>${panelHeatTable(job, panel)}<p class="small">${PANEL_HEATS_NOTE}</p>`
      : html`<p><strong>Next heats:</strong> none: ${prose(panel.reason)}.</p>`
  }<ul>${[...pushLines(job, panel), bulgeLimitText(job, heats.limits), ...panelWorkLines(job, panel)].map((text) => html`<li>${prose(text)}</li>`)}</ul>`;
}

function panelHeatTable(job: Job, panel: PanelHeating): Html {
  const [heading, ...rows] = panelHeatRows(job, panel, panel.next);
  return html`<div class="scroll" tabindex="0" role="region" aria-label="Next heats on ${panel.line}"><table aria-label="Next heats on ${panel.line}"><thead><tr>${heading!.map((cell) => html`<th scope="col">${cell}</th>`)}</tr></thead><tbody>${rows.map(
    ([first, ...cells]) =>
      html`<tr><th scope="row">${first}</th>${cells.map((cell) => html`<td class="num">${cell}</td>`)}</tr>`,
  )}</tbody></table></div>`;
}

function zonesTable(zones: readonly ZoneHeats[], q: Quantities): Html {
  if (zones.length === 0)
    return html`<p>The readings show no plastic zone, so there is nothing for heats to take out.</p>`;
  return html`<p class="table-title">What the logged vee heats took out of each zone, against the published expectation</p><div class="scroll" tabindex="0" role="region" aria-label="Heats by zone"><table aria-label="Heats by zone"><thead><tr><th scope="col">Zone</th><th scope="col" class="n">Vees</th><th scope="col" class="n">Taken out</th><th scope="col" class="n">Expected</th><th scope="col" class="n">Taken out<br>over expected</th><th scope="col" class="n">Bend left</th><th scope="col">Heats left to straight</th></tr></thead><tbody>${zones.map(
    (z) => zoneRow(z, q),
  )}</tbody></table></div><p class="small muted">Expected: 0.0147 sin(θ/3) times 0.6 + 2 Mj/Mp at 1200 °F, from memory of FHWA-IF-08-999, less for cooler heats; it carries no uncertainty, since single heats vary considerably (fhwa.dot.gov/bridge/steel/05.cfm) and no figure for it was at hand.</p>`;
}

function zoneRow(z: ZoneHeats, q: Quantities): Html {
  const total = z.total;
  const none = html`<span class="muted">none yet</span>`;
  return html`<tr><th scope="row"><strong>${z.zone}</strong> ${z.line} at ${q.place(z.station)}</th><td class="n">${total === null ? none : total.vees}</td><td class="n">${total === null ? none : angle(total.observed, total.observedU)}</td><td class="n">${total?.expected == null ? none : angle(total.expected, null)}</td><td class="n">${total?.ratio == null ? none : html`${total.ratio.toFixed(2)}<br><span class="muted">± ${(2 * total.ratioU!).toFixed(2)}</span>`}</td><td class="n">${angle(z.remaining, z.remainingU)}</td><td>${leftText(z)}</td></tr>`;
}

function limits(job: Job, heats: HeatsOfJob): Html {
  const { maxTemperature, coolBelow } = heats.limits;
  const temperature = (celsius: number) => limitTemperature(celsius, job.units);
  return html`<h3>Jacking ceiling and temperature</h3><ul>${ceilingLines(job, heats).map((text) => html`<li>${text}</li>`)}<li>${
    maxTemperature === null
      ? 'Steel temperature: not settled for this grade; the engineer must state it.'
      : `Steel at most ${temperature(maxTemperature.value)} (${maxTemperature.source}); below ${temperature(coolBelow.value)} before the next heat and before reading (${coolBelow.source}).`
  }</li></ul>${moments(job, heats)}`;
}

function moments(job: Job, heats: HeatsOfJob): Html | null {
  const [heading, ...rows] = momentRows(job, heats);
  if (heading === undefined) return null;
  return html`<p class="table-title">Moments and what the supports must hold, jacks at the ceiling</p><div class="scroll" tabindex="0" role="region" aria-label="Moments"><table aria-label="Moments"><thead><tr>${heading.map((cell) => html`<th scope="col">${cell}</th>`)}</tr></thead><tbody>${rows.map(
    ([first, ...cells]) =>
      html`<tr><th scope="row" class="num">${first}</th>${cells.map((cell) => html`<td class="num">${cell}</td>`)}</tr>`,
  )}</tbody></table></div><p class="small">${MOMENTS_NOTE}</p>`;
}

function workTable(heats: HeatsOfJob, q: Quantities): Html {
  const { quantities } = heats;
  const gas = quantities.gas !== null;
  const cost = quantities.cost !== null;
  const unit = (text: string | null) => (text === null ? '' : `, ${text}`);
  const number = (value: number | null) => (value === null ? 'not logged' : String(value));
  const noted = heats.made.some(({ heat }) => heat.device !== null || heat.weather !== null);
  const row = (
    label: string,
    n: number,
    what: string,
    days: string,
    notes: string,
    g: number | null,
    c: number | null,
  ) =>
    html`<tr><th scope="row">${label}</th><td class="n">${n}</td><td>${what}</td><td>${days}</td>${noted ? html`<td>${notes}</td>` : null}${gas ? html`<td class="n">${number(g)}</td>` : null}${cost ? html`<td class="n">${number(c)}</td>` : null}</tr>`;
  return html`<p class="table-title">Heats logged, working days and costs by cycle</p><div class="scroll" tabindex="0" role="region" aria-label="Work done"><table aria-label="Work done"><thead><tr><th scope="col">Cycle</th><th scope="col" class="n">Heats</th><th scope="col">Patterns</th><th scope="col">Days</th>${noted ? html`<th scope="col">Temperature by; weather</th>` : null}${gas ? html`<th scope="col" class="n">Gas${unit(quantities.gasUnit)}</th>` : null}${cost ? html`<th scope="col" class="n">Cost${unit(quantities.currency)}</th>` : null}</tr></thead><tbody>${quantities.cycles.map(
    (c) =>
      row(
        String(c.cycle),
        c.heats,
        patternsText(c.byPattern),
        c.dates.length === 0 ? 'not logged' : c.dates.map(q.date).join(', '),
        notesOf(heats, c.cycle),
        c.gas,
        c.cost,
      ),
  )}${row(
    'In all',
    quantities.heats,
    '',
    quantities.workingDays === null ? 'not known' : `${quantities.workingDays} working days`,
    '',
    quantities.gas,
    quantities.cost,
  )}</tbody></table></div><p class="small muted">Sums of the heat log as it stands; they carry no uncertainty.${noted ? '' : ' What the steel’s temperature was read with, and the weather: not recorded.'}${quantities.gaps.map((gap) => ` ${gap}.`)}</p>`;
}

/** What the steel's temperature was read with in a cycle, and the weather, each said once. */
function notesOf(heats: HeatsOfJob, cycle: number): string {
  const own = heats.made.filter(({ heat }) => heat.cycle === cycle);
  const said = (key: 'device' | 'weather') =>
    [...new Set(own.flatMap(({ heat }) => heat[key] ?? []))].join(', ');
  return [said('device') || 'not recorded', said('weather') || 'not recorded'].join('; ');
}

function angle(radians: number, u: number | null): Html {
  const text = `${(radians * DEGREE).toFixed(2).replace('-', '\u2212')}°`;
  const exact = `${(radians * 1000).toFixed(2)} mrad`;
  return html`<span title="${exact}">${text}</span>${u === null ? null : html`<br><span class="muted">± ${(2 * u * DEGREE).toFixed(2)}°</span>`}`;
}
