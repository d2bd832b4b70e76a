import type { HeatsOfJob } from '../heats/heats-of-job.ts';
import { chalkStation } from '../heats/heats-text.ts';
import { limitTemperature, pressureText } from '../heats/limit-text.ts';
import { panelHeatRows, pushText } from '../heats/panel-heats-text.ts';
import type { Job } from '../job/job.ts';
import { formatLength } from '../units/format-length.ts';
import { formatAngle } from '../units/format-quantity.ts';
import { brief } from './brief.ts';
import { edgeWord } from './crew-card.ts';
import { type Html, html } from './html.ts';
import { prose } from './words.ts';

/** The proposed heats of the next cycle (`most` of them) with cells a gloved hand can write in, and the two limits no one may pass. */
export function tomorrowSection(
  job: Job,
  heats: HeatsOfJob | undefined,
  fault: string | undefined,
  within: readonly string[],
  most: number,
): Html {
  const title = html`<h2 id="tomorrow">Heats for the next cycle</h2>`;
  if (heats === undefined) {
    return html`<section class="tomorrow" aria-labelledby="tomorrow">${title}<p>${fault === undefined ? 'Not worked out on this sheet: it was made without the heat log. The crew card has them.' : html`<strong>Not given.</strong> ${brief(fault, 320)}`}</p></section>`;
  }
  if (job.lines.every((line) => line.panel !== undefined) && heats.panels.length > 0)
    return panelsTomorrow(job, heats, title, most);
  const all = heats.layouts.flatMap(({ line, vees }) => vees.map((vee) => ({ line, vee })));
  const rows = all.slice(0, most);
  const { plan } = heats;
  const size = (metres: number) => formatLength(metres, { units: job.units, as: 'offset', trim: true });
  const done = [...new Set(rows.map((r) => r.line))].filter((line) => within.includes(line));
  const none =
    heats.layouts.length === 0
      ? 'No plastic zone was found on a sweep line.'
      : heats.layouts.map(({ line, reason }) => `${line}: ${reason}.`).join(' ');
  return html`<section class="tomorrow" aria-labelledby="tomorrow">${title}<p>${prose(limitsText(job, heats))}</p>${
    rows.length === 0
      ? html`<p>None proposed. ${prose(brief(none, 260))}</p>`
      : html`<p><strong>A proposal: heat only what the engineer has signed.</strong> ${formatAngle(plan.angle, 0)} vees, ${size(plan.depth)} deep, ${size(plan.openWidth)} at the open end${all.length > rows.length ? `; ${all.length - rows.length} more on the crew card` : ''}.${done.length === 0 ? '' : ` ${brief(done.join(', '), 80)}: inside every limit now; ask whether to heat at all.`}</p><div class="scroll" tabindex="0" role="region" aria-label="Heats for the next cycle"><table aria-label="Heats for the next cycle"><thead><tr><th scope="col">Vee</th><th scope="col">Centre at</th><th scope="col">Line, zone</th><th scope="col">Apex at</th>${['Gauge', 'Before', 'Reached', 'Time'].map((each) => html`<th scope="col" class="hand">${each}</th>`)}</tr></thead><tbody>${rows.map(
          ({ line, vee }, i) =>
            html`<tr><th scope="row">${i + 1}</th><td class="num chalk">${chalkStation(vee.station, job)}</td><td>${brief(line, 22)}, ${vee.zone}</td><td>${edgeWord(job, line, vee.apex)}</td><td class="hand"></td><td class="hand"></td><td class="hand"></td><td class="hand"></td></tr>`,
        )}</tbody></table></div>`
  }</section>`;
}

/** The same for a job of panels: lines and spots, and the force no one may pass. */
function panelsTomorrow(job: Job, heats: HeatsOfJob, title: Html, most: number): Html {
  const force = heats.panels
    .map(({ line, ceiling }) =>
      ceiling === null
        ? `${line}: no pushing, no ceiling for a force on it has been worked out.`
        : `${line}: force on the bulge never above ${pushText(job, ceiling.force)}${ceiling.jack === null ? '' : `, ${pressureText(ceiling.jack.pressure, job.units)} on ${ceiling.jack.name}`}.`,
    )
    .join(' ');
  const all = heats.panels.flatMap((panel) =>
    panelHeatRows(job, panel, panel.next)
      .slice(1)
      .map(([name, place, face]) => ({ panel: panel.line, name, place, face })),
  );
  const rows = all.slice(0, most);
  const none = heats.panels
    .map(({ line, reason }) => (reason === null ? '' : `${line}: ${reason}.`))
    .join(' ');
  return html`<section class="tomorrow panels" aria-labelledby="tomorrow">${title}<p>${prose(`${force} ${steelText(job, heats)}`)}</p>${
    rows.length === 0
      ? html`<p>None proposed. ${prose(brief(none, 260))}</p>`
      : html`<p><strong>A proposal: heat only what the engineer has signed.</strong> L: line heat from end to end, S: spot heat${all.length > rows.length ? `; ${all.length - rows.length} more on the crew card` : ''}.</p><div class="scroll" tabindex="0" role="region" aria-label="Heats for the next cycle"><table aria-label="Heats for the next cycle"><thead><tr><th scope="col">Heat</th><th scope="col">Station and height</th><th scope="col">Panel, face</th>${['Before', 'Reached', 'Time'].map((each) => html`<th scope="col" class="hand">${each}</th>`)}</tr></thead><tbody>${rows.map(
          ({ panel, name, place, face }) =>
            html`<tr><th scope="row">${name}</th><td class="num chalk">${place}</td><td>${brief(panel, 22)}, ${face}</td><td class="hand"></td><td class="hand"></td><td class="hand"></td></tr>`,
        )}</tbody></table></div>`
  }</section>`;
}

function limitsText(job: Job, heats: HeatsOfJob): string {
  const ceiling = heats.restraint?.ceiling ?? null;
  const gauge =
    ceiling === null
      ? 'No jacking: no ceiling has been worked out.'
      : ceiling.pressure === 0
        ? 'No jacking: the ceiling is nothing.'
        : `Gauge never above ${pressureText(ceiling.pressure, job.units)}.`;
  return `${gauge} ${steelText(job, heats)}`;
}

function steelText(job: Job, { limits: { maxTemperature, coolBelow } }: HeatsOfJob): string {
  return maxTemperature === null
    ? 'No heating: the temperature limit of this grade is not settled.'
    : `Steel never above ${limitTemperature(maxTemperature.value, job.units)}; below ${limitTemperature(coolBelow.value, job.units)} before the next heat and before reading.`;
}
