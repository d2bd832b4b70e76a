import {
  type AcceptanceResult,
  type LineAnalysis,
  PROVEN_STRAIN_RATIO,
  type SurveyFit,
} from '../analysis.ts';
import { lineToday } from '../decision/line-today.ts';
import { zoneVerdict } from '../decision/verdict-words.ts';
import type { Member } from '../job/job.ts';
import { levelText, MEASURED } from '../maths/coverage-level.ts';
import { bendAsFound, movedLabel, noZonesWords } from '../status/crew-words.ts';
import { crestPerRadian } from '../survey/crest.ts';
import { edgesKnown } from '../survey/edges-known.ts';
import { isJudged } from '../survey/judged.ts';
import type { Reading } from '../survey/survey.ts';
import { INCH } from '../units/factors.ts';
import { formatTemperature } from '../units/format-quantity.ts';
import { type Html, html } from './html.ts';
import { asFound, current, judged } from './picks.ts';
import { placeText, type Quantities } from './quantities.ts';
import { prose, RESULT_MARKS, RESULT_WORDS } from './words.ts';

const DEGREE = 180 / Math.PI;

export function resultCell(result: AcceptanceResult['result']): Html {
  const tone = { within: 'marks-ok', undetermined: 'marks-open', outside: 'marks-no' }[result];
  return html`<span class="result ${tone}"><span class="glyph" aria-hidden="true">${RESULT_MARKS[result]}</span>${RESULT_WORDS[result]}</span>`;
}

/** Every acceptance rule with its limit, measured value, result, reason and source. */
export function acceptanceTable(
  results: readonly { readonly line: string | null; readonly result: AcceptanceResult }[],
  q: Quantities,
): Html {
  if (results.length === 0) {
    return html`<p>The job names no acceptance rule. Choose one from the specification in force; without it nothing here says whether the member is done.</p>`;
  }
  return html`<div class="scroll keep" tabindex="0" role="region" aria-label="Acceptance"><table class="acceptance" aria-label="Acceptance"><thead><tr><th scope="col">Rule</th><th scope="col">Line</th><th scope="col" class="n">Limit</th><th scope="col" class="n">Measured</th><th scope="col">Result</th><th scope="col">Why, and source of the limit</th></tr></thead><tbody>${results.map(
    ({ line, result: a }) =>
      html`<tr><th scope="row">${prose(a.rule.label)}</th><td>${line ?? 'none of this kind'}</td><td class="n">${q.limit(a.limit)}</td><td class="n">${a.measured === null ? 'not measured' : html`${a.atLeast === true ? 'at least ' : ''}<span title="${q.decimal(a.measured)}">${q.length(a.measured)}</span>${a.u === null ? '' : html` <br><span class="muted">${q.plusMinus(a.u)}</span>`}`}</td><td>${resultCell(a.result)}</td><td class="why">${prose(a.reason)} <span class="source">${a.rule.source}</span></td></tr>`,
  )}</tbody></table></div>`;
}

