import { type Html, html } from './html.ts';

/** What everyone must know before acting on a figure of this program. The same words on every page. */
const DEFERRAL =
  'This page reports measurements and estimates made from them. It does not approve a repair, certify a member or decide when to stop. ' +
  'The owner’s specification, the local codes and the licensed engineer in charge govern, and where they differ from this page they are right.';

/** The usual cautions of heat-straightening practice. Sources are named where there is one. */
const CAUTIONS: readonly { readonly text: string; readonly source: string }[] = [
  {
    text: 'Look for cracks around the impact, at connections and at diaphragms before heating and again after it. A fracture during repair is not unusual. Measurements of shape say nothing about cracks.',
    source:
      'Avent and Mukai, on heat-straightening repair; state special provision “Heat Straightening” of 14 Dec 2017',
  },
  {
    text: 'Jacks and come-alongs hold stored energy. Stand clear, use a calibrated gauge and a second restraint, and do not raise the force while the steel is hot.',
    source: 'common practice, no source',
  },
  {
    text: 'Keep within the temperature limit of the steel grade, and let it cool as the specification asks before reading or reheating. A reading on warm steel, or with the sun on one side of a flange, can be wrong by more than the tolerance.',
    source: 'owner’s specification; common practice, no source',
  },
  {
    text: 'Control traffic above and below while heating, jacking and measuring. Hot work needs a permit, a fire watch and clear utilities; old coatings may hold lead.',
    source: 'common practice, no source',
  },
  {
    text: 'Straightening the same place again after earlier damage makes steel more brittle and has ended in fracture. Fracture-critical and quenched-and-tempered members need the engineer’s specific approval.',
    source: 'Avent and others, on repeated damage and repair; common practice',
  },
];

/** The cautions block: deferral first, then the list. */
export function cautionsBlock(): Html {
  return html`<div class="cautions">
<p class="deferral">${DEFERRAL}</p>
<ul>${CAUTIONS.map((c) => html`<li>${c.text} <span class="source">${c.source}</span></li>`)}</ul>
</div>`;
}
