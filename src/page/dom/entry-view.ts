import type { Zone } from '../../analysis.ts';
import type { Job, JobUnits, Line } from '../../job/job.ts';
import { type Html, html } from '../../report/html.ts';
import { prose } from '../../report/words.ts';
import { formatLength } from '../../units/format-length.ts';
import { type Book, type Place, samePlace } from '../book.ts';
import type { Flag } from '../flags.ts';
import { type Course, type GridSpec, usualGrid } from '../panel-grid.ts';
import { heightText } from '../place-words.ts';
import { keyedOffset } from '../sheet-csv.ts';
import type { StationList, StationRow } from '../station-rows.ts';

/**
 * One row of the list: the girder's rail, station, what the last cycle read, today's fields, the change.
 *
 * @param survey the cycle, line and state it is of: only a row of the same survey and station is the same row
 */
export function rowHtml(row: StationRow, index: number, slots: number, job: Job, survey: string): Html {
  const { units } = job;
  const station = formatLength(row.station, { units, as: 'station', fraction: 16, digits: 2 });
  const before = row.previous === null ? '' : row.previous.offsets.map((m) => readText(m, job)).join(', ');
  const said = `Station ${station}${row.previous === null ? '' : `, cycle ${row.previous.cycle} read ${before}`}`;
  return html`<li class="row" data-id="${survey} ${row.station}" data-row="${index}" data-station="${row.station}">
<span class="rail" aria-hidden="true">${railMark(row)}</span>
<span class="stn num">${station}${row.impact ? html` <span class="tag">hit</span>` : ''}</span>
<span class="was num">${before === '' ? '\u2013' : before}</span>
<span class="fields">${Array.from(
    { length: slots },
    (_, slot) =>
      html`<input class="field-now num" inputmode="none" autocomplete="off" autocorrect="off" spellcheck="false" maxlength="40" aria-label="${slot === 0 ? said : `${said}, reading ${slot + 1}`}" data-row="${index}" data-slot="${slot}" value="${row.readings[slot] ?? ''}">`,
  )}</span>
<span class="change num">${changeText(row, job)}</span>
<p class="flag" id="flag-${index}" hidden></p>
</li>`;
}

function readText(metres: number, job: Job): string {
  return minus(formatLength(metres, { units: job.units, as: 'offset', fraction: 64, unit: false }));
}

/** Change of the mean reading since the last cycle; the string's own movement is still in it. */
export function changeText(row: StationRow, job: Job): string {
  const offsets = row.readings.flatMap((text) => {
    if (text.trim() === '') return [];
    const parsed = keyedOffset(text, job);
    return parsed.ok ? [parsed.metres] : [];
  });
  if (offsets.length === 0 || row.previous === null) return '';
  const mean = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const change = mean(offsets) - mean(row.previous.offsets);
  const text = formatLength(change, {
    units: job.units,
    as: 'offset',
    fraction: 32,
    sign: 'always',
    unit: false,
  });
  return minus(text);
}

function minus(text: string): string {
  return text.startsWith('-') ? `\u2212${text.slice(1)}` : text;
}

/** The mark of what the steel has at a station: bearing, diaphragm, the blow, or a plain tick. */
function railMark(row: StationRow): Html {
  if (row.bearing) return html`<svg viewBox="0 0 20 20"><path class="solid" d="M10 5l7 11h-14Z"/></svg>`;
  if (row.impact)
    return html`<svg viewBox="0 0 20 20"><path class="solid" d="M18 3L9 6l4 2-7 9 10-8-4-2Z"/></svg>`;
  if (row.diaphragm) return html`<svg viewBox="0 0 20 20"><path class="stroke" d="M2 7h16M2 13h16"/></svg>`;
  return html`<svg viewBox="0 0 20 20"><path class="stroke" d="M6 10h8"/></svg>`;
}

/** Zone a station lies in, for the rail. */
export function zoneAt(zones: readonly Zone[], station: number): Zone | null {
  return zones.find((zone) => station >= zone.from - 1e-6 && station <= zone.to + 1e-6) ?? null;
}

export function flagsAt(flags: readonly Flag[], place: Omit<Place, 'cycle'>): Flag[] {
  return flags.filter(({ at }) => at !== null && samePlace(at, place));
}

/** The heights of a panel, from the top down, with how far each is. */
export function coursesHtml(courses: readonly Course[], chosen: number | undefined, units: JobUnits): Html {
  return html`<legend class="visually-hidden">Height</legend>${courses.map(({ height, read, places }) => {
    const done = read === places ? 'done' : read === 0 ? 'none' : 'some';
    return html`<label class="segment ${done}"><input type="radio" name="course" value="${height}" aria-label="Height ${heightText(height, units)}, ${read} of ${places} read"${height === chosen ? html` checked` : ''}><span>${heightText(height, units)}<small>${read}/${places}</small></span></label>`;
  })}`;
}

/** What the columns of the list are. */
export function listHeadHtml(book: Book, was: StationList['previous'], units: JobUnits): Html {
  const jacks = was === null || was.state === book.state ? '' : was.state === 'restrained' ? ', on' : ', off';
  return html`<span></span><span>Station</span><span>${was === null ? 'Before' : `Cycle ${was.cycle}${jacks}`}</span><span>Cycle ${book.cycle}, ${units === 'us' ? 'in' : 'mm'}</span><span>Change</span>`;
}

