import type { Analysis } from '../analysis.ts';
import { linesOfSection, type SectionLines } from '../member/lines-of-section.ts';
import { chosenStations, missingParts, sectionAt } from '../member/section.ts';
import { brief } from './brief.ts';
import { figure } from './figure.ts';
import { type DrawnSection, sectionsDrawing } from './figures/section.ts';
import { type Html, html } from './html.ts';
import type { Quantities } from './quantities.ts';

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
  const text = size === 'daily' ? brief(sectionText(lines), 150) : sectionText(lines);
  return html`${figure('The member in section', text, (width) => sectionsDrawing(drawn, analysis.job, positive, q, width, HEIGHT[size]))}${size === 'daily' ? '' : missingText(lines, analysis)}`;
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