/** Plastic (and elastic) zones: where, degree of damage as found and now, strain ratio, pace. */
export function zonesTable(line: LineAnalysis, member: Member, q: Quantities): Html {
  const { lack, now } = lineToday(line);
  const last = lack === null ? line.movements.at(-1) : undefined;
  const rows = line.fit.zones.map((zone) => {
    const rotation = now?.zones.find((z) => z.zone === zone.zone);
    const moved = last?.zones.find((z) => z.zone === zone.zone);
    const pace = line.progress.zones.find((z) => z.zone === zone.zone);
    const found = bendAsFound(line, zone, asFound(line) ?? null);
    const nowBend = lack !== null ? undefined : now === (asFound(line) ?? null) ? found : rotation;
    const crest = crestPerRadian(line.line, zone.core.centre, member);
    const atLeast = zone.strainRatio.lowerBound ? 'at least ' : '';
    return html`<tr><th scope="row"><strong>${zone.zone}</strong> ${zone.class === 'plastic' ? 'plastic' : 'elastic'}</th><td class="n">${q.place(zone.from)} to ${q.place(zone.to)}<br><span class="muted">${stationUncertainty(edgesKnown(zone, asFound(line) ?? null), q)}</span></td><td class="n">${angle(found, crest, q)}</td><td class="n">${nowBend === undefined ? (lack === null ? 'not read' : 'cannot be told') : angle(nowBend, crest, q)}</td><td class="n">${moved === undefined ? (lack === null ? 'none yet' : 'cannot be told') : angle(moved, crest, q)}</td><td class="n">${atLeast}${zone.strainRatio.mean.toFixed(1)}<br><span class="muted">peak ${zone.strainRatio.peak.toFixed(1)} ± ${tenths(MEASURED.factor * zone.strainRatio.peakU)}${zone.publishedStrain === null ? '' : html`<br>published ${zone.publishedStrain.ratio.toFixed(1)} ± ${tenths(MEASURED.factor * zone.publishedStrain.u)}${zone.publishedStrain.leftOut ? ', a reading left out counted' : ''}`}</span></td><td>${pace === undefined ? '' : zoneVerdict(pace.verdict)}</td></tr>`;
  });
  const reasons = line.progress.zones.filter((z) => line.fit.zones.some((zone) => zone.zone === z.zone));
  return html`<p class="table-title">Zones: the bend is the angle the steel turns through (degree of damage), beside it what that bend alone sets the steel off, its bearings held; strain ratio is largest bending strain over yield strain, up to ${PROVEN_STRAIN_RATIO} is proven${line.fit.zones.some((zone) => zone.class === 'elastic') ? '; a zone is called elastic where the readings do not show, with 95 % confidence, that its bend is there and its ratio above 1: its number is no finding' : ''}</p><div class="scroll keep" tabindex="0" role="region" aria-label="Zones of line ${line.line.name}"><table aria-label="Zones of line ${line.line.name}"><thead><tr><th scope="col">Zone</th><th scope="col" class="n">Stations</th><th scope="col" class="n">Bend<br>as found</th><th scope="col" class="n">Bend now</th><th scope="col" class="n">${last === undefined ? 'Moved' : movedLabel(last)}</th><th scope="col" class="n">Strain ratio</th><th scope="col">Pace</th></tr></thead><tbody>${rows}</tbody></table></div>${reasons.length === 0 ? '' : html`<ul class="reasons">${reasons.map((z) => html`<li>${prose(z.reason)}</li>`)}</ul>`}`;
}

/** The zones, or why a line that is bent has none. */
export function zonesOrWhy(line: LineAnalysis, member: Member, q: Quantities): Html {
  if (line.fit.zones.length > 0) return zonesTable(line, member, q);
  const why = noZonesWords(line, member);
  return why === null
    ? html``
    : html`<p><strong>Zones.</strong> ${prose(`${why.charAt(0).toUpperCase()}${why.slice(1)}`)}.</p>`;
}

/** The published strain ratio (second difference of three neighbouring readings) station by station, as found; nothing without three. */
export function secondDifferenceTable(line: LineAnalysis, q: Quantities): Html {
  const { pointCurvature, zones } = line.fit;
  if (pointCurvature.length === 0) return html``;
  const bounded = zones.filter((zone) => zone.strainRatio.lowerBound).map((zone) => zone.zone);
  const bound =
    bounded.length === 0
      ? ''
      : html`<p>In zone ${bounded.join(', ')} the stations stand too far apart for the sharpest bend: there these ratios, like the fitted ones, are at least values.</p>`;
  // The ratio is the curvature over that at yield, one for the line, and so is its uncertainty.
  const sharpest = pointCurvature.reduce((a, b) => (b.strainRatio > a.strainRatio ? b : a));
  const perCurvature = sharpest.curvature === 0 ? null : sharpest.strainRatio / Math.abs(sharpest.curvature);
  const rows = pointCurvature.map(({ station, u, strainRatio }) => {
    const doubt = perCurvature === null ? null : MEASURED.factor * u * perCurvature;
    return html`<tr><th scope="row">${q.place(station)}</th><td class="n">${strainRatio.toFixed(1)}</td><td class="n">${doubt === null ? '' : `± ${tenths(doubt)}`}</td></tr>`;
  });
  return html`${bound}<p class="table-title">Published strain ratio by station, as found: second difference of three neighbouring readings over the curvature at yield; readings left out of the fit are not in it</p><div class="scroll" tabindex="0" role="region" aria-label="Published strain ratio of line ${line.line.name}"><table aria-label="Published strain ratio of line ${line.line.name}"><thead><tr><th scope="col">Station</th><th scope="col" class="n">Ratio</th><th scope="col" class="n">About ${levelText(MEASURED)}</th></tr></thead><tbody>${rows}</tbody></table></div>`;
}

