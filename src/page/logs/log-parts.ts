import { CHECK_METHODS, CHECK_RESULTS, CHECK_TIMES } from '../../checks/crack-check.ts';
import { readCrackChecks } from '../../checks/crack-checks-csv.ts';
import { COST_KINDS, WORK_KINDS } from '../../costs/cost-log.ts';
import { readCostLog } from '../../costs/cost-log-csv.ts';
import { PATTERNS } from '../../heats/heat-log.ts';
import { readHeatLog } from '../../heats/heat-log-csv.ts';
import { InputError, type Problem } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { checkInputs } from '../../ledger/inputs.ts';
import { type Html, html } from '../../report/html.ts';
import { inputsOf } from '../folder-files.ts';
import type { JobBundle } from '../job-bundle.ts';
import { pressKey } from '../keypad.ts';
import { keyOf, keypadHtml } from '../keys.ts';
import { ledgerOfJob, requireLedger, reread, type Said, withRecord } from '../ledger/record.ts';
import { saidFields, saidOf } from '../ledger/said.ts';
import { type Desk, type OpenPage, type Part, part } from '../room.ts';
import { headingOf, rowsOf, withColumn, withoutLastRow, withRow } from './log-row.ts';

/** A log kept by hand: the CSV the command line reads, a row at a time. */
interface Log {
  readonly id: string;
  readonly file: string;
  readonly title: string;
  readonly one: string;
  /** Heading line of a log begun here. */
  readonly heading: (us: boolean) => string;
  /** Columns it may gain, with the unit a number in it has. */
  readonly more: (us: boolean, currency: string | null) => readonly string[];
  /** Big keys for a column, by the first word of its heading. */
  readonly keys: Readonly<Record<string, readonly string[]>>;
  readonly problems: (text: string, job: Job, file: string) => readonly Problem[];
}

const LOGS: readonly Log[] = [
  {
    ...{ id: 'heat-log', file: 'heats.csv', title: 'Heat log', one: 'heat' },
    heading: (us) =>
      `cycle,date,time,line,zone,station (${us ? 'ft' : 'm'}),pattern,angle (deg),depth (${us ? 'in' : 'mm'}),temperature (${us ? 'F' : 'C'}),before (${us ? 'F' : 'C'}),pressure (${us ? 'psi' : 'MPa'}),torch,device,weather,note`,
    more: (us, currency) => [
      `height (${us ? 'in' : 'mm'})`,
      `width (${us ? 'in' : 'mm'})`,
      ...['date', 'time', 'zone', `station (${us ? 'ft' : 'm'})`],
      `angle (deg)`,
      `depth (${us ? 'in' : 'mm'})`,
      `before (${us ? 'F' : 'C'})`,
      `pressure (${us ? 'psi' : 'MPa'})`,
      ...['apex', 'torch', 'device', 'weather', 'note'],
      `gas (${us ? 'lb' : 'kg'})`,
      ...(currency === null ? [] : [`cost (${currency})`]),
    ],
    keys: { pattern: PATTERNS },
    problems: (text, job, file) => readHeatLog(text, job, file).problems,
  },
  {
    ...{ id: 'check-log', file: 'checks.csv', title: 'Crack checks', one: 'check' },
    heading: () => 'date,cycle,when,method,where,by,result,note',
    more: () => ['cycle', 'note'],
    keys: { when: CHECK_TIMES, method: CHECK_METHODS, result: CHECK_RESULTS },
    problems: (text, job, file) => readCrackChecks(text, job.units, file).problems,
  },
  {
    ...{ id: 'cost-log', file: 'costs.csv', title: 'Cost log', one: 'cost' },
    heading: () => 'date,kind,work,cycle,hours,rate,amount,note',
    more: () => ['work', 'cycle', 'hours', 'rate', 'amount', 'note'],
    keys: { kind: COST_KINDS, work: WORK_KINDS },
    problems: (text, job, file) => readCostLog(text, job, file).problems,
  },
];

interface Own {
  /** Counts the rows kept here: a new form after each. */
  readonly kept: number;
  /** Heading of the number the keys write into; null: the keys are away. */
  readonly field: string | null;
}

