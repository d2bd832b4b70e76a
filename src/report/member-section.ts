import type { Analysis } from '../analysis.ts';
import { CATEGORY_WORDS, damageKinds, FIRST_HEATS, shownCategories } from '../member/damage-kinds.ts';
import { linesOfSection, type SectionLines } from '../member/lines-of-section.ts';
import { chosenStations, missingParts, sectionAt } from '../member/section.ts';
import { brief } from './brief.ts';
import { figure } from './figure.ts';
import { type DrawnSection, sectionsDrawing } from './figures/section.ts';
import { type Html, html, htmlText } from './html.ts';
import { evenly } from './picks.ts';
import type { Quantities } from './quantities.ts';
import { prose } from './words.ts';

/** Sections in one row on the wide drawing. */
const MOST = 6;
/** px of the girder's depth. */
const HEIGHT = { daily: 74, full: 150 } as const;

/** Lines of the section below which the daily sheet does not spend room on it: most of it would be dotted. */
const ENOUGH = 2;

/**
 * Sections of the member side by side, with what is not read and what reading it would settle; nothing without a line that
 * speaks of the section.
 */
export function memberSections(analysis: Analysis, q: Quantities, size: 'daily' | 'full'): Html | '' {
  const lines = linesOfSection(analysis.lines);
  if (lines.reference === null) return '';
  if (size === 'daily' && Object.keys(lines.placed).length < ENOUGH) return '';
  const drawn = chosenStations(lines, MOST).map(({ station, why }) =>
    drawnSection(lines, analysis, station, why),
  );
  const positive = lines.reference.line.positive;
  const text =
    size === 'daily' ? brief(`${damageText(analysis)}${sectionText(lines)}`, 170) : sectionText(lines);
  return html`${figure('The member in section', text, (width) => sectionsDrawing(drawn, analysis.job, positive, q, width, HEIGHT[size]))}${size === 'daily' ? '' : html`${missingText(lines, analysis)}${damageTable(analysis)}`}`;
}

/** What the sections are put together from, what is missing in them, and what kind of damage they were found with. */
export function sectionWords(analysis: Analysis): {
  readonly from: string;
  readonly missing: Html | '';
  readonly damage: Html;
} {
  const lines = linesOfSection(analysis.lines);
  return {
    from: sectionText(lines),
    missing: missingText(lines, analysis),
    damage: damageTable(analysis),
  };
}

export function drawnSection(
  lines: SectionLines,
  { job }: Analysis,
  station: number,
  why: string,
): DrawnSection {
  return {
    station,
    why,
    found: sectionAt(lines, job.member, station, 'found'),
    now: sectionAt(lines, job.member, station, 'now'),
  };
}

/** What is put together, which signs are a guess, and which line is older than the others. */
function sectionText({ placed }: SectionLines): string {
  const all = Object.values(placed);
  const latest = Math.max(...all.map(({ surveys }) => surveys.at(-1)!.cycle));
  const older = all.filter(({ surveys }) => surveys.at(-1)!.cycle < latest);
  const guessed = all.filter(({ signFrom }) => signFrom === 'readings');
  return [
    `Put together from ${all.map(({ item }) => item.line.name).join(', ')}.`,
    ...older.map(({ item, surveys }) => `${item.line.name} was last read in cycle ${surveys.at(-1)!.cycle}.`),
    ...guessed.map(
      ({ item }) => `Which way ${item.line.name} goes is taken from its readings: say it in its "positive".`,
    ),
  ].join(' ');
}

function missingText(lines: SectionLines, { job }: Analysis): Html | '' {
  const missing = missingParts(lines, job.member);
  if (missing.length === 0) return '';
  return html`<p class="small">Not known, and dotted: ${missing.map(({ what, settles }) => `${what} (would settle ${settles})`).join('; ')}.</p>`;
}

const STATES = { shown: 'yes', 'not-shown': 'not shown', open: 'cannot be told' } as const;