/** A doubt in tenths, never as nothing. */
const tenths = (doubt: number): string => Math.max(doubt, 0.1).toFixed(1);

/** Degrees, and inches or millimetres at the crest. */
function angle(bend: { readonly rotation: number; readonly u: number }, crest: number, q: Quantities): Html {
  const degrees = minus((bend.rotation * DEGREE).toFixed(2));
  return html`${degrees}° ± ${(MEASURED.factor * bend.u * DEGREE).toFixed(2)}°<br><span class="muted">${q.length(Math.abs(bend.rotation) * crest)} ${q.plusMinus(bend.u * crest)}</span>`;
}

function minus(text: string): string {
  return /^-[0.]*$/.test(text) ? text.slice(1) : text.replace('-', '\u2212');
}

function stationUncertainty(known: number, q: Quantities): string {
  return q.units === 'us' ? `± ${Math.max(1, Math.round(known / INCH))} in` : `± ${known.toFixed(2)} m`;
}

/** Deviations by station: as found, some recent cycles, now with uncertainty, last and total movement. */
export function deviationTable(line: LineAnalysis, q: Quantities, recent: number): Html {
  const surveys = judged(line);
  const found = asFound(line);
  const now = current(line);
  if (now === undefined || found === undefined) return html`<p>No readings of this line yet.</p>`;
  const before = recent === 0 ? [] : surveys.slice(1, -1).slice(-recent);
  const columns = surveys.length === 1 ? [] : [found, ...before];
  const at = new Map(columns.map((s) => [s, byStation(s)]));
  const step = line.movements.at(-1);
  const last = new Map(
    (step !== undefined && step.toCycle === now.cycle ? step.stations : []).map((m) => [m.station, m]),
  );
  const foundAt = byStation(found);
  const rows = now.stations.map((p) => {
    const start = foundAt.get(p.station);
    const moved = last.get(p.station);
    const total = start === undefined || surveys.length === 1 ? null : p.deviation - start.deviation;
    const largest = p.station === now.largest.station;
    return html`<tr${largest ? CLASS_WORST : ''}><th scope="row" class="n">${q.station(p.station)}</th>${columns.map((s) => valueCell(at.get(s)!.get(p.station), q))}${valueCell(p, q)}<td class="n muted">${q.plusMinusBare(p.u)}</td>${surveys.length === 1 ? '' : html`<td class="n"${titled(moved === undefined ? '' : `${q.decimal(moved.movement)} ${q.plusMinus(moved.u)}`)}>${moved === undefined ? '' : q.movement(moved.movement)}</td><td class="n"${titled(total === null ? '' : q.decimal(total))}>${total === null ? '' : q.signed(total)}</td>`}</tr>`;
  });
  return html`<p class="table-title">Deviations by station, ${q.offsetUnit}, + ${line.line.positive}. The shaded row is the largest.</p><div class="scroll" tabindex="0" role="region" aria-label="Deviations by station, line ${line.line.name}"><table aria-label="Deviations by station, line ${line.line.name}"><thead><tr><th scope="col" class="n">Station</th>${columns.map((s) => html`<th scope="col" class="n">${s === found ? 'As found' : `Cycle ${s.cycle}`}</th>`)}<th scope="col" class="n">${now === found ? 'As found' : `Cycle ${now.cycle}, now`}</th><th scope="col" class="n">${prose(levelText(MEASURED))}</th>${surveys.length === 1 ? '' : html`<th scope="col" class="n">${step === undefined ? 'Moved' : movedLabel(step)}</th><th scope="col" class="n">Moved<br>in all</th>`}</tr></thead><tbody>${rows}</tbody></table></div>`;
}