export const LOG_PARTS: readonly Part[] = LOGS.map((log) =>
  part<Own>({
    id: log.id,
    begin: () => ({ kept: 0, field: null }),
    of: (page, own) => [page.session.bundle, page.session.book.cycle, own],
    view: (page, own, desk) => logHtml(log, page, own, desk.today()),
    acts: {
      keep: async (act) => {
        const { desk, own, put, fields } = act;
        const { bundle, opened } = desk.page().session;
        const text = withRow(textOf(log, bundle, opened.job), fields, (each) =>
          log.problems(each, opened.job, log.file),
        );
        await desk.change(reread(withLog(bundle, log, text)));
        put({ kept: own.kept + 1, field: null });
        desk.say('note', `The ${log.one} is in ${log.file}.`, 'error');
      },
      field: ({ own, put, control }) => {
        put({ ...own, field: (control as HTMLInputElement).name });
        control.scrollIntoView({ block: 'center' });
      },
      key: ({ own, control }) => {
        const field = own.field === null ? null : fieldNamed(control, own.field);
        const key = keyOf(control.dataset.key ?? '');
        if (field !== null && key !== null) field.value = pressKey(field.value, key);
      },
      next: ({ own, put, control }) => {
        const numbers = [
          ...(control.closest('form')?.querySelectorAll<HTMLInputElement>('input[data-act="field"]') ?? []),
        ];
        const next = numbers[numbers.findIndex((each) => each.name === own.field) + 1];
        put({ ...own, field: next?.name ?? null });
        next?.focus();
        next?.scrollIntoView({ block: 'center' });
      },
      now: ({ desk, control }) => {
        const field = fieldNamed(control, control.dataset.field ?? '');
        if (field !== null) field.value = clockTime(desk.now());
      },
      again: ({ desk, control }) => {
        const { bundle, opened } = desk.page().session;
        const text = textOf(log, bundle, opened.job);
        const last = rowsOf(text).at(-1) ?? [];
        headingOf(text)?.headings.forEach((name, i) => {
          if (ALIKE.includes(wordOf(name))) setField(control, name, last[i] ?? '');
        });
      },
      back: async ({ desk, control }) => {
        const { bundle, opened } = desk.page().session;
        const less = withoutLastRow(textOf(log, bundle, opened.job));
        if (less === null || !desk.sure(control)) return;
        await desk.change(reread(withLog(bundle, log, less.text)));
        desk.say('note', `Taken back, and in no record yet: ${less.row}`, 'error');
      },
      withdraw: async ({ desk, fields }) => {
        const { bundle, opened } = desk.page().session;
        const less = withoutLastRow(textOf(log, bundle, opened.job));
        if (less === null) return;
        const said = saidOf(fields, `${log.id}-back`);
        await accepted(desk, withLog(bundle, log, less.text), log.file, {
          ...said,
          why: `${said.why} (taken back, the last row: ${less.row})`.slice(0, 1000),
        });
        desk.say('note', `Taken back, on the record: ${less.row}`, 'error');
      },
      column: async ({ desk, fields }) => {
        const { bundle, opened } = desk.page().session;
        const name = fields.column ?? '';
        const text = withColumn(textOf(log, bundle, opened.job), name, (each) =>
          log.problems(each, opened.job, log.file),
        );
        const next = withLog(bundle, log, text);
        if (!isRecorded(next, log)) await desk.change(reread(next));
        else {
          const who = (fields.who ?? '').trim();
          if (who === '') {
            throw new InputError(
              `${log.file} is in the ledger already: say who adds the column, and it goes on the record.`,
            );
          }
          await accepted(desk, next, log.file, { who, why: `the log gained the column ${name}` });
        }
        desk.say('note', `${log.file} has the column ${labelOf(name)} now.`, 'error');
      },
    },
  }),
);

