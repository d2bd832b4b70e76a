import { type Html, html } from '../../report/html.ts';

/** The form that starts a practice. */
export function newPracticeForm(): Html {
  return html`<p>A simulated girder with its own truth, marked PRACTICE everywhere: heat it, read it, see how the answers come, and at the end what was true.</p>
<div class="fields">
<p class="field"><label for="practice-seed">Girder <span class="muted">(any word; the same word is the same girder)</span></label><input id="practice-seed" name="seed" maxlength="40" autocomplete="off" spellcheck="false" placeholder="thimble"></p>
<fieldset class="field"><legend>Units of the practice</legend><label><input type="radio" name="units" value="us" data-own checked> feet and inches</label> <label><input type="radio" name="units" value="si" data-own> metres and millimetres</label></fieldset>
<p class="field"><label for="practice-blows">Blows it took</label><select id="practice-blows" name="blows"><option value="1">one</option><option value="2">two</option></select></p>
<p class="field"><label for="practice-jacks">Jacks, stations <span class="muted">(may be left out: one at the blow)</span></label><input id="practice-jacks" name="jacks" autocomplete="off" placeholder="24 ft, 34 ft"></p>
</div>
<p class="actions"><button type="submit">Start the practice</button></p>`;
}
