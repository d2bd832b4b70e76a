import { InputError } from '../../input-error.ts';
import { type Html, html } from '../../report/html.ts';
import type { Said } from './record.ts';

/** Fields for who decides and why; `of` keeps their ids apart from those of other forms. */
export function saidFields(of: string): Html {
  return html`<div class="fields"><p class="field"><label for="${of}-who">Who</label><input id="${of}-who" name="${of}-who" autocomplete="name" maxlength="200"></p><p class="field"><label for="${of}-why">Why</label><input id="${of}-why" name="${of}-why" autocomplete="off" maxlength="1000"></p></div>`;
}

/** @throws InputError where one of the two is blank */
export function saidOf(fields: Readonly<Record<string, string>>, of: string): Said {
  const who = (fields[`${of}-who`] ?? '').trim();
  const why = (fields[`${of}-why`] ?? '').trim();
  if (who === '' || why === '') {
    throw new InputError('A decision is kept with who made it, and why.', [
      {
        file: 'the form',
        column: who === '' ? 'who' : 'why',
        found: 'nothing',
        expected: who === '' ? 'the name of who decides' : 'why, in a few words',
      },
    ]);
  }
  return { who, why };
}