/** What a row has in common with the one before, more often than not. */
const ALIKE = [
  'line',
  'zone',
  'pattern',
  'angle',
  'depth',
  'torch',
  'device',
  'weather',
  'method',
  'by',
  'kind',
  'rate',
  'work',
];
/** Numbers keyed on the page's own keys: lengths with their fractions, and plain ones. */
const LENGTHS = ['station', 'depth', 'height', 'width'];
const NUMBERS = ['temperature', 'before', 'pressure', 'angle', 'hours'];

/** The word a heading begins with. */
function wordOf(heading: string): string {
  return /^[a-z]+/i.exec(heading.trim())?.[0].toLowerCase() ?? '';
}

function fieldNamed(control: HTMLElement, name: string): HTMLInputElement | null {
  const all = control.closest('form')?.querySelectorAll<HTMLInputElement>('input') ?? [];
  return [...all].find((each) => each.name === name) ?? null;
}

function setField(control: HTMLElement, name: string, value: string): void {
  for (const each of control.closest('form')?.querySelectorAll<HTMLInputElement>('input') ?? []) {
    if (each.name !== name) continue;
    if (each.type === 'radio') each.checked = each.value === value;
    else each.value = value;
  }
}

/** Time of day where the page is open, as the log has it. */
function clockTime(iso: string): string {
  const at = new Date(iso);
  const two = (n: number): string => String(n).padStart(2, '0');
  return `${two(at.getHours())}:${two(at.getMinutes())}`;
}

function withLog(bundle: JobBundle, { file }: Log, text: string): JobBundle {
  return { ...bundle, others: [...bundle.others.filter((each) => each.file !== file), { file, text }] };
}

/** Whether a record of the ledger holds more of a log than the bundle still has: a change of it needs a record too. */
function isRecorded(bundle: JobBundle, { file }: Log): boolean {
  const { standings } = checkInputs(ledgerOfJob(bundle), inputsOf(bundle));
  return standings.some((each) => each.file === file && each.standing === 'changed');
}

/** A log changed by hand with a record that says who did it and why, as `sweepbook mark --accept` writes it. */
async function accepted(desk: Desk, bundle: JobBundle, file: string, said: Said): Promise<void> {
  requireLedger(bundle);
  await desk.change(withRecord(bundle, { kind: 'accept', file, ...said }, desk.now(), desk.freshId()));
}

function textOf({ file, heading }: Log, bundle: JobBundle, job: Job): string {
  return bundle.others.find((each) => each.file === file)?.text ?? `${heading(job.units === 'us')}\n`;
}

/** A heading as people say it: `station_ft` is Station, ft. */
function labelOf(heading: string): string {
  const [, word, unit] =
    /^(.+?)(?:_|, ?| ?\(| ?\[| )(ft|in|mm|m|F|C|psi|bar|MPa|deg|lb|kg)[)\]]?$/.exec(heading.trim()) ??
    /^(cost)[_ (]+([a-z]{3})\)?$/i.exec(heading.trim()) ??
    [];
  const said = (word ?? heading.trim()).replaceAll('_', ' ');
  const shown =
    unit === 'deg'
      ? 'degrees'
      : unit === 'F' || unit === 'C'
        ? `°${unit}`
        : word?.toLowerCase() === 'cost'
          ? unit?.toUpperCase()
          : unit;
  return `${said.charAt(0).toUpperCase()}${said.slice(1)}${shown === undefined ? '' : `, ${shown}`}`;
}