const CLASS_WORST = html` class="worst"`;

function titled(text: string): Html | '' {
  return text === '' ? '' : html` title="${text}"`;
}

function byStation(survey: SurveyFit): Map<number, SurveyFit['stations'][number]> {
  return new Map(survey.stations.map((p) => [p.station, p]));
}

function valueCell(p: SurveyFit['stations'][number] | undefined, q: Quantities): Html {
  if (p === undefined) return html`<td class="n"></td>`;
  const title = q.decimal(p.deviation);
  return p.setAside
    ? html`<td class="n aside" title="${title}, set aside">${q.signed(p.deviation)}</td>`
    : html`<td class="n" title="${title}">${q.signed(p.deviation)}</td>`;
}

/** One row a survey: when, how many readings, largest, root mean square, movement, closure. */
export function surveysTable(line: LineAnalysis, q: Quantities): Html {
  const off = line.fit.surveys.filter((s) => !s.closure.agrees);
  const moves = new Map(line.movements.map((m) => [m.toCycle, m]));
  return html`<p class="table-title">Surveys of this line</p><div class="scroll${line.fit.surveys.length <= 24 ? ' keep' : ''}" tabindex="0" role="region" aria-label="Surveys of line ${line.line.name}"><table aria-label="Surveys of line ${line.line.name}"><thead><tr><th scope="col" class="n">Cycle</th><th scope="col">Read</th><th scope="col">Jacks</th><th scope="col" class="n">Readings</th><th scope="col" class="n">Largest, ${q.offsetUnit}</th><th scope="col" class="n">At</th><th scope="col" class="n">Movement, ${q.offsetUnit}</th><th scope="col" class="n">Root mean<br>square</th><th scope="col">String closure</th></tr></thead><tbody>${line.fit.surveys.map(
    (s) => {
      const move = isJudged(s) ? moves.get(s.cycle) : undefined;
      return html`<tr><th scope="row" class="n">${s.cycle}</th><td class="num">${s.date === null ? 'no date' : q.date(s.date)}${s.time === null ? '' : ` ${s.time}`}${s.temperature === null ? '' : `, ${formatTemperature(s.temperature, q.units)}`}</td><td>${s.state === 'released' ? 'off' : 'on'}</td><td class="n">${s.count}${s.setAside.length === 0 ? '' : `, ${s.setAside.length} aside`}</td><td class="n" title="${q.decimal(s.largest.deviation)}">${q.signed(s.largest.deviation)} <span class="muted">${q.plusMinusBare(s.largest.u)}</span></td><td class="n">${placeText(s.largest, q)}</td><td class="n">${move === undefined ? '' : html`<span title="${q.decimal(move.largest.movement)}">${q.movement(move.largest.movement)}</span> <span class="muted">${q.plusMinusBare(move.largest.u)}</span>`}</td><td class="n" title="${q.decimal(s.rms)}">${q.bare(s.rms)}</td><td>${s.panel === undefined ? closureWord(s) : 'set up anew'}</td></tr>`;
    },
  )}</tbody></table></div>${off.length === 0 ? '' : html`<ul class="reasons">${off.map((s) => html`<li>Cycle ${s.cycle}: ${prose(s.closure.message ?? '')}</li>`)}</ul>`}`;
}

function closureWord(survey: SurveyFit): string {
  if (survey.closure.ties.length === 0) return 'not tested';
  return survey.closure.agrees ? 'agrees' : 'DISAGREES';
}

