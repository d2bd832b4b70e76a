import { InputError } from '../../input-error.ts';
import { LEDGER_FILE } from '../../ledger/chain.ts';
import { checkInputs } from '../../ledger/inputs.ts';
import type { LedgerEntry } from '../../ledger/record.ts';
import { dateText } from '../../report/dates.ts';
import { type Html, html } from '../../report/html.ts';
import { markFinder } from '../../survey/marks.ts';
import type { Mark, Reading } from '../../survey/survey.ts';
import { formatLength } from '../../units/format-length.ts';
import { inputsOf } from '../folder-files.ts';
import { type Act, type OpenPage, part } from '../room.ts';
import { ledgerOfJob, requireLedger, withRecord } from './record.ts';
import { saidFields, saidOf } from './said.ts';

interface Own {
  /** File whose readings are shown; '': none chosen. */
  readonly file: string;
  /** Cycle of it; null: all. */
  readonly cycle: number | null;
}

/** Decisions by hand, on the record: the same as `sweepbook mark`. */
export const marksPart = part<Own>({
  id: 'marks',
  begin: () => ({ file: '', cycle: null }),
  of: (page, own) => [page.session.bundle, own],
  view: (page, own) => marksHtml(page, own),
  acts: {
    file: ({ put, control }) => put({ file: (control as HTMLSelectElement).value, cycle: null }),
    cycle: ({ put, own, control }) => {
      const { value } = control as HTMLSelectElement;
      put({ ...own, cycle: value === '' ? null : Number.parseInt(value, 10) });
    },
    mark: onMark,
    declare: onDeclare,
    accept: onAccept,
  },
});

function marksHtml(page: OpenPage, { file, cycle }: Own): Html {
  const { bundle, opened } = page.session;
  const { locale } = opened.job;
  const files = bundle.files.map((each) => each.file);
  const own = opened.readings.filter((each) => each.file === file);
  const cycles = [...new Set(own.map((each) => each.cycle))].sort((a, b) => a - b);
  const shown = own.filter((each) => cycle === null || each.cycle === cycle);
  const toAccept = acceptable(page);
  const declared = bundle.declarations ?? [];
  return html`<h2>Marks</h2>
<p>Decisions by hand. Nothing is taken out: what is set aside stays in sight, and who decided and why stays in the ledger.</p>
<div class="fields"><p class="field"><label for="mark-file">File of readings</label><select id="mark-file" data-change="file"><option value=""${file === '' ? html` selected` : ''}>choose</option>${files.map((each) => html`<option value="${each}"${each === file ? html` selected` : ''}>${each}</option>`)}</select></p>
${cycles.length < 2 ? '' : html`<p class="field"><label for="mark-cycle">Cycle</label><select id="mark-cycle" data-change="cycle"><option value=""${cycle === null ? html` selected` : ''}>all</option>${cycles.map((each) => html`<option value="${each}"${each === cycle ? html` selected` : ''}>${each}</option>`)}</select></p>`}</div>
${file === '' ? '' : shownHtml(shown, opened.marks, page, cycle)}
${toAccept.length === 0 ? '' : acceptHtml(toAccept)}
${
  bundle.marks.length + declared.length === 0
    ? html`<p>No reading was marked by hand.</p>`
    : html`<h3>Marks so far</h3><ul class="held">${bundle.marks.map((each) => html`<li>${each.action === 'set-aside' ? 'Set aside' : 'Restored'}: ${each.file}, row ${each.row}${each.cycle === undefined ? '' : `, cycle ${each.cycle}`}. ${each.who}, ${dateText(each.when, locale)}: ${each.why}.</li>`)}${declared.map((each) => html`<li>${each.action === 'copy' ? 'A copy, left out' : 'Read again, counts'}: ${each.file}${each.cycle === undefined ? '' : `, cycle ${each.cycle}`}. ${each.who}, ${dateText(each.when, locale)}: ${each.why}.</li>`)}</ul>`
}`;
}