/** `As found: T + L/S. `; nothing where nothing is shown. */
function damageText(analysis: Analysis): string {
  const shown = shownCategories(damageKinds(analysis.lines, analysis.job));
  return shown === null ? '' : `Damage as found: category ${shown}. `;
}

/** The guide's categories with the numbers for and against, and what it begins with where one is shown. */
function damageTable({ lines, job }: Analysis): Html {
  const kinds = damageKinds(lines, job);
  return html`<p class="table-title">What kind of damage it was found with</p><div class="scroll" tabindex="0" role="region" aria-label="Kind of damage"><table aria-label="Kind of damage"><thead><tr><th scope="col">Category</th><th scope="col">As found</th><th scope="col">What says so, or would</th></tr></thead><tbody>${kinds.map(
    ({ category, state, why }) =>
      html`<tr><th scope="row"><strong>${category}</strong> ${CATEGORY_WORDS[category]}</th><td>${state === 'shown' ? html`<strong>${STATES[state]}</strong>` : STATES[state]}</td><td>${prose(why)}${state === 'shown' ? html` <span class="muted">The guide begins with ${FIRST_HEATS[category]} (from memory).</span>` : ''}</td></tr>`,
  )}</tbody></table></div><p class="small muted wide">Categories of the federal guide for heat-straightening of damaged steel bridge members, FHWA-IF-08-999, 1.2 and 7.1 (S, T and L as seen there, W from memory). What is heated first where several are shown, and in which order, is the engineer’s to say.</p>`;
}

/** Stations the slider goes through, at most. */
const MOST_STATIONS = 61;
/** px: one section beside its numbers. */
const [ONE_WIDTH, ONE_HEIGHT] = [420, 220] as const;

/** The section at every station read, at most 61 of them, for a slider; none without a line that speaks of the section. */
export function sectionsAlong(analysis: Analysis): readonly DrawnSection[] {
  const lines = linesOfSection(analysis.lines);
  if (lines.reference === null) return [];
  const chosen = new Map(chosenStations(lines, MOST).map(({ station, why }) => [station, why]));
  const read = Object.values(lines.placed).flatMap(({ surveys }) =>
    surveys[0]!.stations.map((p) => p.station),
  );
  const stations = [
    ...new Set([
      ...chosen.keys(),
      ...evenly(
        [...new Set(read)].sort((a, b) => a - b),
        MOST_STATIONS,
      ),
    ]),
  ];
  return stations
    .sort((a, b) => a - b)
    .map((station) => drawnSection(lines, analysis, station, chosen.get(station) ?? ''))
    .filter(({ found, now }) => found !== null || now !== null);
}

/** One of the sections a slider goes through: where it is, and its drawing at the scale and exaggeration of all. */
export function sectionSlide(
  section: DrawnSection,
  all: readonly DrawnSection[],
  { job, lines }: Analysis,
  q: Quantities,
): { readonly station: string; readonly drawing: Html } {
  const { positive } = linesOfSection(lines).reference!.line;
  return {
    station: [q.station(section.station), section.why].filter((text) => text !== '').join(', '),
    drawing: sectionsDrawing([section], job, positive, q, ONE_WIDTH, ONE_HEIGHT, all),
  };
}

/** Every section of the slider, drawn here, so that nothing is drawn twice and the report only swaps pictures. */
export function sectionSlides(
  analysis: Analysis,
  q: Quantities,
): readonly { readonly station: string; readonly drawing: string }[] {
  const all = sectionsAlong(analysis);
  return all.map((section) => {
    const { station, drawing } = sectionSlide(section, all, analysis, q);
    return { station, drawing: htmlText(drawing) };
  });
}

/** The slider of sections; hidden until the script runs, and never printed: the row of sections is what prints. */
export function sectionSlider(slides: ReturnType<typeof sectionSlides>): Html | '' {
  if (slides.length < 2) return '';
  return html`<div class="section-explore screen-only" hidden><div class="controls"><label for="section-station">Section at <input type="range" id="section-station" min="0" max="${slides.length - 1}" step="1" value="0"></label><output for="section-station" class="section-output"></output></div><div class="section-host"></div></div>`;
}
