import { InputError } from '../../input-error.ts';
import { isPractice, PRACTICE_WARNING } from '../../job/practice-mark.ts';
import { type Html, html } from '../../report/html.ts';
import { prose } from '../../report/words.ts';
import { ORDINARY_COLUMNS } from '../../wrap-text.ts';
import { openSheet } from '../book.ts';
import type { Session } from '../open-session.ts';
import { askedOf } from '../papers/papers-part.ts';
import { type Act, type OpenPage, part } from '../room.ts';
import { currentAnswer } from '../state.ts';
import { heated, practiceOf, readAgain, truthShown } from './practice-job.ts';

interface Own {
  /** What the tool thought of the last heat. */
  readonly said: readonly string[];
  /** The truth beside what the tool said; null while it is kept back. */
  readonly truth: string | null;
  readonly working: boolean;
}

const NOTHING: Own = { said: [], truth: null, working: false };

/** True for the simulated girder of a practice, which alone can be heated on a page. */
export function isPractised({ opened }: Session): boolean {
  return isPractice(opened.job);
}

/** A practice: choose vees and jacks, heat, read, see how the tool answers, and at the end what was true. */
export const practicePart = part<Own>({
  id: 'practice-work',
  begin: () => NOTHING,
  of: (page, own) => [page.session.bundle, own],
  view: (page, own) => practiceHtml(page, own),
  acts: { heat, read, reveal: showTruth },
});

function practiceHtml({ session }: OpenPage, own: Own): Html {
  const { bundle, opened } = session;
  const practice = practiceOf(bundle);
  if (practice === null) {
    return html`<h2>Practice</h2><p>This practice came without its practice.json: its girder cannot be heated here.</p>`;
  }
  const us = opened.job.units === 'us';
  const done = practice.cycles.length - 1;
  const off = own.working ? html` disabled` : '';
  const field = (name: string, label: string, hint: string, left: string) =>
    html`<p class="field"><label for="practice-${name}">${label}</label><input id="practice-${name}" name="${name}" data-own autocomplete="off" spellcheck="false" placeholder="${hint}" aria-describedby="practice-${name}-help"><small id="practice-${name}-help">${left}</small></p>`;
  return html`<h2>Practice</h2>
<p class="notice caution"><span>${PRACTICE_WARNING}</span></p>
<p>${done === 0 ? 'The girder has been read as found' : `${done} cycle${done === 1 ? '' : 's'} heated and read`}. Today shows what the tool says of it.${practice.revealed === undefined ? ' Choose the next vees as you would on the lift: Papers, Heats says what it expects of each bend, and the jacks stand under Job. Then look at Today again.' : ''}</p>
${
  practice.revealed !== undefined
    ? html`<p class="notice note"><span>The truth of this girder has been shown: no more heat is made here. Start another practice for another girder.</span></p>`
    : html`<form data-act="heat" novalidate data-id="heat-${done}"><h3>Cycle ${done + 1}</h3><div class="fields">
${field('vees', 'Vees, stations', us ? '29 ft, 31 ft' : '8.8 m, 9.4 m', 'With commas between. Each is opened so that it straightens the nearest bend; “29 ft:+” and “29 ft:-” say the side.')}
${field('pressure', 'Gauge pressure of the jacks', us ? '1000 psi' : '7 MPa', 'Left out: jacks off.')}
${field('temperature', 'Steel temperature reached', us ? '1150 F' : '620 C', 'Left out: as planned.')}
${field('angle', 'Vee angle', '45 deg', 'Left out: as planned.')}
${field('before', 'Steel temperature before each vee', us ? '70 F' : '20 C', 'Left out: it had cooled.')}
</div>
<p><label class="check"><input type="checkbox" class="tick" name="underLoad" data-own> Read with the jacks still on, and write it down so</label></p>
<p class="actions"><button class="main"${off}>Heat, let it cool, and read</button><button type="button" data-act="read" data-do="practice-read"${off}>Read it again, jacks off</button></p></form>`
}
${own.said.length === 0 ? '' : html`<h3>What the tool thinks of that heat</h3><ul class="held">${own.said.map((each) => html`<li>${prose(each)}</li>`)}</ul>`}
<h3>The truth</h3>
${
  own.truth === null
    ? html`<p>How the girder was truly bent, what each cycle truly did, dead days and slips of the crew, beside what the tool said. Look at the end: it ends the practice, and no heat is made afterwards.</p><p class="actions"><button type="button" data-act="reveal" data-do="practice-reveal"${off}>Show the truth</button></p>`
    : html`<div id="practice-truth" tabindex="-1" role="region" aria-label="The truth"><pre class="paper wrap">${own.truth}</pre></div>`
}`;
}

const momentOf = ({ desk }: Act<Own>) => ({ when: desk.now(), fresh: desk.freshId() });

async function heat(act: Act<Own>): Promise<void> {
  const { desk, fields, put } = act;
  const page = desk.page();
  const shown = currentAnswer(page);
  if (shown === null)
    throw new InputError('The answer to the last readings is still on its way. Try again in a moment.');
  const words = Object.fromEntries(
    ['vees', 'angle', 'temperature', 'before', 'pressure'].flatMap((name) => {
      const text = (fields[name] ?? '').trim();
      return text === '' ? [] : [[name, text]];
    }),
  );
  if (words.vees === undefined)
    throw new InputError('No heat was made: say where the vees stand, such as 29 ft.');
  const underLoad = 'underLoad' in fields;
  const asked = { ...words, vees: words.vees };
  const { bundle, said } = inOwnWords(() =>
    heated(page.session.bundle, shown.analysis, asked, underLoad, desk.today(), momentOf(act)),
  );
  const taken = bundle.files.map(({ file }) => file);
  const next = practiceOf(bundle)!.cycles.length;
  await desk.change(bundle, openSheet(page.session.book, next, desk.today(), taken));
  put({ ...NOTHING, said: said.map(({ message }) => message) });
  desk.say('note', `Cycle ${next - 1} is heated, logged and read. Today has the answer.`);
}

async function read(act: Act<Own>): Promise<void> {
  const { desk, own, put } = act;
  await desk.change(readAgain(desk.page().session.bundle, momentOf(act)));
  put({ ...own, truth: null });
  desk.say('note', 'The girder is read again as it stands, jacks off.');
}

async function showTruth({ desk, own, put, control }: Act<Own>): Promise<void> {
  if (!desk.sure(control)) return;
  put({ ...own, working: true });
  const page = desk.page();
  const { made, faults } = await desk.papers(askedOf(page, 'reveal', desk.today(), null, ORDINARY_COLUMNS));
  if (desk.page().session.id !== page.session.id) return;
  if (made !== null && practiceOf(page.session.bundle)?.revealed === undefined)
    await desk.change(truthShown(desk.page().session.bundle));
  put({ ...own, working: false, truth: made?.papers[0]?.text ?? null });
  if (made === null) throw new InputError(faults.join(' '));
  document.getElementById('practice-truth')?.focus();
}

/** A fault names the option of the command; the form has no dashes. */
function inOwnWords<T>(work: () => T): T {
  try {
    return work();
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    throw new InputError(
      error.message,
      error.problems.map((each) => ({ ...each, file: each.file.replace(/^--/, '') })),
    );
  }
}
