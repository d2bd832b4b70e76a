import { InputError, type Problem } from '../../input-error.ts';
import { parseJob } from '../../job/job-file.ts';
import { jobJsonSchema } from '../../job/job-schema.ts';
import { checkInputs } from '../../ledger/inputs.ts';
import { type Html, html } from '../../report/html.ts';
import { inputsOf } from '../folder-files.ts';
import type { JobBundle } from '../job-bundle.ts';
import { ledgerOfJob, requireLedger, reread, type Said, withRecord } from '../ledger/record.ts';
import { saidFields, saidOf } from '../ledger/said.ts';
import { type Act, type OpenPage, part } from '../room.ts';
import { isObject, type Path, renamed, type Step, valueAt, withValue } from './draft.ts';
import { fieldHtml } from './field-view.ts';
import { GROUPS, labelOf } from './labels.ts';
import { askedAs, beginning, formOf, type Node } from './schema-node.ts';

/** Keys the program itself writes. */
const NOT_ASKED = new Set(['$schema', 'id']);

interface Own {
  /** job.json as it would be, its quantities as keyed. */
  readonly draft: unknown;
  /** The text the draft began with: where the job has another one since, the draft begins anew. */
  readonly from: string;
}

/** Every field of job.json, made from its schema, with the schema's help and errors. */
export const jobForm = part<Own>({
  id: 'job-form',
  begin: ({ bundle }) => begun(bundle.job),
  of: (page, own) => [page.session.bundle, own],
  view: (page, own) => formHtml(page, fresh(own, page.session.bundle)),
  acts: {
    edit: (act) => edit(act, typed(act.control)),
    tick: onTick,
    form: onForm,
    begin: (act) => edit(act, beginning(nodeAt(pathOf(act.control), draftOf(act)))),
    remove: (act) => edit(act, undefined),
    add: onAdd,
    name: onName,
    rename: onRename,
    undo: ({ desk, put }) => put(begun(desk.page().session.bundle.job)),
    save,
  },
});

function begun(text: string): Own {
  return { draft: JSON.parse(text.replace(/^\ufeff/, '')), from: text };
}

function fresh(own: Own, bundle: JobBundle): Own {
  return own.from === bundle.job ? own : begun(bundle.job);
}

function draftOf({ desk, own }: Act<Own>): unknown {
  return fresh(own, desk.page().session.bundle).draft;
}

function textOf(draft: unknown): string {
  return `${JSON.stringify(draft, null, 2)}\n`;
}

// ---- showing ----

const schema = (() => {
  let made: Node | null = null;
  return (): Node => {
    made ??= jobJsonSchema() as Node;
    return made;
  };
})();

function formHtml(page: OpenPage, { draft, from }: Own): Html {
  const { bundle, opened } = page.session;
  const changed = JSON.stringify(draft) !== JSON.stringify(begun(from).draft);
  const problems = problemsOf(draft, bundle);
  const byPath = new Map<string, Problem[]>();
  for (const each of problems)
    byPath.set(each.column ?? '', [...(byPath.get(each.column ?? '') ?? []), each]);
  const { lines, panels } = isObject(draft) ? draft : {};
  const facts = {
    problems: byPath,
    lines: [lines, panels].flatMap((each) => (isObject(each) ? Object.keys(each) : [])),
    files: bundle.others.map(({ file }) => file),
  };
  const { properties = {}, required = [] } = schema();
  const grouped = new Set(GROUPS.flatMap(([, keys]) => keys));
  const rest = Object.keys(properties).filter((key) => !grouped.has(key) && !NOT_ASKED.has(key));
  const groups = [...GROUPS, ...(rest.length === 0 ? [] : [['Other', rest] as const])];
  const toAccept = recordedChanges(bundle, textOf(draft));
  return html`<h2>The job</h2>
<p>${opened.job.name}. Lengths as in job.json: <code>12 ft 6 in</code>, <code>1/2 in</code>, <code>18.9 m</code>, or a plain number in the job’s units.</p>
<form data-act="save" novalidate>
<datalist id="job-lines">${facts.lines.map((each) => html`<option value="${each}"></option>`)}</datalist>
<datalist id="job-files">${facts.files.map((each) => html`<option value="${each}"></option>`)}</datalist>
${groups.map(([title, keys], i) => {
  const there = keys.filter((key) => properties[key] !== undefined);
  const count = problems.filter(({ column = '' }) =>
    there.some((key) => column.split(/[.[]/)[0] === key),
  ).length;
  const open = i < 3 || there.some((key) => isObject(draft) && draft[key] !== undefined && count > 0);
  return html`<details class="job-group" data-id="group-${i}"${open ? html` open` : ''}><summary>${title}${there.some((key) => isObject(draft) && draft[key] !== undefined) ? '' : html` <span class="muted">(nothing said)</span>`}${count > 0 ? html` <strong class="problem">${count} to look at</strong>` : ''}</summary><div class="fields">${there.map((key) => fieldHtml(properties[key]!, [key], labelOf(key), isObject(draft) ? draft[key] : undefined, facts, required.includes(key)))}</div></details>`;
})}
<div class="send">${problems.length === 0 ? '' : html`<p class="problem" role="status">${problems.length === 1 ? 'One thing does' : `${problems.length} things do`} not fit yet. ${problems.filter(({ column }) => column === undefined).map(({ found, expected }) => `Found ${found}; expected ${expected}.`)}</p>`}
${toAccept.length === 0 ? '' : html`<p>Changed since the ledger recorded it: ${toAccept.join(', ')}. What a verdict rests on is changed only on the record: say who lets it stand, and why.</p>${saidFields('job')}`}
<p class="actions"><button class="main"${changed && problems.length === 0 ? '' : html` disabled`}>Use these</button><button type="button" data-act="undo"${changed ? '' : html` disabled`}>Leave it as it was</button></p></div>
</form>`;
}