/** The form that sets out the places of a line or panel nobody has read yet. */
export function setOutHtml(line: Line, units: JobUnits): Html {
  return line.panel === undefined
    ? evenFormHtml(line, units)
    : gridFormHtml(line, usualGrid(line, units), units);
}

function evenFormHtml(line: Line, units: JobUnits): Html {
  const text = (metres: number) => formatLength(metres, { units, as: 'station' });
  return html`<p>No stations yet. Set them out along the line, or add them one by one as you come to them.</p>
<form class="stations-form" id="even-form">${shortField('even-step', 'A station every', units === 'us' ? '2 ft' : '0.5 m')}${shortField('even-from', 'from', text(line.bearings[0]))}${shortField('even-to', 'to', text(line.bearings[1]))}<button type="submit">Set out stations</button></form>`;
}

function gridFormHtml(line: Line, { stations, heights }: GridSpec, units: JobUnits): Html {
  const station = (metres: number) => formatLength(metres, { units, as: 'station', fraction: 16, digits: 3 });
  const high = (metres: number) => heightText(metres, units);
  return html`<p>No grid yet on the panel ${line.name}. Chalk it on the steel, then read it height by height along a string or straight-edge. A grid wider than ${units === 'us' ? '4 in' : '100 mm'} can miss the top of a bulge.</p>
<form class="stations-form" id="grid-form">${shortField('grid-along', 'Stations every', high(stations.step))}${shortField('grid-from', 'from', station(stations.from))}${shortField('grid-to', 'to', station(stations.to))}<span class="break"></span>${shortField('grid-up', 'Heights every', high(heights.step))}${shortField('grid-low', 'from', high(heights.from))}${shortField('grid-high', 'to', high(heights.to))}<button type="submit">Set out the grid</button></form>`;
}

function shortField(id: string, label: string, value: string): Html {
  return html`<p class="field"><label for="${id}">${label}</label><input id="${id}" value="${value}" data-own autocomplete="off"></p>`;
}

/** The segmented choices over the list. */
export function choicesHtml(
  job: Job,
  now: { readonly line: string; readonly state: string; readonly cycle: number; readonly date: string },
): Html {
  const option = (name: string, value: string, label: string, checked: boolean) =>
    html`<label class="segment"><input type="radio" name="${name}" value="${value}"${checked ? html` checked` : ''}><span>${label}</span></label>`;
  const lines =
    job.lines.length === 1
      ? ''
      : html`<fieldset class="segments lines"><legend class="visually-hidden">Line</legend>${job.lines.map((line) => option('line', line.name, line.name, line.name === now.line))}</fieldset>`;
  return html`<button type="button" class="cycle" id="cycle-button" aria-haspopup="dialog"><span class="label">Cycle</span> <strong>${now.cycle}</strong> <span class="cycle-date">${now.date}</span></button>${lines}
<fieldset class="segments"><legend class="visually-hidden">Jacks</legend>${option('state', 'released', 'Jacks off', now.state === 'released')}${option('state', 'restrained', 'Jacks on', now.state === 'restrained')}</fieldset>`;
}

/** Under the list: stations to add, and when and how the line was read. */
export function listFootHtml(
  job: Job,
  setOut: Html | string,
  panel: boolean,
  earlier: number,
  facts: { readonly time: string; readonly temperature: string; readonly note: string },
): Html {
  const us = job.units === 'us';
  return html`${setOut}
<form class="stations-form" id="station-form"><p class="field"><label for="station-new">Another station</label><input id="station-new" autocomplete="off" placeholder="${us ? '25.5 or 12+06' : '9.45'}"></p><button type="submit">Add</button></form>
${panel ? html`<form class="stations-form" id="height-form"><p class="field"><label for="height-new">Another height</label><input id="height-new" autocomplete="off" placeholder="${us ? '18 1/2' : '450'}"></p><button type="submit">Add</button></form>` : ''}
${earlier > 0 ? html`<p><button type="button" id="earlier">Add the ${earlier} station${earlier === 1 ? '' : 's'} read in earlier cycles</button></p>` : ''}
<p id="station-problem" class="problem" role="alert"></p>
<fieldset class="facts-form" id="facts"><legend>When and how this line was read</legend>
<p class="field"><label for="fact-time">Time</label><input id="fact-time" data-fact="time" value="${facts.time}" placeholder="15:20" autocomplete="off"></p>
<p class="field"><label for="fact-temperature">Steel, °${us ? 'F' : 'C'}</label><input id="fact-temperature" data-fact="temperature" value="${facts.temperature}" inputmode="numeric" autocomplete="off"></p>
<p class="field wide"><label for="fact-note">Note (sun on one side, wind, who read)</label><input id="fact-note" data-fact="note" value="${facts.note}" maxlength="300" autocomplete="off"></p></fieldset>`;
}

export function flagText(flags: readonly Flag[]): string {
  return prose(flags.map((flag) => flag.message).join(' '));
}