function shownHtml(
  shown: readonly Reading[],
  marks: readonly Mark[],
  page: OpenPage,
  cycle: number | null,
): Html {
  const { units } = page.session.opened.job;
  const marked = markFinder(marks);
  return html`<form data-act="mark" novalidate><div class="scroll mark-rows"><table><thead><tr><th scope="col">Choose</th><th scope="col">Row</th><th scope="col">Line</th><th scope="col">Cycle</th><th scope="col">Station</th><th scope="col">Offset</th><th scope="col">By hand</th></tr></thead><tbody>${shown.map(
    (each) => {
      const mark = marked(each);
      const station = formatLength(each.station, { units, as: 'station', digits: 2 });
      const id = `${each.row} ${each.cycle} ${each.station}`;
      return html`<tr data-id="${id}"><td><input type="checkbox" class="tick" name="at ${id}" aria-label="Row ${each.row}, cycle ${each.cycle}, station ${station}"></td><td>${each.row}</td><td>${each.line}</td><td>${each.cycle}</td><td class="num">${station}</td><td class="num">${formatLength(each.offset, { units, as: 'offset', fraction: 16, unit: false })}</td><td>${mark === null ? '' : mark.action === 'set-aside' ? 'set aside' : 'restored'}</td></tr>`;
    },
  )}</tbody></table></div>
${saidFields('mark')}<p class="actions"><button name="action" value="set-aside">Set the chosen rows aside</button><button name="action" value="reinstate">Restore the chosen rows</button></p></form>
<form data-act="declare" novalidate><h3>The whole sheet${cycle === null ? '' : `, cycle ${cycle}`}</h3><p>Where it reads like another sheet.</p>${saidFields('declare')}<p class="actions"><button name="action" value="copy">It is a copy: leave it out</button><button name="action" value="genuine">The steel was read again: it counts</button></p></form>`;
}

/** Files a person can let stand as they are: those that differ from their record, and a ledger with a fault. */
function acceptable({ session }: OpenPage): readonly string[] {
  const ledger = ledgerOfJob(session.bundle);
  const { standings } = checkInputs(ledger, inputsOf(session.bundle));
  const differing = standings.filter(({ standing }) => standing === 'changed' || standing === 'missing');
  const stopped = session.bundle.findings.some(
    ({ severity, file }) => severity === 'stop' && file === LEDGER_FILE,
  );
  return [...differing.map(({ file }) => file), ...(stopped ? [LEDGER_FILE] : [])];
}

function acceptHtml(files: readonly string[]): Html {
  return html`<form data-act="accept" novalidate><h3>Not as the ledger has it</h3><p>Put it back, or say who lets it stand as it is, and why.</p><p class="field"><label for="accept-file">File</label><select id="accept-file" name="file">${files.map((each) => html`<option>${each}</option>`)}</select></p>${saidFields('accept')}<p class="actions"><button>Let it stand</button></p></form>`;
}

async function record({ desk }: Act<Own>, entry: LedgerEntry, done: string): Promise<void> {
  const { bundle } = desk.page().session;
  requireLedger(bundle);
  const next = withRecord(bundle, entry, desk.now(), desk.freshId());
  await desk.change(next);
  desk.say('note', `${done} (ledger record ${next.seal?.records ?? 0}).`);
}

/** One record for the rows that are told apart alike, as `sweepbook mark` would be called. */
async function onMark(act: Act<Own>): Promise<void> {
  const { desk, own, fields } = act;
  const { file } = own;
  const held = desk.page().session.opened.readings.filter((each) => each.file === file);
  const chosen = held.filter((each) => `at ${each.row} ${each.cycle} ${each.station}` in fields);
  if (chosen.length === 0) throw new InputError('No row is chosen. Tick the rows that are meant.');
  const said = saidOf(fields, 'mark');
  const action = fields.action === 'reinstate' ? 'reinstate' : 'set-aside';
  // A row of one reading needs nothing more to say which; one of a field sheet its cycle, one of a grid its station.
  const groups = new Map<string, Reading[]>();
  for (const reading of chosen) {
    const inRow = held.filter((each) => each.row === reading.row);
    const which = JSON.stringify({
      ...(inRow.every((each) => each.cycle === reading.cycle) ? {} : { cycles: [reading.cycle] }),
      ...(inRow.every((each) => each.station === reading.station) ? {} : { stations: [reading.station] }),
    });
    groups.set(which, [...(groups.get(which) ?? []), reading]);
  }
  for (const [which, readings] of groups) {
    const rows = [...new Set(readings.map(({ row }) => row))];
    const entry = { kind: 'mark', action, file, rows, ...JSON.parse(which), ...said } as const;
    const what = `${readings.length} reading${readings.length === 1 ? '' : 's'} of ${file}`;
    await record(act, entry, `${action === 'set-aside' ? 'Set aside' : 'Restored'}: ${what}`);
  }
}

async function onDeclare(act: Act<Own>): Promise<void> {
  const { own, fields } = act;
  const said = saidOf(fields, 'declare');
  const action = fields.action === 'copy' ? 'copy' : 'genuine';
  const cycles = own.cycle === null ? {} : { cycles: [own.cycle] };
  const entry = { kind: 'declare', action, file: own.file, ...cycles, ...said } as const;
  await record(
    act,
    entry,
    action === 'copy' ? `Left out as a copy: ${own.file}` : `Counts as read again: ${own.file}`,
  );
}

async function onAccept(act: Act<Own>): Promise<void> {
  const file = act.fields.file ?? '';
  const entry = { kind: 'accept', file, ...saidOf(act.fields, 'accept') } as const;
  await record(act, entry, `Stands as it is: ${file}`);
}
