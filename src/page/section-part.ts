import type { Analysis } from '../analysis.ts';
import { type Html, html } from '../report/html.ts';
import { sectionSlide, sectionsAlong, sectionWords } from '../report/member-section.ts';
import { quantities } from '../report/quantities.ts';
import { type OpenPage, part } from './room.ts';

/** The member in section, found and now, at the station of a slider. It keeps which one; null: the furthest out. */
export const sectionPart = part<number | null>({
  id: 'section',
  begin: () => null,
  of: (page, own) => [page.answer?.analysis, own],
  view: (page, own) => sectionHtml(page, own),
  acts: {
    station: ({ put, control }) => put(Number((control as HTMLInputElement).value)),
  },
});

/** What the analysis drawn last gives: the slider moves through it without working it out again. */
interface Held {
  readonly analysis: Analysis;
  readonly sections: ReturnType<typeof sectionsAlong>;
  readonly words: ReturnType<typeof sectionWords>;
}
let held: Held | null = null;

function sectionHtml({ answer }: OpenPage, own: number | null): Html {
  if (answer === null) return html``;
  const { analysis } = answer;
  if (held?.analysis !== analysis)
    held = { analysis, sections: sectionsAlong(analysis), words: sectionWords(analysis) };
  const { sections, words } = held;
  if (sections.length === 0) return html``;
  const furthest = sections.findIndex(({ why }) => why.includes('furthest out'));
  const at = Math.min(own ?? Math.max(0, furthest), sections.length - 1);
  const q = quantities(analysis.job.units, 16, analysis.job.locale);
  const { station, drawing } = sectionSlide(sections[at]!, sections, analysis, q);
  return html`<h2>The member in section</h2>
<p>${words.from}</p>
<p class="section-choice"><label for="section-at">Section at</label><input type="range" id="section-at" data-input="station" min="0" max="${sections.length - 1}" step="1" value="${at}" aria-valuetext="${station}"><output for="section-at">${station}</output></p>
<div class="section-host">${drawing}</div>
${words.missing}
<details><summary>What kind of damage it was found with</summary>${words.damage}</details>`;
}
