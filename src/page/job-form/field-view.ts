import type { Problem } from '../../input-error.ts';
import { PRESETS } from '../../job/presets.ts';
import { pathText } from '../../job/schema-problems.ts';
import { type Html, html } from '../../report/html.ts';
import { isObject, type Path } from './draft.ts';
import { labelOf } from './labels.ts';
import { askedAs, formName, formOf, type Node } from './schema-node.ts';

/** What every field of the form is drawn from. */
export interface FormFacts {
  /** Faults of the draft, by the path job.json names them with. */
  readonly problems: ReadonlyMap<string, readonly Problem[]>;
  /** Names of lines and panels, for fields that name one. */
  readonly lines: readonly string[];
  /** Files beside job.json. */
  readonly files: readonly string[];
}

/** Fields that name something the job has. */
const NAMES_A_LINE = new Set(['line', 'tilt']);
const NAMES_A_FILE = new Set(['file', 'presetFile']);

/** One value of job.json as fields, with the schema's help and what is wrong with it. */
export function fieldHtml(
  node: Node,
  path: Path,
  label: string,
  value: unknown,
  facts: FormFacts,
  needed: boolean,
): Html {
  const asked = askedAs(node);
  const own = ownProblems(path, facts);
  const id = `job-${pathText(path).replace(/[^A-Za-z0-9]+/g, '-')}`;
  const help = node.description ?? '';
  const under = html`${help === '' ? '' : html`<small id="${id}-help">${help}</small>`}<span class="problem" id="${id}-problem">${own}</span>`;
  const said = html` aria-describedby="${help === '' ? '' : `${id}-help `}${id}-problem"${own === '' ? '' : html` aria-invalid="true"`}`;
  const name = html`${label}${needed ? '' : html` <span class="muted">(may be left out)</span>`}`;
  const data = html` id="${id}" data-path="${JSON.stringify(path)}"`;
  const text = textOf(value);
  switch (asked.as) {
    case 'text':
    case 'number': {
      const key = path.at(-1);
      if (key === 'preset') {
        return field(
          id,
          name,
          select(
            data,
            said,
            'edit',
            text,
            PRESETS.map(({ key: each, title }) => [each, title]),
          ),
          under,
        );
      }
      const list =
        typeof key === 'string' && NAMES_A_LINE.has(key)
          ? 'job-lines'
          : typeof key === 'string' && NAMES_A_FILE.has(key)
            ? 'job-files'
            : '';
      const input = html`<input${data}${said} data-change="edit" data-as="${asked.as}"${list === '' ? '' : html` list="${list}"`} autocomplete="off" spellcheck="false" value="${text}">`;
      return field(id, name, input, under);
    }
    case 'words': {
      const joined = Array.isArray(value)
        ? value.length === 0
          ? 'none'
          : value.map(textOf).join(', ')
        : text;
      const input = html`<input${data}${said} data-change="edit" data-as="words" autocomplete="off" spellcheck="false" placeholder="with commas between, or none" value="${joined}">`;
      return field(id, name, input, under);
    }
    case 'yes-no':
      return field(
        id,
        name,
        select(
          data,
          said,
          'edit',
          value === undefined ? '' : value === true ? 'yes' : 'no',
          [
            ['yes', 'yes'],
            ['no', 'no'],
          ],
          'yes-no',
        ),
        under,
      );
    case 'choice':
      return field(
        id,
        name,
        select(
          data,
          said,
          'edit',
          text,
          asked.of.map((each) => [String(each), String(each)]),
          typeof asked.of[0] === 'number' ? 'number' : 'choice',
        ),
        under,
      );
    case 'ticks': {
      const ticked = Array.isArray(value) ? value : [];
      return html`<fieldset class="field ticks" data-id="${id}"><legend>${name}</legend>${asked.of.map(
        (each) =>
          html`<label><input type="checkbox" data-change="tick" data-path="${JSON.stringify(path)}" value="${each}"${ticked.includes(each) ? html` checked` : ''}>${each}</label>`,
      )}${under}</fieldset>`;
    }
    case 'pair':
      return html`<fieldset class="field pair" data-id="${id}"><legend>${name}</legend>${asked.of.map(
        (each, i) => {
          const at = [...path, i];
          const one = Array.isArray(value) ? value[i] : undefined;
          return html`<input id="${id}-${i}" data-path="${JSON.stringify(at)}" data-change="edit" data-as="${askedAs(each).as}" aria-label="${label}, ${i === 0 ? 'from' : 'to'}" autocomplete="off" value="${textOf(one)}">${i === 0 ? html`<span>to</span>` : ''}`;
        },
      )}<small>${help}</small><span class="problem">${[own, ...asked.of.map((_, i) => ownProblems([...path, i], facts))].filter((each) => each !== '').join(' ')}</span></fieldset>`;
    case 'one-of': {
      const now = formOf(asked.forms, value);
      const held = asked.forms.some((each) => each.properties?.holds !== undefined);
      const options = asked.forms.map((each, i): [string, string] => [
        String(i),
        held && each.properties === undefined ? 'its station' : formName(each, labelOf),
      ]);
      const chosen = asked.forms[now];
      const inner =
        chosen === undefined || chosen.const !== undefined
          ? ''
          : chosen.properties === undefined
            ? fieldHtml(chosen, path, `${label}: ${held ? 'station' : 'length'}`, value, facts, true)
            : fieldsOf(chosen, path, value, facts);
      return html`<div class="one-of" data-id="${id}">${field(`${id}-form`, name, select(html` id="${id}-form" data-path="${JSON.stringify(path)}"`, said, 'form', now < 0 ? '' : String(now), options), under)}${inner === '' ? '' : html`<div class="inside">${inner}</div>`}</div>`;
    }
    case 'fields':
      if (value === undefined && !needed) {
        return html`<div class="field" data-id="${id}"><button type="button" data-act="begin" data-path="${JSON.stringify(path)}">Add: ${label}</button><small>${help}</small></div>`;
      }
      return html`<fieldset class="group" data-id="${id}"><legend>${label}</legend>${help === '' ? '' : html`<p class="small">${help}</p>`}${own === '' ? '' : html`<p class="problem">${own}</p>`}${fieldsOf(node, path, value, facts)}${needed ? '' : html`<p><button type="button" class="quiet" data-act="remove" data-path="${JSON.stringify(path)}">Leave ${label.toLowerCase()} out</button></p>`}</fieldset>`;
    case 'rows': {
      const rows = Array.isArray(value) ? value : [];
      const one = singular(label);
      return html`<fieldset class="group" data-id="${id}"><legend>${label}</legend>${help === '' ? '' : html`<p class="small">${help}</p>`}${own === '' ? '' : html`<p class="problem">${own}</p>`}${rows.map(
        (each, i) =>
          html`<div class="entry-row" data-id="${id}-${i}">${fieldHtml(asked.each, [...path, i], `${one} ${i + 1}`, each, facts, true)}<p><button type="button" class="quiet" data-act="remove" data-path="${JSON.stringify([...path, i])}">Remove ${one.toLowerCase()} ${i + 1}</button></p></div>`,
      )}<p><button type="button" data-act="add" data-path="${JSON.stringify(path)}">Add: ${one.toLowerCase()}</button></p></fieldset>`;
    }
    case 'named': {
      const entries = isObject(value) ? Object.entries(value) : [];
      const one = singular(label).toLowerCase();
      return html`<div data-id="${id}">${help === '' ? '' : html`<p class="small">${help}</p>`}${own === '' ? '' : html`<p class="problem">${own}</p>`}${entries.map(
        ([key, each]) =>
          html`<fieldset class="group" data-id="${id}-${key}"><legend>${key}</legend><p class="field"><label for="${id}-${key}-name">Name of the ${one}</label><input id="${id}-${key}-name" data-change="rename" data-path="${JSON.stringify([...path, key])}" autocomplete="off" value="${key}"></p>${fieldsOf(asked.each, [...path, key], each, facts)}<p class="problem">${ownProblems([...path, key], facts)}</p><p><button type="button" class="quiet" data-act="remove" data-path="${JSON.stringify([...path, key])}">Remove the ${one} ${key}</button></p></fieldset>`,
      )}<p class="actions"><label for="${id}-new" class="visually-hidden">Name of a new ${one}</label><input id="${id}-new" class="short" placeholder="name of a new ${one}" autocomplete="off"><button type="button" data-act="name" data-path="${JSON.stringify(path)}" data-from="${id}-new">Add the ${one}</button></p></div>`;
    }
  }
}

