import { CHECK_METHODS, CHECK_RESULTS, CHECK_TIMES } from '../../checks/crack-check.ts';
import { readCrackChecks } from '../../checks/crack-checks-csv.ts';
import { COST_KINDS, WORK_KINDS } from '../../costs/cost-log.ts';
import { readCostLog } from '../../costs/cost-log-csv.ts';
import { PATTERNS } from '../../heats/heat-log.ts';
import { readHeatLog } from '../../heats/heat-log-csv.ts';
import { InputError, type Problem } from '../../input-error.ts';
import type { Job } from '../../job/job.ts';
import { type Html, html } from '../../report/html.ts';
import type { JobBundle } from '../job-bundle.ts';
import { reread } from '../ledger/record.ts';
import { type OpenPage, type Part, part } from '../room.ts';
import { headingOf, rowsOf, withRow } from './log-row.ts';

/** A log kept by hand: the CSV the command line reads, a row at a time. */
interface Log {
  readonly id: string;
  readonly file: string;
  readonly title: string;
  readonly one: string;
  /** Heading line of a log begun here. */
  readonly heading: (us: boolean) => string;
  /** Big keys for a column, by the first word of its heading. */
  readonly keys: Readonly<Record<string, readonly string[]>>;
  readonly problems: (text: string, job: Job, file: string) => readonly Problem[];
}

const LOGS: readonly Log[] = [
  {
    ...{ id: 'heat-log', file: 'heats.csv', title: 'Heat log', one: 'heat' },
    heading: (us) =>
      `cycle,date,time,line,zone,station (${us ? 'ft' : 'm'}),pattern,angle (deg),depth (${us ? 'in' : 'mm'}),temperature (${us ? 'F' : 'C'}),before (${us ? 'F' : 'C'}),pressure (${us ? 'psi' : 'MPa'}),torch,device,weather,note`,
    keys: { pattern: PATTERNS },
    problems: (text, job, file) => readHeatLog(text, job, file).problems,
  },
  {
    ...{ id: 'check-log', file: 'checks.csv', title: 'Crack checks', one: 'check' },
    heading: () => 'date,cycle,when,method,where,by,result,note',
    keys: { when: CHECK_TIMES, method: CHECK_METHODS, result: CHECK_RESULTS },
    problems: (text, job, file) => readCrackChecks(text, job.units, file).problems,
  },
  {
    ...{ id: 'cost-log', file: 'costs.csv', title: 'Cost log', one: 'cost' },
    heading: () => 'date,kind,work,cycle,hours,rate,amount,note',
    keys: { kind: COST_KINDS, work: WORK_KINDS },
    problems: (text, job, file) => readCostLog(text, job, file).problems,
  },
];

export const LOG_PARTS: readonly Part[] = LOGS.map((log) =>
  part<number>({
    id: log.id,
    // Counts the rows kept here: a new form after each.
    begin: () => 0,
    of: (page, own) => [page.session.bundle, page.session.book.cycle, own],
    view: (page, own, desk) => logHtml(log, page, own, desk.today()),
    acts: {
      keep: async ({ desk, own, put, fields }) => {
        const { bundle, opened } = desk.page().session;
        const now = textOf(log, bundle, opened.job);
        const text = withRow(now, fields, (each) => log.problems(each, opened.job, log.file));
        const others = bundle.others.filter(({ file }) => file !== log.file);
        await desk.change(reread({ ...bundle, others: [...others, { file: log.file, text }] }));
        put(own + 1);
        desk.say('note', `The ${log.one} is in ${log.file}.`, 'error');
      },
    },
  }),
);

function textOf({ file, heading }: Log, bundle: JobBundle, job: Job): string {
  return bundle.others.find((each) => each.file === file)?.text ?? `${heading(job.units === 'us')}\n`;
}

/** A heading as people say it: `station_ft` is Station, ft. */
function labelOf(heading: string): string {
  const [, word, unit] =
    /^(.+?)(?:_|, ?| ?\(| ?\[| )(ft|in|mm|m|F|C|psi|bar|MPa|deg|lb|kg)[)\]]?$/.exec(heading.trim()) ?? [];
  const said = (word ?? heading.trim()).replaceAll('_', ' ');
  const shown = unit === 'deg' ? 'degrees' : unit === 'F' || unit === 'C' ? `°${unit}` : unit;
  return `${said.charAt(0).toUpperCase()}${said.slice(1)}${shown === undefined ? '' : `, ${shown}`}`;
}

function logHtml(log: Log, page: OpenPage, kept: number, today: string): Html {
  const { bundle, opened, book } = page.session;
  const text = textOf(log, bundle, opened.job);
  const heading = headingOf(text);
  if (heading === null) throw new InputError(`${log.file} has no heading line.`);
  const rows = rowsOf(text);
  const field = (name: string) => {
    const word = /^[a-z]+/i.exec(name.trim())?.[0].toLowerCase() ?? '';
    const id = `${log.id}-${kept}-${word}`;
    // A job of one line needs no choice of lines.
    const names = opened.job.lines.map((line) => line.name);
    const keys = word === 'line' && names.length > 1 ? names : log.keys[word];
    if (keys !== undefined) {
      return html`<fieldset class="field big-keys" data-id="${id}"><legend>${labelOf(name)}</legend>${keys.map((each) => html`<label class="segment"><input type="radio" name="${name}" value="${each}" data-own><span>${each}</span></label>`)}</fieldset>`;
    }
    const begin = word === 'date' ? today : word === 'cycle' ? String(book.cycle) : '';
    return html`<p class="field" data-id="${id}-field"><label for="${id}">${labelOf(name)}</label><input id="${id}" name="${name}" value="${begin}" data-own autocomplete="off"></p>`;
  };
  return html`<h2>${log.title}</h2>
<form data-act="keep" novalidate data-id="${log.id}-${kept}"><div class="fields">${heading.headings.filter((each) => each.trim() !== '').map(field)}</div>
<p class="actions"><button class="main">Keep this ${log.one}</button></p></form>
<p>${rows.length === 0 ? `No ${log.one} is logged yet.` : `${rows.length} logged; the last ones:`}</p>
${rows.length === 0 ? '' : html`<div class="scroll log-rows"><table><thead><tr>${heading.headings.map((each) => html`<th scope="col">${labelOf(each)}</th>`)}</tr></thead><tbody>${rows.slice(-20).map((cells) => html`<tr>${heading.headings.map((_, i) => html`<td>${cells[i] ?? ''}</td>`)}</tr>`)}</tbody></table></div>`}`;
}