function logHtml(log: Log, page: OpenPage, { kept, field: chosen }: Own, today: string): Html {
  const { bundle, opened, book } = page.session;
  const text = textOf(log, bundle, opened.job);
  const heading = headingOf(text);
  if (heading === null) throw new InputError(`${log.file} has no heading line.`);
  const rows = rowsOf(text);
  const field = (name: string) => {
    const word = wordOf(name);
    const id = `${log.id}-${kept}-${word}`;
    // A job of one line needs no choice of lines.
    const names = opened.job.lines.map((line) => line.name);
    const keys = word === 'line' && names.length > 1 ? names : log.keys[word];
    if (keys !== undefined) {
      return html`<fieldset class="field big-keys" data-id="${id}"><legend>${labelOf(name)}</legend>${keys.map((each) => html`<label class="segment"><input type="radio" name="${name}" value="${each}" data-own><span>${each}</span></label>`)}</fieldset>`;
    }
    const begins: Readonly<Record<string, string>> = {
      date: today,
      cycle: String(book.cycle),
      line: names[0]!,
    };
    const begin = begins[word] ?? '';
    const keyed = LENGTHS.includes(word) || NUMBERS.includes(word);
    const how = keyed
      ? html` inputmode="none" data-act="field"${name === chosen ? html` class="keyed"` : ''}`
      : word === 'rate' || word === 'amount' || word === 'cycle'
        ? html` inputmode="decimal"`
        : '';
    const now =
      word === 'time' ? html`<button type="button" data-act="now" data-field="${name}">Now</button>` : '';
    return html`<p class="field${now === '' ? '' : ' with-key'}" data-id="${id}-field"><label for="${id}">${labelOf(name)}</label><input id="${id}" name="${name}" value="${begin}"${how} data-own autocomplete="off">${now}</p>`;
  };
  const us = opened.job.units === 'us';
  const less = withoutLastRow(text);
  const recorded = less !== null && isRecorded(withLog(bundle, log, less.text), log);
  const has = new Set(heading.headings.map(wordOf));
  const more = log.more(us, opened.job.currency).filter((name) => !has.has(wordOf(name)));
  return html`<h2>${log.title}</h2>
<form class="log-form" data-act="keep" novalidate data-id="${log.id}-${kept}">${rows.length === 0 ? '' : html`<p class="actions"><button type="button" data-act="again">Like the last ${log.one}</button></p>`}<div class="fields">${heading.headings.filter((each) => each.trim() !== '').map(field)}</div>
${chosen === null ? '' : html`<div class="log-pad" role="group" aria-label="Keys for ${labelOf(chosen)}"><p><strong>${labelOf(chosen)}</strong><button type="button" data-act="next">Next</button></p>${keypadHtml(us && LENGTHS.includes(wordOf(chosen)) ? 'us' : 'si', 'key')}</div>`}
<p class="actions"><button class="main">Keep this ${log.one}</button></p></form>
<p>${rows.length === 0 ? `No ${log.one} is logged yet.` : `${rows.length} logged; the last ones:`}</p>
${rows.length === 0 ? '' : html`<div class="scroll log-rows"><table><thead><tr>${heading.headings.map((each) => html`<th scope="col">${labelOf(each)}</th>`)}</tr></thead><tbody>${rows.slice(-20).map((cells) => html`<tr>${heading.headings.map((_, i) => html`<td>${cells[i] ?? ''}</td>`)}</tr>`)}</tbody></table></div>`}
${less === null ? '' : backHtml(log, less.row, recorded)}
${more.length === 0 ? '' : columnHtml(log, more, isRecorded(withLog(bundle, log, ''), log))}`;
}

function backHtml(log: Log, row: string, recorded: boolean): Html {
  if (!recorded) {
    return html`<p class="actions"><button type="button" data-act="back" data-row="${row}">Take the last ${log.one} back</button></p>`;
  }
  return html`<details><summary>Take the last ${log.one} back</summary><form data-act="withdraw" novalidate><p>It is in the ledger already, so this goes on the record with who and why, and the row stays readable there: <code>${row}</code></p>${saidFields(`${log.id}-back`)}<p class="actions"><button>Take it back, on the record</button></p></form></details>`;
}

/** @param recorded whether the heading is in the ledger, so that a change of it is a record */
function columnHtml(log: Log, names: readonly string[], recorded: boolean): Html {
  const id = `${log.id}-column`;
  return html`<details><summary>Another column</summary><form data-act="column" novalidate><div class="fields"><p class="field"><label for="${id}">Column</label><select id="${id}" name="column">${names.map((name) => html`<option value="${name}">${labelOf(name)}</option>`)}</select></p>${recorded ? html`<p class="field"><label for="${id}-who">Who</label><input id="${id}-who" name="who" autocomplete="name" maxlength="200"></p>` : ''}</div><p class="actions"><button>Add the column</button></p></form></details>`;
}
