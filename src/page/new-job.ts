import { InputError, type Problem } from '../input-error.ts';
import { draftJob } from '../job/draft-job.ts';
import { parseJob } from '../job/job-file.ts';
import { PRESETS } from '../job/presets.ts';
import { type Html, html } from '../report/html.ts';

/** What the form asks, as keyed. */
export interface NewJob {
  readonly name: string;
  readonly units: 'us' | 'si';
  readonly span: string;
  readonly flangeWidth: string;
  readonly flangeThickness: string;
  readonly yield: string;
  readonly diaphragms: string;
  readonly line: string;
  readonly kind: string;
  readonly positive: string;
  readonly tolerance: string;
  readonly preset: string;
}

/**
 * Text of the job.json the form makes, and what had to be assumed in it.
 *
 * @param id random id of the job, which tells it from others like it
 * @throws InputError with what is wrong in it
 */
export function newJobText(
  form: NewJob,
  id?: string,
): { readonly text: string; readonly assumed: readonly string[] } {
  const filled = (text: string) => (text.trim() === '' ? undefined : text.trim());
  const optional = <K extends string>(key: K, text: string) => {
    const value = filled(text);
    return value === undefined ? {} : ({ [key]: value } as Record<K, string>);
  };
  const missing: Problem[] = (
    [
      ['name of the job', form.name],
      ['span', form.span],
      ['flange width', form.flangeWidth],
      ['flange thickness', form.flangeThickness],
    ] as const
  )
    .filter(([, text]) => filled(text) === undefined)
    .map(([column]) => ({ file: 'the form', column, found: 'nothing', expected: `the ${column}` }));
  if (missing.length > 0) throw new InputError('The job cannot be started yet.', missing);
  const { draft, assumed, faults } = draftJob(
    form.name.trim(),
    {
      name: form.name.trim(),
      units: form.units,
      span: form.span.trim(),
      flangeWidth: form.flangeWidth.trim(),
      flangeThickness: form.flangeThickness.trim(),
      line: [`${filled(form.line) ?? 'bottom-flange'}:${form.kind}`],
      ...optional('yield', form.yield),
      ...optional('diaphragms', form.diaphragms),
      ...optional('positive', form.positive),
      ...optional('tolerance', form.tolerance),
      ...optional('preset', form.preset),
    },
    '',
  );
  if (faults.length > 0) throw new InputError(faults.join(' '));
  const { $schema: _, ...rest } = draft;
  const job = id === undefined ? rest : { id, ...rest };
  const text = `${JSON.stringify(job, null, 2)}\n`;
  parseJob(text, { file: 'the form' });
  return { text, assumed };
}

/** The form itself. */
export function newJobForm(): Html {
  const field = (name: string, label: string, hint: string, required = false) =>
    html`<p class="field"><label for="new-${name}">${label}${required ? '' : html` <span class="muted">(may be left out)</span>`}</label><input id="new-${name}" name="${name}" autocomplete="off" spellcheck="false" placeholder="${hint}"${required ? ' required' : ''}></p>`;
  return html`<div class="fields">
${field('name', 'Name of the job', 'Mill Lane over the brook, girder 2', true)}
<fieldset class="field"><legend>Units</legend><label><input type="radio" name="units" value="us" data-own checked> feet and inches</label> <label><input type="radio" name="units" value="si" data-own> metres and millimetres</label></fieldset>
${field('span', 'Span, bearing to bearing', '62 ft', true)}
${field('flangeWidth', 'Flange width', '12 in', true)}
${field('flangeThickness', 'Flange thickness', '15/16 in', true)}
${field('yield', 'Yield stress, from the plans', '36 ksi')}
${field('diaphragms', 'Diaphragms, stations', '15 ft, 31 ft, 47 ft')}
${field('line', 'Name of the line', 'bottom-flange')}
<p class="field"><label for="new-kind">What is measured</label><select id="new-kind" name="kind"><option value="sweep">sweep, sideways</option><option value="camber">camber, up and down</option><option value="tilt">flange tilt</option><option value="plumb">web out of plumb</option><option value="bulge">local out-of-flatness</option></select></p>
${field('positive', 'A positive offset means', 'toward the north shoulder')}
${field('tolerance', 'Tolerance over the whole line', '1/2 in')}
<p class="field"><label for="new-preset">Published limits <span class="muted">(the engineer chooses)</span></label><select id="new-preset" name="preset"><option value="">none</option>${PRESETS.map((preset) => html`<option value="${preset.key}">${preset.title}</option>`)}</select></p>
</div>
<div id="new-problems" role="alert"></div>
<p class="actions"><button class="main" type="submit">Start the job</button></p>`;
}