/** The fields of an object: what is needed first, the rest after it. */
export function fieldsOf(node: Node, path: Path, value: unknown, facts: FormFacts): Html {
  const { required = [], properties = {} } = node;
  const keys = Object.keys(properties).filter(
    (key) => properties[key]!.const === undefined || !required.includes(key),
  );
  const order = [
    ...keys.filter((key) => required.includes(key)),
    ...keys.filter((key) => !required.includes(key)),
  ];
  return html`<div class="fields">${order.map((key) =>
    fieldHtml(
      properties[key]!,
      [...path, key],
      labelOf(key, path.at(-1)),
      isObject(value) ? value[key] : undefined,
      facts,
      required.includes(key),
    ),
  )}</div>`;
}

function field(id: string, name: Html, control: Html, under: Html): Html {
  return html`<div class="field" data-id="field-${id}"><label for="${id}">${name}</label>${control}${under}</div>`;
}

function select(
  data: Html,
  said: Html,
  change: string,
  now: string,
  options: readonly (readonly [string, string])[],
  as = 'choice',
): Html {
  const known = now === '' || options.some(([value]) => value === now);
  return html`<select${data}${said} data-change="${change}" data-as="${as}"><option value=""${now === '' ? html` selected` : ''}>not said</option>${known ? '' : html`<option value="${now}" selected>${now}</option>`}${options.map(([value, words]) => html`<option value="${value}"${value === now ? html` selected` : ''}>${words}</option>`)}</select>`;
}

/** What one of them is called: `Reaches` are each a reach, `Acceptance` has none of its own. */
function singular(label: string): string {
  return label.replace(/(?:(?<=ch|sh|x)e)?s$/, '');
}

function ownProblems(path: Path, { problems }: FormFacts): string {
  const own = problems.get(pathText(path)) ?? [];
  return own
    .map(
      ({ found, expected, suggestion }) =>
        // A field nobody filled in yet is no mistake.
        `${found === '""' ? 'Still blank; it wants' : `Found ${found}; expected`} ${expected.replace(/, not a blank$/, '')}${suggestion === undefined ? '' : ` (${suggestion})`}.`,
    )
    .join(' ');
}

function textOf(value: unknown): string {
  return typeof value === 'string'
    ? value
    : typeof value === 'number' || typeof value === 'boolean'
      ? String(value)
      : '';
}