/** Readings kept out of the fit, with file and row so that anyone can find them. */
export function setAsideTable(lines: readonly LineAnalysis[], q: Quantities): Html {
  const rows = lines.flatMap((l) =>
    l.fit.surveys.flatMap((s) => s.setAside.map((r) => ({ line: l.line.name, cycle: s.cycle, ...r }))),
  );
  if (rows.length === 0) return html`<p>None. Every usable reading is in the fit.</p>`;
  return html`<div class="scroll" tabindex="0" role="region" aria-label="Readings set aside"><table aria-label="Readings set aside"><thead><tr><th scope="col">Line</th><th scope="col" class="n">Cycle</th><th scope="col" class="n">Station</th><th scope="col" class="n">Read</th><th scope="col">Why, and by whom</th><th scope="col">File and row</th></tr></thead><tbody>${rows.map(
    (r) =>
      html`<tr><th scope="row">${r.line}</th><td class="n">${r.cycle}</td><td class="n">${q.station(r.station)}</td><td class="n" title="${q.decimal(r.offset)}">${q.length(r.offset)}</td><td class="why">${prose(r.reason)} <span class="muted">(${r.by === 'hand' ? 'by a person' : 'by rule'})</span></td><td>${r.file}, row ${r.row}</td></tr>`,
  )}</tbody></table></div>`;
}

/** Cycles beside one another in one table of readings. */
const CYCLES_ACROSS = 10;

/** Every reading as read, station by cycle; repeats of one station stand together in one cell. */
export function readingsTables(line: LineAnalysis, readings: readonly Reading[], q: Quantities): Html {
  const own = readings.filter((r) => r.line === line.line.name);
  const keys = [...new Map(own.map((r) => [surveyKey(r), { cycle: r.cycle, state: r.state }])).values()].sort(
    (a, b) => a.cycle - b.cycle || (a.state === b.state ? 0 : a.state === 'restrained' ? -1 : 1),
  );
  const rows = rowOf(own.map((r) => r.station));
  const stations = [...new Set(rows.values())];
  const cells = new Map<string, Reading[]>();
  for (const r of own) {
    const key = `${surveyKey(r)} ${rows.get(r.station)!}`;
    cells.set(key, [...(cells.get(key) ?? []), r]);
  }
  const blocks: Html[] = [];
  for (let i = 0; i < keys.length; i += CYCLES_ACROSS) {
    const group = keys.slice(i, i + CYCLES_ACROSS);
    blocks.push(
      html`<p class="table-title">Readings of line ${line.line.name}, string to steel, ${q.offsetUnit}, ${cyclesOf(group)}</p><div class="scroll" tabindex="0" role="region" aria-label="Readings of line ${line.line.name}, ${cyclesOf(group)}"><table aria-label="Readings of line ${line.line.name}, ${cyclesOf(group)}"><thead><tr><th scope="col" class="n">Station</th>${group.map((k) => html`<th scope="col" class="n">${k.cycle}${k.state === 'restrained' ? html`<br>jacks on` : ''}</th>`)}</tr></thead><tbody>${stations.map(
        (s) =>
          html`<tr><th scope="row" class="n">${q.station(s)}</th>${group.map((k) => {
            const here = cells.get(`${surveyKey(k)} ${s}`);
            if (here === undefined) return html`<td class="n"></td>`;
            return html`<td class="n" title="${here.map((r) => q.decimal(r.offset)).join(', ')}">${here.map((r) => q.reading(r.offset)).join('; ')}</td>`;
          })}</tr>`,
      )}</tbody></table></div>`,
    );
  }
  return html`<div class="record">${blocks}</div>`;
}

function cyclesOf(group: readonly { readonly cycle: number }[]): string {
  const [first, last] = [group[0]!.cycle, group.at(-1)!.cycle];
  return first === last ? `cycle ${first}` : `cycles ${first} to ${last}`;
}

/** Stations closer than this are one row: the same mark written in another unit, or rounded. */
const SAME_ROW = 0.01;

/** Each station's row: that of the first station within `SAME_ROW` below it. */
function rowOf(stations: readonly number[]): ReadonlyMap<number, number> {
  const rows = new Map<number, number>();
  let row = Number.NEGATIVE_INFINITY;
  for (const station of [...new Set(stations)].sort((a, b) => a - b)) {
    if (station - row > SAME_ROW) row = station;
    rows.set(station, row);
  }
  return rows;
}

function surveyKey(r: { readonly cycle: number; readonly state: string }): string {
  return `${r.cycle} ${r.state}`;
}