/** What is wrong with a draft, as the command line would say it of job.json. */
function problemsOf(draft: unknown, bundle: JobBundle): readonly Problem[] {
  const texts = new Map(bundle.others.map(({ file, text }) => [file, text]));
  try {
    parseJob(textOf(draft), { readText: (file) => texts.get(file.replace(/^\.\//, '')) ?? null });
    return [];
  } catch (error) {
    if (!(error instanceof InputError)) throw error;
    return error.problems.length > 0
      ? error.problems
      : [{ file: 'job.json', found: 'a job that cannot be used', expected: error.message }];
  }
}

/** Recorded fields of job.json that differ in this text: only a person can let those stand. */
function recordedChanges(bundle: JobBundle, text: string): readonly string[] {
  const { findings } = checkInputs(ledgerOfJob(bundle), inputsOf({ ...bundle, job: text }));
  const said = findings.find(({ code }) => code === 'job-changed')?.message ?? '';
  const match = /changed or taken out: (.*?)\. /.exec(said);
  return match === null ? [] : match[1]!.split(', ');
}

// ---- changing ----

function pathOf(control: HTMLElement): Path {
  return JSON.parse(control.dataset.path ?? '[]') as Step[];
}

/** The schema of what stands at a path of this draft. */
function nodeAt(path: Path, draft: unknown): Node {
  let node = schema();
  let value: unknown = draft;
  for (const step of path) {
    const asked = askedAs(node);
    switch (asked.as) {
      case 'fields':
        node = asked.of[String(step)] ?? {};
        break;
      case 'named':
      case 'rows':
        node = asked.each;
        break;
      case 'pair':
        node = asked.of[Number(step)] ?? {};
        break;
      case 'one-of':
        node = asked.forms[formOf(asked.forms, value)]?.properties?.[String(step)] ?? {};
        break;
      default:
        node = {};
    }
    value = valueAt(value, [step]);
  }
  return node;
}

function edit(act: Act<Own>, value: unknown): void {
  const path = pathOf(act.control);
  const own = fresh(act.own, act.desk.page().session.bundle);
  act.put({ ...own, draft: withValue(own.draft, path, keptBlank(own.draft, path, value)) });
}

/** A field that is needed, and one of a pair, stay there blank, so that what is missing is said of it. */
function keptBlank(draft: unknown, path: Path, value: unknown): unknown {
  const key = path.at(-1);
  if (value !== undefined || key === undefined) return value;
  if (typeof key === 'number') return askedAs(nodeAt(path.slice(0, -1), draft)).as === 'pair' ? '' : value;
  const parent = valueAt(draft, path.slice(0, -1));
  const above = nodeAt(path.slice(0, -1), draft);
  const asked = askedAs(above);
  const object = asked.as === 'one-of' ? asked.forms[formOf(asked.forms, parent)] : above;
  return object?.required?.includes(key) === true ? '' : value;
}

/** What was keyed into a field, as job.json has it; undefined where it is blank. */
function typed(control: HTMLElement): unknown {
  const text = (control as HTMLInputElement | HTMLSelectElement).value.trim();
  if (text === '') return undefined;
  switch (control.dataset.as) {
    case 'number':
      return /^-?\d+(\.\d+)?$/.test(text) ? Number.parseFloat(text) : text;
    case 'yes-no':
      return text === 'yes';
    case 'words':
      return text.toLowerCase() === 'none'
        ? []
        : text
            .split(/[,;]/)
            .map((each) => each.trim())
            .filter((each) => each !== '');
    default:
      return text;
  }
}

function onTick(act: Act<Own>): void {
  const { value, checked } = act.control as HTMLInputElement;
  const now = valueAt(draftOf(act), pathOf(act.control));
  const others = Array.isArray(now) ? now.filter((each) => each !== value) : [];
  const next = checked ? [...others, value] : others;
  edit(act, next.length === 0 ? undefined : next);
}

/** Another form of a value that has several. */
function onForm(act: Act<Own>): void {
  const chosen = (act.control as HTMLSelectElement).value;
  const asked = askedAs(nodeAt(pathOf(act.control), draftOf(act)));
  if (asked.as !== 'one-of') return;
  const form = asked.forms[Number.parseInt(chosen, 10)];
  edit(act, form === undefined ? undefined : beginning(form));
}

function onAdd(act: Act<Own>): void {
  const path = pathOf(act.control);
  const draft = draftOf(act);
  const asked = askedAs(nodeAt(path, draft));
  if (asked.as !== 'rows') return;
  const rows = valueAt(draft, path);
  edit(act, [...(Array.isArray(rows) ? rows : []), beginning(asked.each)]);
}

function onName(act: Act<Own>): void {
  const input = document.getElementById(act.control.dataset.from ?? '') as HTMLInputElement | null;
  const name = input?.value.trim() ?? '';
  const path = pathOf(act.control);
  const draft = draftOf(act);
  const asked = askedAs(nodeAt(path, draft));
  const there = valueAt(draft, path);
  if (asked.as !== 'named' || name === '' || (isObject(there) && Object.hasOwn(there, name))) {
    act.desk.say('caution', 'It needs a name that no other has.', 'error');
    input?.focus();
    return;
  }
  input!.value = '';
  edit(act, { ...(isObject(there) ? there : {}), [name]: beginning(asked.each) });
}

function onRename(act: Act<Own>): void {
  const path = pathOf(act.control);
  const from = String(path.at(-1));
  const to = (act.control as HTMLInputElement).value.trim();
  const own = fresh(act.own, act.desk.page().session.bundle);
  const names = valueAt(own.draft, path.slice(0, -1));
  if (to === '' || (isObject(names) && Object.hasOwn(names, to))) {
    act.put(own);
    return;
  }
  act.put({ ...own, draft: renamed(own.draft, path.slice(0, -1), from, to) });
}

/**
 * The changed job through the same checks as the command line's: read with everything in it, and where the ledger has
 * recorded what changed, accepted on the record.
 */
async function save({ desk, own, put, fields }: Act<Own>): Promise<void> {
  const { bundle, book, opened } = desk.page().session;
  const { draft } = fresh(own, bundle);
  const job = textOf(draft);
  const keyed = bundle.files.length > 0 || book.sheets.some((sheet) => sheet.cells.length > 0);
  if (isObject(draft) && draft.units !== opened.job.units && keyed) {
    throw new InputError(
      'The units of a job with readings stay as they are: every number read without a unit would mean another length.',
    );
  }
  const changes = recordedChanges(bundle, job);
  if (changes.length > 0) requireLedger(bundle);
  const said: Said | null = changes.length === 0 ? null : saidOf(fields, 'job');
  const next =
    said === null
      ? reread({ ...bundle, job })
      : withRecord(
          { ...bundle, job },
          { kind: 'accept', file: 'job.json', ...said },
          desk.now(),
          desk.freshId(),
        );
  await desk.change(next);
  put(begun(next.job));
  desk.say(
    'note',
    said === null
      ? 'The job is changed.'
      : `The job is changed; ledger record ${next.seal?.records ?? 0} says who let it stand, and why.`,
  );
}
